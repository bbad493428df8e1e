"""Writing files: whole or not at all, and never over another one unasked."""

import os
import subprocess
import sys

import pytest

from cablesim.cli import files
from cablesim.errors import InputError
from cablesim.scenario.shipped import shipped_directory


def test_a_file_that_appears_meanwhile_is_kept(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(b"theirs")
    with pytest.raises(InputError, match="exists already"):
        files.write_file(path, b"ours")
    assert path.read_bytes() == b"theirs"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.png"]


def test_where_the_file_system_has_no_links(tmp_path, monkeypatch):
    def fail(*_):
        raise PermissionError("no links here")

    monkeypatch.setattr(os, "link", fail)
    path = tmp_path / "a.png"
    files.write_file(path, b"ours")
    assert path.read_bytes() == b"ours"
    with pytest.raises(InputError, match="exists already"):
        files.write_file(path, b"again")
    assert path.read_bytes() == b"ours"


@pytest.mark.parametrize("force", [False, True])
def test_a_full_disk_leaves_nothing_behind(tmp_path, monkeypatch, force):
    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    monkeypatch.setattr(os, "link", fail)
    with pytest.raises(InputError, match="No space left"):
        files.write_file(tmp_path / "a.png", b"ours", force=force)
    assert list(tmp_path.iterdir()) == []


def test_a_written_file_has_the_usual_rights(tmp_path):
    files.write_file(tmp_path / "ours", b"")
    (tmp_path / "usual").touch()
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_a_full_disk_behind_stdout_is_told_in_one_sentence():
    command = [sys.executable, "-m", "cablesim", "check", str(shipped_directory() / "demo.toml")]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2
    assert "cannot be written to stdout" in done.stderr
    assert done.stderr.count("\n") == 1
