"""Readings for a key: taken on the case's own bench as one who knows the work takes them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from cablesim.instruments.meter import Meter, Setting
from cablesim.instruments.meters import InsulationTester, Ohmmeter
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import usual_setting
from cablesim.line.terminals import Hookup
from cablesim.training.bench import Bench, Shown
from cablesim.training.case import Case
from cablesim.training.log import played, reading_row
from cablesim.training.log_tables import Log, Read

__all__ = ["Expert", "Taken"]

_SECONDS = 60.0


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading of a key.

    Parameters
    ----------
    shown
        What the display said.
    zero_ohm
        What the meter took off since its leads were zeroed [ohm]; None where they were not.
    """

    shown: Shown
    zero_ohm: float | None

    @property
    def value(self) -> float:
        """The number on the display, in the meter's unit; infinite where there is none."""
        # A product of steps: its last digits are those of binary fractions, not of the display.
        return float(f"{self.shown.value:.9g}")

    @property
    def has_value(self) -> bool:
        """Whether the display showed a number."""
        return math.isfinite(self.shown.value)


@dataclass(slots=True)
class Expert:
    """Takes readings in order, ohmmeter leads zeroed; the same case gives the same readings.

    Parameters
    ----------
    case
        With its key.
    """

    case: Case
    bench: Bench = field(init=False)
    taken: list[Taken] = field(init=False, default_factory=list)
    _number: int = field(init=False, default=0)
    _zero: dict[str, float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.bench = Bench(self.case.true_cable, self.case.faults, self.case.key.seed)

    def meter(self, kind: str) -> Meter | None:
        """The first meter of a kind in the bag."""
        return next((m for m in self.case.scenario.meters.values() if m.kind == kind), None)

    def read(
        self,
        kind: str,
        *across: str,
        method: str | None = None,
        sign: str | None = None,
        kept: bool = True,
        zeroed: bool = True,
    ) -> Taken | None:
        """Take a reading; None where the bag has no such meter.

        Parameters
        ----------
        kind
            Of meter.
        *across
            What each lead touches.
        method, sign
            As in `cablesim.instruments.meter.Setting`.
        kept
            Whether it goes on the sheet.
        zeroed
            Whether an ohmmeter's leads are zeroed before.
        """
        meter = self.meter(kind)
        if meter is None:
            return None
        zero = None
        if zeroed and isinstance(meter, Ohmmeter):
            if meter.name not in self._zero:
                self._zero[meter.name] = self.bench.zero_ohm(meter, self._next())
            zero = self._zero[meter.name]
        seconds = _SECONDS if isinstance(meter, InsulationTester) else None
        setting = usual_setting(meter, Setting(method=method, sign=sign, seconds=seconds))
        probe = Probe(meter, Hookup.of(self.case.cable, across), setting)
        shown = self.bench.display(probe, self._next(), zero or 0.0)
        taken = Taken(shown, zero)
        if kept:
            self.taken.append(taken)
        return taken

    def readings(self, chosen: Sequence[Taken] | None = None) -> tuple[Reading, ...]:
        """The readings as an estimator takes them.

        Parameters
        ----------
        chosen
            Some of them; all that are kept where left out.
        """
        actions = [
            Read(
                reading=reading_row(
                    Reading(t.shown.probe, t.shown.value, unsteady=t.shown.unsteady)
                ),
                zeroed=t.zero_ohm is not None,
                zero_ohm=t.zero_ohm or 0.0,
            )
            for t in (self.taken if chosen is None else chosen)
        ]
        log = Log(
            format=1,
            case=self.case.name,
            trainee_sha256=self.case.key.trainee_sha256,
            actions=[*actions],
        )
        return played(log, self.case.trainee).readings

    def _next(self) -> int:
        self._number += 1
        return self._number
