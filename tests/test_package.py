"""The wheel stands alone: built once, unpacked elsewhere, it runs with its scenarios inside."""

import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

import cablesim

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """The wheel as the build backend makes it, without an environment of its own."""
    built = tmp_path_factory.mktemp("built")
    code = "import sys; from hatchling.build import build_wheel; print(build_wheel(sys.argv[1]))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(built)], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    (wheel,) = built.glob("*.whl")
    assert wheel.name == f"cablesim-{cablesim.__version__}-py3-none-any.whl"
    zipfile.ZipFile(wheel).extractall(built / "elsewhere")
    return built / "elsewhere"


def run(unpacked, *arguments):
    return subprocess.run(
        [sys.executable, "-P", "-m", "cablesim", *arguments],
        cwd=unpacked,
        env={**os.environ, "PYTHONPATH": str(unpacked)},
        capture_output=True,
        text=True,
    )


def test_it_runs_outside_the_checkout_with_its_scenarios(unpacked):
    code = "import cablesim; print(cablesim.__file__)"
    found = subprocess.run(
        [sys.executable, "-P", "-c", code],
        env={**os.environ, "PYTHONPATH": str(unpacked)},
        capture_output=True,
        text=True,
    )
    assert Path(found.stdout.strip()).is_relative_to(unpacked)
    assert run(unpacked, "--version").stdout == f"cablesim {cablesim.__version__}\n"
    made = run(unpacked, "new", "copy.toml", "--like", "published/murray-mehta-11-21")
    assert made.returncode == 0, made.stderr
    said = run(unpacked, "predict", "copy.toml")
    assert said.returncode == 0, said.stderr
    assert "murray" in said.stdout


def test_it_holds_the_package_and_nothing_else(unpacked):
    assert {path.name for path in unpacked.iterdir()} - {"copy.toml"} == {
        "cablesim",
        f"cablesim-{cablesim.__version__}.dist-info",
    }
    shipped = {path.name for path in (ROOT / "scenarios").rglob("*.toml")}
    assert {path.name for path in (unpacked / "cablesim/scenarios_data").rglob("*.toml")} == shipped
    assert (unpacked / "cablesim" / "py.typed").exists()


def test_the_oldest_versions_tested_are_the_oldest_allowed():
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    allowed = dict(line.split(">=") for line in told["dependencies"])
    tested = dict(re.findall(r"^(\w+)==(.+)$", (ROOT / "tests" / "oldest.txt").read_text(), re.M))
    for name, version in allowed.items():
        assert f"{tested[name]}.0".startswith(f"{version}."), name
