"""The echoes of a reflectogram as a table for people."""

from __future__ import annotations

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from cablesim.line.reflection import wave_impedance_ohm
from cablesim.report.headed import headed_table
from cablesim.report.quantities import across_words
from cablesim.report.reflectogram import Reflectogram, SeenEcho
from cablesim.report.words import interval_words, one_line

__all__ = ["echoes_view", "summary_words"]


def echoes_view(shown: Reflectogram, name: str = "") -> Group:
    """Table of the echoes, and what they rest on.

    Parameters
    ----------
    shown
        The traces and their echoes.
    name
        What to call it where it has no title.
    """
    table = headed_table(one_line(shown.title or name))
    table.add_column("Echo", justify="right")
    table.add_column("Sign", justify="center")
    table.add_column("Size", justify="right")
    table.add_column("Place", justify="right")
    table.add_column("Between")
    table.add_column("Likely", overflow="fold")
    for echo in shown.echoes:
        # Beyond the cable is no place: such an echo has gone to and fro.
        placed = echo.likely != "repeat"
        table.add_row(
            f"{echo.found.delay_ns:.1f} ns",
            echo.found.sign,
            f"{100 * abs(echo.found.size):.1f} %",
            f"{echo.position_m:.2f} m" if placed else "",
            interval_words([echo.interval_m]) if placed else "",
            Text(_likely_words(echo), style="bold" if echo.from_fault else ""),
        )
    if not shown.echoes:
        table.add_row("none", "", "", "", "", "")
    return Group(table, Padding(Text("\n".join(summary_words(shown))), (0, 2)))


def _likely_words(echo: SeenEcho) -> str:
    joint = echo.interval_m[0] <= 0.0 <= echo.interval_m[1]
    return echo.likely + (", at the cold joint" if joint and echo.from_fault else "")


def summary_words(shown: Reflectogram) -> list[str]:
    """What the places rest on, in sentences."""
    cable = shown.cable
    low, high = cable.velocity_tolerance_percent
    impedance = float(wave_impedance_ohm(cable, shown.hookup))
    said = [
        f"{across_words(shown.hookup.across)}, wave impedance {impedance:.1f} ohm.",
        "Places are metres from the cold joint "
        f"at velocity factor {cable.velocity_factor:.3g} "
        f"({low:+g} to {high:+g} %, which is what their intervals hold).",
    ]
    far = next((echo for echo in shown.echoes if echo.likely == "far end"), None)
    if far is not None:
        factor = float(cable.velocity_factor) * shown.far_delay_ns / far.found.delay_ns
        said.append(f"The far end at {far.found.delay_ns:.1f} ns means {factor:.3g}.")
    return said
