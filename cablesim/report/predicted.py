"""What each meter shows, healthy beside damaged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import finite_or_none
from cablesim.instruments.drift import predict_range
from cablesim.instruments.readings import Probe, predict
from cablesim.line.several import Installation
from cablesim.report.quantities import display_words, unit_of

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
    between
        Lowest and highest exact value where a fault is unsteady, else None.
    unseen
        How far a bridge may be off balance without its galvanometer showing it; 0 for others.
    """

    probe: Probe
    healthy: float
    damaged: float
    displayed: float
    between: tuple[float, float] | None = None
    unseen: float = 0.0

    def to_dict(self) -> dict[str, Any]:
        """One entry of the contract of ``cablesim predict --json``.

        ``shown`` is text: the number on the display and the unit, ``"over range"``, or for a
        bridge ``"no balance"``. An unsteady fault adds ``between``, a bridge its ``unseen``.
        """
        told: dict[str, Any] = {
            "meter": self.probe.meter.name,
            "across": list(self.probe.hookup.across),
            "healthy": finite_or_none(self.healthy),
            "damaged": finite_or_none(self.damaged),
            "unit": unit_of(self.probe),
            "shown": display_words(self.probe, self.displayed, prefixed=False),
        }
        if self.between is not None:
            told["between"] = [finite_or_none(value) for value in self.between]
        if self.unseen:
            told["unseen"] = self.unseen
        return told


def predicted(
    cable: Cable | Installation, faults: tuple[Fault, ...], probes: Sequence[Probe]
) -> tuple[Predicted, ...]:
    """Predict readings on a cable, healthy and damaged.

    Parameters
    ----------
    cable, faults
        The damaged cable; plain numbers, no batch. Of an installation, the faults are those of its
        main cable.
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
    whole = cable if isinstance(cable, Cable) else cable.healthy
    healthy, damaged = predict(whole, (), probes), predict(cable, faults, probes)
    unsteady = any(getattr(fault, "drift_percent", 0.0) for fault in faults)
    low, high = predict_range(cable, faults, probes) if unsteady else (damaged, damaged)
    rows = []
    for k, probe in enumerate(probes):
        meter, after = probe.meter, float(damaged[k])
        indicated = after + meter.lead_ohm / meter.unit_size
        row = Predicted(
            probe=probe,
            healthy=float(healthy[k]),
            damaged=after,
            displayed=float(meter.shown(indicated, probe.setting)),
            between=(float(low[k]), float(high[k])) if unsteady else None,
            unseen=float(meter.unseen(cable, faults, probe.hookup, probe.setting)),
        )
        rows.append(row)
    return tuple(rows)
