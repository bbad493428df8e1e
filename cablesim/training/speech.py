"""From what a trainee types to acts: short plain words, forgiving, one sentence where it fails."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, nearest, shorten
from cablesim.instruments.meter import Meter
from cablesim.line.terminals import terminal
from cablesim.training import acts
from cablesim.training.acts import Act

__all__ = ["VIEWS", "Heard", "heard"]

VIEWS = ("help", "job", "bag", "plan", "sheet", "state", "quit")
"""Words that show something and do nothing."""

_MOST = 200  # characters of a line
_VERBS: dict[str, str] = {
    "off": "off", "isolate": "off", "on": "on", "lock": "lock", "prove": "prove",
    "disconnect": "disconnect", "free": "disconnect", "clear": "clear", "discharge": "discharge",
    "take": "take", "use": "take", "zero": "zero", "null": "zero", "set": "set",
    "touch": "touch", "leads": "touch", "across": "touch", "read": "read", "log": "log",
    "write": "log", "suspect": "suspect", "think": "suspect", "ask": "ask", "mark": "mark",
    "open": "open", "repair": "repair", "mend": "repair", "splice": "repair", "close": "close",
    "finish": "finish", "done": "finish", "help": "help", "?": "help", "job": "job", "bag": "bag",
    "plan": "plan", "sheet": "sheet", "state": "state", "quit": "quit", "exit": "quit",
}  # fmt: skip
_ALONE: dict[str, Callable[[], Act]] = {
    "off": lambda: acts.Switch(on=False),
    "on": lambda: acts.Switch(on=True),
    "lock": acts.Lock,
    "prove": acts.Prove,
    "disconnect": acts.Disconnect,
    "clear": acts.Clear,
    "discharge": acts.Discharge,
    "zero": acts.Zero,
    "log": acts.Log,
    "ask": acts.Ask,
    "repair": acts.Repair,
    "close": acts.Close,
    "finish": acts.Finish,
}
# Words that may follow such a verb and change nothing: "lock off", "clear the floor".
_FILL = {
    *("the", "a", "it", "off", "dead", "floor", "everybody", "everyone", "cable", "leads", "of"),
    *("supply", "down", "please", "leave", "for", "hv", "high", "voltage"),
}
_JOINING = {"the", "and", "on", "with", "from", "between", "of"}
_UNITS = {
    "v": ("test_volt", 1.0),
    "volt": ("test_volt", 1.0),
    "s": ("seconds", 1.0),
    "sec": ("seconds", 1.0),
    "min": ("seconds", 60.0),
    "hz": ("frequency_hz", 1.0),
    "khz": ("frequency_hz", 1e3),
    "ma": ("limit_milliamp", 1.0),
}
_SIGNS = {"+": "+", "positive": "+", "plus": "+", "-": "-", "negative": "-", "minus": "-"}
_METHODS = ("murray", "varley", "capacitance", "spot", "edge")
_KINDS = {
    "short": "short", "touching": "short", "break": "break", "broken": "break", "cut": "break",
    "degraded": "degraded", "leak": "degraded", "damp": "degraded", "joint": "joint",
    "flashover": "flashover", "healthy": "healthy", "nothing": "healthy",
    "undecided": "undecided", "unknown": "undecided",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heard:
    """What a line says.

    Parameters
    ----------
    acts
        What to do, in order; empty for a view and for an empty line.
    view
        What to show, one of `VIEWS`; empty for none.
    about
        What of it, as typed: of help one part.
    """

    acts: tuple[Act, ...] = ()
    view: str = ""
    about: str = ""


def heard(line: str, cable: Cable, meters: Mapping[str, Meter]) -> Heard:
    """Understand one line.

    Parameters
    ----------
    line
        As typed; what follows a ``#`` is a remark.
    cable
        Its terminals can be named.
    meters
        The bag.

    Raises
    ------
    InputError
        If it cannot be understood; one sentence that says what can be said instead.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> heard("Read core 1 to the braid", cable, {}).acts
    (Touch(across=('core1', 'braid'), links=()), Read())
    >>> heard("mark 12.4 m", cable, {}).acts[0].at_m
    12.4
    """
    text = line.partition("#")[0].strip()
    if len(text) > _MOST:
        raise InputError("the line", text, f"at most {_MOST} characters")
    words = _words(text)
    if not words:
        return Heard()
    first = words[0]
    if first in ("switch", "turn", "supply") and len(words) > 1 and words[1] in ("on", "off"):
        first, words = words[1], words[1:]
    if first not in _VERBS:
        if _is_terminal(first, cable):
            return Heard((_touch(words, cable),))
        near = nearest(first, _VERBS)
        raise InputError(
            f"{shorten(first)} is not understood",
            try_this=f"did you mean {near}?" if near else "help shows what can be said",
        )
    verb, rest = _VERBS[first], words[1:]
    if verb in VIEWS:
        return Heard(view=verb, about=" ".join(rest))
    if verb in _ALONE:
        return Heard((_alone(verb, rest),))
    return Heard(_WITH_MORE[verb](rest, cable, meters))


def _words(text: str) -> list[str]:
    text = text.lower().replace(";", ",").strip(", ").rstrip(".!")
    text = re.sub(r"\bcore\s+([12])\b", r"core\1", text)
    # The far of "core1@far braid" is said already.
    text = re.sub(r"(?<!@)(?<!@\s)\bfar\s+(?:end\s+)?(?:of\s+)?(\S+)", r"\1@far", text)
    text = re.sub(r"\s*([+@])\s*(?=[a-z])", r"\1", text)
    text = re.sub(r"(?<=[\d.])\s*,\s*(?=[-\d.])", ",", text)
    text = re.sub(r"(?<![\d.,])(\d*\.?\d+)\s*(cm|mm)\b", _in_metres, text)
    return text.split()


def _in_metres(found: re.Match[str]) -> str:
    return f"{float(found[1]) * {'cm': 1e-2, 'mm': 1e-3}[found[2]]:.6g}"


def _alone(verb: str, rest: Sequence[str]) -> Act:
    for word in rest:
        if word not in _FILL:
            raise InputError(f"{verb} stands alone", try_this=f"leave {shorten(word)} out")
    return _ALONE[verb]()


def _take(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    name = "_".join(word for word in rest if word not in ("the", "my", "a"))
    return (acts.Take(_meter_called(name, meters)),)


def _meter_called(name: str, meters: Mapping[str, Meter]) -> str:
    """The one meter of the bag that is called so, or a word of it begins so, or is of this kind."""
    folded = {meter.lower().replace("-", "_"): meter for meter in meters}
    name = {"camera": "heat"}.get(name, name.replace("-", "_"))
    if name in folded:
        return folded[name]
    for keys in (
        folded,
        {f"{meter.kind}_{k}": name for k, (name, meter) in enumerate(meters.items())},
    ):
        found = [m for key, m in keys.items() if name and f"_{key}".find(f"_{name}") >= 0]
        if len(found) == 1:
            return found[0]
        if found:
            raise InputError(
                f"{shorten(name)} may be any of {', '.join(found)}", try_this="say which"
            )
    near = nearest(name, folded)
    raise InputError(
        "the meter",
        name,
        "one of the bag: " + ", ".join(meters),
        f"did you mean {near}?" if near else None,
    )


def _read(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    rest = [word for word in rest if word not in ("display", "the")]
    return (_touch(rest, cable), acts.Read()) if rest else (acts.Read(),)


def _touches(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    return (_touch(rest, cable),)


def _touch(words: Sequence[str], cable: Cable) -> Act:
    """Leads and links: words are leads, but with "to" in between those on one side are one lead."""
    leads, _, links = _parted(list(words), ("link", "linked", "linking"))
    if "to" in leads:
        sides: list[list[str]] = [[]]
        for word in leads:
            if word == "to":
                sides.append([])
            elif word not in _JOINING:
                sides[-1].append(word)
        named = ["+".join(side) for side in sides if side]
    else:
        named = [word for word in leads if word not in _JOINING]
    if len(named) < 2:
        raise InputError("a meter has two leads or more", try_this="say both, such as: touch c1 b")
    across = tuple(_lead(lead, cable) for lead in named)
    linked = [word for word in links if word not in _JOINING | {"to"}]
    group = _lead("+".join(linked), cable).split("+") if linked else []
    if len(group) == 1:
        raise InputError("a link joins two ends or more", try_this="such as: link far c1 far c2")
    return acts.Touch(across, (tuple(group),) if group else ())


def _parted(words: list[str], marks: Sequence[str]) -> tuple[list[str], str, list[str]]:
    for k, word in enumerate(words):
        if word in marks:
            return words[:k], word, words[k + 1 :]
    return words, "", []


def _lead(lead: str, cable: Cable) -> str:
    return "+".join(str(terminal(_conductor(part), cable)) for part in lead.split("+"))


def _conductor(word: str) -> str:
    """A terminal as a scenario file names it."""
    name, at, end = word.partition("@")
    name = {"b": "braid", "screen": "braid"}.get(name, name)
    name = re.sub(r"^c([12])$", r"core\1", name)
    return f"{name}{at}{end}"


def _is_terminal(word: str, cable: Cable) -> bool:
    try:
        _lead(word, cable)
    except InputError:
        return False
    return True


def _set(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    # "500v" is "500 v", but "-" and "+" stay.
    words = " ".join(re.sub(r"(\d)([a-z]+)", r"\1 \2", word) for word in rest).split()
    found: dict[str, object] = {}
    plain: list[float] = []
    k = 0
    while k < len(words):
        word = words[k]
        unit = words[k + 1] if k + 1 < len(words) else ""
        if word in _SIGNS:
            found["sign"] = _SIGNS[word]
        elif word in _METHODS:
            found["method"] = word
        elif _is_number(word) and unit in _UNITS:
            name, factor = _UNITS[unit]
            found[name] = _number(word) * factor
            k += 1
        elif _is_number(word):
            plain.append(_number(word))
        elif word not in ("to", "at", "and", "after", "for", "the"):
            raise InputError(
                f"{shorten(word)} is nothing to set",
                try_this="such as: set 500 V 60 s, set 1 kHz, set murray, set +",
            )
        k += 1
    if plain and (found.get("method") != "varley" or len(plain) != 2):
        raise InputError("a number has no unit", try_this="such as: set 500 V 60 s")
    if plain:
        found["arms"] = (plain[0], plain[1])
    return (acts.Set(**found),)  # type: ignore[arg-type]


def _suspect(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    words = [word for word in rest if word not in _JOINING | {"to", "a", "an", "in"}]
    also = "also" in words
    words = [word for word in words if word != "also"]
    kinds = [_KINDS[word] for word in words if word in _KINDS]
    if len(kinds) != 1:
        raise InputError(
            "what you suspect", " ".join(rest), "one kind of damage", "such as: suspect short c1 b"
        )
    named = [_conductor(w) for word in words if word not in _KINDS for w in word.split("+")]
    for name in named:
        if name not in cable.conductors:
            raise InputError("the conductor", name, "one of " + ", ".join(cable.conductors))
    return (acts.Suspect(kinds[0], tuple(named), also),)


def _mark(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    words = [word for word in rest if word not in ("m", "at", "the", "metres", "place")]
    also = "also" in words
    place, mark, width = _parted([w for w in words if w != "also"], ("within", "+-", "±"))
    within = None
    if mark:
        if len(width) != 1:
            raise InputError(
                "within is followed by one number of metres",
                try_this="such as: within 0.3, or within 30 cm",
            )
        within = _number(width[0])
    if place in (["none"], ["nothing"], ["unknown"]):
        return (acts.Mark(within_m=within),)
    at_m, xy_m = _place(place)
    return (acts.Mark(at_m, xy_m, within, also),)


def _open(rest: Sequence[str], cable: Cable, meters: Mapping[str, Meter]) -> tuple[Act, ...]:
    words = [word for word in rest if word not in ("m", "at", "the", "runs", "run", "floor")]
    words, mark, cut = _parted(words, ("first", "cut", "start"))
    between = None
    for name, value in (("between", True), ("over", False)):
        if name in words:
            between = value
            words = [word for word in words if word != name]
    at_m, xy_m = _place(words) if words else (None, None)
    first, beside_m = None, None
    if mark and len(cut) == 2 and cut[0] == "beside":
        beside_m = _number(cut[1])
    elif mark:
        if len(cut) != 1 or "," not in cut[0]:
            raise InputError(
                f"{mark} is followed by a point, or by beside and a metre mark of the cable",
                try_this=f"such as: {mark} 1.20,0.85, or {mark} beside 11.9",
            )
        first = _point(cut[0])
    return (acts.Open(at_m, xy_m, first, between, beside_m),)


def _place(words: Sequence[str]) -> tuple[float | None, tuple[float, float] | None]:
    if len(words) != 1:
        raise InputError(
            "one place is wanted", try_this="metres, such as 12.4, or a point, such as 1.20,0.85"
        )
    return (None, _point(words[0])) if "," in words[0] else (_number(words[0]), None)


def _point(word: str) -> tuple[float, float]:
    parts = word.split(",")
    if len(parts) != 2:
        raise InputError("the point", word, "x and y in metres, such as 1.20,0.85")
    return _number(parts[0]), _number(parts[1])


def _is_number(word: str) -> bool:
    return re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)", word) is not None


def _number(word: str) -> float:
    word = word.removesuffix("m")
    if not _is_number(word) or len(word) > 20:
        raise InputError("the number", word, "written out, such as 12.4")
    return float(word)


_WITH_MORE: dict[str, Callable[[Sequence[str], Cable, Mapping[str, Meter]], tuple[Act, ...]]] = {
    "take": _take,
    "set": _set,
    "touch": _touches,
    "read": _read,
    "suspect": _suspect,
    "mark": _mark,
    "open": _open,
}
