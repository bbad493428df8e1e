"""What a trainee is handed: the job card, an empty log of readings, the plan to mark."""

from __future__ import annotations

from cablesim.cable.cable import Cable
from cablesim.instruments.meters import Ohmmeter
from cablesim.report.quantities import quantity_words
from cablesim.report.words import one_line
from cablesim.scenario.scenario import Scenario
from cablesim.training.case import Case
from cablesim.training.sheets.content import Block, Fill, Section, Sheet, Table, Text
from cablesim.training.sheets.drawings import plan_drawing, straight_drawing
from cablesim.training.telling import cable_words, meter_card

__all__ = ["job_sheet", "place_drawing"]

_LOG_ROWS = 20
_STEPS = (
    "Switched off, locked off, proved dead; the key stays with you.",
    "The cable's ends taken out of the thermostat and kept apart.",
    "Before an insulation test or a loop bridge: everybody off the floor and away from the ends.",
    "After it: the cable discharged and shorted before anybody touches it.",
    "High voltage only with leave, after the resistances, the insulation and a hypothesis.",
    "Before opening: a second method agrees; the first cut lies between the runs.",
    "After the repair: the resistances read again before the floor is closed.",
)
_SIGNS = (
    "To scale, both rulers in metres. ● is the cold joint, □ the far end; dots and numbers are "
    "metres of heated cable."
)


def job_sheet(case: Case) -> Sheet:
    """Write the sheets of a trainee.

    Parameters
    ----------
    case
        Only what the trainee may know of it is used.
    """
    told = case.trainee
    return Sheet(
        name=case.name,
        title=one_line(told.title),
        kind="job",
        sections=(
            Section("Customer", _customer(told)),
            Section("Cable", _record(told)),
            Section("Bag", (_bag(told),)),
            Section("Floor", _floor(told)),
            Section("Safety: tick off", tuple(Text(step, bullet="□") for step in _STEPS)),
            Section("Readings", _log(), new_page=True),
            Section("Answer", _answer()),
            Section("Plan", _plan(told), new_page=True),
        ),
    )


def _customer(told: Scenario) -> tuple[Block, ...]:
    story = told.practice.story if told.practice is not None else ""
    lines = [one_line(line) for line in story.splitlines() if line.strip()]
    client, comma, _ = one_line(told.title).partition(",")
    name = client if comma and client else "The customer"
    return (Text(f"{name} says:", bold=True), *(Text(f"“{line}”") for line in lines))


def _record(told: Scenario) -> tuple[Block, ...]:
    """The label, and what the fitter's record of the day of laying says."""
    cable = told.cable
    first, *rest = cable_words(cable, told.supply_volt)
    low, high = (_limit(cable, percent) for percent in cable.tolerance_percent)
    cores = "+".join(cable.construction.cores)
    loop = "core1 to core1@far" if cable.construction.returns else "core1 to core2"
    rows = (
        (loop, f"{low} to {high}", "within these limits", "within these limits"),
        (f"{cores} to braid, 500 V", "at least 1 Mohm", "passed", "passed"),
    )
    record = Table(
        ("Fitter's record", "Limits", "Before covering", "After covering"),
        (0.32, 0.28, 0.2, 0.2),
        rows,
    )
    return (Text(first[:1].upper() + first[1:] + "."), *(Text(line) for line in rest), record)


def _limit(cable: Cable, percent: float) -> str:
    return quantity_words(float(cable.loop_resistance_ohm) * (1 + percent / 100), "ohm")


def _bag(told: Scenario) -> Block:
    rows = []
    for meter in told.meters.values():
        name, _, rest = meter_card(meter).partition(": ")
        leads = (
            "about " + quantity_words(float(meter.lead_ohm), "ohm")
            if isinstance(meter, Ohmmeter)
            else ""
        )
        said = rest.removesuffix(", leads not zeroed").replace("+-", "±")
        rows.append((name.replace("_", " "), said, leads))
    return Table(("Meter", "What it is", "Its leads"), (0.24, 0.56, 0.2), tuple(rows))


def _floor(told: Scenario) -> tuple[Block, ...]:
    covered = told.practice is None or told.practice.covered
    blocks = [
        Text(
            "The covering is closed." if covered else "The cable lies open: nothing covers it yet."
        )
    ]
    floor = told.floor
    if floor is None:
        return (*blocks, Text("Nobody knows how the cable lies."))
    if floor.layers:
        layers = ", ".join(f"{one.material} {one.thickness_mm:g} mm" for one in floor.layers)
        blocks.append(Text(f"From the top: {layers}."))
    if floor.tile_m is not None:
        wide, high = (100 * side for side in floor.tile_m)
        blocks.append(Text(f"Tiles of {wide:g} by {high:g} cm with their joints."))
    for number, spot in enumerate(floor.suspects, start=1):
        x, y = spot.at_m
        blocks.append(
            Text(
                f"Noticed: {one_line(spot.why) or 'a spot'}, at {x:g},{y:g} m.", bullet=f"{number}"
            )
        )
    return tuple(blocks)


def _log() -> tuple[Block, ...]:
    return (
        Text("Ask for each reading. Write down at once what the display says, over range as well."),
        Table(
            ("No", "Meter and setting", "Leads on", "Zeroed?", "Display", "What it says"),
            (0.06, 0.21, 0.2, 0.11, 0.17, 0.25),
            tuple((str(number),) for number in range(1, _LOG_ROWS + 1)),
            least=22.0,
        ),
    )


def _answer() -> tuple[Block, ...]:
    return (
        Fill(("Name:", "date:")),
        Fill(("What is broken:", "on:")),
        Fill(("Place:", "m from the cold joint; surely between", "and"), "m"),
        Fill(("A second damage, if any:", "m; surely between", "and"), "m"),
        Fill(("□ These readings cannot place it, because",)),
        Fill(("Tiles to lift:", "minutes worked:")),
    )


def _plan(told: Scenario) -> tuple[Block, ...]:
    if told.plan is None:
        say = "The cable laid out straight; the cold lead is dashed. Mark the place with a cross."
        return Text(say), straight_drawing(told.cable)
    say = f"{_SIGNS} Mark the place with a cross, the tiles to lift, and where the first cut goes."
    return Text(say), plan_drawing(told.plan)


def place_drawing(told: Scenario, damage_m: list[float]) -> tuple[Block, ...]:
    """The same drawing with the damage on it.

    Parameters
    ----------
    told
        With the floor.
    damage_m
        Damaged places [m from the cold joint].
    """
    if told.plan is None:
        return (straight_drawing(told.cable, damage_m),)
    on_plan = [place for place in damage_m if 0.0 <= place <= told.plan.heated_length_m]
    say = f"{_SIGNS} ⊗ is the damage; grey, what is opened for it." if on_plan else _SIGNS
    if len(on_plan) < len(damage_m):
        say += " Damage in a cold lead lies off this plan."
    return Text(say), plan_drawing(told.plan, on_plan)
