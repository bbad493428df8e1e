"""Finding echoes: the right ones, on time, as sure as they say, and none that is not there."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.echo_finding import entering, find_echoes
from cablesim.line.pulse import Incident, Trace, echo_trace
from cablesim.line.reflection import echo_delay_ns, echoes
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
ACROSS = Hookup.of(TWIN, ("core1", "braid"))
STEP = Incident(3e-9)
PULSE = Incident(3e-9, width_s=20e-9)


def trace_of(faults, source, **how):
    return echo_trace(TWIN, faults, ACROSS, source, **({"points": 1024} | how))


def noisy(trace, volt, seed):
    rng = np.random.default_rng(seed)
    return replace(trace, volt=trace.volt + volt * rng.standard_normal(trace.volt.shape))


FAULTS = st.one_of(
    st.builds(Short, st.just(("core1", "braid")), st.floats(2.0, 25.0), st.floats(1.0, 200.0)),
    st.builds(Break, st.just(("core1",)), st.floats(2.0, 25.0)),
    st.builds(Joint, st.just("core1"), st.floats(2.0, 25.0), st.floats(10.0, 1000.0)),
)


@given(FAULTS, st.sampled_from([STEP, PULSE]), st.booleans())
@settings(max_examples=40)
def test_the_first_echo_is_that_of_the_fault(fault, source, known):
    healthy = trace_of((), source) if known else None
    found = find_echoes(trace_of((fault,), source), source, healthy=healthy)
    wanted = echoes(TWIN, (fault,), ACROSS, source.source_ohm)[0]
    first = min(found, key=lambda echo: abs(echo.delay_ns - wanted.delay_ns))
    assert first.delay_ns == pytest.approx(float(wanted.delay_ns), abs=0.3)
    assert first.sign == ("-" if isinstance(fault, Short) else "+")
    # The front is the whole of the step but for what the cable smears.
    assert first.size == pytest.approx(float(wanted.size), rel=0.15, abs=0.01)
    if known:
        assert first == next(echo for echo in found if abs(echo.size) > 0.005)


@pytest.mark.parametrize("source", [STEP, PULSE])
def test_a_healthy_cable_shows_its_far_end_and_no_difference(source):
    trace = trace_of((), source)
    assert find_echoes(trace, source, healthy=trace) == ()
    far = find_echoes(trace, source)
    assert max(far, key=lambda echo: abs(echo.size)).delay_ns == pytest.approx(
        float(echo_delay_ns(TWIN, 30.0)), abs=0.3
    )


@pytest.mark.parametrize("source", [STEP, PULSE])
def test_noise_alone_is_no_echo(source):
    healthy = trace_of((), source)
    found = [
        find_echoes(noisy(healthy, 0.005, seed), source, healthy=healthy, noise_volt=0.005)
        for seed in range(50)
    ]
    # Five standard deviations in some 200 rise times: once in a thousand traces.
    assert sum(len(echoes) for echoes in found) <= 1


@pytest.mark.parametrize(
    "fault", [Short(("core1", "braid"), 12.4, 20.0), Joint("core1", 9.0, 30.0)]
)
def test_the_stated_uncertainty_covers_the_error(fault):
    healthy, damaged = trace_of((), STEP), trace_of((fault,), STEP)
    wanted = float(echo_delay_ns(TWIN, fault.at_m))
    off, stated = [], []
    for seed in range(100):
        found = find_echoes(noisy(damaged, 0.005, seed), STEP, healthy=healthy, noise_volt=0.005)
        first = min(found, key=lambda echo: abs(echo.delay_ns - wanted))
        off.append(first.delay_ns - wanted)
        stated.append(first.uncertainty_ns)
    spread = float(np.sqrt(np.mean(np.square(off))))
    assert 0.3 * np.mean(stated) < spread < 1.2 * np.mean(stated)


def test_less_noise_less_uncertainty():
    damaged = trace_of((Short(("core1", "braid"), 12.4, 20.0),), STEP)
    healthy = trace_of((), STEP)
    stated = [
        find_echoes(damaged, STEP, healthy=healthy, noise_volt=volt)[0].uncertainty_ns
        for volt in (0.0, 0.002, 0.01)
    ]
    assert stated[0] < stated[1] < stated[2]


def test_a_trace_that_begins_at_another_time_is_the_same():
    damaged, healthy = trace_of((Break(("core1",), 8.0),), STEP), trace_of((), STEP)
    later = replace(damaged, time_s=damaged.time_s + 4e-8)
    one, other = (find_echoes(found, STEP, healthy=healthy) for found in (damaged, later))
    assert entering(later, STEP)[0] == pytest.approx(entering(damaged, STEP)[0] + 4e-8)
    assert other[0].delay_ns == pytest.approx(one[0].delay_ns, abs=0.01)


def test_what_comes_back_while_the_step_enters_is_given_no_place():
    """A short 0.5 ns away only cuts the step of 3 ns off: its falling side is no echo of 3.4 ns."""
    cable = replace(TWIN, cold_lead_m=0.0)
    trace = echo_trace(cable, (Short(("core1", "braid"), 0.05, 1.0),), ACROSS, STEP, points=1024)
    # What is left is its far end, seen through the short.
    assert max(abs(echo.size) for echo in find_echoes(trace, STEP)) < 0.01


@pytest.mark.parametrize("source", [STEP, PULSE, replace(STEP, rise_s=15e-9)])
def test_a_trace_that_begins_late_shows_the_same_step_or_is_refused(source):
    """From well before the step to its top, or that of a pulse.

    The slope is 0.3 of its most where the step has risen by 1.4 %: the most that may be cut off.
    """
    damaged = trace_of((Short(("core1", "braid"), 12.4, 20.0),), source)
    at_s, volt = entering(damaged, source)
    kept = refused = 0
    step_s = damaged.time_s[1] - damaged.time_s[0]
    for cut in range(1, int((3 * source.rise_s - damaged.time_s[0]) / step_s)):
        later = Trace(damaged.time_s[cut:], damaged.volt[cut:])
        try:
            found_s, found_volt = entering(later, source)
        except InputError:
            refused += 1
            continue
        assert refused == 0
        assert found_s == pytest.approx(at_s, abs=0.014 * source.rise_s)
        assert found_volt == pytest.approx(volt, rel=0.014)
        kept += 1
    assert kept > 0 < refused


def test_at_most_so_many_and_in_order():
    damaged = trace_of((Break(("core1",), 8.0),), STEP)
    every = find_echoes(damaged, STEP, most=100)
    few = find_echoes(damaged, STEP, most=3)
    assert len(few) == 3 < len(every)
    assert [echo.delay_ns for echo in few] == sorted(echo.delay_ns for echo in few)


@pytest.mark.parametrize(
    ("trace", "message"),
    [
        (Trace(np.arange(4.0), np.zeros(4)), "at least 8 samples"),
        (Trace(np.arange(9.0) * 1e-9, np.zeros((2, 9))), "one trace"),
        (Trace(np.arange(9.0) ** 2 * 1e-9, np.zeros(9)), "evenly spaced"),
        (Trace(np.arange(9.0) * 1e-8, np.zeros(9)), "at most the rise time"),
        (Trace(np.arange(90.0) * 1e-9, np.zeros(90)), "no step that enters"),
    ],
)
def test_what_is_no_trace_is_refused(trace, message):
    with pytest.raises(InputError, match=message):
        find_echoes(trace, STEP)
