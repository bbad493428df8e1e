"""Follow the first steps of the four readers from a fresh clone, and time them.

Every command of a page in ``docs/start`` is run as it stands, in a fresh environment; Python
lines are typed into one file each time. A drill, which a page leaves to a person, is played from
`DRILL`. What commands print goes to a file beside the clone, to be read. Run it with a folder that
does not exist yet, from the top of the checkout (some minutes)::

    PYTHONPATH=tests python -m validation.newcomers FOLDER

It prints the table of ``docs/validation/newcomers.md``; times are wall clock and depend on what
else the machine does.
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).parents[2]
# Each reader's page, and what begins the step that gives the first useful result.
READERS = {
    "at-the-floor": "cablesim locate",
    "engineer": "from cablesim.locate import locate",
    "trainer": "cablesim practice make",
    "tool-developer": "cablesim locate",
}
_HEAD = """\
| reader | steps | to the first useful result | to the end of the page |
| --- | ---: | ---: | ---: |
"""
_ACTIVATE = "source .venv/bin/activate"
DRILL = """
off; lock; prove; disconnect; take ohmmeter; zero
read c1 c2; log; read c1 b; log; read c2 b; log
suspect short c1 b; mark 9.1 within 0.3; open first 0.86,0.9; repair
read c1 c2; log; read c1 b; log; read c2 b; log
take insulation; clear; read c1+c2 b; log; discharge
close; finish
"""


@dataclass(frozen=True)
class Step:
    """Something that a reader types: a line for the shell, or lines of Python."""

    text: str
    python: bool = False


def install_of(text: str) -> str:
    """The commands that install, the first block for the shell of the page at the floor."""
    return re.findall(r"^```sh\n(.*?)^```", text, re.MULTILINE | re.DOTALL)[0]


def steps_of(text: str) -> Iterator[Step]:
    """What a page asks for, in its order, but for the commands that install."""
    for kind, body in re.findall(r"^```(\w+)\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        if kind == "sh" and "pip install" not in body:
            yield from (Step(line) for line in body.splitlines())
        elif kind == "console":
            yield from (Step(line) for line in re.findall(r"^\$ (.*)$", body, re.MULTILINE))
        elif kind == "python":
            typed = [line[4:] for line in body.splitlines() if line[:3] in (">>>", "...")]
            yield Step("\n".join(typed), python=True)
        elif kind == "text":
            yield Step(f"cat > mine.py <<'END'\n{body}END")


def followed(reader: str, folder: Path) -> tuple[int, float, float]:
    """Steps of a path, and seconds from the clone to its first useful result and to its end."""
    begun, first, number, typed = time.perf_counter(), float("nan"), 2, ""
    home = folder / reader / "cablesim"
    home.parent.mkdir(parents=True)
    with (folder / f"{reader}.txt").open("w", encoding="utf-8") as told:

        def run(command: str, where: Path) -> None:
            told.write(f"\n$ {command}\n")
            told.flush()
            subprocess.run(
                ["bash", "-c", command], cwd=where, stdout=told, stderr=subprocess.STDOUT,
                stdin=subprocess.DEVNULL, check=True,
            )  # fmt: skip

        run(f"git clone -q {TOP} cablesim", home.parent)
        start = home / "docs" / "start"
        run(install_of((start / "at-the-floor.md").read_text(encoding="utf-8")), home)
        (home / "drill.txt").write_text(DRILL.replace("; ", "\n"), encoding="utf-8")
        for step in steps_of((start / f"{reader}.md").read_text(encoding="utf-8")):
            line = step.text
            if step.python:
                typed += f"{line}\n"
                (home / "typed.py").write_text(typed, encoding="utf-8")
                line = "python typed.py"
            elif line.startswith("cablesim practice run"):
                line += " --script drill.txt"
            run(f"{_ACTIVATE} && {line}", home)
            number += 1
            if first != first and step.text.startswith(READERS[reader]):
                first = time.perf_counter() - begun
    return number, first, time.perf_counter() - begun


def main() -> None:
    """Follow all four, one after the other, and print the table."""
    folder = Path(sys.argv[1]).resolve()
    sys.stdout.write(_HEAD)
    for reader in READERS:
        number, first, last = followed(reader, folder)
        sys.stdout.write(f"| {reader} | {number} | {first:.0f} s | {last:.0f} s |\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
