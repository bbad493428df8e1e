"""``cablesim next``: what to read next, and after that."""

import math
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.loading import loaded
from cablesim.cli.numbers import whole
from cablesim.cli.options import AsJson, ScenarioFile
from cablesim.cli.screen import show, show_json, waiting
from cablesim.errors import InputError

__all__ = ["next_reading"]


def next_reading(
    scenario: ScenarioFile,
    steps: Annotated[
        int, typer.Option(parser=whole, metavar="N", help="Readings to plan, 1 to 10.")
    ] = 3,
    risk: Annotated[
        str,
        typer.Option(
            metavar="RISK",
            help="Most that is allowed: none (a meter's few volts), insulation (an insulation "
            "tester or bridge), high-voltage (energising, withstand test).",
        ),
    ] = "high-voltage",
    minutes: Annotated[
        list[str] | None,
        typer.Option(metavar="METHOD=N", help="Minutes of work of a method, such as loop_bridge."),
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option(metavar="METHOD", help="A method that is not at hand.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Plan the next readings: most told for the minutes, safe first.

    The meters are those of the file, and the usual ones where it has none of a kind.
    """
    from cablesim.locate.effort import with_minutes
    from cablesim.report.plan_table import plan_view, planned

    with blaming(None, method="--minutes"):
        efforts = with_minutes(dict(_minutes(text) for text in minutes or ()))
    found = loaded(scenario)
    blame = blaming(scenario, "steps", "risk", method="--without")
    with waiting("weighing what each reading would tell"), blame:
        answer = planned(
            found, steps=steps, risk=risk, efforts=efforts, without=tuple(without or ())
        )
    if as_json:
        show_json(answer.to_dict())
        return
    show(plan_view(answer))


def _minutes(text: str) -> tuple[str, float]:
    """Read ``loop_bridge=25``."""
    method, _, value = text.partition("=")
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not 0 < number < math.inf:
        raise InputError(
            "--minutes", text, "a method and its minutes, above 0", "write it like loop_bridge=25"
        )
    return method.strip(), number
