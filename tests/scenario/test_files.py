"""What can be wrong with a file before its first key is read, and what is no fault at all."""

import os

import pytest

from cablesim.errors import ScenarioError
from cablesim.scenario import reading
from cablesim.scenario.reading import load_scenario, parse_scenario
from cablesim.scenario.toml_text import MOST_BYTES

SMALLEST = """[cable]
construction = "twin"
heated_length_m = 30
loop_resistance_ohm = 88.2
"""


@pytest.fixture
def untouched(monkeypatch):
    """Fails the test where the content of a file is looked at."""

    def looked_at(*_, **__):
        raise AssertionError("the content was looked at")

    monkeypatch.setattr(reading, "parse_scenario", looked_at)


def refused(path, *words):
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    said = str(caught.value)
    assert all(word in said for word in words), said
    assert said.isprintable()
    assert caught.value.file == os.fspath(path)


@pytest.mark.usefixtures("untouched")
class TestRefusedUnread:
    """One sentence, and not a byte parsed."""

    def test_missing(self, tmp_path):
        refused(tmp_path / "hall.toml", "no such file", "check the name")

    def test_missing_beside_a_file_of_nearly_this_name(self, tmp_path):
        (tmp_path / "hall.toml").write_text(SMALLEST)
        refused(tmp_path / "hal.toml", f"did you mean {tmp_path / 'hall.toml'}?")

    def test_missing_folder(self, tmp_path):
        refused(tmp_path / "no" / "hall.toml", "no such file")

    def test_folder(self, tmp_path):
        refused(tmp_path, "this is a folder")

    def test_folder_on_the_way_is_a_file(self, tmp_path):
        (tmp_path / "hall.toml").write_text(SMALLEST)
        refused(tmp_path / "hall.toml" / "x.toml", "cannot be read")

    def test_name_that_no_file_can_have(self, tmp_path):
        refused(f"{tmp_path}/nul\0.toml", "cannot be read")
        refused(f"{tmp_path}/{'x' * 300}", "cannot be read")

    def test_a_name_that_steers_a_terminal(self, tmp_path):
        refused(f"{tmp_path}/\x1b[2J\n.toml", "no such file")

    def test_a_hundred_megabytes(self, tmp_path):
        path = tmp_path / "huge.toml"
        with path.open("wb") as file:
            file.truncate(100_000_000)
        refused(path, "size in bytes is 100000000", f"at most {MOST_BYTES}")

    @pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
    def test_no_right_to_read(self, tmp_path):
        path = tmp_path / "hall.toml"
        path.write_text(SMALLEST)
        path.chmod(0)
        refused(path, "cannot be read", "rights")


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="this system has no /dev/zero")
def test_a_file_without_an_end():
    refused("/dev/zero", "no regular file", "name a scenario file")


def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    refused(tmp_path / "pipe.toml", "no regular file", "name a scenario file")


def test_the_largest_size_that_is_read(tmp_path):
    path = tmp_path / "hall.toml"
    remark = "# remark\n"
    path.write_text((SMALLEST + remark * MOST_BYTES)[:MOST_BYTES])
    assert path.stat().st_size == MOST_BYTES
    assert load_scenario(path) == parse_scenario(SMALLEST)


@pytest.mark.parametrize(
    "text",
    [
        SMALLEST.encode(),
        bytearray(SMALLEST.encode()),
        "\ufeff" + SMALLEST,
        SMALLEST.replace("\n", "\r\n"),
        "format = 1\n" + SMALLEST,
        SMALLEST.replace("30", "30.0"),
        "fault = []\nreading = []\n" + SMALLEST,
    ],
    ids=["bytes", "bytearray", "byte order mark", "CR LF", "format", "float", "no faults"],
)
def test_what_makes_no_difference(text):
    assert parse_scenario(text) == parse_scenario(SMALLEST)
