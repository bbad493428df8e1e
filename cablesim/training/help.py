"""Everything that can be typed in a drill, on one screen where the screen has room for it."""

from __future__ import annotations

import textwrap

__all__ = ["PARTS", "help_words"]

# Of each part its name, and what is said with what it does.
_PARTS = {
    "make safe": (
        ("off, lock, prove", "switch off, lock off, prove dead"),
        ("disconnect", "take the cable's ends out of the thermostat"),
        ("clear", "send everybody off the floor and the ends"),
        ("discharge", "after every test with high voltage"),
    ),
    "read": (
        ("take METER", "take a meter out of the bag"),
        ("zero", "touch its leads together and zero them"),
        ("set 500 V 60 s", "or 1 kHz, murray, varley 1000 1000, +, -"),
        ("touch c1 b", "leads on core1 and braid; also c1+c2, far c1"),
        ("read", "look at the display; read c1 b touches first"),
        ("log", "write it down"),
    ),
    "think": (
        (
            "suspect short c1 b",
            "or break c1, degraded c1 b, joint c1, healthy, flashover c1 b, undecided; "
            "suspect also ...",
        ),
        ("ask", "ask leave to energise the damage"),
        (
            "mark 12.4 within 0.3",
            "metres from the cold joint, so wide that it holds 95 times in 100; "
            "or X,Y of the plan; mark also ..., mark none",
        ),
    ),
    "work": (
        ("open", "over the mark; says where the first cut may be"),
        ("open first beside 12", "cut first next to the run at its mark of 12 m"),
        ("open first X,Y", "at a point between runs; also open 12.4 ..."),
        ("repair, close", "read it all again, log it, before you close"),
        ("finish", "hand the job back and hear the truth"),
    ),
    "look": (("job  bag  plan  sheet  state  help  quit", ""),),
}
PARTS = tuple(_PARTS)
"""Names of the parts."""

_NAME, _SAY = 11, 22  # columns
_WIDE = 80  # columns from which on all stands in a table


def help_words(columns: int = 80, about: str = "") -> str:
    """All that can be typed, wrapped by words.

    Parameters
    ----------
    columns
        What the terminal has room for.
    about
        One of `PARTS`, or the end of its name, for that part alone; all of them otherwise.

    Examples
    --------
    >>> print(help_words(about="look"))
     look       job  bag  plan  sheet  state  help  quit
    """
    chosen = [part for part in PARTS if about and part.endswith(about)] or PARTS
    told: list[str] = []
    narrow = columns < _WIDE
    indent = 3 if narrow else 1 + _NAME
    for part in chosen:
        rows = _PARTS[part]
        told += [f" {part}"] * narrow
        for k, (say, does) in enumerate(rows):
            head = " " * indent if narrow or k else f" {part:{_NAME}}"
            if does:
                say = f"{say}: " if narrow else f"{say:{_SAY}}"
            head += say
            after = " " * (indent + (4 if narrow else _SAY))
            told += textwrap.wrap(head + does, min(columns, _WIDE), subsequent_indent=after)
    return "\n".join(told)
