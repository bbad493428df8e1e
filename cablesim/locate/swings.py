"""What meters put on exact values, by coordinates of the unit cube.

What a reading tells of a resistance and of the gain is their product. So the gain of a far inexact
meter, even in its coordinate, would be tied to the logarithm of the resistance along a curve, which
no normal distribution follows; the logarithm of the gain is tied to it along a straight line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray

__all__ = ["Gains", "Swings"]

# A meter may be off by all it shows; this near to it the gain still has a logarithm.
_MOST = 0.99


@dataclass(frozen=True)
class Gains:
    """Gains, each even within its limits, whose coordinates are even in the logarithm.

    Parameters
    ----------
    error : ndarray, shape (groups,)
        Largest error of each gain, as a share of the reading.

    Examples
    --------
    >>> gains = Gains(np.array([0.3]))
    >>> gains.share(np.array([0.0, 0.5, 1.0]), 0).round(3).tolist()
    [0.0, 0.423, 1.0]
    """

    error: FloatArray

    @cached_property
    def _limit(self) -> FloatArray:
        return np.minimum(self.error, _MOST)

    @cached_property
    def log_middle(self) -> FloatArray:
        """Logarithm of each gain in the middle of its coordinate, shape (groups,)."""
        return np.asarray(np.log1p(-(self._limit**2)) / 2)

    @cached_property
    def log_swing(self) -> FloatArray:
        """How far the logarithm goes to either side, shape (groups,)."""
        return np.asarray(np.arctanh(self._limit))

    def share(self, z: FloatArray, group: int) -> FloatArray:
        """Where between its limits a gain is, from 0 to 1.

        Parameters
        ----------
        z : ndarray, shape (...)
            Coordinates of one gain.
        group
            Its number.
        """
        error = np.expm1(self.log_middle[group] + self.log_swing[group] * (2 * z - 1))
        return np.asarray(0.5 + error / self._limit[group] / 2)

    def density(self, z: FloatArray) -> FloatArray:
        """Density of the coordinates before any reading, shape (...).

        Parameters
        ----------
        z : ndarray, shape (..., groups)
            Coordinates of all gains.
        """
        gain = np.exp(self.log_middle + self.log_swing * (2 * z - 1))
        return np.asarray(np.prod(gain * self.log_swing / self._limit, axis=-1))


@dataclass(frozen=True, slots=True)
class Swings:
    """For each reading a number that lies so far about its middle as one coordinate says.

    Parameters
    ----------
    middle, swing : ndarray, shape (readings,)
        The number in the middle, and how far it goes to either side.
    column : ndarray, shape (readings,)
        Which coordinate says so.
    """

    middle: FloatArray
    swing: FloatArray
    column: NDArray[np.intp]

    @classmethod
    def of(cls, middle: Sequence[float]) -> Swings:
        """Numbers that do not swing."""
        return cls(np.array(middle), np.zeros(len(middle)), np.zeros(len(middle), np.intp))

    def at(self, z: FloatArray) -> FloatArray:
        """The numbers at points of the cube, shape (..., readings)."""
        return self.middle + self.swing * (2 * z[..., self.column] - 1)
