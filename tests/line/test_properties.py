"""What must hold for every damaged cable, whatever its numbers."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from line.electrics import ROUNDING, ohm, resistance, same
from line.strategies import (
    cables,
    cases,
    decades,
    fault_lists,
    hookups,
    nodes,
    pairs,
    places_m,
    resistances_ohm,
    variants,
    with_ohm,
)

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.cable.placing import mirrored_fault
from cablesim.line.circuit import terminal_network
from cablesim.line.layout import CHUNK, circuits
from cablesim.line.reduction import conductance, keep_only
from cablesim.line.terminals import Hookup, Terminal

FREQUENCIES_HZ = st.sampled_from([0.0, 1000.0])


# --- what no passive two-terminal network can break -----------------------------------------------


@given(cases(), FREQUENCIES_HZ)
def test_swapping_the_leads_changes_nothing(case, frequency_hz):
    cable, faults, hookup = case
    swapped = replace(hookup, leads=hookup.leads[::-1])
    found, wanted = (ohm(cable, faults, h, frequency_hz) for h in (swapped, hookup))
    assert same(found, wanted)


@given(st.data(), FREQUENCIES_HZ)
def test_two_terminals_read_the_same_alone_or_among_others(data, frequency_hz):
    """The mesh of four terminals holds the reading between every two of them, in either direction.

    Reciprocity for two pairs of terminals follows: the transfer resistance is half of
    R(a,d) + R(b,c) - R(a,c) - R(b,d), which does not change when the pairs change places.
    """
    cable = data.draw(cables())
    faults = data.draw(fault_lists(cable))
    four = data.draw(st.permutations(nodes(cable)))[:4]
    whole = terminal_network(cable, faults, four, frequency_hz)
    for u, v in combinations(four, 2):
        alone = terminal_network(cable, faults, (v, u), frequency_hz)
        hookup = Hookup(((u,), (v,)))
        found, wanted = (resistance(n.between_leads(hookup)[0, 1]) for n in (alone, whole))
        assert same(found, wanted)


@given(cases())
def test_every_conductance_between_terminals_is_positive(case):
    cable, faults, _ = case
    for value in terminal_network(cable, faults, nodes(cable)).siemens.values():
        assert value >= 0


@given(cases(), decades(1, 8))
def test_no_combination_of_voltages_gives_power_back(case, frequency_hz):
    """At a frequency one conductance may be negative, but never the power into all terminals."""
    cable, faults, hookup = case
    network = terminal_network(cable, faults, nodes(cable), frequency_hz)
    order = {t: k for k, t in enumerate(nodes(cable))}
    matrix = np.zeros((len(order), len(order)), complex)
    for (u, v), value in network.siemens.items():
        i, j = order[u], order[v]
        matrix[[i, j], [j, i]] -= value
        matrix[[i, j], [i, j]] += value
    # The bound is that of the eigenvalue routine itself, about 1e-16 of the largest entry of the
    # matrix. What is stored may come back later, in capacitances and inductances alike.
    assert np.linalg.eigvalsh(matrix.real).min() >= -1e-14 * np.abs(matrix).max()
    between = complex(network.between_leads(hookup)[0, 1])
    assert between.real >= 0


@given(cases(), st.integers(-12, 12))
def test_all_resistances_times_k(case, exponent):
    cable, faults, hookup = case
    k = 2.0**exponent * 1.1
    larger = replace(
        cable,
        core_ohm_per_m=tuple(r * k for r in cable.core_ohm_per_m),
        cold_lead_ohm_per_m=cable.cold_lead_ohm_per_m * k,
        braid_ohm_per_m=cable.braid_ohm_per_m * k,
        insulation_gigaohm_m=cable.insulation_gigaohm_m * k,
        heating_ohm_m=cable.heating_ohm_m * k,
        cold_lead_insulation_gigaohm_m=k * cable.medium(heated=False).insulation_gigaohm_m,
    )
    found = ohm(larger, [with_ohm(f, f.resistance_ohm * k) for f in faults], hookup)
    # A dead short stays 1e-15 ohm, it is not scaled: so much more may differ for a large k.
    assert same(found, k * ohm(cable, faults, hookup), dead_ohm=2e-14 * max(k, 1.0))


@given(cases(least=1), st.data())
def test_a_lower_fault_resistance_never_raises_a_reading(case, data):
    """Rayleigh's law, for each fault on its own."""
    cable, faults, hookup = case
    number = data.draw(st.integers(0, len(faults) - 1))
    fault = faults[number]
    factor = data.draw(decades(-6, -0.001))
    assume(np.isfinite(fault.resistance_ohm))
    lower = with_ohm(fault, fault.resistance_ohm * factor)
    changed = [lower if k == number else f for k, f in enumerate(faults)]
    # 1e-13: the two numbers are rounded apart, and may be equal in truth.
    assert ohm(cable, changed, hookup) <= ohm(cable, faults, hookup) * (1 + 1e-13)


