"""Cables, scenarios and estimates as HTML, for notebooks."""

from __future__ import annotations

from collections.abc import Sequence

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.locate.estimate import Estimate
from cablesim.report.page.convert import described, html_of
from cablesim.report.quantities import reading_words
from cablesim.report.tables import cable_words, scenario_table
from cablesim.report.words import decimals_for, interval_words, metres_words, verdict_words
from cablesim.scenario.scenario import Scenario

__all__ = ["as_html"]


def as_html(value: object) -> str:
    r"""Show a cable, a scenario or an estimate as HTML, worded as on the command line.

    Parameters
    ----------
    value
        A `Cable`, a `Scenario` or an `Estimate`. Notebooks call this for a value that ends a cell.

    Raises
    ------
    InputError
        If it is something else.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> "30\xa0m heated" in as_html(cable)
    True
    """
    if isinstance(value, Cable):
        return described([("Cable", cable_words(value))])
    if isinstance(value, Scenario):
        return html_of(scenario_table(value))
    if isinstance(value, Estimate):
        return described(_rows(value))
    raise InputError("value", type(value).__name__, "a Cable, a Scenario or an Estimate")


def _rows(estimate: Estimate) -> Sequence[tuple[str, str]]:
    """An estimate does not know its cable: places are metres from the cold joint, without more."""
    rows = [("Verdict", verdict_words(estimate))]
    for fault in {fault.intervals_m: fault for fault in estimate.faults}.values():
        decimals = decimals_for(fault.open_m)
        if estimate.locatable:
            told = metres_words(fault.position_m, decimals)
            told += " from the cold joint" if fault.position_m >= 0 else ""
            rows.append(("Place", told))
        within = interval_words(fault.intervals_m, decimals)
        rows.append((f"{100 * estimate.level:g} % within", within))
    if estimate.reason:
        rows.append(("Left open", estimate.reason))
    coming = estimate.next_reading
    if coming is not None:
        rows.append(("Read next", f"{reading_words(coming)}: {coming.why}"))
    return rows
