"""Section of a page about the floor: where the damage lies in the room, and how to open it."""

from __future__ import annotations

from cablesim.report.floor_tables import floor_rows, tile_words
from cablesim.report.page.convert import described
from cablesim.report.page.figures import plan_figure
from cablesim.report.page.markup import Markup, element, section
from cablesim.report.page.source import PageSource
from cablesim.report.page.svg import figure_html

__all__ = ["floor_section"]


def floor_section(source: PageSource) -> Markup | None:
    """Where on the floor, which tiles, what lies beside."""
    floor = source.floor
    if floor is None:
        return None
    told = "The room from above with the cable"
    if floor.intervals:
        told += " and the stretch that holds the damage"
    if floor.ranking is not None:
        first = floor.ranking.openings[0]
        told += f"; opening: {tile_words(first.tiles) or f'a patch of {first.area_m2:.2f} m2'}"
    figure = figure_html(
        plan_figure(floor),
        "plan",
        "Plan of the floor",
        f"{told}.",
        element("span", _legend(source)),
    )
    sheet = element(
        "p",
        "The command ",
        element("code", f"cablesim floor {source.name} --figure plan.pdf"),
        " draws the plan to scale on A4 with the opening enlarged.",
        class_="small",
    )
    return section("floor", "On the floor", described(floor_rows(floor)), figure, sheet)


def _legend(source: PageSource) -> str:
    floor = source.floor
    assert floor is not None  # asked for where there is one
    told = [
        "Thin line: the cable, a dot and some numbers for each metre; black dot: its cold joint; "
        "square: its far end."
    ]
    if floor.intervals:
        told.append("Thick line: the damage lies within.")
    if floor.xy_m is not None and not floor.reason:
        told.append("Ring: the best place.")
    if floor.ranking is not None:
        told.append(
            "Shaded: the opening; full edge: cut or rake here; dotted edge: over the cable, lift "
            "by hand."
        )
    if floor.neighbours:
        told.append("Dashed: other runs within reach of a tool.")
    if floor.plan.room.keep_out_m:
        told.append("Hatched: fixed furniture.")
    if floor.plan.survey.suspects:
        told.append("Dashed circle: a suspect spot.")
    if floor.plan.survey.room is None:
        told.append("The walls were not surveyed.")
    if floor.plan.survey.rule is not None:
        told.append("The cable is drawn by rule: it may lie otherwise.")
    return " ".join(told)
