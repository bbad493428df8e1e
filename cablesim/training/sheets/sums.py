"""The closed forms with numbers put in: what comes out is reckoned from the numbers as printed.

Each function rounds what it is given to what it prints, puts that into the closed form, and prints
both. So whoever keys the printed numbers into a calculator gets the printed result.
"""

from __future__ import annotations

from cablesim.cable.cable import Cable
from cablesim.locate import closed_forms as forms
from cablesim.training.sheets.content import Sum

__all__ = [
    "both_capacitances_ends",
    "both_ends",
    "cold_ohm_of",
    "cut_through",
    "echo",
    "echo_from_far",
    "extra_ohm",
    "farthest",
    "ratio_of_two",
    "slide",
    "three_capacitances",
    "three_resistances",
]

_PLACE = "place, from the cold joint"


def cold_ohm_of(cable: Cable) -> float:
    """Resistance of one core of the cold lead, as printed [ohm]."""
    return round(float(cable.cold_lead_ohm_per_m * cable.cold_lead_m), 3)


def told(value: float) -> str:
    """A number as it stands in a sum: no more digits than it has, a minus that is one.

    >>> told(88.5), told(-0.0332), told(30.0)
    ('88.5', '−0.0332', '30')
    """
    return f"{value:.10g}".replace("-", "−")


def three_resistances(
    loop: float, faulty: float, sound: float, cable: Cable, what: str = _PLACE
) -> Sum:
    """Three readings on a twin cable, one core on the braid.

    Parameters
    ----------
    loop, faulty, sound
        Core to core, faulty core to braid, other core to braid, as displayed [ohm].
    cable
        The cable as its label says.
    what
        What is reckoned.

    Examples
    --------
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> three_resistances(88.3, 73.5, 125.3, cable).lines[1:]
    ('  = 30 × (1 + (73.5 − 125.3) / (88.3 − 2 × 0.033))', '  = 12.39 m')
    """
    length, lead = float(cable.heated_length_m), cold_ohm_of(cable)
    found = forms.three_readings(loop, faulty, sound, length, cold_lead_ohm=lead)
    numbers = f"{told(length)} × (1 + ({told(faulty)} − {told(sound)}) / "
    numbers += f"({told(loop)} − 2 × {told(lead)}))"
    return Sum(what, "x = L (1 + (R1 − R2) / (R12 − 2 c))", numbers, float(found.position_m), "m")


def both_ends(loop: float, near: float, far: float, cable: Cable, what: str = _PLACE) -> Sum:
    """One core on the braid, read from both its ends against the braid at the near end.

    Parameters
    ----------
    loop, near, far
        Core end to end, near end to braid, far end to braid, as displayed [ohm].
    cable, what
        As for `three_resistances`.
    """
    length, lead = float(cable.heated_length_m), cold_ohm_of(cable)
    found = forms.two_ends(near, far, loop - 2 * lead, length, cold_lead_ohm=lead)
    numbers = f"{told(length)} × (1 + ({told(near)} − {told(far)}) / "
    numbers += f"({told(loop)} − 2 × {told(lead)})) / 2"
    symbols = "x = L (1 + (Rnear − Rfar) / (Rloop − 2 c)) / 2"
    return Sum(what, symbols, numbers, float(found.position_m), "m")


def slide(share: float, cable: Cable, what: str = _PLACE) -> Sum:
    """A loop bridge's slide, Murray.

    Parameters
    ----------
    share
        ``Q / (P + Q)`` as displayed.
    cable, what
        As for `three_resistances`. On a single-conductor cable the way round is the one core.
    """
    length = float(cable.heated_length_m)
    lead_m = round(cold_ohm_of(cable) / float(cable.core_ohm_per_m[0]), 3)
    twin = len(cable.construction.cores) == 2
    half = length if twin else length / 2
    place = float(forms.murray(share, half, cold_lead_m=lead_m))
    if twin:
        symbols = "x = 2 (L + c) s − c"
        numbers = f"2 × ({told(length)} + {told(lead_m)}) × {told(share)} − {told(lead_m)}"
    else:
        symbols = "x = (L + 2 c) s − c"
        numbers = f"({told(length)} + 2 × {told(lead_m)}) × {told(share)} − {told(lead_m)}"
    return Sum(what, symbols, numbers, place, "m")


def three_capacitances(
    broken: float, other: float, both: float, cable: Cable, what: str = _PLACE
) -> Sum:
    """Three capacitances of a twin cable, one core broken.

    Parameters
    ----------
    broken, other, both
        Broken core to all the rest, other core to all the rest, both cores to the braid [nF].
    cable, what
        As for `three_resistances`.
    """
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    place = forms.break_from_three_capacitances(broken, other, both, length, cold_lead_m=lead)
    numbers = f"{told(length)} + ({told(length)} + {told(lead)}) × "
    numbers += f"({told(broken)} − {told(other)}) / {told(both)}"
    return Sum(what, "x = L + (L + c) (C1 − C2) / C12", numbers, float(place), "m")


