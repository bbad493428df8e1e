"""Reflectograms: every echo has its meaning, recorded traces count as computed ones do."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint, Short
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.instruments.readings import Probe
from cablesim.line.pulse import echo_trace
from cablesim.line.terminals import Hookup
from cablesim.report.reflectogram import reflectogram
from cablesim.report.reflectogram_figure import reflectogram_figure
from cablesim.scenario.scenario import EchoTraces, Entry, Scenario

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SINGLE = Cable.rated("single", heated_length_m=30.0, loop_resistance_ohm=30.0)


@pytest.mark.parametrize(
    ("fault", "across", "meanings"),
    [
        (Short(("core1", "braid"), 12.4, 20.0), None, ["short or leak", "far end"]),
        (Break(("core1",), 12.4), None, ["break or bad joint", "far end, weaker than healthy"]),
        (Break(("core1", "core2", "braid"), 12.4), None, ["break or bad joint"]),
        (Joint("core2", 12.4, 40.0), ("core1", "core2"), ["break or bad joint", "far end"]),
    ],
)
def test_each_echo_has_its_meaning(fault, across, meanings):
    shown = reflectogram(Scenario.of(TWIN, [fault]), across)
    found = [echo.likely for echo in shown.echoes if echo.likely != "repeat"]
    assert found[: len(meanings)] == meanings
    (first,) = [echo for echo in shown.echoes if echo.from_fault][:1]
    assert first.position_m == pytest.approx(12.4, abs=0.05)
    assert first.interval_m[0] < 12.4 < first.interval_m[1]


def test_the_interval_holds_the_tolerance_of_the_speed():
    short = Short(("core1", "braid"), 12.4, 20.0)
    widths = []
    for percent in (1.0, 5.0):
        cable = replace(TWIN, velocity_tolerance_percent=(-percent, percent))
        low, high = reflectogram(Scenario.of(cable, [short])).echoes[0].interval_m
        widths.append(high - low)
    assert widths[1] - widths[0] == pytest.approx(2 * 0.04 * 14.9, rel=0.02)


def test_from_the_other_end_the_distance_runs_backwards():
    short = Short(("core1", "braid"), 9.0, 10.0)
    shown = reflectogram(Scenario.of(SINGLE, [short]), ("core1@far", "braid@far"))
    assert shown.echoes[0].position_m == pytest.approx(9.0, abs=0.05)
    assert shown.position_m(100.0) < shown.position_m(50.0)


@pytest.mark.parametrize("known", [False, True])
def test_a_recorded_trace_counts_instead_of_stated_faults(known):
    # Recorded with another offset and scale, later, and with noise.
    rng = np.random.default_rng(6)
    leads, meter = Hookup.of(TWIN, ("core1", "braid")), PulseEcho(name="pulse_echo")

    def recorded(*faults):
        trace = echo_trace(TWIN, faults, leads, meter.incident, points=800)
        volt = 0.4 + 2.5 * (trace.volt + 0.001 * rng.standard_normal(800))
        return replace(trace, time_s=trace.time_s + 3e-8, volt=volt)

    traces = EchoTraces(recorded(Break(("core1",), 20.0)), recorded() if known else None)
    entry = Entry(Probe(meter, leads), traces=traces)
    wrong = (Short(("core1", "braid"), 3.0, 1.0),)
    shown = reflectogram(Scenario(TWIN, wrong, (entry,)))
    assert shown.recorded
    (first, *_) = [echo for echo in shown.echoes if echo.from_fault]
    assert first.position_m == pytest.approx(20.0, abs=0.1)
    assert first.found.sign == "+"


@pytest.mark.parametrize("length_m", [3.0, 30.0, 150.0])
def test_the_names_of_places_stay_apart_and_on_the_page(length_m):
    cable = Cable.rated("twin", heated_length_m=length_m, loop_resistance_ohm=88.2)
    fault = Short(("core1", "braid"), 0.9 * length_m, 5.0)
    figure = reflectogram_figure(reflectogram(Scenario.of(cable, [fault], title="x" * 300)))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    page = figure.bbox
    names = [t for t in figure.axes[0].texts if t.get_text().strip()]
    boxes = [text.get_window_extent(renderer) for text in names]
    assert len(boxes) == 3
    for k, box in enumerate(boxes):
        assert page.x0 <= box.x0 and box.x1 <= page.x1 and box.y1 <= page.y1
        assert not any(box.overlaps(other) for other in boxes[k + 1 :])
