"""Several cables as one circuit: cut in two, in parallel, in a ring; order, batches, supply."""

from dataclasses import replace
from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from line.electrics import same
from line.strategies import GRID_M, cables, fault_lists, hookups, lengths_m

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.heat_survey import HeatSurvey
from cablesim.instruments.meters import CapacitanceMeter, InsulationTester, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, predict
from cablesim.line.circuit import terminal_network
from cablesim.line.energised import energise
from cablesim.line.several import Installation, Part
from cablesim.line.supply import usual_supply
from cablesim.line.terminals import Hookup

FEW = settings(max_examples=30)
FREQUENCIES_HZ = st.sampled_from([0.0, 1000.0])


def ohm(where, faults, across, frequency_hz=0.0):
    hookup = Hookup.of(where, across)
    network = terminal_network(where, faults, hookup.terminals, frequency_hz)
    siemens = network.between_leads(hookup)[0, 1]
    return np.inf if siemens == 0 else 1 / siemens


def cut_in_two(cable, faults, at_m):
    """The same cable as two lengths, with the faults on the side where they lie."""
    near = replace(
        cable, heated_length_m=at_m, far_end="open", construction=_going(cable.construction)
    )
    far = replace(cable, heated_length_m=cable.heated_length_m - at_m, cold_lead_m=0.0)
    sides = [[], []]
    for fault in faults:
        last = fault.to_m if isinstance(fault, Degraded) else fault.at_m
        beyond = last > at_m
        sides[beyond].append(_moved(fault, at_m) if beyond else fault)
    joins = [[f"{name}@far", f"b.{name}"] for name in cable.conductors]
    return Installation.of(near, {"b": (far, tuple(sides[1]))}, joins), tuple(sides[0])


def _going(construction):
    """A construction whose far end stays where it is: the second length goes on there."""
    return replace(construction, returns=False)


def _moved(fault, by_m):
    if isinstance(fault, Degraded):
        return replace(fault, from_m=fault.from_m - by_m, to_m=fault.to_m - by_m)
    return replace(fault, at_m=fault.at_m - by_m)


# --- a splice -------------------------------------------------------------------------------------


@FEW
@given(st.data(), FREQUENCIES_HZ)
def test_a_cable_cut_in_two_and_joined_again_reads_as_before(data, frequency_hz):
    name = data.draw(st.sampled_from(["twin", "parallel"]))
    cable = data.draw(cables(name))
    assume(cable.heated_length_m > 2 * GRID_M)
    at_m = data.draw(lengths_m(GRID_M, cable.heated_length_m - GRID_M))
    faults = data.draw(fault_lists(cable))
    for fault in faults:  # one that spans or sits on the cut lies on neither side alone
        ends = (fault.from_m, fault.to_m) if isinstance(fault, Degraded) else (fault.at_m,)
        assume(at_m not in ends)
        assume(len({end > at_m for end in ends}) == 1)
    hookup = data.draw(hookups(cable))
    # A far terminal is now that of the second length.
    moved = tuple(
        "+".join(f"b.{t}" if t.end == "far" else str(t) for t in lead) for lead in hookup.leads
    )
    whole, near_faults = cut_in_two(cable, faults, at_m)
    found = ohm(whole, near_faults, moved, frequency_hz)
    assert same(found, ohm(cable, faults, hookup.across, frequency_hz))


def test_the_energised_cable_is_the_same_cut_in_two():
    cable = Cable.rated("twin", 30.0, 88.2)
    faults = (
        Short(("core1", "braid"), 17.0, 55.0),
        Joint("core2", 4.0, 3.0),
        Degraded(("core1", "core2"), 20.0, 26.0, 900.0),
    )
    whole, near_faults = cut_in_two(cable, faults, 12.0)
    one = energise(cable, faults, usual_supply(cable, 230.0))
    two = energise(whole, near_faults, usual_supply(whole, 230.0))
    assert two.watt == pytest.approx(one.watt, rel=1e-12)
    # Numbered through: the joint of the near length, then the two of the far one.
    np.testing.assert_allclose(two.fault_watt, one.fault_watt[[1, 0, 2]], rtol=1e-9)
    assert two.along_watt == pytest.approx(one.along_watt, rel=1e-9)
    far = two.at(np.array([1.0, 10.0, 17.5]), "b")
    np.testing.assert_allclose(far.watt_per_m, one.at(far.positions_m + 12.0).watt_per_m, rtol=1e-9)
    assert two.residual_ampere() == pytest.approx(one.residual_ampere(), rel=1e-12)
    assert two.marks_m("b") == (0.0, 5.0, 8.0, 14.0, 18.0)


