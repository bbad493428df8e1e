"""How fast the electrics are, beside ngspice and a sparse ladder, and how far each is off.

Run by hand, on a quiet machine, from the top of the checkout:

    PYTHONPATH=tests python -m speed.electrics docs/validation/speed.md

All figures are processor time of one thread and of one run, so that the ratios mean something even
where the machine is busy; the load at the time stands in the page. Truth is the oracle of 50
digits.
"""

from __future__ import annotations

import os
import platform
import re
import resource
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from outside import precise
from speed import peers

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.instruments.readings import Probe, predict
from cablesim.instruments.standard import standard_probes
from cablesim.line.circuit import terminal_network
from cablesim.line.layout import CHUNK

CABLE = Cable.rated("twin", 30.0, 88.2, insulation_gigaohm_m=10.0, loss_tangent=0.0)
PROBES = standard_probes(CABLE)
OHMS, CAPACITANCES = PROBES[:3], PROBES[-3:]
BAND_HZ = np.linspace(1e5, 1e7, 512)
SIZES = (1, 100, 10_000, 1_000_000)
FAULTS = (1, 2, 4)
_LEAST_S = 0.5  # each figure is the best of as many runs as take this long


def drawn(kind: str, count: int, size: int, seed: int = 0) -> tuple:
    """Faults at random places, in no order: shorts of ohms to kilohms, or clean breaks."""
    rng = np.random.default_rng(seed)
    at_m = rng.uniform(0.0, 30.0, (count, size))
    if kind == "breaks":
        return tuple(Break(("core1", "core2")[k % 2 :][:1], at_m[k]) for k in range(count))
    ohm = 10 ** rng.uniform(0, 4, (count, size))
    return tuple(Short((("core1", "core2")[k % 2], "braid"), at_m[k], ohm[k]) for k in range(count))


def one_of(faults: tuple, index: int) -> tuple:
    """One scenario of a batch."""
    return tuple(
        Break(f.conductors, float(f.at_m[index]))
        if isinstance(f, Break)
        else Short(f.between, float(f.at_m[index]), float(f.resistance_ohm[index]))
        for f in faults
    )


