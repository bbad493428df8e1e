"""How long it takes to start: beside plain numpy, and beside other command-line tools.

Each command is a process of its own, run in turns with the others, so that a busy machine is busy
for all. Processor time, of several runs the best. Run it from the top of the checkout::

    python tests/validation/startup.py 15 docs/validation/startup.md
"""

from __future__ import annotations

import os
import platform
import resource
import shutil
import subprocess
import sys
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path

PYTHON = sys.executable
# What the process does, and the command.
IMPORTS = {
    "python, nothing imported": [PYTHON, "-c", ""],
    "import numpy": [PYTHON, "-c", "import numpy"],
    "import cablesim": [PYTHON, "-c", "import cablesim"],
    "import cablesim, and predict of it": [PYTHON, "-c", "from cablesim import predict"],
    "import cablesim, and locate of it": [PYTHON, "-c", "from cablesim.locate import locate"],
    "import scipy.stats": [PYTHON, "-c", "import scipy.stats"],
    "import matplotlib.pyplot": [PYTHON, "-c", "import matplotlib.pyplot"],
}
COMMANDS = {
    "cablesim --help": [PYTHON, "-m", "cablesim", "--help"],
    "cablesim --version": [PYTHON, "-m", "cablesim", "--version"],
    "cablesim check scenarios/demo.toml": [
        *(PYTHON, "-m", "cablesim", "check", "scenarios/demo.toml")
    ],
    "cablesim predict scenarios/demo.toml": [
        *(PYTHON, "-m", "cablesim", "predict", "scenarios/demo.toml")
    ],
    "cablesim locate scenarios/demo.toml": [
        *(PYTHON, "-m", "cablesim", "locate", "scenarios/demo.toml")
    ],
}
# General tools that have a command line, where they are installed.
PEERS = {
    "f2py -v (numpy)": ("numpy", [PYTHON, "-m", "numpy.f2py", "-v"]),
    "fonttools --help": ("fonttools", [PYTHON, "-m", "fontTools", "--help"]),
    "ezdxf --help": ("ezdxf", [PYTHON, "-m", "ezdxf", "--help"]),
    "dask --help": ("dask", [PYTHON, "-m", "dask", "--help"]),
}
_HEAD = """# Import and start-up times

This page is written by `python tests/validation/startup.py {runs} docs/validation/startup.md`. Each
row is a process of its own, started in turns with all others; processor time, best of {runs} runs.
Times depend on the machine, ratios much less. Nothing in the tests asserts a time; that `import
cablesim` and `--help` load neither matplotlib nor scipy.stats nor networkx is tested.
"""


def seconds(command: Sequence[str]) -> float:
    """Processor time of one run of a command, the system's part included [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def best(commands: dict[str, Sequence[str]], runs: int) -> dict[str, float]:
    """Least time of each command, taken in turns."""
    for command in commands.values():
        seconds(command)  # compiles what is not compiled yet
    rounds = [{name: seconds(command) for name, command in commands.items()} for _ in range(runs)]
    return {name: min(of[name] for of in rounds) for name in commands}


def installed(package: str) -> str | None:
    """Version of a package, None where it is not installed."""
    try:
        return version(package)
    except ImportError:
        return None


def page(runs: int) -> str:
    """The whole page."""
    peers = {
        f"{name}, {found}": command
        for name, (package, command) in PEERS.items()
        if (found := installed(package))
    }
    if shutil.which("ngspice"):
        peers["ngspice --version"] = ["ngspice", "--version"]
    found = best({**IMPORTS, **COMMANDS, **peers}, runs)
    numpy, help_text = found["import numpy"], found["cablesim --help"]
    text = _HEAD.format(runs=runs)
    text += "\n## Imports\n\n| process | seconds | times `import numpy` |\n| --- | ---: | ---: |\n"
    for name in IMPORTS:
        text += f"| {name} | {found[name]:.3f} | {found[name] / numpy:.2f} |\n"
    text += "\n## Commands\n\n"
    text += "| command | seconds | times `import numpy` | times `cablesim --help` |\n"
    text += "| --- | ---: | ---: | ---: |\n"
    for name in (*COMMANDS, *peers):
        ratios = (found[name] / numpy, found[name] / help_text)
        text += f"| `{name}` | {found[name]:.3f} | {ratios[0]:.2f} | {ratios[1]:.2f} |\n"
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    text += f"\nLoad of the machine (1, 5, 15 minutes): {load}; {os.cpu_count()} processors. "
    text += f"Written with Python {platform.python_version()} and numpy {version('numpy')}.\n"
    return text


if __name__ == "__main__":
    written = page(int(sys.argv[1]))
    if len(sys.argv) > 2:
        Path(sys.argv[2]).write_text(written, encoding="utf-8")
    else:
        sys.stdout.write(written)
