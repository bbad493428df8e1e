"""A smoke run of the check with damaged files, and proof that it notices what is wrong."""

from validation import fuzz


def test_damaged_files_are_used_or_refused_in_one_sentence():
    tally = fuzz.run(150, 3)
    assert tally.wrong == []
    assert tally.outcomes["used"] > 10
    assert tally.outcomes["refused"] > 10
    assert "150 files" in fuzz.page(tally, 3)


def test_a_fault_of_the_program_is_noticed(monkeypatch):
    def broken(data, file):
        raise KeyError("at_m")

    monkeypatch.setattr(fuzz, "parse_scenario", broken)
    tally = fuzz.run(2, 3)
    assert [number for number, _ in tally.wrong] == [0, 1]