def ratio_of_two(broken: float, other: float, cable: Cable, what: str) -> Sum:
    """The plain ratio of two capacitances on a twin cable, which the coupling falsifies.

    Parameters
    ----------
    broken, other
        Broken core and other core against the braid [nF].
    cable, what
        As for `three_resistances`.
    """
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    place = forms.break_from_two_capacitances(broken, other, length, cold_lead_m=lead)
    numbers = f"2 × ({told(length)} + {told(lead)}) × {told(broken)} / "
    numbers += f"({told(broken)} + {told(other)}) − {told(lead)}"
    return Sum(what, "x = 2 (L + c) C1 / (C1 + C2) − c", numbers, float(place), "m")


def both_capacitances_ends(near: float, far: float, cable: Cable, what: str = _PLACE) -> Sum:
    """A broken core's capacitance to the braid from both its ends.

    Parameters
    ----------
    near, far
        As displayed [nF].
    cable, what
        As for `three_resistances`.
    """
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    place = forms.break_from_both_ends(near, far, length, cold_lead_m=lead)
    numbers = f"({told(length)} + 2 × {told(lead)}) × {told(near)} / "
    numbers += f"({told(near)} + {told(far)}) − {told(lead)}"
    symbols = "x = (L + 2 c) Cnear / (Cnear + Cfar) − c"
    return Sum(what, symbols, numbers, float(place), "m")


def cut_through(both: float, cable: Cable, what: str = _PLACE) -> Sum:
    """All cores cut at one place: what is left is a capacitor as long as itself.

    Parameters
    ----------
    both
        All cores to the braid [nF].
    cable, what
        As for `three_resistances`; its capacitance per metre is the label's.
    """
    cores = len(cable.construction.cores)
    per_m = round(cores * float(cable.capacitance_core_braid_pf_per_m) / 1000, 4)
    lead = float(cable.cold_lead_m)
    numbers = f"{told(both)} / {told(per_m)} − {told(lead)}"
    return Sum(what, "x = C / c' − c", numbers, both / per_m - lead, "m")


def echo(time_ns: float, cable: Cable, what: str = _PLACE) -> Sum:
    """An echo's time.

    Parameters
    ----------
    time_ns
        As displayed.
    cable, what
        As for `three_resistances`; the speed of pulses is the label's.
    """
    speed = round(float(cable.pulse_velocity_m_per_s) * 1e-9, 4)
    lead = float(cable.cold_lead_m)
    numbers = f"{told(speed)} × {told(time_ns)} / 2 − {told(lead)}"
    return Sum(what, "x = v t / 2 − c", numbers, speed * time_ns / 2 - lead, "m")


def echo_from_far(time_ns: float, cable: Cable, what: str) -> Sum:
    """The same from the far end of a cable that returns.

    Parameters
    ----------
    time_ns, cable, what
        As for `echo`.
    """
    speed = round(float(cable.pulse_velocity_m_per_s) * 1e-9, 4)
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    numbers = f"{told(length)} + {told(lead)} − {told(speed)} × {told(time_ns)} / 2"
    place = length + lead - speed * time_ns / 2
    return Sum(what, "x = L + c − v t / 2", numbers, place, "m")


def farthest(loop: float, cable: Cable, what: str = "farthest place possible") -> Sum:
    """Two cores touching: the loop cannot be longer than its ohms.

    Parameters
    ----------
    loop
        Core to core as displayed [ohm].
    cable, what
        As for `three_resistances`; the least resistance that the label allows counts.
    """
    lead = cold_ohm_of(cable)
    least = round(float(cable.core_ohm_per_m[0]) * (1 + cable.tolerance_percent[0] / 100), 4)
    numbers = f"({told(loop)} − 2 × {told(lead)}) / (2 × {told(least)})"
    return Sum(what, "x ≤ (R12 − 2 c) / (2 r)", numbers, (loop - 2 * lead) / (2 * least), "m")


def extra_ohm(loop: float, cable: Cable, what: str = "ohms too many") -> Sum:
    """A bad joint: what is read beyond the rated resistance.

    Parameters
    ----------
    loop
        End to end as displayed [ohm].
    cable, what
        As for `three_resistances`.
    """
    rated = round(float(cable.loop_resistance_ohm), 2)
    lead = cold_ohm_of(cable)
    numbers = f"{told(loop)} − 2 × {told(lead)} − {told(rated)}"
    value = loop - 2 * lead - rated
    return Sum(what, "ΔR = Rloop − 2 c − R", numbers, value, "ohm", 1)
