"""A case to play drills on, and the acts that make one safe."""

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.instruments.standard import usual_meter
from cablesim.scenario.practice import Deviation, Practice
from cablesim.scenario.scenario import Scenario
from cablesim.site.room import Room
from cablesim.site.survey import Survey
from cablesim.training import acts
from cablesim.training.case import Case

CABLE = Cable.rated("twin", heated_length_m=12.0, loop_resistance_ohm=88.2)
SHORT = Short(("core1", "braid"), at_m=7.4, resistance_ohm=55.0)
FLOOR = Survey(
    Room(((0.0, 0.0), (3.2, 0.0), (3.2, 1.6), (0.0, 1.6))),
    (
        (0.1, 0.2),
        (2.9, 0.2),
        (2.9, 0.5),
        (0.1, 0.5),
        (0.1, 0.8),
        (2.9, 0.8),
        (2.9, 1.1),
        (0.1, 1.1),
    ),
    tile_m=(0.4, 0.4),
)
METERS = tuple(
    usual_meter(kind)
    for kind in (
        "ohmmeter",
        "insulation_tester",
        "capacitance_meter",
        "loop_bridge",
        "withstand_tester",
    )
)
SAFE = (acts.Switch(on=False), acts.Lock(), acts.Prove(), acts.Disconnect())
RESISTANCES = (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))


def a_case(faults=(SHORT,), *, seed=7, floor=FLOOR, meters=METERS, covered=True, cable=CABLE):
    told = Scenario.of(
        cable,
        title="Hall",
        meters=meters,
        supply_volt=230.0,
        floor=floor,
        practice=Practice("It trips.", covered=covered),
    )
    return Case.of("hall", told, faults, level=1, seed=seed, true=Deviation(core=1.02))


def logged(across, meter="ohmmeter"):
    """Take a meter, read it across these leads, and log it."""
    return (acts.Take(meter), acts.Touch(across), acts.Read(), acts.Log())


def three_readings():
    return tuple(act for across in RESISTANCES for act in logged(across))
