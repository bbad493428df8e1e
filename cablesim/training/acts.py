"""What a trainee can do in a drill: one small value for each act, as it stands in the journal."""

from __future__ import annotations

import math
from typing import Any

import msgspec

from cablesim.errors import InputError

__all__ = [
    "Act",
    "Ask",
    "Clear",
    "Close",
    "Discharge",
    "Disconnect",
    "Finish",
    "Lock",
    "Log",
    "Mark",
    "Open",
    "Prove",
    "Read",
    "Repair",
    "Set",
    "Suspect",
    "Switch",
    "Take",
    "Touch",
    "Zero",
    "act_from",
    "act_to",
]


class Act(msgspec.Struct, frozen=True, tag_field="act", tag=str.lower, forbid_unknown_fields=True):
    """Anything that a trainee can do. Numbers are finite, or there is an `InputError`."""

    def __post_init__(self) -> None:
        for name in self.__struct_fields__:
            value = getattr(self, name)
            numbers = value if isinstance(value, tuple) else (value,)
            if any(isinstance(number, float) and not math.isfinite(number) for number in numbers):
                raise InputError(name, value, "a finite number")


class Switch(Act, frozen=True):
    """Switch the supply off, or on.

    Parameters
    ----------
    on
        Whether it is on afterwards.
    """

    on: bool


class Lock(Act, frozen=True):
    """Lock the switch off."""


class Prove(Act, frozen=True):
    """Prove the cable dead."""


class Disconnect(Act, frozen=True):
    """Take all ends of the cable out of the thermostat."""


class Clear(Act, frozen=True):
    """Send everybody off the floor and away from the ends."""


class Discharge(Act, frozen=True):
    """Discharge the cable."""


class Take(Act, frozen=True):
    """Take a meter out of the bag.

    Parameters
    ----------
    meter
        Its name.
    """

    meter: str


class Zero(Act, frozen=True):
    """Touch the leads of the ohmmeter together and zero them."""


class Set(Act, frozen=True):
    """Set the meter; what is None stays as it is.

    Parameters
    ----------
    test_volt, seconds, frequency_hz, method, limit_milliamp, arms, sign
        As for `cablesim.instruments.meter.Setting`.
    """

    test_volt: float | None = None
    seconds: float | None = None
    frequency_hz: float | None = None
    method: str | None = None
    limit_milliamp: float | None = None
    arms: tuple[float, float] | None = None
    sign: str | None = None


class Touch(Act, frozen=True):
    """Say what each lead touches.

    Parameters
    ----------
    across
        For each lead the terminals on it, joined by ``+``.
    links
        Groups of terminals joined by a wire.
    """

    across: tuple[str, ...]
    links: tuple[tuple[str, ...], ...] = ()


class Read(Act, frozen=True):
    """Read the display."""


class Log(Act, frozen=True):
    """Write down what the display says."""


class Suspect(Act, frozen=True):
    """Say what may be broken.

    Parameters
    ----------
    kind
        Kind of damage; ``healthy`` for none, ``undecided`` where the readings cannot say.
    conductors
        Those concerned.
    also
        Whether it comes on top of what was suspected before.
    """

    kind: str
    conductors: tuple[str, ...] = ()
    also: bool = False


class Ask(Act, frozen=True):
    """Ask leave for work with high voltage."""


class Mark(Act, frozen=True):
    """Mark the place; without one: say that these readings cannot place the damage.

    Parameters
    ----------
    at_m
        Metres from the cold joint; negative in the cold lead.
    xy_m
        The same on the plan instead [m].
    within_m
        How far off it may be, either way [m].
    also
        Whether it is a further place beside those marked before.
    """

    at_m: float | None = None
    xy_m: tuple[float, float] | None = None
    within_m: float | None = None
    also: bool = False


class Open(Act, frozen=True):
    """Open the floor over a place.

    Parameters
    ----------
    at_m, xy_m
        As for `Mark`; the marked place where neither is given.
    first_m
        Where on the plan the covering is broken first [m].
    between
        Whether it is broken between the runs, where there is no plan to show a point on.
    beside_m
        Instead of a point: beside the run at this mark on the cable [m from the cold joint], as far
        from every run as the opening allows there.
    """

    at_m: float | None = None
    xy_m: tuple[float, float] | None = None
    first_m: tuple[float, float] | None = None
    between: bool | None = None
    beside_m: float | None = None


class Repair(Act, frozen=True):
    """Cut out and splice all damage that lies bare."""


class Close(Act, frozen=True):
    """Close the floor again."""


class Finish(Act, frozen=True):
    """Hand the job back."""


_ANY = (
    Switch
    | Lock
    | Prove
    | Disconnect
    | Clear
    | Discharge
    | Take
    | Zero
    | Set
    | Touch
    | Read
    | Log
    | Suspect
    | Ask
    | Mark
    | Open
    | Repair
    | Close
    | Finish
)


def act_to(act: Act) -> dict[str, Any]:
    """An act as plain values, for the journal.

    >>> act_to(Touch(("core1", "braid")))
    {'act': 'touch', 'across': ('core1', 'braid'), 'links': ()}
    """
    told: dict[str, Any] = msgspec.to_builtins(act)
    return told


def act_from(raw: object) -> Act:
    """Read an act back.

    Raises
    ------
    InputError
        If it is none.

    Examples
    --------
    >>> act_from({"act": "switch", "on": False})
    Switch(on=False)
    """
    try:
        return msgspec.convert(raw, _ANY)  # type: ignore[no-any-return]
    except msgspec.ValidationError as error:
        raise InputError("act", raw, f"one of a drill ({error})") from None
