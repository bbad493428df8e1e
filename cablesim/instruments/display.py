"""What displays say: the meters' errors put on exact values, drawn at random or given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.instruments.meter import MOST_RANGES

if TYPE_CHECKING:
    from cablesim.instruments.readings import Probe

__all__ = ["MeterErrors", "display", "displayed", "indicated_on_range"]


@dataclass(frozen=True, slots=True)
class MeterErrors:
    """What the errors of the meters are in one series of readings, as shares of their limits.

    Parameters
    ----------
    leads
        For each meter that of its leads, from -1 to 1, arrays over the batch.
    gains
        For each meter and method that of each range's gain, shape (..., ranges).
    counts : ndarray, shape (..., readings)
        That of each reading's own counts.
    """

    leads: Mapping[str, FloatArray]
    gains: Mapping[tuple[str, str], FloatArray]
    counts: FloatArray

    @classmethod
    def drawn(
        cls, probes: Sequence[Probe], rng: np.random.Generator, shape: tuple[int, ...] = ()
    ) -> MeterErrors:
        """Draw them evenly within the limits.

        Parameters
        ----------
        probes
            The meters; those of one name share one gain for each range and one lead resistance.
        rng
            Source of all chance.
        shape
            Of the batch.
        """
        leads: dict[str, FloatArray] = {}
        gains: dict[tuple[str, str], FloatArray] = {}
        counts = np.empty((*shape, len(probes)))
        for k, probe in enumerate(probes):
            if probe.meter.name not in leads:
                leads[probe.meter.name] = np.asarray(rng.uniform(-1.0, 1.0, shape))
            group = _gains_of(probe)
            if group not in gains:
                gains[group] = rng.uniform(-1.0, 1.0, (*shape, MOST_RANGES))
            counts[..., k] = rng.uniform(-1.0, 1.0, shape)
        return cls(leads, gains, counts)

    def lead_ohm(self, probe: Probe) -> FloatArray:
        """Resistance of a meter's leads [ohm]."""
        meter = probe.meter
        return meter.lead_ohm + meter.lead_ohm_tolerance * self.leads[meter.name]

    def gain_shares(self, probe: Probe) -> FloatArray:
        """Error of each range of a meter, from -1 to 1, shape (..., ranges)."""
        return self.gains[_gains_of(probe)]


def _gains_of(probe: Probe) -> tuple[str, str]:
    return (probe.meter.name, probe.setting.method or "")


def display(
    exact: FloatArray,
    probes: Sequence[Probe],
    *,
    rng: np.random.Generator,
    unseen: Sequence[FloatArray | float] | None = None,
) -> FloatArray:
    """Put the meters' errors, drawn at random, on exact values, from wherever these came.

    Parameters
    ----------
    exact : ndarray, shape (..., readings)
        Values in each meter's own unit.
    probes
        The meters; those of one name share one gain for each range and one lead resistance.
    rng
        Source of the errors.
    unseen
        For each reading how far it may be off without anything to be seen, in the meter's unit.

    Returns
    -------
    ndarray, shape (..., readings)
        Displays; infinite for over range.
    """
    return displayed(exact, probes, MeterErrors.drawn(probes, rng, exact.shape[:-1]), unseen)


def displayed(
    exact: FloatArray,
    probes: Sequence[Probe],
    errors: MeterErrors,
    unseen: Sequence[FloatArray | float] | None = None,
) -> FloatArray:
    """Put given errors of the meters on exact values.

    Parameters
    ----------
    exact, probes, unseen
        As for `display`.
    errors
        Those of the meters.

    Returns
    -------
    ndarray, shape (..., readings)
        Displays; infinite for over range.
    """
    shown = np.empty_like(exact)
    for k, probe in enumerate(probes):
        with_leads = exact[..., k] + errors.lead_ohm(probe) / probe.meter.unit_size
        hidden = unseen[k] if unseen is not None else 0.0
        gains, count = errors.gain_shares(probe), errors.counts[..., k]
        indicated = indicated_on_range(with_leads, probe, gains, count, hidden)
        shown[..., k] = probe.meter.shown(indicated, probe.setting)
    return shown


def indicated_on_range(
    value: FloatArray,
    probe: Probe,
    gains: FloatArray,
    count: FloatArray,
    unseen: FloatArray | float,
) -> FloatArray:
    """What a meter indicates before rounding, on the range where this value fits.

    The meter goes up until the display holds what that range, with its own gain, indicates. Where a
    range runs over and the next one would fall back, the display stays at the least of the next.

    Parameters
    ----------
    value : ndarray, shape (...)
        What an ideal meter would show with these leads, in the meter's unit.
    probe
        The meter and its setting.
    gains : ndarray, shape (..., `MOST_RANGES`)
        Error of each range, as a share of the percent part of the accuracy, from -1 to 1.
    count : ndarray, shape (...)
        Error of this reading, as a share of its counts part, from -1 to 1.
    unseen
        How far it may be off beside that, without anything to be seen, in the meter's unit.

    Returns
    -------
    ndarray, shape (...)
        In the meter's unit; infinite where nothing joins the leads.
    """
    meter = probe.meter
    shape = np.broadcast_shapes(value.shape, count.shape)
    found = np.zeros(shape)
    settled = np.zeros(shape, bool)
    for number in range(meter.ranges):
        least = meter.range_from(number) if number else 0.0
        noise = meter.accuracy_counts * meter.step_of(least, probe.setting) + unseen
        gain = gains[..., number] * meter.accuracy_percent / 100
        indicated = np.maximum(value * (1.0 + gain) + noise * count, least)
        found = np.where(settled, found, indicated)
        settled |= meter.range_of(indicated) <= number
    return found
