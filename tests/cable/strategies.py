"""Hypothesis strategies for cables and faults.

Numbers are those of real floors, at full precision: metres to hundreds of metres, fractions of an
ohm to teraohms.
"""

from dataclasses import replace

from hypothesis import strategies as st

from cablesim.cable.braid import Braid
from cablesim.cable.cable import Cable
from cablesim.cable.conductors import Conductor
from cablesim.cable.construction import CONSTRUCTIONS
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.cable.geometry import Geometry
from cablesim.cable.insulations import INSULATIONS
from cablesim.cable.materials import ALLOYS


def log_uniform(low, high):
    """Floats between two bounds, evenly over the decades."""
    from math import log10

    return st.floats(log10(low), log10(high)).map(lambda e: min(max(10.0**e, low), high))


def _conductors():
    sizes = st.one_of(
        st.fixed_dictionaries({"strand_mm": st.floats(0.05, 2.0)}),
        st.fixed_dictionaries({"nominal_mm2": st.floats(0.1, 10.0)}),
        st.fixed_dictionaries({"awg": st.integers(8, 30).map(float)}),
    )
    others = st.fixed_dictionaries(
        {}, optional={"strands": st.integers(1, 40), "lay_factor": st.floats(1.0, 5.0)}
    )
    return st.builds(lambda size, other: Conductor(**size, **other), sizes, others)


def _braids():
    wires = st.builds(
        Braid,
        carriers=st.integers(8, 32),
        wires=st.integers(1, 10),
        wire_mm=st.floats(0.05, 0.3),
        angle_deg=st.floats(0.0, 70.0),
    )
    return wires | st.builds(Braid, area_mm2=st.floats(0.1, 10.0))


@st.composite
def makes(draw, construction="twin"):
    """How a cable may be made, with some of it not known."""
    optional = {
        "core": _conductors(),
        "insulation_mm": st.floats(0.2, 3.0),
        "braid": _braids(),
        "braid_alloy": st.sampled_from(["copper", "aluminium"]),
        "cold_lead_insulation_mm": st.floats(0.2, 3.0),
        "cold_lead": _conductors() | st.just(Conductor(nominal_mm2=1.5, iec_class=5)),
    }
    fields = draw(st.fixed_dictionaries({}, optional=optional))
    if construction == "parallel" and draw(st.booleans()):
        fields |= {"heating_wire_ohm_per_m": draw(log_uniform(10.0, 1e5)), "zone_m": 0.6}
    make = Geometry(**fields)
    least_mm = make.inside_mm(1 if construction == "single" else 2)
    if least_mm is not None and draw(st.booleans()):
        make = replace(make, braid_inside_mm=least_mm * draw(st.floats(1.0, 1.5)))
    return make


@st.composite
def cables(draw, constructions=tuple(CONSTRUCTIONS)):
    """A healthy cable, with some of its optional values given."""
    name = draw(st.sampled_from(constructions))
    built = CONSTRUCTIONS[name]
    length_m = draw(st.floats(1.0, 300.0))
    optional = {
        "tolerance_percent": st.tuples(st.floats(-20.0, 0.0), st.floats(0.0, 20.0)),
        "cold_lead_m": st.floats(0.0, 20.0),
        "cold_lead_ohm_per_m": log_uniform(1e-3, 0.1),
        "braid_ohm_per_m": log_uniform(1e-3, 0.1),
        "cold_lead_capacitance_core_braid_pf_per_m": st.floats(10.0, 500.0),
        "cold_lead_capacitance_core_core_pf_per_m": st.floats(1.0, 300.0),
        "cold_lead_insulation_gigaohm_m": log_uniform(1.0, 1e5),
        "cold_lead_velocity_factor": st.floats(0.3, 1.0),
        "cold_lead_loss_tangent": st.floats(0.0, 0.2),
        "cold_lead_insulation": st.sampled_from(sorted(INSULATIONS)),
        "capacitance_core_braid_pf_per_m": st.floats(10.0, 500.0),
        "capacitance_core_core_pf_per_m": st.floats(1.0, 300.0),
        "capacitance_tolerance_percent": st.tuples(st.floats(-60.0, 0.0), st.floats(0.0, 150.0)),
        "insulation_gigaohm_m": log_uniform(1.0, 1e5),
        "velocity_factor": st.floats(0.3, 1.0),
        "velocity_tolerance_percent": st.tuples(st.floats(-20.0, 0.0), st.floats(0.0, 20.0)),
        "loss_tangent": st.floats(0.0, 0.2),
        "temperature_c": st.floats(-10.0, 60.0),
        "core_alloy": st.sampled_from(sorted(ALLOYS)),
        "insulation": st.sampled_from(sorted(INSULATIONS)),
        "geometry": makes(name),
    }
    if name != "single":
        optional["far_end"] = st.sampled_from(["joined", "open"])
    others = draw(st.fixed_dictionaries({}, optional=optional))
    make = others.get("geometry")
    if make is not None and draw(st.booleans()):
        # Where the make says all that a label would, there may be no label.
        if name != "parallel" and make.core is not None and "core_alloy" in others:
            return Cable.rated(name, length_m, **others)
        if name == "parallel" and make.zone_m is not None:
            return Cable.rated(name, length_m, **others)
    if name == "parallel" or draw(st.booleans()):
        loop_ohm = draw(log_uniform(1.0, 2000.0))
        return Cable.rated(name, length_m, loop_ohm, **others)
    cores = draw(st.tuples(*[log_uniform(0.01, 50.0)] * len(built.cores)))
    return Cable.rated(name, length_m, core_ohm_per_m=cores, **others)


def pairs(cable):
    """Two different conductors of a cable."""
    return st.permutations(cable.conductors).map(lambda names: tuple(names[:2]))


def positions(cable):
    """A place on the cable, cold leads and both ends included."""
    return st.floats(cable.first_m, cable.last_m)


@st.composite
def faults(draw, cable, kinds=("short", "break", "joint", "degraded", "flashover")):
    """One fault that this cable can have."""
    kind = draw(st.sampled_from(kinds))
    if kind == "short":
        side = draw(st.sampled_from(["near", "far"]))
        resistance_ohm = draw(st.just(0.0) | log_uniform(1e-3, 1e6))
        drift = draw(st.just(0.0) | st.floats(1.0, 500.0))
        return Short(draw(pairs(cable)), draw(positions(cable)), resistance_ohm, side, drift)
    if kind == "break":
        cut = draw(st.lists(st.sampled_from(cable.conductors), min_size=1, unique=True).map(tuple))
        left = draw(st.none() | log_uniform(1e3, 1e9))
        at_m = draw(positions(cable))
        return Break(cut, at_m) if left is None else Break(cut, at_m, left)
    if kind == "joint":
        conductor = draw(st.sampled_from(cable.conductors))
        return Joint(conductor, draw(positions(cable)), draw(log_uniform(1e-2, 1e4)))
    resistance_ohm = draw(log_uniform(1e2, 1e10))
    between = draw(pairs(cable))
    if kind == "flashover":
        breakdown_volt = draw(log_uniform(10.0, 1e4))
        arc_volt = draw(st.floats(0.0, 1.0)) * breakdown_volt
        leakage_ohm = draw(st.just(float("inf")) | st.just(resistance_ohm))
        return Flashover(between, draw(positions(cable)), breakdown_volt, arc_volt, leakage_ohm)
    if draw(st.booleans()):
        return Degraded.at(between, draw(positions(cable)), resistance_ohm)
    from_m, to_m = sorted(draw(st.tuples(positions(cable), positions(cable))))
    return Degraded(between, from_m, to_m, resistance_ohm)