def _processor_s() -> float:
    """Processor time of this process and of those that it has run [s]."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    here = resource.getrusage(resource.RUSAGE_SELF)
    return here.ru_utime + here.ru_stime + children.ru_utime + children.ru_stime


def seconds(work: Callable[[], object], least_s: float) -> float:
    """Shortest processor time that it takes [s]."""
    work()
    best, spent = np.inf, 0.0
    while spent <= least_s:
        begin = _processor_s()
        work()
        took = _processor_s() - begin
        best, spent = min(best, took), spent + took
    return best


@dataclass(frozen=True)
class Row:
    """One kind of reading with one number of faults, for every size of batch."""

    what: str
    faults: int
    scenarios_a_second: dict[int, float]


@dataclass(frozen=True)
class Rival:
    """The time of one scenario, and the largest relative error of its numbers."""

    what: str
    seconds: dict[str, float]
    error: dict[str, float]


def rates(sizes=SIZES, faults=FAULTS, least_s: float = _LEAST_S) -> list[Row]:
    rows = []
    for what, kind, probes in (
        ("three ohm readings", "shorts", OHMS),
        ("three capacitances", "breaks", CAPACITANCES),
    ):
        for count in faults:
            found = {}
            for size in sizes:
                batch = drawn(kind, count, size)
                took = seconds(lambda b=batch, p=probes: predict(CABLE, b, p), least_s)
                found[size] = size / took
            rows.append(Row(what, count, found))
    return rows


def band_rates(sizes=(1, 8, 64), faults=FAULTS, points=512, least_s: float = _LEAST_S) -> list[Row]:
    """Impedances over a band, as an echo needs them: scenarios, each of 512 frequencies."""
    band = BAND_HZ[:: 512 // points]
    rows = []
    for count in faults:
        found = {}
        for size in sizes:
            batch = drawn("shorts", count, size)
            # Scenarios go down, frequencies across.
            batch = tuple(
                Short(f.between, f.at_m[:, None], f.resistance_ohm[:, None]) for f in batch
            )
            took = seconds(lambda b=batch: _impedance(b, band), least_s)
            found[size] = size / took
        rows.append(Row(f"impedance at {points} frequencies", count, found))
    return rows


def _impedance(faults: tuple, band) -> np.ndarray:
    hookup = OHMS[1].hookup
    network = terminal_network(CABLE, faults, hookup.terminals, band)
    return 1 / np.asarray(network.between_leads(hookup)[0, 1])


def rivals(scenarios: int = 3, points: int = 512, least_s: float = _LEAST_S) -> list[Rival]:
    """One fault each; cablesim in batches of 1e4 (64 for the band)."""
    band = BAND_HZ[:: 512 // points]
    ways: list[Rival] = []
    shorts, breaks = drawn("shorts", 1, 10_000), drawn("breaks", 1, 10_000)
    for what, kind, batch, probes, size in (
        ("three ohm readings", "ohm", shorts, OHMS, 10_000),
        ("three capacitances", "farad", breaks, CAPACITANCES, 10_000),
        (f"impedance at {points} frequencies", "band", shorts, OHMS[1:2], 64),
    ):
        cases = [one_of(batch, k) for k in range(scenarios)]
        truth = [_truth(kind, case, probes, band) for case in cases]
        if kind == "band":
            some = tuple(
                Short(f.between, f.at_m[:size, None], f.resistance_ohm[:size, None]) for f in batch
            )
            ours = seconds(lambda b=some: _impedance(b, band), least_s) / size
            found = [_impedance(case, band) for case in cases]
        else:
            ours = seconds(lambda b=batch, p=probes: predict(CABLE, b, p), least_s) / size
            found = [predict(CABLE, case, probes) for case in cases]
        times = {"cablesim": ours}
        errors = {"cablesim": _error(found, truth)}
        for name, way in (("ngspice", _by_ngspice), ("scipy.sparse", _by_sparse)):
            found = [way(kind, case, probes, band) for case in cases]
            errors[name] = _error(found, truth)
            times[name] = seconds(
                lambda w=way, k=kind, c=cases[0], p=probes: w(k, c, p, band), least_s
            )
        ways.append(Rival(what, times, errors))
    return ways


def _by_ngspice(kind: str, case: tuple, probes: tuple[Probe, ...], band) -> np.ndarray:
    return peers.ngspice(CABLE, case, probes, band if kind == "band" else None)


def _by_sparse(kind: str, case: tuple, probes: tuple[Probe, ...], band) -> np.ndarray:
    if kind == "ohm":
        return peers.ohms(peers.sparse_ladder(CABLE, case))
    if kind == "farad":
        return peers.farads(peers.sparse_ladder(CABLE, case, 1000.0), 1000.0) * 1e9
    return np.array([peers.sparse_ladder(CABLE, case, f)[0, 0] for f in band])


def _truth(kind: str, case: tuple, probes: tuple[Probe, ...], band) -> np.ndarray:
    if kind == "band":  # a few frequencies will do: 50 digits take their time
        chosen = np.linspace(0, len(band) - 1, 4).astype(int)
        found = np.full(len(band), np.nan, complex)
        for k in chosen:
            found[k] = complex(
                1 / precise.between_leads(CABLE, case, probes[0].hookup, float(band[k]))
            )
        return found
    values = []
    for probe in probes:
        hertz = probe.meter.frequency_hz(probe.setting)
        siemens = precise.between_leads(CABLE, case, probe.hookup, hertz)
        values.append(
            float(siemens.imag) / (2 * np.pi * hertz) * 1e9 if hertz else float(1 / siemens)
        )
    return np.array(values)


def _error(found: list, truth: list) -> float:
    apart = []
    for values, wanted in zip(found, truth, strict=True):
        assert values.shape == wanted.shape
        known = ~np.isnan(wanted)
        apart.append(float(np.max(np.abs(values[known] / wanted[known] - 1))))
    return max(apart)


# --- what bounds it -------------------------------------------------------------------------------


class Counted(np.ndarray):
    """An array that counts what is done with its elements, and with those of its results."""

    done = 0

    def __array_ufunc__(self, ufunc, method, *inputs, out=None, **options):
        plain = [np.asarray(each) if isinstance(each, Counted) else each for each in inputs]
        if out is not None:
            options["out"] = tuple(np.asarray(each) for each in out)
        result = getattr(ufunc, method)(*plain, **options)
        Counted.done += int(np.size(result))
        return result.view(Counted) if isinstance(result, np.ndarray) else result


def operations(kind: str, count: int) -> float:
    """Elementwise operations that one scenario takes, counted as they are done."""
    size = 8 * CHUNK  # so many that each order of the faults along the cable has a graph of its own
    batch = tuple(
        Break(f.conductors, f.at_m.view(Counted))
        if isinstance(f, Break)
        else Short(f.between, f.at_m.view(Counted), f.resistance_ohm.view(Counted))
        for f in drawn(kind, count, size)
    )
    Counted.done = 0
    predict(CABLE, batch, CAPACITANCES if kind == "breaks" else OHMS)
    return Counted.done / size


def plain_rate(kind: type, least_s: float = _LEAST_S) -> float:
    """Elementwise multiplications and additions a second that numpy reaches on one chunk."""
    rng = np.random.default_rng(0)
    a, b, c = (rng.random(CHUNK).astype(kind) for _ in range(3))

    def work() -> None:
        for _ in range(100):
            np.multiply(a, b, out=c)
            np.add(a, b, out=c)

    return 200 * CHUNK / seconds(work, least_s)


def peak_megabytes(size: int) -> tuple[float, float]:
    """Most memory of a process that predicts so many scenarios, and what of it is the numbers."""
    done = subprocess.run(
        [sys.executable, "-m", "speed.electrics", "--peak", str(size)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    peak, numbers = (float(part) for part in done.stdout.split())
    return peak, numbers


def _print_peak(size: int) -> None:
    batch = drawn("shorts", 1, size)
    found = predict(CABLE, batch, OHMS)
    numbers = found.nbytes + sum(f.at_m.nbytes + f.resistance_ohm.nbytes for f in batch)
    sys.stdout.write(f"{_peak_bytes() / 1e6} {numbers / 1e6}\n")


def _peak_bytes() -> float:
    """Most memory so far; not that of the process that started this one, which getrusage counts."""
    status = Path("/proc/self/status")
    if status.exists():
        return float(re.search(r"VmHWM:\s+(\d+) kB", status.read_text())[1]) * 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024.0


# --- the page -------------------------------------------------------------------------------------

_HEAD = """# How fast the electrics are

