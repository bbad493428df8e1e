"""What each classical method takes from a scenario: which readings, which constants, which formula.

A recipe looks for its readings and says which one is missing; it never guesses one. What a formula
needs of the cable beside readings (ohm per metre, capacitance per metre, speed) is a factor of 1
with the spread of its tolerance.
"""

from __future__ import annotations

from cablesim.locate.recipes.bridges import insulation_balance, murray, murray_unequal, varley
from cablesim.locate.recipes.capacitances import (
    both_ends,
    capacitance_per_metre,
    echo_time,
    good_core,
    three_capacitances,
    two_capacitances,
)
from cablesim.locate.recipes.needs import Prepared, Recipe
from cablesim.locate.recipes.ohms import blavier, three_readings, two_ends

__all__ = ["RECIPES", "Prepared", "Recipe"]

RECIPES: dict[str, Recipe] = {
    "three_readings": three_readings,
    "two_ends": two_ends,
    "blavier": blavier,
    "murray": murray,
    "murray_unequal": murray_unequal,
    "varley": varley,
    "insulation_balance": insulation_balance,
    "three_capacitances": three_capacitances,
    "two_capacitances": two_capacitances,
    "both_ends": both_ends,
    "good_core": good_core,
    "capacitance_per_metre": capacitance_per_metre,
    "echo_time": echo_time,
}
"""Every classical method that the readings of a scenario can feed, by name."""
