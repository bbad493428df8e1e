"""The place on the floor, for people: where, which tiles, what lies beside, in which order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from cablesim.report.floor import FLOOR_CAUTIONS, wall_words
from cablesim.report.ruled import Ruled
from cablesim.report.tables import asked_rows, labelled, minded, other_words, stacked
from cablesim.report.words import (
    counted,
    damage_words,
    decimals_for,
    interval_words,
    one_line,
    percent_words,
    plural,
    verdict_words,
    within_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from cablesim.locate.estimate import FaultEstimate
    from cablesim.report.floor import FloorAnswer
    from cablesim.site.opening import Opening
    from cablesim.site.tiles import Tile

__all__ = ["floor_rows", "floor_section", "floor_view", "tile_words"]

_Row = tuple[str, "RenderableType"]
# More openings, neighbours or single tiles than these are not read.
_TOLD, _TILES_TOLD = 3, 8
# A probability that is worth a line.
_TOLD_SHARE = 0.01


def floor_view(answer: FloorAnswer) -> Group:
    """All that ``cablesim floor`` says.

    Parameters
    ----------
    answer
        The damage on its floor.
    """
    rows, estimate = floor_rows(answer), answer.estimate
    if estimate is not None:
        rows = [("Verdict", Text(verdict_words(estimate))), *rows]
        rows += stacked("Otherwise", [other_words(other) for other in estimate.alternatives])
        rows += asked_rows(estimate.proposals)
    panel = Ruled(labelled(rows), one_line(answer.title))
    return Group(panel, minded(FLOOR_CAUTIONS))


def floor_section(answer: FloorAnswer) -> Group:
    """What ``cablesim locate`` adds to its answer where the file has a floor.

    Parameters
    ----------
    answer
        The damage on its floor.
    """
    rows = floor_rows(answer)
    if answer.position_m is not None:
        rows += stacked("Afterwards", ["cablesim repair says what the readings must be then"])
    # The other cautions stand above it already.
    return Group(
        Ruled(labelled(rows)),
        minded(FLOOR_CAUTIONS[1:4]),
    )


def floor_rows(answer: FloorAnswer) -> list[_Row]:
    """The rows of the table, without cautions.

    Parameters
    ----------
    answer
        The damage on its floor.
    """
    plan, rows = answer.plan, list[_Row]()
    width_m = sum(high - low for low, high, _ in answer.intervals)
    decimals = decimals_for(width_m)
    if answer.position_m is not None and answer.xy_m is not None and not answer.reason:
        x, y = answer.xy_m
        run = plan.run_at(answer.position_m).number
        lines = [
            f"{answer.position_m:.{decimals}f} m from the cold joint, in run {run} of "
            f"{len(plan.runs)}",
            f"x {x:.2f} m, y {y:.2f} m on the plan: {wall_words(plan, (x, y))}",
        ]
        if answer.tile is not None:
            lines.append(f"under the tile in {tile_words([answer.tile])}")
        rows += stacked("On the floor", lines)
    if answer.intervals:
        within = interval_words([(a, b) for a, b, _ in answer.intervals], decimals)
        rows.append(("Within", Text(within)))
    rows += stacked("Also damaged", [_elsewhere_words(group) for group in answer.elsewhere])
    if answer.off_plan >= _TOLD_SHARE:
        told = (
            f"{percent_words(answer.off_plan)}: it may lie in the cold lead, which the plan does "
            "not show; look at the lead and the cold joint before opening the floor"
        )
        rows.append(("Off the plan", Text(told)))
    if answer.reason:
        rows.append(("Not yet", Text(f"no opening is advised: {answer.reason}")))
    lines = [
        f"run {n.run} at {1000 * n.distance_m:.0f} mm ({n.from_m:.2f} to {n.to_m:.2f} m)"
        for n in answer.neighbours[: 2 * _TOLD]
    ]
    if len(answer.neighbours) > 2 * _TOLD:
        lines.append(f"and {len(answer.neighbours) - 2 * _TOLD} more")
    rows += stacked("Beside it", lines)
    rows += _opening_rows(answer)
    rows += stacked("Suspect", [one_line(s.why) or "a spot marked" for s in answer.suspects])
    rows += _load_rows(answer)
    if plan.survey.route_m and abs(plan.stretched - 1) > 0.01:
        rows.append(
            (
                "Survey",
                Text(f"{100 * (plan.stretched - 1):+.1f} % off the heated length, stretched"),
            )
        )
    return rows


def _elsewhere_words(faults: Sequence[FaultEstimate]) -> str:
    """Damage at a further place, and how to see that on the plan.

    Parameters
    ----------
    faults
        As located, all at one place.
    """
    at_m = faults[0].position_m
    told = f"{damage_words(faults)}, within {within_words(faults)}: not on this plan"
    return f"{told}; cablesim floor --at {at_m:.2f} shows it" if at_m >= 0 else told


def tile_words(tiles: list[Tile] | tuple[Tile, ...]) -> str:
    """Tiles by column and row.

    >>> tile_words([(8, 3), (8, 4), (2, 1)])
    'column 8, rows 3 and 4; column 2, row 1'
    >>> tile_words([(5, 5), (6, 5), (7, 5)])
    'columns 5 to 7, row 5'
    """
    columns: dict[int, list[int]] = {}
    rows: dict[int, list[int]] = {}
    for column, row in tiles:
        columns.setdefault(column, []).append(row)
        rows.setdefault(row, []).append(column)
    if len(rows) < len(columns):
        return "; ".join(f"{_named('column', rows[row])}, row {row}" for row in rows)
    return "; ".join(f"column {column}, {_named('row', columns[column])}" for column in columns)


def _named(what: str, numbers: list[int]) -> str:
    return f"{plural(len(numbers), what)} {_numbers(sorted(numbers))}"


def _numbers(numbers: list[int]) -> str:
    if len(numbers) > 2 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]} to {numbers[-1]}"
    *most, last = (str(number) for number in numbers)
    return f"{', '.join(most)} and {last}" if most else last


def _opening_rows(answer: FloorAnswer) -> list[_Row]:
    ranking = answer.ranking
    if ranking is None:
        return []
    rows: list[_Row] = []
    several = len(ranking.openings) > 1
    for number, (opening, share) in enumerate(
        zip(ranking.openings[:_TOLD], ranking.probabilities, strict=False)
    ):
        label = "Open" if not several else "Open first" if number == 0 else "then"
        rows += stacked(label, _opening_lines(opening, share if several else None))
    if len(ranking.openings) > _TOLD:
        rows.append(("", Text(f"and {len(ranking.openings) - _TOLD} more places")))
    if ranking.lift_order:
        order = [f"{c}/{r}" for (c, r), _ in ranking.lift_order[:_TILES_TOLD]]
        more = ", ..." if len(ranking.lift_order) > _TILES_TOLD else ""
        rows += stacked(
            "Tile by tile",
            [
                f"likeliest first, column/row from the lower left: {', '.join(order)}{more}",
                f"about {ranking.expected_tiles:.1f} tiles until it is found and can be spliced"
                + (", if it lies on the plan" if answer.off_plan >= _TOLD_SHARE else ""),
            ],
        )
    return rows


def _opening_lines(opening: Opening, share: float | None) -> list[str]:
    low, high = opening.freed_m
    if opening.tiles:
        count = len(opening.tiles)
        what = f"{counted(count, 'tile')}: {tile_words(opening.tiles)}"
    else:
        what = f"a patch of {opening.area_m2:.2f} m2"
    if share is not None:
        what += f" ({percent_words(share)})"
    x, y = opening.begin_m
    lines = [
        what,
        f"frees {low:.2f} to {high:.2f} m, with room for the splice",
        f"begin at x {x:.2f} m, y {y:.2f} m: {1000 * opening.begin_clear_m:.0f} mm from the "
        "nearest run",
    ]
    if not opening.by_hand.is_empty:
        places = len(getattr(opening.by_hand, "geoms", [opening.by_hand]))
        lines.append(
            f"its edge passes over the cable in {counted(places, 'place')}: "
            "do not cut there, lift by hand"
        )
    if opening.covered < 0.999:
        lines.append("a part of it lies under what is kept out")
    return lines


def _load_rows(answer: FloorAnswer) -> list[_Row]:
    load = answer.load
    if load is None:
        return []
    told = (
        f"{load.watt:.0f} W: {load.watt_per_m:.1f} W/m, {load.watt_per_m2:.0f} W/m2 of free floor"
    )
    if load.watt_per_m2_between_runs is not None:
        told += f", {load.watt_per_m2_between_runs:.0f} W/m2 where runs lie side by side"
    return stacked("Rated", [told, *load.notes])
