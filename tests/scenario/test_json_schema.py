"""The published schema is the one that the typed tables give."""

from pathlib import Path

from cablesim.scenario.json_schema import json_schema, main

PUBLISHED = Path(__file__).parents[2] / "docs" / "scenario.schema.json"


def test_the_published_schema_is_in_step():
    command = "python -m cablesim.scenario.json_schema docs/scenario.schema.json"
    assert PUBLISHED.read_text(encoding="utf-8") == json_schema(), f"write it anew: {command}"


def test_it_goes_to_a_file_or_to_standard_output(tmp_path, capsys):
    main([str(tmp_path / "schema.json")])
    assert (tmp_path / "schema.json").read_text(encoding="utf-8") == json_schema()
    assert capsys.readouterr().out == ""
    main([])
    assert capsys.readouterr().out == json_schema()
