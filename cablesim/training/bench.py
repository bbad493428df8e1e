"""The bench: the true cable, its true damage, meters with their true errors, and what they show.

A bench is one world. Its meters' gains and leads follow from the case's seed and stay what they
are; the counts part of a reading and the state of an unsteady fault follow from the seed and the
number of the action. So one and the same sequence of actions shows the same displays, however often
it is interrupted. Displays come from the lumped ladder, answers from the exact pieces: neither
flatters the other.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.cable.placing import check_faults
from cablesim.errors import InputError
from cablesim.instruments.display import indicated_on_range
from cablesim.instruments.meters import MOST_RANGES, LoopBridge, Meter, Ohmmeter
from cablesim.instruments.readings import Probe, drifted, predict
from cablesim.line.ladder import ladder
from cablesim.line.terminals import Hookup
from cablesim.report.quantities import display_words
from cablesim.site.repair import USUAL_JOINT_OHM

__all__ = ["RUNGS", "Bench", "Shown"]

RUNGS = 60
"""Rungs of every uniform piece. The ladder's error falls with their square: with 60 it is some
1e-5 of a reading at 1 kHz, far below any display's step."""

# What each stream of chance is for; part of its seed.
_GAIN, _LEAD, _COUNT, _DRIFT = range(4)
# A person watches the display so many times before saying what it shows.
_GLANCES = 3


@dataclass(frozen=True, slots=True)
class Shown:
    """What a display said while a person looked at it.

    Parameters
    ----------
    probe
        Meter, hook-up and setting.
    value
        The last number seen, in the meter's unit; infinite where there is none.
    glances
        All numbers seen, the last one among them.
    """

    probe: Probe
    value: float
    glances: tuple[float, ...]

    @property
    def unsteady(self) -> bool:
        """Whether the display did not settle."""
        return len(set(self.glances)) > 1

    @property
    def words(self) -> str:
        """The display as a person tells it."""
        if not self.unsteady:
            return display_words(self.probe, self.value)
        told = [display_words(self.probe, value) for value in self.glances]
        return f"{', '.join(told[:-1])}, now {told[-1]}: it does not settle"


@dataclass(frozen=True, slots=True)
class Bench:
    """A cable as it truly is, with its damage, under meters as they truly are.

    Parameters
    ----------
    cable
        The true cable, which deviates from its label; plain numbers.
    faults
        What is truly broken.
    seed
        Of all chance.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> bench = Bench(cable, (Short(("core1", "braid"), 12.4, 55.0),), seed=7)
    >>> first = bench.display(standard_probes(cable)[1], number=3)
    >>> first == bench.display(standard_probes(cable)[1], number=3)
    True
    >>> 70.0 < first.value < 78.0
    True
    """

    cable: Cable
    faults: tuple[Fault, ...]
    seed: int
    _cache: dict[tuple[object, ...], Shown] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        check_faults(self.cable, self.faults)

    def display(self, probe: Probe, number: int, zero_ohm: float = 0.0) -> Shown:
        """What the display says.

        Parameters
        ----------
        probe
            Meter, hook-up and setting.
        number
            Number of the action: another number is another chance.
        zero_ohm
            What the meter takes off since its leads were zeroed [ohm].
        """
        key = (probe, number, zero_ohm)
        if key not in self._cache:
            glances = tuple(
                self._glance(probe, number, look, zero_ohm)
                for look in range(_GLANCES if self._drifts else 1)
            )
            self._cache[key] = Shown(probe, glances[-1], glances)
        return self._cache[key]

    def zero_ohm(self, meter: Meter, number: int) -> float:
        """What an ohmmeter shows of its own leads, touched together [ohm].

        Parameters
        ----------
        meter
            The meter.
        number
            Number of the action.

        Raises
        ------
        InputError
            If the meter is no ohmmeter.
        """
        if not isinstance(meter, Ohmmeter):
            raise InputError(
                f"the {meter.name} has no leads to zero",
                try_this="an ohmmeter reads its own leads, other meters do not",
            )
        probe = Probe(meter, Hookup.of(self.cable, (self.cable.conductors[0], "braid")))
        indicated = self._indicated(np.asarray(self._lead_ohm(meter)), probe, number)
        return float(meter.shown(indicated, probe.setting))

    def mended(self, mended: tuple[Fault, ...], at_m: tuple[float, ...]) -> Bench:
        """The same world after a repair.

        What was cut out is put back with cable of the same kind, so the length stays; each place
        has one sound crimped joint in every conductor.

        Parameters
        ----------
        mended
            The damage that is gone.
        at_m
            Where it was spliced [m from the cold joint].
        """
        gone = {id(fault) for fault in mended}
        left = [fault for fault in self.faults if id(fault) not in gone]
        joints = [
            Joint(conductor, place, USUAL_JOINT_OHM)
            for place in at_m
            for conductor in self.cable.conductors
        ]
        return replace(self, faults=(*left, *joints))

    @property
    def _drifts(self) -> bool:
        return any(getattr(fault, "drift_percent", 0.0) for fault in self.faults)

    def _glance(self, probe: Probe, number: int, look: int, zero_ohm: float) -> float:
        """One look at the display, as a number; infinite where it shows none."""
        faults = self.faults
        if self._drifts:
            faults = drifted(faults, self._chance(_DRIFT, number, look))
        meter, setting = probe.meter, probe.setting
        (exact,) = predict(self.cable, faults, [probe], mesh_of=ladder(RUNGS))
        lead = self._lead_ohm(meter) if meter.reads_leads else 0.0
        unseen = meter.unseen(self.cable, faults, probe.hookup, setting)
        value = np.asarray(exact + lead / meter.unit_size)
        indicated = self._indicated(value, probe, number, unseen)
        taken_off = zero_ohm / meter.unit_size if zero_ohm else 0.0
        shown = float(meter.shown(np.maximum(indicated - taken_off, meter.least(setting)), setting))
        # Beyond the end of its slide or box a bridge finds no balance.
        return np.inf if isinstance(meter, LoopBridge) and shown < 0 else shown

    def _indicated(
        self, value: FloatArray, probe: Probe, number: int, unseen: FloatArray | float = 0.0
    ) -> FloatArray:
        meter = probe.meter
        method = zlib.crc32((probe.setting.method or "").encode())
        gains = self._chance(_GAIN, _named(meter), method).uniform(-1.0, 1.0, MOST_RANGES)
        count = np.asarray(self._chance(_COUNT, number).uniform(-1.0, 1.0))
        return indicated_on_range(value, probe, gains, count, unseen)

    def _lead_ohm(self, meter: Meter) -> float:
        """What the leads of this very meter have [ohm]."""
        share = self._chance(_LEAD, _named(meter)).uniform(-1.0, 1.0)
        return max(0.0, meter.lead_ohm + meter.lead_ohm_tolerance * float(share))

    def _chance(self, *what: int) -> np.random.Generator:
        return np.random.default_rng([self.seed, *what])


def _named(meter: Meter) -> int:
    return zlib.crc32(meter.name.encode())