This page is written by `PYTHONPATH=tests python -m speed.electrics docs/validation/speed.md`. One
thread throughout, processor time, and of several runs the best. Nothing in the tests asserts a
time.

The cable is a twin of 30 m and 88.2 ohm. Faults lie at random places in no order: shorts of 1 ohm
to 10 kohm between one core and the braid for the ohm readings and the impedances, clean breaks of
one core for the capacitances. Readings are the exact values of ideal meters.

Each order of faults along the cable is another graph: four have 24. Many rows are sorted into a
graph for each order; a few rows of many orders share one graph, where any fault may sit anywhere.
"""


def _table(rows: list[Row]) -> str:
    sizes = list(rows[0].scenarios_a_second)
    text = "| what | faults | " + " | ".join(f"batch of {size:,}" for size in sizes) + " |\n"
    text += "| --- | ---: |" + " ---: |" * len(sizes) + "\n"
    for row in rows:
        cells = [f"{rate:.2g}" for rate in row.scenarios_a_second.values()]
        text += f"| {row.what} | {row.faults} | {' | '.join(cells)} |\n"
    return text


def load() -> str:
    """Load of the machine over 1, 5 and 15 minutes."""
    return ", ".join(f"{value:.1f}" for value in os.getloadavg())


def written_on(before: str) -> str:
    """Last lines of a page: the machine, and its load before and after."""
    return (
        f"Load of the machine (1, 5, 15 minutes) before: {before}; after: {load()}; "
        f"{os.cpu_count()} processors.\nWritten with Python {platform.python_version()} and "
        f"numpy {np.__version__} on {platform.machine()}.\n"
    )


def page() -> str:
    before = load()
    text = _HEAD + "\n## Scenarios a second\n\n" + _table(rates()) + "\n" + _table(band_rates())
    text += "\n## Beside others\n\n"
    text += "One fault, seconds a scenario, and the largest relative error of three scenarios "
    text += (
        "against 50\ndigits. cablesim works on batches of 10,000 (64 for the band). ngspice and "
    )
    text += f"scipy.sparse take a\nladder of {peers.RUNGS} rungs; an ngspice run is that of a "
    text += "process, its start included, for all\nreadings of one scenario. Their errors are the "
    text += "rungs' and those of subtraction.\n\n"
    text += "| what | by | seconds a scenario | times cablesim | largest relative error |\n"
    text += "| --- | --- | ---: | ---: | ---: |\n"
    for rival in rivals():
        for name, took in rival.seconds.items():
            times = took / rival.seconds["cablesim"]
            text += f"| {rival.what} | {name} | {took:.2g} | {times:.2g} | "
            text += f"{rival.error[name]:.1g} |\n"
    text += "\n## What bounds it\n\n"
    text += "| what | faults | operations a scenario | numpy alone, s | taken, s | share |\n"
    text += "| --- | ---: | ---: | ---: | ---: | ---: |\n"
    for what, kind, number, probes in (
        ("three ohm readings", "shorts", float, OHMS),
        ("three capacitances", "breaks", complex, CAPACITANCES),
    ):
        rate = plain_rate(number)
        for count in FAULTS:
            work = operations(kind, count)
            batch = drawn(kind, count, 100_000)
            taken = seconds(lambda b=batch, p=probes: predict(CABLE, b, p), _LEAST_S) / 100_000
            text += f"| {what} | {count} | {work:.0f} | {work / rate:.2g} | {taken:.2g} | "
            text += f"{work / rate / taken:.0%} |\n"
    text += _BOUND.format(
        rate=plain_rate(float) / 1e9,
        traffic=plain_rate(float) * 24 / 1e9,
        complex_rate=plain_rate(complex) / 1e9,
        chunk=CHUNK,
    )
    text += "\n## Memory\n\n| scenarios | most memory, MB | of it numbers in and out, MB |\n"
    text += "| ---: | ---: | ---: |\n"
    for size in (1, 10_000, 1_000_000):
        peak, numbers = peak_megabytes(size)
        text += f"| {size:,} | {peak:.0f} | {numbers:.1f} |\n"
    text += "\nBeyond the numbers in and out there are the conductances between terminals, 8 bytes "
    text += (
        "a pair and\nscenario, and copies of the results; what is worked with stays the size of "
    )
    text += "a chunk.\n"
    return text + "\n" + written_on(before)


_BOUND = """
Operations are counted as numpy does them, element by element (sums, products, quotients, absolute
values, comparisons). *numpy alone* is what so many plain multiplications and additions take at the
rate measured in the same run on arrays of {chunk}: {rate:.2g}e9 a second for real numbers, each
moving 24 bytes, {traffic:.2g} GB/s within the cache; {complex_rate:.2g}e9 for complex ones. What is
above it is divisions, which cost several multiplications, picking rows out of the batch, and the
graph that is built once for each chunk and order. The arrays of a chunk stay in the cache, so main
memory does not bound it: a scenario reads and writes well under 200 bytes of it. A compiled loop
that kept one scenario's numbers in registers would have no traffic at all and be bound by the
operations themselves; the arrays are kept because the same lines then serve numbers, batches,
ladders and complex frequencies.
"""


def main() -> None:
    if sys.argv[1:2] == ["--peak"]:
        _print_peak(int(sys.argv[2]))
        return
    text = page()
    if len(sys.argv) > 1:
        path = Path(sys.argv[1])
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