# --- parallel -------------------------------------------------------------------------------------


@FEW
@given(st.data(), FREQUENCIES_HZ)
def test_two_mats_at_one_thermostat_add_their_conductances(data, frequency_hz):
    """Between the same two conductors, with the third joined too: three-terminal meshes add up."""
    main, other = (data.draw(cables("twin")) for _ in range(2))
    faults, other_faults = (data.draw(fault_lists(c)) for c in (main, other))
    both = Installation.of(main, {"b": (other, other_faults)})
    three = [("core1",), ("core2",), ("braid",)]
    leads = Hookup.of(main, tuple(name for (name,) in three))
    meshes = [
        terminal_network(where, found, leads.terminals, frequency_hz).between_leads(leads)
        for where, found in ((main, faults), (other, other_faults), (both, faults))
    ]
    for pair in combinations(range(3), 2):
        np.testing.assert_allclose(meshes[2][pair], meshes[0][pair] + meshes[1][pair], rtol=1e-12)


def test_a_single_and_a_twin_cable_share_a_thermostat():
    single, twin = Cable.rated("single", 40.0, 60.0), Cable.rated("twin", 30.0, 88.2)
    both = Installation.of(single, {"b": twin})
    found = energise(both, (), usual_supply(both, 230.0))
    alone = [energise(c, (), usual_supply(c, 230.0)).watt for c in (single, twin)]
    assert found.watt == pytest.approx(sum(alone), rel=1e-12)
    assert both.node_of(both.terminal("b.core2")) == both.node_of(both.terminal("core1@far"))


@FEW
@given(st.data())
def test_which_cable_is_the_main_one_does_not_matter(data):
    one, two = (data.draw(cables("twin")) for _ in range(2))
    faults, others = (data.draw(fault_lists(c)) for c in (one, two))
    across = ("core1", "braid")
    forth = ohm(Installation.of(one, {"b": (two, others)}), faults, across)
    back = ohm(Installation.of(two, {"a": (one, faults)}), others, across)
    assert same(forth, back)


@FEW
@given(st.data())
def test_the_order_of_cables_and_joins_does_not_matter(data):
    main = data.draw(cables("twin", far_end="open"))
    others = {name: data.draw(cables("twin", far_end="open")) for name in "bcd"}
    joins = [["core1@far", "b.core1"], ["b.core1@far", "c.core1"], ["c.core2", "core2", "d.braid"]]
    joins += [["c.core1@far", "d.core1", "core1"]]
    order = data.draw(st.permutations(list(others)))
    turned = [list(data.draw(st.permutations(g))) for g in data.draw(st.permutations(joins))]
    across = ("core1@far", "core2")
    found = ohm(Installation.of(main, {n: others[n] for n in order}, turned), (), across)
    assert same(found, ohm(Installation.of(main, others, joins), (), across))


# --- loops ----------------------------------------------------------------------------------------


def test_a_ring_is_its_two_ways_round_in_parallel():
    """Infinite insulation: from the main cable's near end to its far end by either cable."""
    a, b = (
        Cable.rated("single", 30.0, loop, cold_lead_m=0.0, insulation_gigaohm_m=1e12)
        for loop in (30.0, 60.0)
    )
    ring = Installation.of(a, {"b": b}, [["core1", "b.core1"], ["core1@far", "b.core1@far"]])
    assert ohm(ring, (), ("core1", "core1@far")) == pytest.approx(20.0, rel=1e-9)
    cut = (Break(("core1",), 10.0),)
    assert ohm(ring, cut, ("core1", "core1@far")) == pytest.approx(60.0, rel=1e-9)


