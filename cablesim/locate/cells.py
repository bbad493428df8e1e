"""Values of many cells side by side: some of them kept, two sets put together."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

__all__ = ["CellArrays"]


@dataclass(frozen=True, slots=True)
class CellArrays:
    """A dataclass whose every field is an array with the cells along its first axis."""

    def take(self, chosen: NDArray[np.bool_]) -> Self:
        """Keep some cells."""
        return type(self)(*(getattr(self, field.name)[chosen] for field in fields(self)))

    def joined(self, other: Self) -> Self:
        """Put two sets of cells together."""
        names = [field.name for field in fields(self)]
        return type(self)(*(np.concatenate([getattr(self, n), getattr(other, n)]) for n in names))
