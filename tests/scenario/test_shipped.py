"""The shipped scenarios are found in a wheel's layout and in a checkout's, and nowhere else."""

import pytest

from cablesim.errors import InputError
from cablesim.scenario import shipped


@pytest.fixture
def package(tmp_path, monkeypatch):
    folder = tmp_path / "cablesim"
    folder.mkdir()
    monkeypatch.setattr(shipped, "_PACKAGE", folder)
    return folder


def put_scenario(folder):
    folder.mkdir()
    (folder / "twin.toml").write_text("format = 1\n")
    return folder


def test_found_inside_an_installed_package(package):
    wanted = put_scenario(package / "scenarios_data")
    put_scenario(package.parent / "scenarios")
    assert shipped.shipped_directory() == wanted


def test_found_at_the_top_of_a_checkout(package):
    wanted = put_scenario(package.parent / "scenarios")
    assert shipped.shipped_directory() == wanted


def test_an_empty_folder_does_not_count(package):
    (package / "scenarios_data").mkdir()
    with pytest.raises(InputError, match="no shipped scenarios"):
        shipped.shipped_directory()
