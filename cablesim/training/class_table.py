"""A class: the marks of many trainees, where each is weak, and what to practise next."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from cablesim.training.marking import TOPICS, Mark

__all__ = ["ClassTable", "NextCase", "csv_of", "kind_of"]

# From so many points on the next case is a level harder, below so many a level easier; common
# practice, no source.
_HARDER_FROM, _EASIER_BELOW = 80.0, 50.0
# A kind of damage or a topic is weak where it is so far below one's own mean.
_WEAK = 5.0
# Nothing is lacking in a topic from this mean on.
_FULL = 95.0


@dataclass(frozen=True, slots=True)
class NextCase:
    """What to practise next.

    Parameters
    ----------
    level
        From 1 to 5.
    kind
        Damage that went worst, or None where no kind stands out.
    topic
        Topic that went worst, or None where all went well.
    why
        One sentence.
    """

    level: int
    kind: str | None
    topic: str | None
    why: str

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {"level": self.level, "kind": self.kind, "topic": self.topic, "why": self.why}


@dataclass(frozen=True, slots=True)
class ClassTable:
    """The marks of a class.

    Parameters
    ----------
    marks
        In any order.
    """

    marks: tuple[Mark, ...]

    @property
    def trainees(self) -> tuple[str, ...]:
        """Everybody, in order of their names."""
        return tuple(sorted({mark.trainee for mark in self.marks}))

    def of(self, trainee: str) -> tuple[Mark, ...]:
        """The marks of one."""
        return tuple(mark for mark in self.marks if mark.trainee == trainee)

    def total(self, trainee: str) -> float:
        """Mean of one's totals."""
        return _mean(mark.total for mark in self.of(trainee))

    def by_topic(self, trainee: str) -> dict[str, float | None]:
        """Mean of each topic over the cases in which it came up, from 0 to 100."""
        found: dict[str, float | None] = {}
        for topic in TOPICS:
            scores = [s for mark in self.of(trainee) if (s := mark.topics[topic]) is not None]
            found[topic] = 100.0 * _mean(scores) if scores else None
        return found

    def by_kind(self, trainee: str) -> dict[str, float]:
        """Mean total by the kind of damage."""
        return self._means(trainee, kind_of)

    def _means(self, trainee: str, key: Callable[[Mark], str]) -> dict[str, float]:
        groups: dict[str, list[float]] = {}
        for mark in self.of(trainee):
            groups.setdefault(key(mark), []).append(mark.total)
        return {name: _mean(totals) for name, totals in sorted(groups.items())}

    def next_case(self, trainee: str) -> NextCase:
        """What one should practise next: the level by the mean, topic and kind by what went worst.

        Parameters
        ----------
        trainee
            Somebody with at least one mark.
        """
        marks, total = self.of(trainee), self.total(trainee)
        level = round(_mean(mark.level for mark in marks))
        step = (total >= _HARDER_FROM) - (total < _EASIER_BELOW)
        level = min(5, max(1, level + step))
        topics = {
            name: score for name, score in self.by_topic(trainee).items() if score is not None
        }
        topic: str | None = min(topics, key=lambda name: topics[name])
        if topics[topic or ""] >= _FULL:
            topic = None
        if any(mark.topics["safety"] == 0.0 for mark in marks):
            topic = "safety"
        kinds = self.by_kind(trainee)
        kind: str | None = min(kinds, key=lambda name: kinds[name])
        if kinds[kind or ""] > total - _WEAK:
            kind = None
        moved = {1: "a level harder", 0: "the same level", -1: "a level easier"}[step]
        why = f"{total:.0f} of 100 on average: {moved}"
        why += f"; weakest in {topic}" if topic else "; no topic stands out"
        return NextCase(level, kind, topic, f"{why}, and with {kind}" if kind else why)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim practice mark --json`` prints."""
        return {
            "marks": [mark.to_dict() for mark in self.marks],
            "trainees": [
                {
                    "trainee": trainee,
                    "cases": len(self.of(trainee)),
                    "total": self.total(trainee),
                    "topics": self.by_topic(trainee),
                    "kinds": self.by_kind(trainee),
                    "next": self.next_case(trainee).to_dict(),
                }
                for trainee in self.trainees
            ],
        }


def kind_of(mark: Mark) -> str:
    """The kind of the damage, ``two faults`` or ``healthy``."""
    if not mark.damage:
        return "healthy"
    return mark.damage[0][0] if len(mark.damage) == 1 else "two faults"


def csv_of(table: ClassTable) -> str:
    """One row for each marked case, with a heading, for a spreadsheet.

    Parameters
    ----------
    table
        The class.
    """
    page = io.StringIO()
    rows = csv.writer(page, lineterminator="\n")
    facts = ("right", "error_m", "inside", "minutes")
    rows.writerow(["trainee", "case", "level", "kind", "total", *TOPICS, *facts])
    for mark in sorted(table.marks, key=lambda one: (one.trainee, one.case)):
        topics = [mark.topics[topic] for topic in TOPICS]
        rows.writerow(
            [
                _harmless(mark.trainee),
                mark.case,
                mark.level,
                kind_of(mark),
                f"{mark.total:.1f}",
                *("" if score is None else f"{100 * score:.0f}" for score in topics),
                "yes" if mark.facts.right else "no",
                "" if mark.facts.error_m is None else f"{mark.facts.error_m:.3f}",
                {True: "yes", False: "no", None: ""}[mark.facts.inside],
                f"{mark.minutes:g}",
            ]
        )
    return page.getvalue()


def _harmless(text: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return "'" + text if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _mean(values: Iterable[float] | Sequence[float]) -> float:
    found = list(values)
    return sum(found) / len(found)
