"""A plan of readings as a table for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.locate.advice import cautions
from cablesim.locate.answer import considered, weighed
from cablesim.locate.effort import USUAL_EFFORT, Effort
from cablesim.locate.estimate import Proposal
from cablesim.locate.plan import WORTH_BITS, LeftOut, Plan, Step, allowed_methods, plan_next
from cablesim.report.answer import bag_of
from cablesim.report.headed import headed_table
from cablesim.report.quantities import reading_words
from cablesim.report.tables import asked_rows, labelled, stacked
from cablesim.report.words import one_line
from cablesim.scenario.scenario import Scenario

__all__ = ["PlannedReadings", "plan_view", "planned"]

NOTE = (
    "Bits: expected information about what is broken and where. Spread: the even stretch that is "
    "as uncertain as the place, times 0.95, over all that may be broken; one bit about the place "
    "halves it. It is not the 95 % interval of an answer, which is longer where a little "
    "probability lies far off. Minutes of work are common practice, no source. Each step takes "
    "the displays before it as read, whatever they may be."
)
_NONE = "reading {} is expected to tell more than it costs."
_ANY, _ALLOWED = "at the terminals or with a camera", "of those allowed"
_LEFT_OUT_BY = {
    "risk": "by --risk",
    "without": "by --without",
    "healthy": "as the cable is most likely healthy",
}
_RISK_WORDS = {
    "none": "no voltage",
    "insulation": "test voltage",
    "high-voltage": "high voltage",
}
_OTHERS = 4


@dataclass(frozen=True, slots=True)
class PlannedReadings:
    """A plan, and what the readings so far say about it.

    Parameters
    ----------
    plan
        The readings to take.
    conflict
        Why there is no plan where the readings conflict, or a slip explains them far better;
        otherwise empty.
    cautions
        What to mind.
    proposals
        What to ask, as `cablesim.locate.estimate.Estimate` has it.
    title
        One line for people.
    asked
        How many readings the plan might have had.
    """

    plan: Plan
    conflict: str
    cautions: tuple[str, ...]
    proposals: tuple[Proposal, ...] = ()
    title: str = ""
    asked: int = 0

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim next --json`` prints."""
        return self.plan.to_dict() | {
            "conflict": self.conflict or None,
            "cautions": list(self.cautions),
            "proposals": [proposal.to_dict() for proposal in self.proposals],
        }


def planned(
    scenario: Scenario,
    *,
    steps: int = 3,
    risk: str = "high-voltage",
    efforts: Mapping[str, Effort] = USUAL_EFFORT,
    without: Sequence[str] = (),
) -> PlannedReadings:
    """Plan the next readings of a scenario.

    Parameters
    ----------
    scenario
        With at least one reading that has a value.
    steps, risk, efforts, without
        As for `cablesim.locate.plan.plan_next`.

    Raises
    ------
    InputError
        If no reading has a value, or as `plan_next` raises it.
    """
    # Refused at once, before the readings are weighed.
    allowed_methods(steps=steps, risk=risk, efforts=efforts, without=without)
    cable = scenario.cable
    table = considered(cable, scenario.readings, scenario.established)
    found = weighed(cable, scenario.readings, table, scenario.established)
    plan = Plan((), (), 0.0)
    if not found.unbelieved:
        plan = plan_next(
            cable,
            found.used,
            found.answers,
            bag_of(scenario),
            steps=steps,
            risk=risk,
            efforts=efforts,
            without=without,
        )
    # Whoever reads what else could be read may do that.
    told = (*plan.steps, *plan.others[:_OTHERS])
    said = cautions([step.candidate.cautioned for step in told], opening=False)
    proposals = found.questions.proposals
    return PlannedReadings(plan, found.unbelieved, said, proposals, scenario.title, steps)


def plan_view(answer: PlannedReadings) -> Group:
    """The plan as a table, with why below it, what else could be read, and what to mind.

    Parameters
    ----------
    answer
        From `planned`.
    """
    parts: list[RenderableType] = []
    rows: list[tuple[str, RenderableType]] = []
    none = _NONE.format(_ALLOWED if answer.plan.left_out else _ANY)
    if answer.title:
        parts.append(Text(one_line(answer.title), style="bold"))
    if answer.conflict:
        rows.append(("Plan", Text(f"None: {answer.conflict}.")))
    elif not answer.plan.steps:
        rows.append(("Plan", Text(f"No {none}")))
        rows += stacked("Left out", _left_out(answer.plan.left_out))
    else:
        parts.append(_table(answer.plan.steps))
        whys = [f"{n}: {step.why}" for n, step in enumerate(answer.plan.steps, start=1)]
        rows += stacked("Why", whys)
        if len(whys) < answer.asked:
            after = "it" if len(whys) == 1 else "them"
            told = f"{len(whys)} of the {answer.asked} readings asked for: after {after} no {none}"
            rows.append(("End", Text(told)))
        rows += stacked("Otherwise", [_other(step) for step in answer.plan.others[:_OTHERS]])
        rows.append(("Note", Text(NOTE)))
    rows += asked_rows(answer.proposals)
    rows += stacked("Mind", answer.cautions)
    return Group(*parts, Padding(labelled(rows, dashed=True), (0, 2)))


def _table(steps: Sequence[Step]) -> Table:
    table = headed_table()
    table.add_column("#", justify="right")
    table.add_column("Read", overflow="fold")
    for name in ("Bits", "Minutes"):
        table.add_column(name, justify="right")
    table.add_column("Spread", justify="right", overflow="fold")
    table.add_column("Risk", overflow="fold")
    for number, step in enumerate(steps, start=1):
        table.add_row(
            str(number),
            Text(reading_words(step.reading)),
            f"{step.bits:.1f}",
            f"{step.effort.minutes:g}",
            Text(_narrowed(step)),
            Text(_RISK_WORDS[step.effort.risk]),
        )
    return table


def _narrowed(step: Step) -> str:
    """Spread of the place before and after, in cm."""
    if step.before_m <= 0.0:
        return "-"
    before, after = (float(f"{100 * m:.2g}") for m in (step.before_m, step.after_m))
    return f"{before:g} to {after:g} cm"


def _left_out(left_out: Sequence[LeftOut]) -> list[str]:
    """One line for each cause, with the bits of what would be worth its minutes."""
    lines = []
    for by, words in _LEFT_OUT_BY.items():
        named = [
            each.method.replace("_", " ")
            + (f" ({each.bits:.1f} bits)" if (each.bits or 0.0) >= WORTH_BITS else "")
            for each in left_out
            if each.by == by
        ]
        if named:
            lines.append(f"{words}: {', '.join(named)}")
    return lines


def _other(step: Step) -> str:
    return (
        f"{reading_words(step.reading)}: {step.bits:.1f} bits, {step.effort.minutes:g} min, "
        f"spread {_narrowed(step)}, {_RISK_WORDS[step.effort.risk]}"
    )
