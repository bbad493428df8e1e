"""How well an indicated value agrees with what the display said.

A display is an interval: rounding makes it one around the shown value, over range and "at least"
make it one without an upper end. The counts part of the accuracy is an even error, so the
probability of a display is the share of an interval that overlaps another: exact, and zero where
the meter could not have shown this.

A capacitance range gives up where a cable leaks too much, and says over range. There the indicated
value jumps, and a search would step over the edge. So it may be given two numbers for such a
reading: what the meter would indicate if it never gave up, and how far past its limit it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading

__all__ = ["Displays"]

# Steps by which a search sharpens the meters.
_SOFTNESS = (0.3, 0.06, 0.012, 0.0024, 0.0005)
# Even a perfect meter has this noise, as a share of the display.
_LEAST_NOISE = 1e-9
# What a meter that has given up indicates.
_OVER = 1e30
# A search sees the limit at which a meter gives up as a slope: so much further, by the logarithm of
# what is limited, is a standard deviation off.
_LIMIT_SCALE = 0.1


@dataclass(frozen=True)
class Displays:
    """All displays of a case, as arrays over the readings.

    Parameters
    ----------
    low, high, noise : ndarray, shape (readings,)
        Interval that each display stands for and half-width of the even error before it, in the
        meter's unit.
    limits
        Numbers of the readings whose meter gives up at a limit. Where indicated values have more
        columns than there are readings, these tell for each limit how far past it the meter is.
    soft
        How coarse a search takes the limits to be.
    """

    low: FloatArray
    high: FloatArray
    noise: FloatArray
    limits: tuple[int, ...] = ()
    soft: float = _LIMIT_SCALE

    @classmethod
    def of(cls, readings: Sequence[Reading]) -> Displays:
        """Collect the spans of readings."""
        spans = [reading.span for reading in readings]
        low = np.array([span.low for span in spans])
        noise = np.array([span.noise for span in spans])
        return cls(
            low,
            np.array([span.high for span in spans]),
            np.maximum(noise, _LEAST_NOISE * np.maximum(np.abs(low), 1e-30)),
            tuple(k for k, reading in enumerate(readings) if reading.probe.meter.gives_up),
        )

    def probability(self, indicated: FloatArray) -> FloatArray:
        """Probability of all displays together.

        Parameters
        ----------
        indicated : ndarray, shape (..., readings or more)
            Indicated values before counts and rounding.

        Returns
        -------
        ndarray, shape (...)
            Between 0 and 1.
        """
        indicated, past = self._split(indicated)
        if past:
            indicated = indicated.copy()
        for k, beyond in zip(self.limits, past, strict=False):
            indicated[..., k] = np.where(beyond > 0.0, _OVER, indicated[..., k])
        # Offsets from the indicated value: an open circuit swamps the noise if it is added first.
        top = np.minimum(self.high - indicated, self.noise)
        bottom = np.maximum(self.low - indicated, -self.noise)
        share = np.maximum(top - bottom, 0.0) / (2 * self.noise)
        return np.asarray(np.prod(np.minimum(share, 1.0), axis=-1))

    def softened(self) -> list[Displays]:
        """The same displays from coarser meters, coarsest first, themselves last."""
        size = np.abs(self.centre)
        finest = float(np.min(self.spread / np.maximum(size, 1e-30)))
        return [
            *(
                replace(
                    self,
                    noise=self.noise + share * 3**0.5 * size,
                    soft=max(share, _LIMIT_SCALE),
                )
                for share in _SOFTNESS
                if share > 2 * finest
            ),
            self,
        ]

    @cached_property
    def centre(self) -> FloatArray:
        """Middle of each display, or its lower end where it has no upper one."""
        return np.where(np.isinf(self.high), self.low, (self.low + self.high) / 2)

    @cached_property
    def spread(self) -> FloatArray:
        """Standard deviation of the indicated value given the display, in the meter's unit."""
        rounding = np.where(np.isfinite(self.high), self.high - self.low, 0.0)
        return np.sqrt(rounding**2 / 12 + self.noise**2 / 3)

    def residuals(self, indicated: FloatArray) -> FloatArray:
        """Misfit of each reading in standard deviations, on a scale that turns logarithmic far off.

        Near the display this is the plain difference over its standard deviation; far off it grows
        with the logarithm of the ratio, so that a search over many decades of resistance finds its
        way. A one-sided display has no misfit on its good side.

        Parameters
        ----------
        indicated : ndarray, shape (..., readings or more)
            Indicated values.

        Returns
        -------
        ndarray, shape (..., the same)
            What is past a limit, or short of it, has a misfit of its own.
        """
        indicated, past = self._split(indicated)
        scale, middle, unit, top = self._stretched
        found = (np.arcsinh(indicated / scale) - middle) / unit
        np.minimum(found, top, out=found)
        if not past:
            return found
        columns = []
        for k, beyond in zip(self.limits, past, strict=True):
            if np.isinf(self.high[k]):
                # Over range: by its value, or because it gave up; what is nearer counts.
                short = np.minimum(beyond, 0.0) / self.soft
                found[..., k] = np.maximum(found[..., k], short)
                columns.append(np.zeros_like(short))
            else:
                columns.append(np.maximum(beyond, 0.0) / self.soft)
        return np.concatenate([found, np.stack(columns, axis=-1)], axis=-1)

    @cached_property
    def _stretched(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Of the scale of `residuals`: where it bends, its middle and unit, the largest misfit."""
        scale = 10 * self.spread
        unit = self.spread / np.hypot(scale, self.centre)
        top = np.where(np.isinf(self.high), 0.0, np.inf)
        return scale, np.arcsinh(self.centre / scale), unit, top

    @property
    def edges(self) -> list[int]:
        """Rows of the residuals that are edges where a meter gives up."""
        over = [k for k in self.limits if np.isinf(self.high[k])]
        return over + [len(self.low) + k for k in range(len(self.limits))]

    def _split(self, indicated: FloatArray) -> tuple[FloatArray, list[FloatArray]]:
        """Values of the readings, and how far past each limit, where that is told."""
        count = len(self.low)
        further = range(count, indicated.shape[-1])
        return indicated[..., :count], [indicated[..., k] for k in further]
