"""How well an indicated value agrees with what the display said.

A display is an interval: rounding makes it one around the shown value, over range and "at least"
make it one without an upper end. The counts part of the accuracy is an even error, so the
probability of a display is the share of an interval that overlaps another: exact, and zero where
the meter could not have shown this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading

__all__ = ["Displays"]

# Steps by which a search sharpens the meters.
_SOFTNESS = (0.3, 0.06, 0.012, 0.0024, 0.0005)
# Even a perfect meter has this noise, as a share of the display.
_LEAST_NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class Displays:
    """All displays of a case, as arrays over the readings.

    Parameters
    ----------
    low, high, noise : ndarray, shape (readings,)
        Interval that each display stands for and half-width of the even error before it, in the
        meter's unit.
    """

    low: FloatArray
    high: FloatArray
    noise: FloatArray

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
        )

    def probability(self, indicated: FloatArray) -> FloatArray:
        """Probability of all displays together.

        Parameters
        ----------
        indicated : ndarray, shape (..., readings)
            Indicated values before counts and rounding.

        Returns
        -------
        ndarray, shape (...)
            Between 0 and 1.
        """
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
                replace(self, noise=self.noise + share * 3**0.5 * size)
                for share in _SOFTNESS
                if share > 2 * finest
            ),
            self,
        ]

    @property
    def centre(self) -> FloatArray:
        """Middle of each display, or its lower end where it has no upper one."""
        return np.where(np.isinf(self.high), self.low, (self.low + self.high) / 2)

    @property
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
        indicated : ndarray, shape (..., readings)
            Indicated values.
        """
        centre = self.centre
        scale = 10 * self.spread
        slope = 1 / np.hypot(scale, centre)
        found = (np.arcsinh(indicated / scale) - np.arcsinh(centre / scale)) / (slope * self.spread)
        return np.where(np.isinf(self.high), np.minimum(found, 0.0), found)
