"""Whatever an external program says is an answer or a failure of its case, and nothing else."""

import json
import math

from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.benchmark.answer import Answer
from cablesim.benchmark.program import Failure, answer_in

SCALARS = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
KEYS = st.sampled_from(
    [
        "id",
        "declined",
        "verdict",
        "probabilities",
        "position_m",
        "interval_m",
        "intervals_m",
        "level",
        "other",
    ]
)
ANYTHING = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS | st.text(), inner),
    max_leaves=12,
)
NUMBERS = st.floats() | st.integers(-100, 100)
NEARLY = st.fixed_dictionaries(
    {"id": st.just("7") | SCALARS},
    optional={
        "declined": st.text() | SCALARS,
        "verdict": st.text() | SCALARS,
        "probabilities": st.dictionaries(st.text(), NUMBERS) | ANYTHING,
        "position_m": NUMBERS | ANYTHING,
        "interval_m": st.lists(NUMBERS, min_size=2, max_size=2) | ANYTHING,
        "intervals_m": st.lists(st.lists(NUMBERS, min_size=1, max_size=3)) | ANYTHING,
        "level": NUMBERS | SCALARS,
    },
)


def judged(line: bytes) -> Answer | None:
    try:
        return answer_in(line, "7")
    except Failure as failure:
        assert str(failure)
        return None


@given(st.binary() | st.text().map(str.encode) | ANYTHING.map(lambda x: json.dumps(x).encode()))
def test_garbage_is_a_failure_or_an_answer(line):
    judged(line)


@settings(max_examples=150)
@given(NEARLY, st.data())
def test_what_is_nearly_an_answer_is_one_only_if_it_makes_sense(reply, data):
    line = json.dumps(reply).encode()
    if data.draw(st.booleans()):  # one byte of it lost or changed
        at = data.draw(st.integers(0, len(line) - 1))
        line = line[:at] + data.draw(st.binary(max_size=2)) + line[at + 1 :]
    answer = judged(line)
    if answer is None or answer.declined:
        return
    assert 0 < answer.level < 1
    assert answer.position_m is None or math.isfinite(answer.position_m)
    for low, high in answer.intervals_m:
        assert math.isfinite(low) and math.isfinite(high) and low <= high
