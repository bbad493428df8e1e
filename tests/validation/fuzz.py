"""A hundred thousand damaged files: each is used or refused in one sentence, and none hangs.

Run by hand or from the test beside it:

    PYTHONPATH=tests python -m validation.fuzz FILES SEED [FILE]

draws a shipped scenario, damages its bytes, lines, keys and values, and reads it. What can still be
read must also be written, read back and predicted. Only errors of input may come out, as one line
of printable text.
"""

from __future__ import annotations

import signal
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scenario.sound import CHANGES, SOUND, VALUES, change_lines

from cablesim import __version__
from cablesim.errors import InputError, ScenarioError
from cablesim.instruments.standard import standard_probes
from cablesim.report.predicted import predicted
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.writing import dump_scenario

# A file that takes longer counts as a hang.
HANG_S = 10
# A sentence about a file that quotes a part of it.
LONGEST_SENTENCE = 600
NAME = "hall.toml"


class HangError(Exception):
    """One file kept the program busy."""


@dataclass
class Tally:
    """What became of the files."""

    files: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    sentences: set[str] = field(default_factory=set)
    # Number of the file and what happened: these are faults of the program.
    wrong: list[tuple[int, str]] = field(default_factory=list)
    slowest_s: float = 0.0
    seconds: float = 0.0


def damaged(rng: np.random.Generator) -> bytes:
    """A sound file after one to six changes."""
    text = SOUND[rng.integers(len(SOUND))]
    in_bytes = rng.random() < 0.4
    for _ in range(rng.integers(0 if in_bytes else 1, 3)):
        text = _changed_lines(text, rng)
    data = bytearray(text.encode())
    for _ in range(rng.integers(1, 4) if in_bytes else 0):
        _change_bytes(data, rng)
    return bytes(data)


def _changed_lines(text: str, rng: np.random.Generator) -> str:
    lines = text.splitlines() or [""]
    at, other = (int(n) for n in rng.integers(len(lines), size=2))
    change = int(rng.integers(CHANGES + 1))
    if change == CHANGES or not change_lines(
        lines, change, at, other, lambda: VALUES[rng.integers(len(VALUES))]
    ):
        # A part of another file in the middle of this one.
        more = SOUND[rng.integers(len(SOUND))].splitlines()
        first = int(rng.integers(len(more)))
        lines[at:at] = more[first : first + int(rng.integers(1, 12))]
    return "\n".join(lines)


def _change_bytes(data: bytearray, rng: np.random.Generator) -> None:
    if not data:
        data += b"["
    at = int(rng.integers(len(data)))
    change = rng.integers(6)
    if change == 0:
        data[at] ^= 1 << int(rng.integers(8))
    elif change == 1:
        data[at] = int(rng.integers(256))
    elif change == 2:
        del data[at : at + int(rng.integers(1, 40))]
    elif change == 3:
        data[at:at] = data[at : at + 8] * int(rng.integers(1, 200))
    elif change == 4:
        data[at:at] = b"[]{}\"'=.,#\n\\-+e0123456789"[int(rng.integers(24)) :][:1]
    else:
        del data[at:]


def outcome(data: bytes) -> tuple[str, str]:
    """What becomes of a file, and the sentence where it is refused."""
    try:
        scenario = parse_scenario(data, file=NAME)
    except ScenarioError as error:
        return "refused", str(error)
    if parse_scenario(dump_scenario(scenario)) != scenario:
        raise AssertionError("what was written reads back otherwise")
    try:
        probes = scenario.probes or standard_probes(scenario.cable)
        rows = predicted(scenario.laid, scenario.faults, probes)
    except InputError as error:
        return "read, not predicted", str(error)
    for row in rows:
        row.to_dict()
    return "used", ""


def run(files: int, seed: int) -> Tally:
    """Damage and use so many files."""
    tally = Tally()
    before = signal.signal(signal.SIGALRM, _hang)
    begun = time.process_time()
    for number in range(files):
        data = damaged(np.random.default_rng((seed, number)))
        signal.alarm(HANG_S)
        start = time.process_time()
        try:
            what, sentence = outcome(data)
        except HangError:
            what, sentence = "hung", ""
            tally.wrong.append((number, "hung"))
        except Exception as error:
            what, sentence = "failed", ""
            tally.wrong.append((number, f"{type(error).__name__}: {error}"))
        finally:
            signal.alarm(0)
        tally.slowest_s = max(tally.slowest_s, time.process_time() - start)
        tally.files += 1
        tally.outcomes[what] += 1
        if sentence:
            tally.sentences.add(sentence)
            named = sentence.startswith(f"In {NAME}") or what != "refused"
            if not (named and sentence.isprintable() and len(sentence) < LONGEST_SENTENCE):
                tally.wrong.append((number, f"not one plain sentence: {sentence[:200]!r}"))
    tally.seconds = time.process_time() - begun
    signal.signal(signal.SIGALRM, before)
    return tally


def _hang(*_: object) -> None:
    raise HangError


def page(tally: Tally, seed: int) -> str:
    """The tally as Markdown."""
    rows = "\n".join(f"| {what} | {n} |" for what, n in sorted(tally.outcomes.items()))
    wrong = "\n".join(f"- file {number}: {what}" for number, what in tally.wrong[:20])
    text = f"""# Damaged files

Written by `PYTHONPATH=tests python -m validation.fuzz {tally.files} {seed}`; cablesim {__version__}.

{tally.files} files are shipped scenarios (and one with every kind of table) after changes at random: bits and
bytes flipped, cut out, repeated, cut off; lines lost, doubled, exchanged; keys and values of other
lines; values that belong nowhere; parts of another file in the middle. A file that can be read is
written, read back, compared and predicted.

| what became of it | files |
| --- | ---: |
{rows}

- Anything but use or one printable sentence that names the file, and hangs over {HANG_S} s: **{len(tally.wrong)}**
- Different sentences: {len(tally.sentences)}
- Processor time: {tally.seconds:.0f} s in all, {1000 * tally.slowest_s:.0f} ms for the slowest file

{wrong}
"""  # noqa: E501
    return text.rstrip() + "\n"


if __name__ == "__main__":
    files, seed = int(sys.argv[1]), int(sys.argv[2])
    tally = run(files, seed)
    text = page(tally, seed)
    sys.stdout.write(text)
    if len(sys.argv) > 3:
        Path(sys.argv[3]).write_text(text, encoding="utf-8")
