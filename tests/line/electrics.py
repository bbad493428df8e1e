"""What the tests of the electrics have in common: a reading, and what rounding may do to it."""

from __future__ import annotations

import numpy as np

from cablesim.line.circuit import terminal_network

# Rounding: every conductance is a sum and product of some hundred positive numbers, each rounded to
# 1.1e-16, and a resistance read at two terminals changes by no more, relatively, than the elements
# do (it is homogeneous of degree 1 in them and rises with each). A hundred times the largest seen.
ROUNDING = 1e-12
# A dead short and a joint of no resistance count as 1e-15 ohm each, and no element of a circuit can
# change a reading by more than its own change in ohm: the derivative is the square of its share of
# the current. A case has some ten of them at most.
DEAD_OHM = 2e-14


def siemens(cable, faults, hookup, frequency_hz=0.0):
    """Conductance, or admittance, between the first two leads."""
    network = terminal_network(cable, tuple(faults), hookup.terminals, frequency_hz)
    return network.between_leads(hookup)[0, 1]


def ohm(cable, faults, hookup, frequency_hz=0.0):
    """Resistance, or impedance, between the first two leads; infinite where nothing joins them."""
    return resistance(siemens(cable, faults, hookup, frequency_hz))


def resistance(value):
    """One over a conductance or admittance; infinite for none."""
    is_open = np.asarray(value) == 0
    return np.where(is_open, np.inf, 1 / np.where(is_open, 1, value))


def same(found, wanted, *, rounding=ROUNDING, dead_ohm=DEAD_OHM):
    """Whether two readings in ohm are the same but for rounding."""
    found, wanted = np.asarray(found), np.asarray(wanted)
    # Cut right through at a terminal there is only a piece of no length, 1e-30 m by convention:
    # beyond 1e20 ohm a reading stands for an open circuit.
    is_open = (np.abs(found) > 1e20) & (np.abs(wanted) > 1e20)
    with np.errstate(invalid="ignore"):
        near = np.abs(found - wanted) <= rounding * np.abs(wanted) + dead_ohm
    return bool(np.all(is_open | near))