@given(st.data(), FREQUENCIES_HZ)
def test_cores_may_change_their_names(data, frequency_hz):
    cable, faults, hookup = data.draw(cases("twin"))

    def renamed(names):
        other = {"core1": "core2", "core2": "core1", "braid": "braid"}
        return tuple(other[name] for name in names)

    def relabelled(fault):
        if isinstance(fault, Break):
            return replace(fault, conductors=renamed(fault.conductors))
        if isinstance(fault, Joint):
            return replace(fault, conductor=renamed([fault.conductor])[0])
        return replace(fault, between=renamed(fault.between))

    def touching(groups):
        return tuple(
            tuple(Terminal(renamed([t.conductor])[0], t.end) for t in group) for group in groups
        )

    swapped = replace(cable, core_ohm_per_m=cable.core_ohm_per_m[::-1])
    other = Hookup(touching(hookup.leads), touching(hookup.links))
    found = ohm(swapped, [relabelled(f) for f in faults], other, frequency_hz)
    assert same(found, ohm(cable, faults, hookup, frequency_hz))


# --- cutting, and faults that are none ------------------------------------------------------------


@given(cases(), st.data(), FREQUENCIES_HZ)
def test_cutting_a_piece_anywhere_changes_nothing(case, data, frequency_hz):
    cable, faults, hookup = case
    at_m = data.draw(places_m(cable))
    between = data.draw(pairs(cable))
    none = data.draw(
        st.sampled_from(
            [
                Short(between, at_m, np.inf, "near"),
                Short(between, at_m, np.inf, "far"),
                Degraded.at(between, at_m, np.inf),
                Degraded(between, cable.first_m, at_m, np.inf),
                Joint(between[0], at_m, 0.0),
                Break(between, at_m, 0.0),
            ]
        )
    )
    wanted = ohm(cable, faults, hookup, frequency_hz)
    # The joint of 0 ohm must not part a leak that lies at this very place either.
    assert same(ohm(cable, (*faults, none), hookup, frequency_hz), wanted)


@given(cases(least=1), st.data())
def test_a_fault_of_infinite_resistance_is_no_fault_and_a_break_of_none_no_break(case, data):
    cable, faults, hookup = case
    number = data.draw(st.integers(0, len(faults) - 1))
    fault = faults[number]
    harmless = with_ohm(fault, 0.0 if isinstance(fault, Break | Joint) else np.inf)
    changed = [harmless if k == number else f for k, f in enumerate(faults)]
    without = [f for k, f in enumerate(faults) if k != number]
    assert same(ohm(cable, changed, hookup), ohm(cable, without, hookup))


@given(cases(), st.data(), FREQUENCIES_HZ)
def test_a_stretch_may_be_told_in_two_parts(case, data, frequency_hz):
    """A uniform leak is its two parts, each with the resistance of its share."""
    cable, faults, hookup = case
    between, whole = data.draw(pairs(cable)), data.draw(resistances_ohm(zero=False, infinite=False))
    a, b, c = sorted(data.draw(places_m(cable)) for _ in range(3))
    assume(a < b < c)
    one = Degraded(between, a, c, whole)
    two = [
        Degraded(between, a, b, whole * (c - a) / (b - a)),
        Degraded(between, b, c, whole * (c - a) / (c - b)),
    ]
    found = ohm(cable, (*faults, *two), hookup, frequency_hz)
    assert same(found, ohm(cable, (*faults, one), hookup, frequency_hz))


@given(cases(), st.data())
def test_shorts_side_by_side_and_joints_in_a_row_add_up(case, data):
    cable, faults, hookup = case
    at_m, between = data.draw(places_m(cable)), data.draw(pairs(cable))
    a, b = (data.draw(resistances_ohm(zero=False, infinite=False)) for _ in range(2))
    several = [
        Short(between, at_m, a),
        Short(between, at_m, b),
        Joint(between[0], at_m, a),
        Joint(between[0], at_m, b),
    ]
    one_each = [Short(between, at_m, 1 / (1 / a + 1 / b)), Joint(between[0], at_m, a + b)]
    assert same(ohm(cable, (*faults, *several), hookup), ohm(cable, (*faults, *one_each), hookup))


