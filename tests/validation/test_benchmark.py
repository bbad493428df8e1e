"""The page of the comparison, from few cases and without the posterior, which takes its time."""

from validation.benchmark_page import halved, page

from cablesim.benchmark.asking import Who
from cablesim.benchmark.results import reported, results_in
from cablesim.benchmark.run import run
from cablesim.benchmark.suite import load_suite

SCALING = {
    "estimator": "least_squares",
    "cases": 36,
    "own_s_per_case": 0.01,
    "rounds": 3,
    "median": [1.5, 1.6],
    "load": 2.0,
}
INSTEAD = {"posterior": "three_readings", "ceiling": "three_readings", "overconfident": "floor"}


def test_page_tells_every_part(tmp_path):
    suite = load_suite("small")
    run("small", suite, [Who("floor"), Who("three_readings")], tmp_path, cases=tuple(range(6, 20)))
    for name, other in INSTEAD.items():
        for ending in ("jsonl", "times.jsonl", "about.json"):
            (tmp_path / f"{name}.{ending}").write_bytes(
                (tmp_path / f"{other}.{ending}").read_bytes()
            )
    report = reported(results_in(tmp_path))
    # Half of an interval holds the truth no oftener than the whole.
    rows = report.results.rows["floor"]
    assert halved(rows).value < report.values["floor"]["all"]["coverage"].value
    text = page({"small": report}, SCALING)
    assert "nan" not in text
    for told in (
        "Chosen: 14 of its 36 cases",
        "ceiling less posterior 0.000",
        "Significantly worse than the floor: none.",
        "overconfident holds the truth in",
        "1e9 cases",
        "licensed practice",
        "killed",
    ):
        assert told in text
