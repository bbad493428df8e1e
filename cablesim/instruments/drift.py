"""Unsteady faults: a resistance that is another one at each reading.

Wet or burnt insulation conducts now more, now less. A fault's ``drift_percent`` says how much: at
each reading its resistance is the stated one times ``(1 + drift / 100)^u`` with ``u`` even from -1
to 1, drawn anew for each reading and each fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault, Short
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Probe, predict
from cablesim.line.several import Installation

__all__ = ["predict_range"]

# With more unsteady faults than this they are taken to rise and fall together.
_MOST_CORNERS = 4


def predict_range(
    cable: Cable | Installation, faults: tuple[Fault, ...], probes: Sequence[Probe]
) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest exact reading that unsteady faults give.

    Every unsteady fault is tried at both ends of its resistance, in all combinations. An ohmmeter's
    reading lies between (a lower resistance never raises it); so does a bridge's for one fault.

    Parameters
    ----------
    cable, faults
        The damaged cable; numbers may be arrays over a batch.
    probes
        The readings to predict.

    Returns
    -------
    low, high : ndarray, shape (..., readings)
        In each meter's own unit; the same where no fault drifts.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> wet = Short(("core1", "braid"), 12.4, 1000.0, drift_percent=25.0)
    >>> low, high = predict_range(cable, (wet,), standard_probes(cable)[1:2])
    >>> low.round().tolist(), high.round().tolist()
    ([819.0], [1269.0])
    """
    unsteady = [
        k for k, f in enumerate(faults) if isinstance(f, Short | Degraded) and f.drift_percent
    ]
    if not unsteady:
        exact = predict(cable, faults, probes)
        return exact, exact
    together = len(unsteady) > _MOST_CORNERS
    ends = (
        [(u,) * len(unsteady) for u in (-1, 1)]
        if together
        else product((-1, 1), repeat=len(unsteady))
    )
    found = []
    for end in ends:
        moved = list(faults)
        for k, u in zip(unsteady, end, strict=True):
            fault = faults[k]
            assert isinstance(fault, Short | Degraded)  # as chosen above
            factor = (1 + fault.drift_percent / 100) ** u
            moved[k] = replace(fault, resistance_ohm=fault.resistance_ohm * factor)
        found.append(predict(cable, tuple(moved), probes))
    return np.minimum.reduce(found), np.maximum.reduce(found)
