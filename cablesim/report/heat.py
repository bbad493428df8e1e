"""Will the camera see it? The answer as an object for programs and as a table for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from cablesim.report.ruled import Ruled
from cablesim.report.tables import minded
from cablesim.site.heat import CAUTIONS, HotSpot
from cablesim.site.layers import MATERIALS, Layer
from cablesim.site.schedule import BestSchedule, Rhythm

__all__ = ["BURNS_KELVIN", "BURNS_WORDS", "HeatAnswer", "duration_words", "heat_rows", "heat_view"]

# Damage that rises by more than this boils, dries and burns what is around it [K]; common
# practice, no source.
BURNS_KELVIN = 80.0
BURNS_WORDS = (
    f"The damage itself would rise by more than {BURNS_KELVIN:g} K: water boils, insulation and "
    "what lies on the floor can burn, and the warmth above it is no more than an upper bound."
)

# Moments and radii that the object tells.
_TIMES, _RADII = 61, 41
_FAR_MM = 100.0


@dataclass(frozen=True, slots=True)
class HeatAnswer:
    """A hot spot, and the search for its schedule where there was one.

    Parameters
    ----------
    seen
        The course of the surface.
    schedule
        The search, or None where the bursts were given.
    """

    seen: HotSpot
    schedule: BestSchedule | None = None

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind; more where the spot itself gets so hot that its surroundings burn."""
        burns = float(self.seen.spot_kelvin.max()) > BURNS_KELVIN
        return (*CAUTIONS, BURNS_WORDS) if burns else CAUTIONS

    def to_dict(self) -> dict[str, Any]:
        """Build the object that ``cablesim heat --json`` prints."""
        seen = self.seen
        until_s = float(seen.times_s[-1])
        times = np.linspace(0.0, until_s, _TIMES)
        far = min(_FAR_MM, 1000.0 * float(seen.radii_m[-1]))
        radii = np.linspace(0.0, far, _RADII)
        profile = np.interp(
            radii / 1000.0, seen.radii_m, seen.profiles(np.array([seen.peak_at_s]))[0]
        )
        return {
            "floor": {
                "layers": [_layer_dict(layer) for layer in seen.floor.layers],
                "depth_mm": seen.floor.depth_mm,
                "surface_w_per_m2_k": seen.floor.surface_w_per_m2_k,
                "underside_w_per_m2_k": seen.floor.underside_w_per_m2_k,
            },
            "spot": {
                "length_mm": seen.spot_mm,
                "bursts": [
                    {"start_s": start, "stop_s": stop, "watt": watt}
                    for start, stop, watt in seen.bursts
                ],
                "energy_j": seen.energy_j,
                "peak_kelvin": float(seen.spot_kelvin.max()),
            },
            "camera_kelvin": seen.camera_kelvin,
            "minutes": until_s / 60.0,
            "seen": seen.seen_after_s is not None,
            "seen_after_s": seen.seen_after_s,
            "seen_until_s": seen.seen_until_s,
            "peak_kelvin": seen.peak_kelvin,
            "peak_at_s": seen.peak_at_s,
            "width_mm": seen.width_mm,
            "error_kelvin": seen.error_kelvin,
            "course": {
                "times_s": times.tolist(),
                "surface_kelvin": np.interp(times, seen.times_s, seen.surface_kelvin).tolist(),
                "spot_kelvin": np.interp(times, seen.times_s, seen.spot_kelvin).tolist(),
            },
            "profile": {
                "at_s": seen.peak_at_s,
                "radii_mm": radii.tolist(),
                "surface_kelvin": profile.tolist(),
            },
            "schedule": None if self.schedule is None else _schedule_dict(self.schedule),
            "cautions": list(self.cautions),
        }


def heat_view(answer: HeatAnswer) -> Group:
    """Whether, when and how wide the camera sees it; below it what to mind.

    Parameters
    ----------
    answer
        As computed.
    """
    return Group(Ruled(_grid(heat_rows(answer)), "Heat in the floor"), minded(answer.cautions))