def test_a_cable_bent_into_a_ring_of_its_own():
    """Both ends of one core joined: to a short to the braid there are two ways, in parallel."""
    a = Cable.rated("single", 30.0, 30.0, cold_lead_m=0.0, braid_ohm_per_m=1e-9)
    b = Cable.rated("twin", 1.0, 1.0)
    bent = Installation.of(a, {"b": b}, [["core1", "core1@far"]])
    short = (Short(("core1", "braid"), 10.0, 5.0),)
    assert ohm(bent, short, ("core1", "braid")) == pytest.approx(5.0 + 20.0 / 3, rel=1e-7)


@pytest.mark.ngspice
def test_a_ring_of_three_damaged_cables_against_ngspice():
    from outside.netlist import Netlist, values_printed

    wet = {
        "far_end": "open",
        "insulation_gigaohm_m": 1e-2,
        "braid_ohm_per_m": 1.0,
        "cold_lead_ohm_per_m": 0.1,
    }
    cables_of = {
        "": Cable.rated("twin", 20.0, 40.0, **wet),
        "b": Cable.rated("twin", 25.0, 75.0, **wet),
        "c": Cable.rated("twin", 15.0, 30.0, **wet),
    }
    faults = {
        "": (Short(("core1", "braid"), 8.0, 70.0),),
        "b": (Joint("core1", 9.0, 6.0), Short(("core1", "core2"), 20.0, 400.0)),
        "c": (Degraded(("core2", "braid"), 3.0, 9.0, 500.0),),
    }
    joins, netlist = [], Netlist(1e-7)
    netlist_joins = []
    names = list(cables_of)
    prefixes = {name: f"k{k}" for k, name in enumerate(names)}
    for name in names:
        netlist.add(cables_of[name], faults[name], [("core1@far", "core2@far")])
    ends = {name: netlist.probes[k][0] for k, name in enumerate(names)}
    for k, name in enumerate(names):
        after = names[(k + 1) % 3]
        for c, core in enumerate(("core1", "core2")):
            one = (f"{name}." if name else "") + f"{core}@far"
            joins.append([one, (f"{after}." if after else "") + core])
            netlist_joins.append(f"Vj{k}{core} {ends[name][c]} {prefixes[after]}{core} 0")
    # In the netlist all near braids are ground; so they are here.
    joins.append(["braid", "b.braid", "c.braid"])
    ring = Installation.of(cables_of[""], {n: (cables_of[n], faults[n]) for n in names if n}, joins)
    deck = ["* a ring", *netlist.lines, *netlist_joins, "I1 0 k0core1 1", ".control"]
    deck += ["set numdgt=16", "op", "let z = v(k0core1)", "print z", "quit", ".endc", ".end"]
    (wanted,) = np.real(values_printed(deck))
    assert ohm(ring, faults[""], ("core1", "braid")) == pytest.approx(wanted, rel=1e-6)


# --- batches, meters, refusals --------------------------------------------------------------------


def test_a_batch_of_installations_holds_what_its_rows_are_alone():
    near, far = Cable.rated("twin", 30.0, 88.2), Cable.rated("twin", 10.0, 40.0)
    at_m, other_m = np.array([2.0, 29.0, 11.0]), np.array([[7.0], [1.0]])

    def laid(main_m, b_m):
        main = (Short(("core1", "braid"), main_m, 55.0), Break(("core2",), 11.5))
        b = (Short(("core2", "braid"), b_m, 5.0), Joint("core1", 5.0, 2.0))
        return Installation.of(near, {"b": (far, b)}), main

    batch, main = laid(at_m, other_m)
    probes = [
        Probe(Ohmmeter(name="o"), Hookup.of(batch, across))
        for across in (("core1", "core2"), ("core1", "braid"))
    ]
    found = predict(batch, main, probes)
    assert found.shape == (2, 3, 2)
    heat = energise(batch, main, usual_supply(batch, 230.0))
    assert heat.fault_watt.shape == (2, 3, 4)
    for i in range(2):
        for k in range(3):
            alone, faults = laid(at_m[k], other_m[i, 0])
            np.testing.assert_allclose(found[i, k], predict(alone, faults, probes), rtol=1e-12)
            single = energise(alone, faults, usual_supply(alone, 230.0))
            np.testing.assert_allclose(heat.fault_watt[i, k], single.fault_watt, rtol=1e-9)