@given(st.data(), decades(-3, 9))
def test_a_leak_beyond_a_clean_cut_is_not_seen(data, leak_ohm):
    """At places off the grid too: the end of a stretch must not slip past a cut at the same place.

    One rounding of a place is 1e-16 of the stretch, and 1e-16 of a low leak is a lot beside the
    insulation of what lies before the cut.
    """
    cable = data.draw(cables("single"))
    begin, end = sorted(data.draw(st.floats(0.0, cable.heated_length_m)) for _ in range(2))
    assume(begin > 0 and end - begin > 1e-6)
    cut = Break(cable.conductors, begin)
    hookup = Hookup.of(cable, ("core1", "braid"))
    with_leak = ohm(cable, (cut, Degraded(("core1", "braid"), begin, end, leak_ohm)), hookup)
    assert same(with_leak, ohm(cable, (cut,), hookup))


# --- order of faults, batches ---------------------------------------------------------------------


@given(cases(least=2), st.data(), FREQUENCIES_HZ)
def test_the_order_in_which_faults_are_listed_does_not_matter(case, data, frequency_hz):
    cable, faults, hookup = case
    shuffled = data.draw(st.permutations(faults))
    wanted = ohm(cable, faults, hookup, frequency_hz)
    assert same(ohm(cable, shuffled, hookup, frequency_hz), wanted)


def fields_of(fault):
    return ("from_m", "to_m") if isinstance(fault, Degraded) else ("at_m",)


def stacked(faults, shape):
    """One fault whose numbers are arrays of a shape, out of several of one kind."""
    key = "leakage_ohm" if isinstance(faults[0], Flashover) else "resistance_ohm"
    names = (*fields_of(faults[0]), key)
    arrays = {n: np.array([getattr(f, n) for f in faults]).reshape(shape) for n in names}
    return replace(faults[0], **arrays)


@given(st.data(), FREQUENCIES_HZ)
def test_a_batch_equals_its_loop(data, frequency_hz):
    """Places, and so their order along the cable, differ from scenario to scenario."""
    cable = data.draw(cables())
    faults = data.draw(fault_lists(cable, least=1))
    hookup = data.draw(hookups(cable))
    count = data.draw(st.integers(1, 4))
    many = [[data.draw(variants(cable, fault)) for _ in range(count)] for fault in faults]
    batch = ohm(cable, [stacked(f, (count,)) for f in many], hookup, frequency_hz)
    assert batch.shape == (count,)
    loop = [ohm(cable, [f[k] for f in many], hookup, frequency_hz) for k in range(count)]
    assert same(batch, np.array(loop))


@given(st.data())
def test_arrays_of_unlike_shapes_broadcast(data):
    cable = data.draw(cables())
    faults = data.draw(fault_lists(cable, least=2, most=3))
    hookup = data.draw(hookups(cable))
    rows, columns = 2, 3
    shapes = [(rows, 1), (columns,), ()][: len(faults)]
    many = [
        [data.draw(variants(cable, fault)) for _ in range(int(np.prod(shape)))]
        for fault, shape in zip(faults, shapes, strict=True)
    ]
    arrays = [stacked(f, shape) if shape else f[0] for f, shape in zip(many, shapes, strict=True)]
    factor = np.array([[1.0], [1.05]])  # the cable itself has a batch of its own shape too
    batch = ohm(cable.with_core_factor(factor), arrays, hookup)
    assert batch.shape == (rows, columns)
    for i in range(rows):
        for j in range(columns):
            picked = [f[{(2, 1): i, (3,): j, (): 0}[s]] for f, s in zip(many, shapes, strict=True)]
            one = ohm(cable.with_core_factor(float(factor[i, 0])), picked, hookup)
            assert same(batch[i, j], one)


def test_a_batch_longer_than_a_chunk_keeps_its_order():
    """Places on both sides of a cut, over more scenarios than are worked on at a time."""
    cable = Cable.rated("twin", 30.0, 88.2)
    rng = np.random.default_rng(1)
    count = 2 * CHUNK + 17
    at_m = rng.uniform(-2.5, 30.0, count)
    faults = (Short(("core1", "braid"), at_m, 55.0), Break(("core2",), rng.permuted(at_m)))
    hookup = Hookup.of(cable, ("core1", "core2"))
    batch = ohm(cable, faults, hookup)
    for k in (0, 1, CHUNK - 1, CHUNK, count - 1):
        one = [replace(f, at_m=float(f.at_m[k])) for f in faults]
        assert same(batch[k], ohm(cable, one, hookup))


