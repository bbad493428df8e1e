"""``cablesim heat``: whether a camera will see a hot spot in the floor, when, and how wide."""

from __future__ import annotations

from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw
from cablesim.cli.heat_layers import floor_from
from cablesim.cli.lengths import millimetres
from cablesim.cli.options import AsJson, Force
from cablesim.cli.screen import show, show_json, waiting
from cablesim.errors import InputError, ScenarioError

if TYPE_CHECKING:
    from cablesim.report.heat import HeatAnswer
    from cablesim.site.layers import Floor

__all__ = ["heat"]

_USUAL_WATT = 20.0
_TESTER = {"open_volt": "--tester VOLT", "limit_milliamp": "--tester MILLIAMP"}
# A month to follow a floor, a second to six hours to look for bursts.
_MOST_MINUTES = 30 * 24 * 60.0
_LEAST_SEARCH, _MOST_SEARCH = 0.02, 6 * 60.0


def heat(
    scenario: Annotated[
        str | None,
        typer.Argument(metavar="SCENARIO", help="A scenario file, for the layers of its floor."),
    ] = None,
    watt: Annotated[
        float | None,
        typer.Option(help="Power in the spot while a burst lasts, in W. It is 20 unless given."),
    ] = None,
    tester: Annotated[
        tuple[float, float] | None,
        typer.Option(
            metavar="VOLT MILLIAMP",
            help="Instead of --watt: the tester's voltage and its current limit.",
        ),
    ] = None,
    fault_ohm: Annotated[
        float | None,
        typer.Option(help="With --tester: the fault's resistance; that of the file unless given."),
    ] = None,
    burst: Annotated[
        tuple[float, float, int] | None,
        typer.Option(
            metavar="ON PAUSE COUNT",
            help="Seconds on, seconds between, how many. Without it the best is looked for.",
        ),
    ] = None,
    layer: Annotated[
        list[str] | None,
        typer.Option(
            metavar='"NAME MM"', help='A layer, such as "tile 10"; repeat from the top downwards.'
        ),
    ] = None,
    depth_mm: Annotated[
        float | None,
        typer.Option(
            metavar="MM",
            parser=millimetres,
            help="Depth of the cable's axis below the surface, in mm.",
        ),
    ] = None,
    uncovered: Annotated[
        bool, typer.Option("--uncovered", help="The covering is off, the cable lies open.")
    ] = False,
    spot_mm: Annotated[
        float, typer.Option(metavar="MM", parser=millimetres, help="Length of the hot spot, in mm.")
    ] = 5.0,
    spot_limit_kelvin: Annotated[
        float | None, typer.Option(help="How hot the spot itself may become, searching, in K.")
    ] = None,
    camera_kelvin: Annotated[
        float, typer.Option(help="Smallest rise that the camera shows, in K.")
    ] = 0.1,
    minutes: Annotated[float, typer.Option(help="How long to follow it, in minutes.")] = 10.0,
    energised: Annotated[
        bool,
        typer.Option(
            "--energised", help="The damaged cable on its supply instead of a spot and bursts."
        ),
    ] = False,
    volt: Annotated[
        float | None,
        typer.Option(help="With --energised: voltage [V]; that of the file unless given."),
    ] = None,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the heat into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say whether a camera sees a hot spot in the floor, and when.

    A damaged place can be warmed with bursts of high voltage. This follows its heat through the
    layers of the floor, and finds the bursts that are seen soonest. Or, with --energised, it says
    how far the floor gets warm above the damaged cable on its supply.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")
    from cablesim.cable.numbers import require

    searched = burst is None and not energised
    if searched:
        require("--minutes", minutes, at_least=_LEAST_SEARCH, at_most=_MOST_SEARCH)
    else:
        require("--minutes", minutes, above=0.0, at_most=_MOST_MINUTES)
    if energised:
        for name, given in (("--burst", burst), ("--watt", watt), ("--tester", tester)):
            if given is not None:
                raise InputError(f"{name} and --energised exclude each other", try_this="give one")
        from cablesim.cli.heat_energised import heat_energised

        heat_energised(
            scenario, layer or [], depth_mm,
            uncovered=uncovered, volt=volt, after_s=60.0 * minutes,
            camera_kelvin=camera_kelvin, as_json=as_json, figure=figure, force=force,
        )  # fmt: skip
        return
    if volt is not None:
        raise InputError(
            "--volt is given without --energised", try_this="add it, or leave --volt out"
        )

    power = _watt(scenario, watt, tester, fault_ohm)
    with _typed(depth_mm="--depth-mm"):
        floor = floor_from(scenario, layer or [], depth_mm)
    with waiting("following the heat"), _typed():
        answer = _answer(
            floor.uncovered() if uncovered else floor,
            power, burst, 60.0 * minutes, spot_mm, spot_limit_kelvin, camera_kelvin,
        )  # fmt: skip
    if figure is not None:
        from cablesim.report.heat_figures import hot_spot_png

        draw(figure, lambda: hot_spot_png(answer.seen), force=force)
    if as_json:
        show_json(answer.to_dict())
        return
    from cablesim.report.heat import heat_view

    show(heat_view(answer))


def _typed(**renamed: str) -> AbstractContextManager[None]:
    """Name the options of a hot spot as they are typed, whatever the library calls them."""
    bursts = {"on_s": "--burst ON", "pause_s": "--burst PAUSE", "count": "--burst COUNT"}
    layers = {"thickness_mm": "--layer MM", "material": "--layer NAME", "layer": "--layer"}
    numbers = ("watt", "spot_mm", "spot_limit_kelvin", "camera_kelvin")
    return blaming(None, *numbers, **bursts, **layers, **renamed)


def _watt(
    scenario: str | None,
    watt: float | None,
    tester: tuple[float, float] | None,
    fault_ohm: float | None,
) -> float:
    """Power in the spot: as given, or what a tester leaves in the fault."""
    if tester is None:
        if fault_ohm is not None:
            raise InputError(
                "--fault-ohm is given without --tester", try_this="add it, or leave --fault-ohm out"
            )
        return _USUAL_WATT if watt is None else watt
    if watt is not None:
        raise InputError("--tester and --watt exclude each other", try_this="give one")
    from cablesim.site.schedule import burst_watt, spot_watt

    if fault_ohm is not None:
        with blaming(None, **_TESTER, resistance_ohm="--fault-ohm"):
            return spot_watt(*tester, fault_ohm)
    if scenario is None:
        raise InputError("--fault-ohm is missing", try_this="say what the tester is to heat")
    from cablesim.scenario.reading import load_scenario

    faults = load_scenario(scenario).faults
    if len(faults) != 1:
        raise ScenarioError(
            f"it states {len(faults)} faults, and the tester heats one",
            try_this="give --fault-ohm",
            file=scenario,
        )
    with blaming(scenario):
        return burst_watt(*tester, faults[0])


def _answer(
    floor: Floor,
    watt: float,
    burst: tuple[float, float, int] | None,
    until_s: float,
    spot_mm: float,
    spot_limit_kelvin: float | None,
    camera_kelvin: float,
) -> HeatAnswer:
    from cablesim.report.heat import HeatAnswer
    from cablesim.site.heat import hot_spot, pulses
    from cablesim.site.schedule import best_schedule

    if burst is not None:
        bursts = pulses(*burst, watt)
        seen = hot_spot(
            floor, bursts, until_s=until_s, spot_mm=spot_mm, camera_kelvin=camera_kelvin
        )
        return HeatAnswer(seen)
    found = best_schedule(
        floor,
        watt,
        within_s=until_s,
        spot_limit_kelvin=spot_limit_kelvin,
        spot_mm=spot_mm,
        camera_kelvin=camera_kelvin,
    )
    if found.seen is not None:
        return HeatAnswer(found.seen, found)
    # None will do: show how far the mildest, or the strongest, falls short.
    row = max(found.tried, key=lambda row: row.peak_kelvin)
    bursts = pulses(row.on_s, row.pause_s, row.count, watt)
    seen = hot_spot(floor, bursts, until_s=until_s, spot_mm=spot_mm, camera_kelvin=camera_kelvin)
    return HeatAnswer(seen, found)
