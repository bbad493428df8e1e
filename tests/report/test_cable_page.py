"""The page about a cable's values tells the truth: its file, its output, its Python and tables."""

import doctest
import re
import sys
from pathlib import Path

import pytest

from cablesim.cable.insulations import INSULATIONS
from cablesim.cli.app import main

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "cable.md").read_text(encoding="utf-8")


def test_pasted_output_is_what_it_prints(tmp_path, monkeypatch, capsys):
    ((text),) = re.findall(r"^```toml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    ((command, shown),) = re.findall(
        r"^```console\n\$ (.*?)\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL
    )
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hall.toml").write_text(text)
    monkeypatch.setattr(sys, "argv", command.split())
    with pytest.raises(SystemExit) as left:
        main()
    assert not left.value.code
    assert capsys.readouterr().out.rstrip() == shown.rstrip()


def test_python_runs_as_shown():
    blocks = re.findall(r"^```python\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    example = doctest.DocTestParser().get_doctest("".join(blocks), {}, "cable.md", None, 0)
    said = []
    failed, tried = doctest.DocTestRunner().run(example, out=said.append)
    assert not failed, "".join(said)
    assert tried == 10


@pytest.mark.parametrize("row", INSULATIONS.values(), ids=lambda row: row.name)
def test_every_insulation_stands_there_as_it_is(row):
    (told,) = re.findall(rf"^\| `{row.name}` \| (.*) \|$", PAGE, re.MULTILINE)
    permittivity, resistivity, loss, strength, factor = told.split(" | ")
    low, high = row.permittivity_range
    numbers = [float(n) for n in re.findall(r"[\d.]+", permittivity)]
    assert numbers == [row.relative_permittivity, *([low, high] if low < high else [])]
    assert float(resistivity) == row.volume_resistivity_ohm_m
    assert float(loss) == row.loss_tangent
    assert float(strength) == row.strength_kv_per_mm
    assert factor == f"{row.velocity_factor:.2f}"


def test_links_lead_somewhere():
    for link in re.findall(r"\]\((?!http)([^)#]+)", PAGE):
        assert (ROOT / "docs" / link).exists(), link
