"""A pulse echo meter: it sends a step along the cable and times what comes back.

An echo's time tells its place, given the speed of pulses; its sign tells a path across the
conductors (negative) from something in series (positive). What the display says is a time, read off
the trace by a person or found by `cablesim.instruments.echo_finding`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.instruments.echo_finding import SEEN_DEVIATIONS
from cablesim.instruments.meter import Meter, Setting
from cablesim.line.pulse import Incident
from cablesim.line.reflection import echoes
from cablesim.line.terminals import Hookup

__all__ = ["PulseEcho"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseEcho(Meter):
    """A pulse echo meter, also called a time-domain reflectometer.

    What it shows is the time of the first echo of the wanted sign that stands out of its noise;
    over range where there is none. The accuracy's percent part is that of its time base; the counts
    part is how well a person puts a cursor on an echo. The defaults are those of a small portable
    one (common practice, no source).

    Parameters
    ----------
    rise_ns
        Rise time of what it sends, 10 % to 90 % [ns].
    width_ns
        Width of the pulse [ns]; infinite where it sends a step.
    source_ohm
        Its internal resistance [ohm].
    noise_percent
        Standard deviation of its trace [% of the step that enters the cable].
    """

    kind: ClassVar[str] = "pulse_echo"
    unit: ClassVar[str] = "ns"
    unit_size: ClassVar[float] = 1e-9
    reads_leads: ClassVar[bool] = False
    sees_places: ClassVar[bool] = True

    accuracy_percent: float = 0.1
    accuracy_counts: float = 3.0
    counts: float = 10e3
    resolution: float = 1.0
    top_range: float = 10e3
    rise_ns: float = 3.0
    width_ns: float = np.inf
    source_ohm: float = 50.0
    noise_percent: float = 0.5

    def __post_init__(self) -> None:
        Meter.__post_init__(self)
        require("rise_ns", self.rise_ns, at_least=1e-3, at_most=1e6)
        require("width_ns", self.width_ns, at_least=self.rise_ns, infinite=True)
        require("source_ohm", self.source_ohm, at_least=0.01, at_most=1e5)
        require("noise_percent", self.noise_percent, at_least=0.0, at_most=100.0)

    @property
    def incident(self) -> Incident:
        """What it sends."""
        return Incident(1e-9 * self.rise_ns, 1e-9 * self.width_ns, self.source_ohm)

    def with_noise_of(self, share: float) -> PulseEcho:
        """The same meter with this multiple of its noise."""
        return replace(self, noise_percent=min(100.0, share * self.noise_percent))

    def exact_of(
        self, cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, setting: Setting
    ) -> FloatArray:
        """Time of the first echo that can be seen [ns]; infinite where there is none.

        That of a cold joint is no echo to be read: it is there in the healthy cable too, and a
        person knows it for a marker.

        Parameters
        ----------
        cable, faults
            May be a batch.
        hookup
            Two leads at one end of the cable.
        setting
            Its sign says which echoes count; all where it is left open.
        """
        first: FloatArray = np.asarray(np.inf)
        least = SEEN_DEVIATIONS * self.noise_percent / 100
        for echo in echoes(cable, faults, hookup, self.source_ohm, rise_s=1e-9 * self.rise_ns):
            height = np.abs(echo.size) if setting.sign is None else echo.size
            seen = -height > least if setting.sign == "-" else height > least
            first = np.minimum(first, np.where(seen, echo.delay_ns, np.inf))
        return first
