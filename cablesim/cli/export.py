"""``cablesim export``: a scenario for other programs, as a SPICE netlist or a Touchstone file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.loading import loaded
from cablesim.cli.numbers import whole
from cablesim.cli.options import Force, ScenarioFile
from cablesim.cli.screen import emit, note
from cablesim.errors import InputError

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario

__all__ = ["export"]

_FROM_HZ, _TO_HZ, _POINTS, _MOST_POINTS = 1e3, 1e7, 201, 1_000_001


def export(
    scenario: ScenarioFile,
    spice: Annotated[
        bool, typer.Option("--spice", help="A netlist that ngspice runs, with every reading.")
    ] = False,
    touchstone: Annotated[
        bool, typer.Option("--touchstone", help="Scattering parameters over a band.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write here instead of to the screen.")
    ] = None,
    rungs: Annotated[
        int | None,
        typer.Option(
            parser=whole, metavar="N", help="Netlist: rungs on the whole length; else as needed."
        ),
    ] = None,
    frequency: Annotated[
        float | None,
        typer.Option(metavar="HZ", help="Netlist: print impedances at this frequency."),
    ] = None,
    from_hz: Annotated[
        float | None, typer.Option("--from", metavar="HZ", help="Touchstone: lowest [1e3].")
    ] = None,
    to_hz: Annotated[
        float | None, typer.Option("--to", metavar="HZ", help="Touchstone: highest [1e7].")
    ] = None,
    points: Annotated[
        int | None,
        typer.Option(
            parser=whole, metavar="N", help="Touchstone: how many, by equal ratios [201]."
        ),
    ] = None,
    ports: Annotated[
        str | None,
        typer.Option(metavar="LIST", help="Touchstone: such as core1:braid,core2:braid."),
    ] = None,
    reference: Annotated[
        float | None, typer.Option(metavar="OHM", help="Touchstone: reference resistance [50].")
    ] = None,
    force: Force = False,
) -> None:
    """Write a SPICE netlist or a Touchstone file.

    The netlist holds every reading of the file, or the usual ones, and prints what each would show.
    """
    if spice == touchstone:
        raise InputError("export", allowed="told --spice or --touchstone, one of them")
    alien = (
        {"--from": from_hz, "--to": to_hz, "--points": points, "--ports": ports}
        | {"--reference": reference}
        if spice
        else {"--rungs": rungs, "--frequency": frequency}
    )
    for name, given in alien.items():
        if given is not None:
            raise InputError(
                f"{name} says nothing about a {'netlist' if spice else 'Touchstone file'}",
                try_this="leave it out",
            )
    if spice and out is not None:
        check_writable(out, "--out", force=force, suffix=".cir")

    found = loaded(scenario, alone="export")
    with blaming(
        scenario, "rungs", frequency_hz="--frequency", reference_ohm="--reference",
        port="--ports", terminal="--ports",
    ):  # fmt: skip
        if spice:
            text = _netlist(found, rungs, frequency)
        else:
            text = _band(found, (from_hz, to_hz, points), ports, reference, out, force)
    if out is None:
        emit(text)
        return
    write_file(out, text.encode("ascii"), force=force)
    note(f"written to {out}")


def _netlist(found: Scenario, rungs: int | None, frequency_hz: float | None) -> str:
    from cablesim.instruments.spice import spice_netlist
    from cablesim.instruments.standard import standard_probes

    return spice_netlist(
        found.cable,
        found.faults,
        found.probes or standard_probes(found.cable),
        rungs=rungs,
        frequency_hz=frequency_hz,
        title=found.title,
    )


def _band(
    found: Scenario,
    band: tuple[float | None, float | None, int | None],
    names: str | None,
    reference: float | None,
    out: Path | None,
    force: bool,
) -> str:
    import numpy as np

    from cablesim import __version__
    from cablesim.cable.numbers import require
    from cablesim.line.per_metre import HIGHEST_HZ
    from cablesim.line.touchstone import REFERENCE_OHM, port, scattering, touchstone, usual_ports

    low = _FROM_HZ if band[0] is None else band[0]
    high = _TO_HZ if band[1] is None else band[1]
    points = _POINTS if band[2] is None else band[2]
    require("--from", low, above=0.0, at_most=HIGHEST_HZ)
    require("--to", high, at_least=low, at_most=HIGHEST_HZ)
    require("--points", points, at_least=1 if low == high else 2, at_most=_MOST_POINTS)
    if low == high and points > 1:
        raise InputError("--points", points, "1 where --from and --to are the same")
    cable = found.cable
    chosen = tuple(port(text, cable) for text in names.split(",")) if names else usual_ports(cable)
    if out is not None:
        check_writable(out, "--out", force=force, suffix=f".s{len(chosen)}p")
    frequencies = np.geomspace(low, high, points)
    ohm = REFERENCE_OHM if reference is None else reference
    comments = (
        found.title or "A floor-heating cable",
        f"cablesim {__version__}: every port against a reference of {ohm:.12g} ohm",
        "terminals that are no port are open",
    )
    matrix = scattering(cable, found.faults, chosen, frequencies, ohm)
    return touchstone(matrix, frequencies, chosen, ohm, comments)
