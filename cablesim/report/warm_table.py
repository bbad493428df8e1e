"""The warm and the cold floor above a damaged cable on its supply, for people."""

from __future__ import annotations

import numpy as np
from rich.console import Group

from cablesim.report.heat import duration_words
from cablesim.report.ruled import Ruled
from cablesim.report.tables import Row, labelled, minded, stacked
from cablesim.report.warm import BURNS_KELVIN, TOLD_WATT, WarmAnswer, WarmSpot
from cablesim.report.words import interval_words, one_line

__all__ = ["warm_rows", "warm_view"]

# Less than this is nothing [K].
_LEAST_KELVIN = 1e-3


def warm_view(answer: WarmAnswer, title: str) -> Group:
    """Where the floor is warm and where cold; below it what to mind.

    Parameters
    ----------
    answer
        As computed.
    title
        One line.
    """
    panel = Ruled(labelled(warm_rows(answer)), one_line(title))
    return Group(panel, minded(answer.cautions()))


def warm_rows(answer: WarmAnswer) -> list[Row]:
    """The rows of the table, without cautions.

    Parameters
    ----------
    answer
        As computed.
    """
    length_m = float(answer.at_m[-1])
    warm, cold = answer.warm_m, answer.cold_m
    if not warm:
        told = "nowhere: a camera sees nothing of the cable"
    elif not cold:
        told = "all along"
    elif len(warm) == 1 and warm[0][0] <= 0.0:
        told = f"from the cold joint up to {warm[0][1]:.2f} m"
    else:
        told = interval_words(warm, joining="and")
    rows = stacked("Energised", [answer.told])
    rows += stacked("Warm", [told])
    if cold and warm:
        rows += stacked("Cold", [f"{interval_words(cold, joining='and')} of {length_m:g} m"])
    if warm:
        k = int(np.argmax(answer.cable_kelvin))
        at_m, kelvin = float(answer.at_m[k]), float(answer.cable_kelvin[k])
        usual = float(np.median(answer.healthy_kelvin))
        rows += stacked(
            "Cable",
            [
                f"{_kelvin(kelvin)} where it heats most, at {at_m:.2f} m; the healthy cable warms "
                f"by about {_kelvin(usual)}"
            ],
        )
    rows += stacked(
        "Parts",
        [
            f"{part.from_m:.2f} to {part.to_m:.2f} m: {_kelvin(kelvin)}, {part.damaged:.1f} W/m, "
            f"{part.state}"
            for part, kelvin in answer.parts
        ],
    )
    told_spots = [spot for spot in answer.spots if spot.watt >= TOLD_WATT]
    rows += stacked(
        "Spot",
        [_spot_words(spot) for spot in told_spots],
    )
    watt = float(answer.energised.damaged.watt)
    whole = float(answer.energised.healthy.watt)
    rows += stacked("Power", [f"{watt:.0f} W, healthy {whole:.0f} W"])
    rows += stacked("Device", [f"residual-current device {answer.energised.rcd}"])
    if answer.plan is None:
        rows += stacked("Route", ["not known: neighbouring runs are left out"])
    rows += stacked("Counts", [f"as warm from a rise of {answer.camera_kelvin:g} K"])
    return rows


def _spot_words(spot: WarmSpot) -> str:
    told = f"{spot.watt:.3g} W in the damage at {spot.at_m:.2f} m: "
    if spot.burns_after_s is None:
        return (
            f"{told}{_kelvin(spot.surface_kelvin)} above it, {_kelvin(spot.spot_kelvin)} in itself"
        )
    told += f"past {BURNS_KELVIN:g} K in itself after {duration_words(spot.burns_after_s)}"
    if spot.surface_kelvin > BURNS_KELVIN:
        return f"{told}: it burns or parts before its warmth comes through"
    return f"{told}, at most {_kelvin(spot.surface_kelvin)} above it"


def _kelvin(value: float) -> str:
    """A rise, what no camera will ever show as nothing.

    >>> _kelvin(4.37), _kelvin(0.123), _kelvin(1e-9)
    ('4.4 K', '0.12 K', '0 K')
    """
    if value < _LEAST_KELVIN:
        return "0 K"
    return f"{value:.1f} K" if value >= 1.0 else f"{value:.2g} K"
