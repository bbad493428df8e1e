"""Traces of a pulse echo meter beside the scenario file: found, or refused in one sentence."""

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.errors import ScenarioError
from cablesim.line.pulse import Incident, echo_trace
from cablesim.line.reflection import echo_delay_ns
from cablesim.line.terminals import Hookup
from cablesim.scenario.reading import load_scenario, parse_scenario
from cablesim.scenario.writing import dump_scenario

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SCENARIO = """
[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2

[[reading]]
meter = "pulse_echo"
across = ["core1", "braid"]
trace = "damaged.csv"
"""


def as_csv(trace):
    rows = "".join(
        f"{1e9 * t:.4f},{v:.6f}\n" for t, v in zip(trace.time_s, trace.volt, strict=True)
    )
    return "time_ns,volt\n" + rows


@pytest.fixture
def folder(tmp_path):
    rng = np.random.default_rng(5)
    leads = Hookup.of(TWIN, ("core1", "braid"))
    for name, faults in {
        "damaged": (Short(("core1", "braid"), 12.4, 20.0),),
        "healthy": (),
    }.items():
        trace = echo_trace(TWIN, faults, leads, Incident(3e-9), points=600)
        trace.volt[:] += 0.002 * rng.standard_normal(600)
        (tmp_path / f"{name}.csv").write_text(as_csv(trace))
    return tmp_path


@pytest.mark.parametrize("more", ["", 'healthy_trace = "healthy.csv"\n', 'sign = "-"\n'])
def test_the_echo_is_found_on_the_trace(folder, more):
    (folder / "hall.toml").write_text(SCENARIO + more)
    scenario = load_scenario(folder / "hall.toml")
    (reading,) = scenario.readings
    assert reading.shown == pytest.approx(float(echo_delay_ns(TWIN, 12.4)), abs=1.0)
    assert reading.probe.setting.sign == "-"
    assert scenario.entries[0].traces is not None


def test_a_trace_without_such_an_echo_is_over_range(folder):
    healthy = 'healthy_trace = "damaged.csv"\n'
    (folder / "hall.toml").write_text(SCENARIO + healthy)
    (reading,) = load_scenario(folder / "hall.toml").readings
    assert np.isinf(reading.shown)


def test_what_is_written_again_holds_the_time(folder):
    (folder / "hall.toml").write_text(SCENARIO)
    scenario = load_scenario(folder / "hall.toml")
    text = dump_scenario(scenario)
    assert "echo_ns" in text and "damaged.csv" not in text
    assert parse_scenario(text) == scenario


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", ["line 1 of damaged.csv", "time_ns,volt"]),
        ("time,volt\n1,2\n", ["line 1 of damaged.csv", "time,volt"]),
        ("time_ns,volt\n1,2\n3\n", ["line 3 of damaged.csv", "two numbers"]),
        ("time_ns,volt\n1,nan\n", ["line 2 of damaged.csv", "two numbers"]),
        ("time_ns,volt\n1,2,3\n", ["line 2 of damaged.csv", "two numbers"]),
        ("time_ns,volt\n1,2\n", ["rows of damaged.csv", "8 to 100000"]),
        ("time_ns,volt\n" + "".join(f"{k},0\n" for k in range(50)), ["no step that enters"]),
        ("time_ns,volt\n" + "".join(f"{k**2},{k}\n" for k in range(50)), ["evenly spaced"]),
        ("time_ns,volt\n" + "".join(f"{9 * k},{k}\n" for k in range(50)), ["at most the rise"]),
        (b"\xff\xfe\x00", ["cannot be read"]),
        ("time_ns,volt\n" + "1,2\n" * 2_000_000, ["bytes of damaged.csv", "at most"]),
    ],
)
def test_a_trace_that_cannot_be_used_is_refused_in_one_sentence(tmp_path, content, words):
    (tmp_path / "hall.toml").write_text(SCENARIO)
    (tmp_path / "damaged.csv").write_bytes(
        content if isinstance(content, bytes) else content.encode()
    )
    with pytest.raises(ScenarioError) as caught:
        load_scenario(tmp_path / "hall.toml")
    said = str(caught.value)
    assert "reading 1" in said and said.isprintable()
    assert all(word in said for word in words), said
