"""From a file of TOML to its tables; what is no such file is told of in one sentence."""

from __future__ import annotations

import os
import re
import tomllib
from itertools import islice
from pathlib import Path
from typing import Any, Final

from cablesim.errors import ScenarioError, nearest

__all__ = ["MOST_BYTES", "SMALLEST", "content_of", "tables_of"]

# A file at every limit of the schema stays below these. The parser's time grows with the square of
# the number of dots in one key, so dots in a line are limited too.
MOST_BYTES: Final = 256 * 1024
_LONGEST_LINE: Final = 4096
_MOST_DOTS: Final = 300
_MOST_FILES_LOOKED_AT: Final = 1000
_NAME_ONE: Final = "name a scenario file, ending in .toml"

SMALLEST: Final = (
    'a scenario needs [cable] with construction = "twin", heated_length_m = 30.0 and '
    "loop_resistance_ohm = 88.2, or the like"
)


def content_of(name: str) -> bytes:
    """Read a file that may hold a scenario.

    Parameters
    ----------
    name
        The file.

    Raises
    ------
    ScenarioError
        If there is none, it is no regular file, it cannot be read, or it is too large.
    """
    if not name:
        raise ScenarioError("The name of the file is empty", try_this=_NAME_ONE)
    try:
        # Opening a pipe or a device may wait for ever; a missing file is told of below.
        if os.path.exists(name) and not os.path.isdir(name) and not os.path.isfile(name):
            raise ScenarioError(
                "this is no regular file",
                try_this=_NAME_ONE,
                file=name,
            )
        with open(name, "rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size > MOST_BYTES:
                raise _too_large(name, size)
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        near = _neighbour(name)
        raise ScenarioError(
            "there is no such file",
            try_this=f"did you mean {near}?" if near else "check the name and the folder",
            file=name,
        ) from None
    except IsADirectoryError:
        raise ScenarioError("this is a folder", try_this=_NAME_ONE, file=name) from None
    except ScenarioError:
        raise
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise ScenarioError(
            f"the file cannot be read ({why})", try_this="check the name and the rights", file=name
        ) from None
    return data


def tables_of(text: str | bytes | bytearray, name: str | None) -> dict[str, Any]:
    """Take the tables out of a text.

    Parameters
    ----------
    text
        TOML; bytes are UTF-8.
    name
        Name of the file to use in messages.

    Raises
    ------
    ScenarioError
        If it is no TOML, empty, or larger than any scenario.
    """
    return _parsed(_decoded(text, name), name)


def _too_large(name: str | None, size: int) -> ScenarioError:
    return ScenarioError(
        "size in bytes", size, f"at most {MOST_BYTES}", "name a scenario file", file=name
    )


def _neighbour(name: str) -> str | None:
    """The file in the same folder that has the nearest name."""
    folder = Path(name).parent
    try:
        names = [entry.name for entry in islice(os.scandir(folder), _MOST_FILES_LOOKED_AT)]
    except (OSError, ValueError):
        return None
    near = nearest(Path(name).name, [name for name in names if name.endswith(".toml")])
    return str(folder / near) if near else None


def _decoded(text: str | bytes | bytearray, name: str | None) -> str:
    if len(text) > MOST_BYTES:
        raise _too_large(name, len(text))
    try:
        # Both ways, since text may hold what cannot be written to a file again.
        decoded = text.encode().decode() if isinstance(text, str) else bytes(text).decode()
    except UnicodeError as error:
        raise ScenarioError(
            f"the file is not text in UTF-8 (byte {error.start})"
            if isinstance(error, UnicodeDecodeError)
            else "the text cannot be written as UTF-8",
            try_this="save it as UTF-8 in a text editor",
            file=name,
        ) from None
    # Some editors begin a UTF-8 file with a mark.
    decoded = decoded.removeprefix("\ufeff")
    if not decoded.strip():
        raise ScenarioError("the file is empty", try_this=SMALLEST, file=name)
    return decoded


def _parsed(text: str, name: str | None) -> dict[str, Any]:
    for number, line in enumerate(text.split("\n"), start=1):
        for what, count, most in (
            ("length", len(line), _LONGEST_LINE),
            ("number of dots", line.count("."), _MOST_DOTS),
        ):
            if count > most:
                raise ScenarioError(
                    f"{what} of line {number}",
                    count,
                    f"at most {most}",
                    "break a long list after a comma",
                    file=name,
                )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(
            "brackets or tables are nested too deeply",
            try_this="a scenario needs three levels at most",
            file=name,
        ) from None
    except (ValueError, OverflowError) as error:
        raise _syntax(str(error), text, name) from None


def _syntax(message: str, text: str, name: str | None) -> ScenarioError:
    """Reword what the TOML parser says, with the line in front."""
    found = re.search(r" \(at (line (\d+), column \d+|end of document)\)$", message)
    if found is None:
        return ScenarioError(
            f"the file is not valid TOML: {message[:80]}",
            try_this="look for a number or a date that cannot be",
            file=name,
        )
    number = int(found[2]) if found[2] else text.count("\n") + 1
    where = found[1] if found[2] else f"line {number}, the last,"
    what = message[: found.start()].split("\n")[0]
    what = what[:1].lower() + what[1:80]
    return ScenarioError(
        f"{where} is not valid TOML: {what}",
        try_this=_syntax_mend(what, text.split("\n")[number - 1]),
        file=name,
    )


def _syntax_mend(what: str, line: str) -> str | None:
    key, equals, value = (part.strip() for part in line.partition("="))
    if equals and "invalid value" in what and value[:1] in ("", "#"):
        return f"write a value after {key[:40]} =, or delete the line"
    if re.match(r"[+-]?\d+,\d", value):
        return "write a decimal point, such as 12.4"
    if re.match(r"[+-]?[\d.]+ *[A-Za-z]", value):
        return "write the bare number, the unit is in the key; or a length with its unit in quotes"
    if "illegal character" in what and re.match("[\"']", value):
        return "end a text on the line where it begins, with the quotes that began it"
    if "invalid value" in what and re.fullmatch(r"(?i)\+?(o\.?l\.?|over|open|inf\w*)", value):
        return "for a display that shows no number write over_range = true"
    if "invalid value" in what and re.match(r"(?i)(true|yes|on|false|no|off)\b", value):
        return "write true or false, in small letters and without quotes"
    if "invalid value" in what and re.match(r"[A-Za-z]", value):
        return "put text in quotes"
    if "declare" in what or "overwrite" in what or "twice" in what or "namespace" in what:
        return (
            "each key and table may stand once; several faults or readings each need their own "
            "[[fault]] or [[reading]]"
        )
    return None
