"""Random meters and exact values for hypothesis."""

from __future__ import annotations

from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Meter,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", 30.0, 88.2)
TWO_LEADS = Hookup.of(TWIN, ("core1", "braid"))
THREE_LEADS = Hookup.of(TWIN, ("core1", "core2", "braid"))


@st.composite
def meters(draw) -> Meter:
    """Any meter that has ranges and a display, from a good one to a very poor one."""
    make = draw(st.sampled_from([Ohmmeter, InsulationTester, CapacitanceMeter]))
    counts = draw(st.sampled_from([200.0, 2000.0, 4000.0, 6000.0, 20000.0, 50000.0]))
    resolution = draw(st.sampled_from([1e-3, 0.01, 0.1, 0.5, 1.0]))
    ranges = draw(st.integers(1, 7))
    leads = {}
    if make.reads_leads:
        leads["lead_ohm"] = draw(st.sampled_from([0.0, 0.3, 5.0]))
        leads["lead_ohm_tolerance"] = leads["lead_ohm"] * draw(st.sampled_from([0.0, 0.5, 1.0]))
    return make(
        name="m",
        accuracy_percent=draw(st.sampled_from([0.0, 0.1, 0.8, 2.5, 30.0, 90.0])),
        accuracy_counts=draw(st.sampled_from([0.0, 0.5, 3.0, 10.0])),
        counts=counts,
        resolution=resolution,
        top_range=counts * resolution * 10.0 ** (ranges - 1),
        **leads,
    )


@st.composite
def bridges(draw) -> tuple[LoopBridge, Setting]:
    method = draw(st.sampled_from(LoopBridge.methods))
    bridge = LoopBridge(
        name="b",
        accuracy_percent=draw(st.sampled_from([0.0, 0.1, 1.0])),
        accuracy_counts=draw(st.sampled_from([0.0, 0.5, 5.0])),
        divisions=draw(st.sampled_from([100.0, 1000.0])),
    )
    return bridge, Setting(method=method, arms=(10.0, 30.0))


def probe_of(meter: Meter, setting: Setting | None = None) -> Probe:
    hookup = THREE_LEADS if meter.leads == 3 else TWO_LEADS
    return Probe(meter, hookup, setting or Setting())


@st.composite
def values(draw, meter: Meter) -> float:
    """Anything the display may meet, often close to a change of range, or none at all."""
    full = meter.range_from(draw(st.integers(1, meter.ranges)))
    near = draw(st.floats(-1.5, 1.5)) * (meter.accuracy_percent / 100 + 3 / meter.counts)
    at_a_limit = full * max(0.0, 1 + near)
    anywhere = 10.0 ** draw(st.floats(-5, 9))
    return draw(st.sampled_from([at_a_limit, at_a_limit, anywhere, full, 0.0, float("inf")]))
