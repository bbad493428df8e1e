"""What each meter shows, healthy beside damaged."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.readings import Probe, predict
from cablesim.report.words import display_words, unit_of

__all__ = ["Predicted", "predicted"]


@dataclass(frozen=True, slots=True)
class Predicted:
    """One reading as predicted.

    Parameters
    ----------
    probe
        Meter, hook-up and setting.
    healthy, damaged
        Exact values, without leads and without any error, in the meter's unit; infinite where no
        path joins the leads, NaN where a bridge finds no balance.
    displayed
        What the display says of the damaged cable, with nominal leads and no chance error;
        infinite for over range.
    """

    probe: Probe
    healthy: float
    damaged: float
    displayed: float

    def to_dict(self) -> dict[str, Any]:
        """One entry of the contract of ``cablesim predict --json``.

        ``shown`` is text: the number on the display and the unit, ``"over range"``, or for a
        bridge ``"no balance"``.
        """
        return {
            "meter": self.probe.meter.name,
            "across": list(self.probe.hookup.across),
            "healthy": _finite(self.healthy),
            "damaged": _finite(self.damaged),
            "unit": unit_of(self.probe),
            "shown": display_words(self.probe, self.displayed, prefixed=False),
        }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def predicted(
    cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]
) -> tuple[Predicted, ...]:
    """Predict readings on a cable, healthy and damaged.

    Parameters
    ----------
    cable, faults
        The damaged cable; plain numbers, no batch.
    probes
        The readings to predict.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> short = Short(("core1", "braid"), 12.4, 55.0)
    >>> predicted(cable, (short,), standard_probes(cable))[1].to_dict()["shown"]
    '73.8 ohm'
    """
    if not probes:
        return ()
    healthy, damaged = (predict(cable, found, probes) for found in ((), faults))
    rows = []
    for probe, before, after in zip(probes, healthy.tolist(), damaged.tolist(), strict=True):
        meter = probe.meter
        indicated = after + meter.lead_ohm / meter.unit_size
        rows.append(Predicted(probe, before, after, float(meter.shown(indicated, probe.setting))))
    return tuple(rows)