def test_meters_read_an_installation_like_a_cable():
    main, b = Cable.rated("twin", 30.0, 88.2), Cable.rated("twin", 20.0, 60.0)
    both = Installation.of(main, {"b": b})
    farad = Probe(CapacitanceMeter(name="c"), Hookup.of(both, ("core1+core2", "braid")))
    alone = sum(predict(cable, (), [farad])[0] for cable in (main, b))
    assert predict(both, (), [farad])[0] == pytest.approx(alone, rel=1e-9)
    megohm = Probe(
        InsulationTester(name="i"),
        Hookup.of(both, ("core1+core2", "braid")),
        Setting(test_volt=500.0),
    )
    each = [predict(cable, (), [megohm])[0] for cable in (main, b)]
    assert predict(both, (), [megohm])[0] == pytest.approx(1 / sum(1 / r for r in each), rel=1e-9)
    healthy = both.healthy
    assert healthy.others == (Part("b", b),)


def test_what_works_on_one_cable_only_says_so():
    main, b = Cable.rated("twin", 30.0, 88.2), Cable.rated("twin", 20.0, 60.0)
    both = Installation.of(main, {"b": b})
    leads = Hookup.of(both, ("core1", "braid"))
    for meter, setting in (
        (HeatSurvey(name="heat"), Setting(method="spot")),
        (InsulationTester(name="i"), Setting(test_volt=500.0, seconds=60.0)),
    ):
        with pytest.raises(InputError, match="read each alone"):
            predict(both, (), [Probe(meter, leads, setting)])


@pytest.mark.parametrize(
    ("others", "joins", "said"),
    [
        ({"b": None}, [["core1", "b.core9"]], "core9.*did you mean"),
        ({"b": None}, [["core1", "bb.core1"]], "cable is 'bb'"),
        ({"b": None}, [["core1"]], "at least two different terminals"),
        ({"b": None}, [["core1", "core1"]], "at least two different terminals"),
        ({"b": None}, [[".core1", "b.core1"]], "before the dot"),
        ({"": None}, None, "name of another cable"),
        ({"b c": None}, None, "name of another cable"),
    ],
)
def test_it_refuses_what_cannot_be_joined(others, joins, said):
    cable = Cable.rated("twin", 30.0, 88.2)
    with pytest.raises(InputError, match=said):
        Installation.of(cable, dict.fromkeys(others, cable), joins)


def test_leads_that_a_join_ties_together_are_refused():
    cable = Cable.rated("twin", 30.0, 88.2)
    both = Installation.of(cable, {"b": cable})
    with pytest.raises(InputError, match="leads that are not joined"):
        Hookup.of(both, ("core1", "b.core1"))


def test_any_tree_of_lengths_is_allowed():
    """A star of four arms: the way from tip to tip leads through the middle."""
    arm = Cable.rated("single", 10.0, 10.0, cold_lead_m=0.0, insulation_gigaohm_m=1e12)
    star = Installation.of(
        arm, dict.fromkeys("bcd", arm), [["core1@far", "b.core1", "c.core1", "d.core1"]]
    )
    tree = nx.star_graph(["hub", "core1", "b.core1@far", "c.core1@far", "d.core1@far"])
    for one, two in combinations([tip for tip in tree if tip != "hub"], 2):
        hops = nx.shortest_path_length(tree, one, two)
        assert ohm(star, (), (one, two)) == pytest.approx(10.0 * hops, rel=1e-9)
