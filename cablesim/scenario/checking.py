"""From a raw table to a typed one, with one sentence for whatever is wrong in it.

Each key is converted by itself, so the key and the value at fault are known without reading any
library's message; what is allowed is told from the key's type.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from cablesim.errors import NOT_GIVEN, InputError, ScenarioError, nearest, shorten
from cablesim.scenario.lengths import in_unit, is_length

__all__ = [
    "Place",
    "as_written",
    "check_keys",
    "nearest_key",
    "only_value",
    "read_table",
    "read_value",
]

# Keys that a message lists; more would bury what it says.
_MOST_LISTED = 16

_Table = TypeVar("_Table", bound=msgspec.Struct)

_UNITS = {
    "m": "metres",
    "mm": "millimetres",
    "mm2": "square millimetres",
    "deg": "degrees",
    "ohm": "ohms",
    "megohm": "megohms",
    "nanofarad": "nanofarads",
    "ns": "nanoseconds",
    "percent": "percent",
    "volt": "volts",
    "milliamp": "milliamperes",
    "seconds": "seconds",
    "hz": "hertz",
    "c": "degrees Celsius",
    "ohm_per_m": "ohms per metre",
    "pf_per_m": "picofarads per metre",
    "gigaohm_m": "gigaohm metres",
    "ohm_m": "ohm metres",
}
# TOML takes a key below a table's heading for one of that table.
_FILE_KEYS = ("format", "title", "established", "joins")
# Other units that people write at the end of a key.
_OTHER_UNITS = (
    *("cm", "km", "ft", "feet", "foot", "inch", "in", "metre", "metres", "meter", "meters"),
    *("ohms", "kohm", "kiloohm", "kilohm", "mohm", "milliohm", "gigaohm", "gohm", "ohm_per_km"),
    *("nf", "pf", "uf", "picofarad", "microfarad", "farad", "v", "volts", "khz", "f", "k", "pct"),
    *("mil", "sqmm"),
)


@dataclass(frozen=True, slots=True)
class Place:
    """Where in which file: a table such as ``cable``, or an entry such as ``fault 2``."""

    file: str | None
    table: str = ""
    entry: str = ""

    def error(
        self,
        key: str,
        got: object = NOT_GIVEN,
        allowed: str | None = None,
        try_this: str | None = None,
    ) -> ScenarioError:
        """Word an error about one key; a `key` of several words is the whole clause."""
        dotted = self.table and key.partition(" ")[0].isidentifier()
        what = f"{self.table}.{key}" if dotted else key
        return ScenarioError(what, got, allowed, try_this, self.file, self.entry or None)

    def at(self, error: InputError) -> ScenarioError:
        """Give an error from further down its place."""
        # A check over many faults says itself which one it means; here only one is under way.
        what = error.what.rpartition(": ")[2] if self.entry else error.what
        got = list(error.got) if isinstance(error.got, tuple) else error.got
        return self.error(what, got, error.allowed, error.try_this)


def read_table(
    struct: type[_Table],
    raw: Mapping[str, Any],
    place: Place,
    *,
    but: tuple[str, ...] = (),
    of: str = "",
) -> _Table:
    """Convert a raw table.

    Parameters
    ----------
    struct
        What it must become.
    raw
        As it came from the file.
    place
        Where it stands.
    but
        Keys of `raw` that the caller has dealt with.
    of
        What it is, such as "of a short", for the message about an unknown key.

    Raises
    ------
    ScenarioError
        For the first key that is unknown, missing or of the wrong kind.
    """
    types = _types(struct)
    given = {key: value for key, value in raw.items() if key not in but}
    check_keys(given, types, place, of)
    for key in types:
        if key not in given and key in _required(struct):
            raise place.error(
                f"{key} is missing", try_this=f"it must be {_allowed(types[key], key)}"
            )
    return struct(**{key: _value(types[key], key, given[key], place) for key in given})


def read_value(struct: type[msgspec.Struct], key: str, raw: Any, place: Place) -> Any:
    """Convert the value of one key of a table.

    Raises
    ------
    ScenarioError
        If it is of the wrong kind.
    """
    return _value(_types(struct)[key], key, raw, place)


def check_keys(raw: Iterable[str], known: Iterable[str], place: Place, of: str = "") -> None:
    """Refuse an unknown key, with the nearest known one.

    Raises
    ------
    ScenarioError
        For the first unknown key.
    """
    known = list(known)
    for key in raw:
        if key in known:
            continue
        near = nearest_key(key, known)
        unit = _UNITS.get(_unit(near)) if near else None
        shown = key if key.isidentifier() and len(key) <= 60 else shorten(key)
        dotted = f"{place.table}.{shown}" if place.table else shown
        if key in _FILE_KEYS and (place.table or place.entry):
            mend = f"write {key} above the first table"
        elif near:
            mend = f"did you mean {near}" + (f", in {unit}?" if unit else "?")
        else:
            mend = f"known are {', '.join(known[:_MOST_LISTED])}"
            if len(known) > _MOST_LISTED:
                mend += f" and {len(known) - _MOST_LISTED} more"
        raise ScenarioError(
            f"{dotted} is not a known key" + (f" {of}" if of else ""),
            try_this=mend,
            file=place.file,
            key_path=place.entry or None,
        )


def only_value(keys: list[str], values: list[float], place: Place) -> float | None:
    """The one value of a reading, or None where it has none.

    Raises
    ------
    ScenarioError
        If there are several.
    """
    if len(keys) > 1:
        raise place.error(
            f"{' and '.join(keys)} are several values in one reading",
            try_this="keep one, and give each further reading its own [[reading]]",
        )
    return values[0] if values else None


def as_written(raw: object) -> object:
    """A value that shows as it stands in the file, where Python would show it otherwise."""
    return _AsWritten(raw) if isinstance(raw, bool | date | time) else raw


def nearest_key(name: str, known: Iterable[str]) -> str | None:
    """Find the known key that is meant, also where only its unit is another one.

    >>> nearest_key("length_ft", ["heated_length_m", "cold_lead_m", "braid_ohm_per_m"])
    'heated_length_m'
    >>> nearest_key("resistance_ohm", ["meter", "across", "ohm"])
    'ohm'
    """
    known = list(known)
    folded = name.strip().casefold().replace("-", "_")
    unit, stem = _unit(folded), _stem(folded)
    same = [key for key in known if stem and _stem(key) == stem]
    within = [key for key in known if len(stem) > 3 and stem in _stem(key)]
    if same or (within and unit):
        return (same or within)[0]
    return nearest(name, known) or next(iter(within), unit if unit in known else None)


def _unit(key: str) -> str:
    """The unit at the end of a key, the longest that fits."""
    units = (*_UNITS, *_OTHER_UNITS)
    fitting = [unit for unit in units if key == unit or key.endswith("_" + unit)]
    return max(fitting, key=len, default="")


def _stem(key: str) -> str:
    return key.removesuffix(_unit(key)).rstrip("_")


def _value(kind: Any, key: str, raw: Any, place: Place) -> Any:
    given = in_unit(raw, key) if is_length(key) else raw
    try:
        if all(math.isfinite(number) for number in _floats(given)):
            return msgspec.convert(given, kind)
    except (msgspec.ValidationError, ValueError, OverflowError, RecursionError):
        pass
    raise place.error(key, as_written(raw), _allowed(kind, key, raw), _mend(raw, key, kind))


def _floats(raw: Any) -> Iterator[float]:
    """The floats of a value or a flat list; whatever is nested deeper fails by its type."""
    return (item for item in (raw if isinstance(raw, list) else [raw]) if isinstance(item, float))


class _AsWritten:
    def __init__(self, raw: bool | date | time) -> None:
        self.text = str(raw).lower() if isinstance(raw, bool) else raw.isoformat()

    def __repr__(self) -> str:
        return self.text


def _mend(raw: Any, key: str, kind: Any) -> str | None:
    plain, _ = _plain(kind)
    if key in _VALUE_KEYS:
        if raw in _OVER_RANGE_WORDS or (isinstance(raw, str) and raw.lower() in _OVER_RANGE_WORDS):
            return "where the display said over range, write over_range = true instead"
        if isinstance(raw, float) and math.isnan(raw):
            return "leave out a reading that was not taken"
        if isinstance(raw, list):
            return "give each further value a [[reading]] of its own"
    if key == "resistance_ohm" and raw == math.inf:
        return "a fault of infinite resistance is no fault, and a clean break has no resistance_ohm"
    if isinstance(raw, list) and get_origin(plain) is list:
        (each,) = get_args(plain)
        mends = (_mend(item, "", each) for item in raw if item not in get_args(each))
        return next((mend for mend in mends if mend), None)
    if isinstance(raw, str):
        choices = [str(value) for value in get_args(plain)] if get_origin(plain) is Literal else []
        near = nearest(raw[:100], choices)
        if near:
            return f"did you mean {near}?"
        if plain is float:
            number = _number_meant(raw.replace(",", "."), key) or "30.0"
            if re.search(r"\d,\d", raw):
                # Where commas are usual, the quotes were put to get one past the parser.
                return f"write a decimal point and no quotes, such as {key or '...'} = {number}"
            bare = f"write a bare number{f', such as {key} = {number}' if key else ''}"
            return bare + (', or a length with its unit, such as "98 ft 5 in"' * is_length(key))
    return None


def _number_meant(raw: str, key: str) -> str:
    """The number in a text, where what follows it is the key's own unit or nothing at all.

    >>> _number_meant("112.2 ohm", "ohm"), _number_meant("0.8%", "accuracy_percent")
    ('112.2', '0.8')
    >>> _number_meant("8 mils", "core_strand_mm")
    ''
    """
    found = re.fullmatch(r"\s*(\d{1,15}(?:\.\d{1,15})?)\s*(\S*)\s*", raw)
    unit = _unit(key)
    own = {"", unit, f"{unit}s", *{"percent": ["%"], "ohm": ["\u03a9"]}.get(unit, ())}
    return found[1] if found is not None and found[2] in own else ""


_VALUE_KEYS = (
    *("ohm", "megohm", "at_least_megohm", "nanofarad", "balance_ohm"),
    *("echo_ns", "trip_volt"),
)
_OVER_RANGE_WORDS = (math.inf, "ol", "o.l", "o.l.", "1.", "inf", "infinite", "over", "over range")


def _plain(kind: Any) -> tuple[Any, list[msgspec.Meta]]:
    """Strip ``UnsetType``, None and annotations off a type."""
    metas: list[msgspec.Meta] = []
    while True:
        if get_origin(kind) is Annotated:
            kind, *found = get_args(kind)
            metas += [meta for meta in found if isinstance(meta, msgspec.Meta)]
        elif get_origin(kind) in (Union, UnionType):
            left_out = (msgspec.UnsetType, type(None))
            (kind,) = (part for part in get_args(kind) if part not in left_out)
        else:
            return kind, metas


def _allowed(kind: Any, key: str, raw: Any = None) -> str:
    """Say what a key may be, from its type; what is far off in practice only to who went there."""
    plain, metas = _plain(kind)
    origin = get_origin(plain)
    if origin is Literal:
        *most, last = (str(value) for value in get_args(plain))
        return f"{', '.join(most)} or {last}" if most else last
    if origin in (tuple, list):
        many = str(len(get_args(plain)))
        if origin is list:
            least, most_items = (_limit(metas, name) for name in ("min_length", "max_length"))
            many = f"{least or 0:g} to {most_items:g}"
        each = _allowed(get_args(plain)[0], "", next(_floats(raw), None))
        return f"a list of {many}, each {each}" + (
            f", such as {_EXAMPLES[key]}" if key in _EXAMPLES else ""
        )
    if plain is float:
        unit = _UNITS.get(_unit(key))
        finite = "finite " if any(not math.isfinite(x) for x in _floats(raw)) else ""
        return f"a {finite}number{f' of {unit}' if unit else ''}{_bounds(metas, raw)}"
    if plain is int:
        return f"a whole number{_bounds(metas, raw)}"
    if plain is bool:
        return "true or false"
    longest = _limit(metas, "max_length")
    too_long = isinstance(raw, str) and longest is not None
    return "text in quotes" + (f" of at most {longest} characters" if too_long else "")


def _limit(metas: list[msgspec.Meta], name: str) -> float | None:
    return next((getattr(m, name) for m in metas if getattr(m, name) is not None), None)


def _bounds(metas: list[msgspec.Meta], raw: Any) -> str:
    words = {"gt": "above", "ge": "at least", "le": "at most"}
    limits = {word: _limit(metas, name) for name, word in words.items()}
    number = isinstance(raw, int | float) and not isinstance(raw, bool)
    told = [
        f"{word} {limit:.0f}" if 1e3 <= abs(limit) < 1e7 else f"{word} {limit:g}"
        for word, limit in limits.items()
        if limit is not None and (number or abs(limit) < 1e5)
    ]
    return ", " + " and ".join(told) if told else ""


_EXAMPLES = {
    "between": '["core1", "braid"]',
    "conductors": '["core1"]',
    "across": '["core1", "braid"]',
    "links": '[["core1@far", "core2@far"]]',
    "joins": '[["core1@far", "b.core1"]]',
    "tolerance_percent": "[-5.0, 10.0]",
    "capacitance_tolerance_percent": "[-50.0, 100.0]",
    "velocity_tolerance_percent": "[-5.0, 5.0]",
    "core_ohm_per_m": "[1.2, 1.8]",
    "arms_ohm": "[1000, 820]",
    "established": '["short", "degraded"]',
    "outline_m": "[[0, 0], [3, 0], [3, 2.4], [0, 2.4]]",
    "keep_out_m": "[[[0, 0], [0.8, 0], [0.8, 1.7], [0, 1.7]]]",
    "route_m": "[[0.1, 0.1], [2.9, 0.1], [2.9, 0.2], [0.1, 0.2]]",
    "tile_m": "[0.3, 0.3]",
}


@cache
def _types(struct: type[msgspec.Struct]) -> dict[str, Any]:
    hints = get_type_hints(struct, include_extras=True)
    return {name: hints[name] for name in struct.__struct_fields__}


@cache
def _required(struct: type[msgspec.Struct]) -> frozenset[str]:
    return frozenset(f.name for f in msgspec.structs.fields(struct) if f.required)
