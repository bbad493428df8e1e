"""How well a bridge can be balanced: battery, arms and galvanometer against the fault."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.strategies import cables, fault_lists, places_m

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded
from cablesim.errors import InputError
from cablesim.instruments.meters import LoopBridge, Setting
from cablesim.instruments.readings import Probe, measure, predict
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", 30.0, 88.2)
BRIDGE = LoopBridge(name="bridge")
MURRAY, VARLEY = Setting(method="murray"), Setting(method="varley", arms=(1000.0, 500.0))


def leads(cable):
    return Hookup.of(cable, ("core2", "core1", "braid"))


def leak(ohm, at_m=12.0):
    return (Degraded.at(("core1", "braid"), at_m, ohm),)


def galvanometer_ampere(bridge, cable, faults, setting, value):
    """Current through the galvanometer at one setting, by plain nodal equations."""
    hookup = leads(cable)
    g = terminal_network(cable, faults, hookup.terminals).between_leads(hookup)
    if setting.method == "varley":
        p, q = setting.arms
        box = value
    else:
        p, q, box = (1 - value) * bridge.slide_ohm, value * bridge.slide_ohm, 0.0
    # Nodes: 0 junction of the arms, 1 sound core, 2 faulty core, 3 return, 4 between Q and the box,
    # which is the faulty core itself where there is no box.
    far = 4 if box else 2
    edges = {(1, 2): g[0, 1], (1, 3): g[0, 2], (2, 3): g[1, 2], (0, 1): 1 / p, (0, far): 1 / q}
    inner = [1, 2, 4] if box else [1, 2]
    if box:
        edges[2, 4] = 1 / box
    matrix = np.zeros((5, 5))
    for (i, j), siemens in [*edges.items(), ((1, far), 1 / bridge.galvanometer_ohm)]:
        matrix[[i, j], [j, i]] -= float(siemens)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    known = np.array([bridge.battery_volt, 0.0])
    volts = np.linalg.solve(matrix[np.ix_(inner, inner)], -matrix[np.ix_(inner, [0, 3])] @ known)
    return (volts[0] - volts[-1]) / bridge.galvanometer_ohm


@pytest.mark.parametrize("setting", [MURRAY, VARLEY], ids=["murray", "varley"])
@pytest.mark.parametrize("ohm", [100.0, 1e5, 3e6])
def test_off_balance_by_that_much_the_galvanometer_just_moves(setting, ohm):
    """Independent of the formula: all five nodes solved, on either side of the balance."""
    bridge = replace(BRIDGE, galvanometer_microamp=0.05)
    (balance,) = predict(TWIN, leak(ohm), [Probe(bridge, leads(TWIN), setting)])
    unseen = float(bridge.unseen(TWIN, leak(ohm), leads(TWIN), setting))
    assert unseen > 0
    for side in (-1, 1):
        ampere = galvanometer_ampere(bridge, TWIN, leak(ohm), setting, balance + side * unseen)
        assert abs(ampere) == pytest.approx(0.05e-6, rel=0.02)


@given(st.data(), st.floats(1.01, 100.0), st.sampled_from([MURRAY, VARLEY]))
def test_more_voltage_or_a_finer_galvanometer_never_harms(data, factor, setting):
    cable = data.draw(cables("twin", "joined"))
    faults = (*leak(1e6, data.draw(places_m(cable))), *data.draw(fault_lists(cable, most=1)))
    found = [
        np.asarray(bridge.unseen(cable, faults, leads(cable), setting))
        for bridge in (
            BRIDGE,
            replace(BRIDGE, battery_volt=500.0 * factor),
            replace(BRIDGE, galvanometer_microamp=0.001 / factor),
        )
    ]
    if found[0] > 0:  # else there is no balance to begin with
        assert found[1] == pytest.approx(found[0] / factor, rel=1e-9)
        assert found[2] == pytest.approx(found[0] / factor, rel=1e-9)


def test_a_higher_fault_is_harder_to_balance():
    found = [float(BRIDGE.unseen(TWIN, leak(r), leads(TWIN), MURRAY)) for r in (1e4, 1e5, 1e6)]
    # Proportional to the fault, once it is far above the bridge's own resistances.
    assert found[2] / found[1] == pytest.approx(10, rel=0.01)
    assert found[1] / found[0] == pytest.approx(10, rel=0.05)


@pytest.mark.parametrize("setting", [MURRAY, VARLEY], ids=["murray", "varley"])
def test_where_nothing_leaks_there_is_nothing_to_see(setting):
    sealed = replace(TWIN, insulation_gigaohm_m=np.inf)
    assert float(BRIDGE.unseen(sealed, (), leads(sealed), setting)) == 0.0


@pytest.mark.parametrize("across", [("core2", "core1", "braid"), ("core1", "core2", "braid")])
def test_no_box_balances_an_open_loop(across):
    cut = replace(TWIN, insulation_gigaohm_m=np.inf, far_end="open")
    assert predict(cut, leak(1e4), [Probe(BRIDGE, Hookup.of(cut, across), VARLEY)]) == np.inf


def test_without_a_balance_there_is_nothing_to_see():
    assert float(BRIDGE.unseen(TWIN, (), leads(TWIN), MURRAY)) == 0.0
    assert BRIDGE.unseen(TWIN, leak(1e5), leads(TWIN), Setting(method="capacitance")) == 0.0


def test_high_voltage_reaches_further():
    setting, fault = MURRAY, leak(30e6)
    low, high = (
        predict(TWIN, fault, [Probe(replace(BRIDGE, battery_volt=volt), leads(TWIN), setting)])[0]
        for volt in (500.0, 5000.0)
    )
    assert np.isinf(low)
    assert high == pytest.approx(0.2, abs=0.01)


def test_measure_scatters_by_what_is_not_seen():
    weak = replace(
        BRIDGE, battery_volt=9.0, galvanometer_microamp=0.05, accuracy_counts=0.0,
        accuracy_percent=0.0, divisions=1e9,
    )  # fmt: skip
    faults = (Degraded.at(("core1", "braid"), 12.0, np.full(2000, 1e6)),)
    probe = Probe(weak, leads(TWIN), MURRAY)
    shown = measure(TWIN, faults, [probe], rng=np.random.default_rng(4))[:, 0]
    (balance,) = predict(TWIN, leak(1e6), [probe])
    unseen = float(weak.unseen(TWIN, leak(1e6), leads(TWIN), MURRAY))
    off = (shown - balance) / unseen
    assert np.all(np.abs(off) <= 1 + 1e-6)
    assert off.std() == pytest.approx(1 / np.sqrt(3), rel=0.05)


@pytest.mark.parametrize(
    "wrong",
    [{"battery_volt": 0.0}, {"galvanometer_microamp": 0.0}, {"galvanometer_ohm": -1.0},
     {"slide_ohm": 0.0}],
)  # fmt: skip
def test_impossible_bridges_are_refused(wrong):
    with pytest.raises(InputError, match=next(iter(wrong))):
        replace(BRIDGE, **wrong)