@settings(max_examples=15)
@given(cables("twin"), st.sampled_from([0.0, 1e3, 1e6]))
def test_orders_that_share_a_graph_read_as_each_by_its_own(cable, frequency_hz):
    """Faults of every kind in all orders, across cold joint and end, some on one another."""
    rng = np.random.default_rng(3)
    at_m = rng.choice(np.linspace(cable.first_m, cable.last_m, 9), (6, 40))
    at_m[4:] = np.sort(at_m[4:], axis=0)
    faults = (
        Short(("core1", "braid"), at_m[0], 10 ** rng.uniform(0, 6, 40)),
        Break(("core1", "braid"), at_m[1], rng.choice([0.0, 3.0, np.inf], 40)),
        Joint("core1", at_m[2], 20.0),
        Flashover(("core2", "core1"), at_m[3], 900.0, 10.0, 1e5),
        Degraded(("core2", "braid"), at_m[4], at_m[5], 1e4),
    )
    shared, apart = (
        list(circuits(cable, faults, frequency_hz, shared=shared)) for shared in (True, False)
    )
    assert len(shared) == 1
    assert len(apart) > 20
    kept = [Terminal("core1"), Terminal("core2"), Terminal("braid")]
    found = {pair: np.empty(40, complex) for pair in combinations(kept, 2)}
    wanted = {pair: np.empty(40, complex) for pair in found}
    for values, many in ((found, shared), (wanted, apart)):
        for circuit, rows in many:
            keep_only(circuit.graph, kept)
            for u, v in values:
                values[u, v][rows.index] = conductance(circuit.graph, u, v)
    for pair in found:
        assert same(resistance(found[pair]), resistance(wanted[pair]))


def test_an_empty_batch_stays_empty():
    cable = Cable.rated("twin", 30.0, 88.2)
    faults = (Short(("core1", "braid"), np.array([]), 1.0),)
    assert ohm(cable, faults, Hookup.of(cable, ("core1", "braid"))).shape == (0,)


def test_a_batch_with_very_many_faults_equals_its_loop():
    """32 marks a scenario: as one number in base 32 their order would overflow 64 bits."""
    cable = Cable.rated("twin", 30.0, 88.2)
    first = np.arange(28) + 0.5
    second = first.copy()
    second[[26, 27]] = first[[27, 26]]  # the last two change places
    breaks = [
        Joint("core1", np.array([a, b]), 10.0 * (k + 1))
        for k, (a, b) in enumerate(zip(first, second, strict=True))
    ]
    shorted = Short(("core1", "braid"), np.array([27.0, 27.0]), 1.0)
    hookup = Hookup.of(cable, ("core1", "braid"))
    batch = ohm(cable, (*breaks, shorted), hookup)
    loop = [
        ohm(cable, [replace(f, at_m=float(f.at_m[k])) for f in (*breaks, shorted)], hookup)
        for k in range(2)
    ]
    assert loop[1] > loop[0] + 9  # 280 ohm instead of 270 lie before the short
    assert same(batch, np.array(loop))


def test_the_last_bit_is_the_same_in_every_process():
    code = (
        "import numpy as np\n"
        "from cablesim.cable.cable import Cable\n"
        "from cablesim.cable.faults import Break, Degraded\n"
        "from cablesim.line.circuit import terminal_network\n"
        "from cablesim.line.terminals import Hookup\n"
        "cable = Cable.rated('twin', 31.7, 88.2)\n"
        "faults = (Degraded(('core1', 'braid'), 3.1, 9.7, 77.7), Break(('core2',), 20.3, 1e3))\n"
        "for lead in ('core1', 'core2', 'core1+core2'):\n"
        "    hookup = Hookup.of(cable, (lead, 'braid'))\n"
        "    network = terminal_network(cable, faults, hookup.terminals, 1e3)\n"
        "    print(complex(network.between_leads(hookup)[0, 1]))\n"
    )
    printed = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(printed) == 1


# --- ends, leads and links ------------------------------------------------------------------------


@given(cases("single"), FREQUENCIES_HZ)
def test_a_single_cable_reads_the_same_from_its_other_end(case, frequency_hz):
    cable, faults, hookup = case

    def turned(groups):
        other = {"near": "far", "far": "near"}
        return tuple(tuple(Terminal(t.conductor, other[t.end]) for t in group) for group in groups)

    found = ohm(
        cable,
        [mirrored_fault(cable, fault) for fault in faults],
        Hookup(turned(hookup.leads), turned(hookup.links)),
        frequency_hz,
    )
    assert same(found, ohm(cable, faults, hookup, frequency_hz))