def duration_words(seconds: float) -> str:
    """Say a time as a person would.

    Examples
    --------
    >>> duration_words(10.24), duration_words(0.04), duration_words(200.0), duration_words(600)
    ('10 s', '0.04 s', '3 min 20 s', '10 min')
    """
    if seconds < 9.5:
        return f"{seconds:.1g} s" if seconds < 1.0 else f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    if minutes == 0:
        return f"{rest} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def heat_rows(answer: HeatAnswer) -> list[tuple[str, str]]:
    """The rows of the table, without cautions.

    Parameters
    ----------
    answer
        As computed.
    """
    seen = answer.seen
    layers = ", ".join(f"{row.name} {row.thickness_mm:g} mm" for row in seen.floor.layers)
    depth = seen.floor.depth_mm
    where = f"cable {depth:g} mm deep" if depth > 0.0 else "cable lying open"
    watt = max(watt for _, _, watt in seen.bursts)
    until_s = float(seen.times_s[-1])
    rows = [
        ("Floor", f"{layers}; {where}"),
        ("Spot", f"{watt:g} W in {seen.spot_mm:g} mm while a burst lasts"),
        ("Schedule", _schedule_words(answer)),
    ]
    level = f"by a camera of {seen.camera_kelvin:g} K"
    if seen.seen_after_s is None or seen.seen_until_s is None:
        rows.append(("Seen", f"not {level} within {duration_words(until_s)}"))
        if answer.schedule is not None and answer.schedule.reason:
            rows.append(("Because", answer.schedule.reason))
    else:
        end = "still at the end of " if seen.seen_until_s >= until_s else "until "
        end += duration_words(seen.seen_until_s)
        rows.append(("Seen", f"{level}, after {duration_words(seen.seen_after_s)}, {end}"))
    peak = f"{_kelvin(seen.peak_kelvin)} after {duration_words(seen.peak_at_s)}"
    wide = f"; the patch is {seen.width_mm:.0f} mm wide at half of it"
    rows.append(("Peak", peak + (wide if seen.width_mm > 0.0 else "")))
    rows.append(("Spot itself", f"{_kelvin(float(seen.spot_kelvin.max()))} at most, its mean"))
    rows.append(("Computed to", f"within {seen.error_kelvin:.1g} K of the peak"))
    return rows


def _schedule_words(answer: HeatAnswer) -> str:
    bursts = answer.seen.bursts
    start, stop, _ = bursts[0]
    told = f"{len(bursts)} bursts of {stop - start:g} s"
    if len(bursts) == 1:
        told = f"one burst of {stop - start:g} s"
    else:
        told += f" with {bursts[1][0] - stop:g} s between"
    if answer.schedule is None:
        return told
    if answer.schedule.best is None:
        return f"none will do; shown is {told}"
    return f"{told}: soonest of {len(answer.schedule.tried)} rhythms"


def _kelvin(value: float) -> str:
    return f"{value:.3g} K" if value < 100.0 else f"{value:.0f} K"


def _grid(rows: list[tuple[str, str]]) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="dim", no_wrap=True)
    table.add_column(overflow="fold")
    for label, text in rows:
        table.add_row(label, Text(text))
    return table


def _layer_dict(layer: Layer) -> dict[str, Any]:
    known = MATERIALS.get(layer.name)
    return {
        "material": layer.name,
        "thickness_mm": layer.thickness_mm,
        "conductivity_w_per_m_k": layer.conductivity_w_per_m_k,
        "density_kg_per_m3": layer.density_kg_per_m3,
        "heat_capacity_j_per_kg_k": layer.heat_capacity_j_per_kg_k,
        "source": known.source if known is not None else None,
    }


def _schedule_dict(found: BestSchedule) -> dict[str, Any]:
    return {
        "best": None if found.best is None else _rhythm_dict(found.best),
        "tried": [_rhythm_dict(row) for row in found.tried],
        "watt": found.watt,
        "within_s": found.within_s,
        "reason": found.reason,
    }


def _rhythm_dict(row: Rhythm) -> dict[str, Any]:
    return {
        "on_s": row.on_s,
        "pause_s": row.pause_s,
        "count": row.count,
        "seen_after_s": row.seen_after_s,
        "peak_kelvin": row.peak_kelvin,
        "spot_kelvin": row.spot_kelvin,
    }
