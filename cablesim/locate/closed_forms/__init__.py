"""The classical closed forms: a place from a few readings and a line of algebra.

They are pure functions on numbers or arrays, which broadcast. Readings come in bare, without the
resistance of the meter's leads. They know nothing of uncertainty: they are for teaching, for
checking the estimator, and for the reader who wants to follow an answer by hand.

One rule for impossible inputs (a negative resistance, a root of a negative number, a share outside
0..1, an over-range reading): a single number is refused with an `InputError` that names it; in
an array the result is NaN in the impossible places, and only there. A place off the cable or a
slightly negative fault resistance is no impossible input but a result, and is returned as it comes
out: noise makes both, and much of either says that an assumption fails.
"""

from __future__ import annotations

from cablesim.locate.closed_forms.bridges import (
    arm_share,
    murray,
    murray_two_balances,
    murray_unequal,
    varley,
    varley_box_at_sound_core,
    varley_lead_corrected,
    varley_loop_ohm,
)
from cablesim.locate.closed_forms.capacitance import (
    break_against_good_core,
    break_against_unknown_core,
    break_from_both_ends,
    break_from_three_capacitances,
    break_from_two_capacitances,
)
from cablesim.locate.closed_forms.insulation import corrected_for_leakage, loss_of_charge
from cablesim.locate.closed_forms.ohms import PointFault, drop, three_readings, two_ends
from cablesim.locate.closed_forms.overlap import blavier, blavier_unknown_length

__all__ = [
    "PointFault",
    "arm_share",
    "blavier",
    "blavier_unknown_length",
    "break_against_good_core",
    "break_against_unknown_core",
    "break_from_both_ends",
    "break_from_three_capacitances",
    "break_from_two_capacitances",
    "corrected_for_leakage",
    "drop",
    "loss_of_charge",
    "murray",
    "murray_two_balances",
    "murray_unequal",
    "three_readings",
    "two_ends",
    "varley",
    "varley_box_at_sound_core",
    "varley_lead_corrected",
    "varley_loop_ohm",
]