@given(
    cables("single"),
    st.data(),
    st.sampled_from(["near", "far", "both"]),
    st.sampled_from([("core1", "braid"), ("core1", "core1@far"), ("core1@far", "braid@far")]),
)
def test_a_leak_right_at_a_cut_keeps_its_side_of_it(cable, data, side, across):
    """The case that chance meets too seldom: which side the leak is on decides the reading."""
    at_m = data.draw(places_m(cable))
    between = ("core1", "braid")
    leak = Degraded.at(between, at_m, 50.0) if side == "both" else Short(between, at_m, 50.0, side)
    faults = (Break(("core1",), at_m), leak)
    hookup = Hookup.of(cable, across)
    far = tuple(name.removesuffix("@far") if "@" in name else f"{name}@far" for name in across)
    turned = [mirrored_fault(cable, fault) for fault in faults]
    assert same(ohm(cable, turned, Hookup.of(cable, far)), ohm(cable, faults, hookup))
    from_near = ohm(cable, faults, Hookup.of(cable, ("core1", "braid")))
    from_far = ohm(cable, faults, Hookup.of(cable, ("core1@far", "braid@far")))
    # The insulation is 5e5 ohm at the very least; core, braid and leak together below 12 kohm.
    assert (from_near < 5e4) == (side != "far")
    assert (from_far < 5e4) == (side != "near")


@given(cables("single"), st.data())
def test_mirroring_twice_is_no_mirror(cable, data):
    for fault in data.draw(fault_lists(cable)):
        twice = mirrored_fault(cable, mirrored_fault(cable, fault))
        assert repr(twice) == repr(fault)


@given(st.data(), FREQUENCIES_HZ)
def test_far_ends_linked_by_hand_are_far_ends_joined(data, frequency_hz):
    cable = data.draw(cables("twin", "open"))
    faults = data.draw(fault_lists(cable))
    joined = replace(cable, far_end="joined")
    across = data.draw(
        st.sampled_from([("core1", "core2"), ("core1", "braid"), ("core2", "braid")])
    )
    by_hand = Hookup.of(cable, across, (("core1@far", "core2@far"),))
    wanted = ohm(joined, faults, Hookup.of(joined, across), frequency_hz)
    assert same(ohm(cable, faults, by_hand, frequency_hz), wanted)
    shorted = (*faults, Short(("core1", "core2"), cable.last_m, 0.0, "far"))
    assert same(ohm(cable, shorted, Hookup.of(cable, across), frequency_hz), wanted)


@given(st.data(), FREQUENCIES_HZ)
def test_joined_leads_are_a_link_between_terminals(data, frequency_hz):
    cable = data.draw(cables("twin"))
    faults = data.draw(fault_lists(cable))
    on_one_lead = Hookup.of(cable, ("core1+core2", "braid"))
    linked = Hookup.of(cable, ("core1", "braid"), (("core1", "core2"),))
    dead = (*faults, Short(("core1", "core2"), cable.first_m, 0.0))
    found = ohm(cable, faults, on_one_lead, frequency_hz)
    assert same(found, ohm(cable, faults, linked, frequency_hz))
    assert same(found, ohm(cable, dead, Hookup.of(cable, ("core1", "braid")), frequency_hz))


@given(st.data())
def test_a_terminal_that_is_named_but_not_touched_changes_nothing(data):
    cable = data.draw(cables())
    faults = data.draw(fault_lists(cable))
    hookup = data.draw(hookups(cable))
    whole = terminal_network(cable, faults, nodes(cable))
    found = resistance(whole.between_leads(hookup)[0, 1])
    assert same(found, ohm(cable, faults, hookup))


# --- negative controls: the comparison above can fail ---------------------------------------------


@pytest.mark.parametrize("factor", [1 + 1e-11, 1 - 1e-11])
def test_a_difference_of_1e_11_is_noticed(factor):
    assert not same(55.0 * factor, 55.0)
    assert not same(np.inf, 55.0)
    assert not same(np.nan, 55.0)
    assert same(55.0 * (1 + ROUNDING / 10), 55.0)


@given(cables())
def test_an_ordinary_change_of_a_fault_is_noticed(cable):
    hookup = Hookup.of(cable, ("core1", "braid"))
    one, two = (Short(("core1", "braid"), cable.last_m / 2, r) for r in (10.0, 20.0))
    assert not same(ohm(cable, [one], hookup), ohm(cable, [two], hookup))
