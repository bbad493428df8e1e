"""The page of start-up times: every command it times runs, and the page has a row for each."""

from validation import startup


def test_a_row_for_each_that_runs(monkeypatch):
    monkeypatch.setattr(
        startup, "COMMANDS", {"cablesim --help": startup.COMMANDS["cablesim --help"]}
    )
    monkeypatch.setattr(startup, "IMPORTS", {"import numpy": startup.IMPORTS["import numpy"]})
    monkeypatch.setattr(startup, "PEERS", {})
    text = startup.page(1)
    assert "| import numpy |" in text
    assert "| `cablesim --help` |" in text
