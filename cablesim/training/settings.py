"""How a meter is set in a drill: only what it has, within what such meters do."""

from __future__ import annotations

from dataclasses import replace

from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.instruments.meters import (
    CapacitanceMeter,
    HeatSurvey,
    InsulationTester,
    LoopBridge,
    Meter,
    PulseEcho,
    Setting,
    WithstandTester,
)
from cablesim.training.acts import Set

__all__ = ["checked_setting", "setting_words"]

# What can be set on a meter of each kind, and what to say.
_HAS: dict[type[Meter], tuple[str, ...]] = {
    InsulationTester: ("test_volt", "seconds"),
    CapacitanceMeter: ("frequency_hz",),
    LoopBridge: ("method", "arms", "frequency_hz"),
    PulseEcho: ("sign",),
    HeatSurvey: ("method",),
    WithstandTester: ("limit_milliamp",),
}
_SAY: dict[type[Meter], str] = {
    InsulationTester: "such as: set 500 V 60 s",
    CapacitanceMeter: "such as: set 1 kHz",
    LoopBridge: "such as: set murray, or set varley 1000 1000",
    PulseEcho: "such as: set +, or set -",
    HeatSurvey: "such as: set spot, or set edge",
    WithstandTester: "such as: set 5 mA",
}
_WORDS = {
    "test_volt": "test voltage",
    "seconds": "time",
    "frequency_hz": "frequency",
    "limit_milliamp": "current limit",
}
# Within these a setting is one that such meters have; common practice, no source.
_LIMITS = {
    "test_volt": (50.0, 5000.0, "V"),
    "seconds": (1.0, 3600.0, "s"),
    "frequency_hz": (10.0, 100e3, "Hz"),
    "limit_milliamp": (0.1, 50.0, "mA"),
}
_ARM_OHM = (1e-3, 1e6)


def checked_setting(meter: Meter, wanted: Set, before: Setting | None = None) -> Setting:
    """What a meter is set to.

    Parameters
    ----------
    meter
        The meter.
    wanted
        What is to be set; what is None stays.
    before
        How it was set.

    Raises
    ------
    InputError
        If the meter has no such setting, or not that far.

    Examples
    --------
    >>> from cablesim.instruments.standard import usual_meter
    >>> checked_setting(usual_meter("insulation_tester"), Set(test_volt=250.0)).test_volt
    250.0
    """
    has = _HAS.get(type(meter), ())
    given = {
        name: getattr(wanted, name)
        for name in wanted.__struct_fields__
        if getattr(wanted, name) is not None
    }
    if not given:
        raise InputError("what to set is not said", try_this=_SAY.get(type(meter)))
    for name, value in given.items():
        if name not in has:
            raise InputError(
                f"the {meter.name} has no {_WORDS.get(name, name)} to set",
                try_this=_SAY.get(type(meter), "it needs no setting"),
            )
        if name in _LIMITS:
            low, high, unit = _LIMITS[name]
            if not low <= value <= high:
                allowed = f"from {low:g} to {high:g} {unit}"
                raise InputError(f"the {_WORDS[name]}", value, allowed)
    if isinstance(meter, LoopBridge):
        _check_bridge(given)
    if isinstance(meter, HeatSurvey) and given["method"] not in ("edge", "spot"):
        raise InputError("what to look for", given["method"], "edge or spot")
    if isinstance(meter, PulseEcho) and given["sign"] not in ("+", "-"):
        raise InputError("the sign", given["sign"], "+ or -")
    if "method" in given:  # arms and frequency are those of a method
        before = None
    return replace(before or Setting(), **given)


def _check_bridge(given: dict[str, object]) -> None:
    method = given.get("method")
    if method is None:
        raise InputError("the bridge's method is not said", try_this=_SAY[LoopBridge])
    if method not in LoopBridge.methods:
        raise InputError("the bridge's method", method, "one of " + ", ".join(LoopBridge.methods))
    arms = given.get("arms")
    if (method == "varley") != (arms is not None):
        raise InputError(
            "varley needs its two arms" if method == "varley" else f"{method} is set by its slide",
            try_this=_SAY[LoopBridge],
        )
    if isinstance(arms, tuple):
        for arm in arms:
            require("an arm", arm, at_least=_ARM_OHM[0], at_most=_ARM_OHM[1])


def setting_words(setting: Setting) -> str:
    """A setting as one reads it off the meter; empty where nothing is set.

    >>> setting_words(Setting(test_volt=500.0, seconds=60.0))
    '500 V 60 s'
    """
    arms = "" if setting.arms is None else " ".join(f"{arm:g}" for arm in setting.arms)
    told = (
        setting.method or "",
        arms,
        f"{setting.test_volt:g} V" if setting.test_volt else "",
        f"{setting.seconds:g} s" if setting.seconds else "",
        f"{setting.frequency_hz:g} Hz" if setting.frequency_hz else "",
        f"{setting.limit_milliamp:g} mA" if setting.limit_milliamp else "",
        {"+": "positive", "-": "negative"}.get(setting.sign or "", ""),
    )
    return " ".join(part for part in told if part)
