"""A cable on its supply as tables for people."""

from __future__ import annotations

from rich.console import Group
from rich.table import Table

from cablesim.instruments.protection import rcd_words
from cablesim.report.energised import MAINS_HZ, EnergisedAnswer
from cablesim.report.headed import headed_table
from cablesim.report.quantities import amount_words
from cablesim.report.tables import minded
from cablesim.report.words import fault_words, one_line

__all__ = ["energised_view"]


def energised_view(answer: EnergisedAnswer, title: str) -> Group:
    """Tables of the currents, of the heat along the cable and in the faults; and the cautions.

    Parameters
    ----------
    answer
        What to show.
    title
        One line above.
    """
    return Group(_totals(answer, title), _along(answer), minded(answer.cautions()))


def _new_table(title: str, columns: tuple[str, ...]) -> Table:
    table = headed_table(title)
    table.add_column("", overflow="fold")
    for name in columns:
        table.add_column(name, justify="right", overflow="fold")
    return table


def _totals(answer: EnergisedAnswer, title: str) -> Table:
    named = f"{one_line(title)}\nat {answer.volt:g} V, {answer.live} live, the braid earthed"
    table = _new_table(named, ("Healthy", "Damaged"))
    both = (answer.healthy, answer.damaged)
    table.add_row("power", *(amount_words(float(e.watt), "W") for e in both))
    table.add_row("current", *(amount_words(float(e.lead_ampere[0]), "A") for e in both))
    residual = (amount_words(1e-3 * ma, "A") for ma in answer.residual_milliamp)
    table.add_row(f"residual current at {MAINS_HZ:g} Hz", *residual)
    holds = (rcd_words(ma, answer.rcd_milliamp) for ma in answer.residual_milliamp)
    table.add_row(f"residual-current device of {answer.rcd_milliamp:g} mA", *holds)
    if answer.fuse_ampere is not None:
        over = ("over" if e.lead_ampere[0] > answer.fuse_ampere else "within" for e in both)
        table.add_row(f"fuse of {answer.fuse_ampere:g} A", *over)
    return table


def _along(answer: EnergisedAnswer) -> Table:
    table = _new_table("Where the heat is", ("Healthy", "Damaged", ""))
    for row in answer.stretches():
        heat = (amount_words(w, "W/m") for w in (row.healthy, row.damaged))
        where = f"{row.from_m:.2f} to {row.to_m:.2f} m"
        table.add_row(_named(row.part) + where, *heat, row.state)
    rows = zip(
        answer.faults,
        answer.damaged.fault_watt.tolist(),
        answer.damaged.fault_ampere.tolist(),
        strict=True,
    )
    for (part, fault), watt, ampere in rows:
        where = f"{_named(part)}{fault_words(fault)}, {float(fault.position_m):.2f} m"
        table.add_row(where, "", amount_words(watt, "W"), amount_words(ampere, "A"))
    return table


def _named(part: str) -> str:
    return f"{part}: " if part else ""
