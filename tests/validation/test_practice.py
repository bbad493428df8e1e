"""One case of the practice checks in every run; the full ones are run by hand."""

from validation.practice_cases import row_of
from validation.practice_page import page
from validation.practice_trainees import run


def test_a_case_is_made_answered_and_told_on_the_page(tmp_path):
    # The first case: level 1 with the full bag.
    row = row_of(1, 2026, tmp_path)
    assert row["level"] == 1
    assert row["right"] and row["located"]
    assert abs(row["error_m"]) < 3 * row["half_width_m"]
    marks = run(1, tmp_path)
    totals = {mark["trainee"]: mark["total"] for mark in marks}
    assert totals["expert"] > 95.0
    assert totals["expert"] > totals["beginner"] + 10.0
    assert run(1, tmp_path) == marks  # nothing is done twice
    told = page([row, row], [*marks, *marks], 1000)
    assert "| expert | 2 | 100" in told or "| expert | 2 | 9" in told
