"""Section of a page about heat: whether a thermal camera sees the damage."""

from __future__ import annotations

from collections.abc import Iterable

from cablesim.cable.faults import Flashover
from cablesim.report.camera import ARC_VOLT, CameraAnswer
from cablesim.report.heat import BURNS_WORDS, heat_rows
from cablesim.report.page.convert import described
from cablesim.report.page.figures import burst_figure, warm_figure
from cablesim.report.page.markup import Markup, element, paragraphs, section
from cablesim.report.page.source import PageSource
from cablesim.report.page.svg import figure_html
from cablesim.report.warm_table import warm_rows

__all__ = ["camera_section"]


def camera_section(source: PageSource) -> Markup | None:
    """The cable at a low voltage, and the bursts of a tester."""
    camera = source.camera
    if camera is None:
        return None
    layers = ", ".join(f"{x.name} {x.thickness_mm:g} mm" for x in camera.floor.layers)
    known = "" if camera.layers_known else " (the usual floor: the file does not state its own)"
    told = f"Floor: {layers}{known}, the cable {camera.floor.depth_mm:g} mm deep."
    best = "The damage is taken where the readings put it, with its likeliest resistance."
    if not source.answer.estimate.locatable:
        best = "The place is not found yet: this is how it would look at the best guess."
    warm = camera.energised
    places = [float(fault.position_m) for _, fault in warm.energised.faults]
    if any(not 0.0 <= place <= float(warm.at_m[-1]) for place in places):
        best += " It lies in the cold lead, where its own heat is not followed."
    title = f"{warm.told}: rise of the surface along the cable"
    drawn = figure_html(
        warm_figure(warm),
        "warm",
        title,
        "Rise of the surface in kelvin over the distance from the cold joint. "
        + " ".join(f"{label}: {text}." for label, text in _plain_rows(warm_rows(warm))[:3]),
        element(
            "span",
            "Full line: the damaged cable, shaded where a camera sees it; dashed: the healthy "
            "cable; dotted: the least that the camera shows.",
        ),
    )
    return section(
        "camera",
        "Will a thermal camera see it?",
        paragraphs(f"{told} {best}"),
        element("h3", "Energised at a low voltage"),
        paragraphs(
            "The source stands where the supply would: its live lead on core1, the other on what "
            "returns the current and on the braid."
        ),
        described(warm_rows(warm)),
        _burning(warm.cautions()),
        drawn,
        element("h3", "Bursts of a withstand tester"),
        _bursts(camera),
    )


def _plain_rows(rows: Iterable[tuple[str, object]]) -> list[tuple[str, str]]:
    return [(label, str(text)) for label, text in rows if label]


def _bursts(camera: CameraAnswer) -> Markup:
    tester, watt = camera.tester, camera.burst_watt
    named = f"A tester of {tester.top_range:g} V and {tester.limit_milliamp:g} mA"
    if watt is None:
        return paragraphs(
            "Nothing conducts between the conductors at the damage, so bursts warm nothing unless "
            "a spark strikes there; that is not computed from these readings."
        )
    if camera.bursts is None:
        told = f"{watt:.3g} W" if watt >= 0.1 else f"{1000 * watt:.2g} mW"
        return paragraphs(
            f"{named} leaves {told} in the damage: {camera.no_bursts}. A good contact, and a gap "
            "that does not strike, stay cold."
        )
    figure = figure_html(
        burst_figure(camera.bursts.seen),
        "bursts",
        "Rise of the surface above the damage while bursts warm it",
        "Rise of the surface in kelvin over minutes. "
        + " ".join(f"{label}: {text}." for label, text in heat_rows(camera.bursts)[2:5]),
        element("span", "Dotted: the least that the camera shows; diamond: first seen."),
    )
    gap = any(isinstance(f, Flashover) for _, f in camera.energised.energised.faults)
    arc = (
        f" The arc is taken to burn at {ARC_VOLT:g} V (common practice, no source)." if gap else ""
    )
    rows = described(heat_rows(camera.bursts))
    burns = _burning(camera.bursts.cautions)
    return Markup(paragraphs(f"{named} is taken.{arc}") + rows + burns + figure)


def _burning(cautions: Iterable[str]) -> Markup:
    """How hot the damage itself would get, beside what a camera sees of it."""
    return element("p", BURNS_WORDS, class_="mind") if BURNS_WORDS in cautions else Markup("")
