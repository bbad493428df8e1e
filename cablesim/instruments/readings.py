"""A probe is a meter with its leads somewhere; a reading is a probe with what the display said.

`predict` gives the exact value that an ideal meter would show and knows no chance. `measure` adds
the meter's errors and asks for the random generator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import FloatArray, is_number, without_quotes
from cablesim.errors import InputError
from cablesim.instruments.display import display
from cablesim.instruments.meters import Meter, Setting
from cablesim.line.circuit import terminal_network
from cablesim.line.layout import MeshMaker
from cablesim.line.piece import uniform_piece
from cablesim.line.several import Installation, batch_shape, one_cable_only
from cablesim.line.terminals import Hookup, Terminal

__all__ = ["Probe", "Reading", "Span", "manners", "measure", "predict"]

# No display says more, in any unit, but over range.
_MOST = 1e15


@dataclass(frozen=True, slots=True)
class Probe:
    """A meter, what its leads touch, and how it is set.

    Parameters
    ----------
    meter
        The meter.
    hookup
        What each lead touches and what is linked.
    setting
        Test voltage, frequency or bridge arms, where the meter has them.
    """

    meter: Meter
    hookup: Hookup
    setting: Setting = field(default_factory=Setting)

    def __post_init__(self) -> None:
        if not isinstance(self.meter, Meter):
            raise InputError("meter", self.meter, "a meter, such as Ohmmeter(name='pocket')")
        if not isinstance(self.hookup, Hookup):
            raise InputError("hookup", self.hookup, "a Hookup", "make one with Hookup.of")
        if not isinstance(self.setting, Setting):
            raise InputError("setting", self.setting, "a Setting", "leave it out for the usual one")
        if len(self.hookup.leads) != self.meter.leads:
            raise InputError(
                what="across",
                got=list(self.hookup.across),
                allowed=f"{self.meter.leads} entries, one for each lead of the {self.meter.kind}",
            )


@dataclass(frozen=True, slots=True)
class Span:
    """What a display lets through about the indicated value, in the meter's unit.

    The indicated value plus an error drawn evenly from ``-noise`` to ``noise`` lies between ``low``
    and ``high``.
    """

    low: float
    high: float
    noise: float


@dataclass(frozen=True, slots=True)
class Reading:
    """What a display said.

    Parameters
    ----------
    probe
        Meter, hook-up and setting.
    shown
        Value on the display, in the meter's unit; infinite for over range.
    at_least
        Whether the display said "at least this".
    unsteady
        Whether the display did not settle, so that another reading of the same leads may differ.
    """

    probe: Probe
    shown: float
    at_least: bool = False
    unsteady: bool = False

    def __post_init__(self) -> None:
        if not isinstance(self.probe, Probe):
            raise InputError("probe", self.probe, "a Probe: a meter and its hook-up")
        if not is_number(self.shown) or not (0 <= self.shown <= _MOST or self.shown == np.inf):
            raise InputError(
                what=f"{self.probe.meter.kind} reading",
                got=self.shown,
                allowed=f"a number, from 0 to {_MOST:g}, or infinite",
                try_this=without_quotes(self.shown),
            )
        for name in ("at_least", "unsteady"):
            if not isinstance(getattr(self, name), bool | np.bool_):
                raise InputError(name, getattr(self, name), "True or False")

    @property
    def span(self) -> Span:
        """The interval that the display stands for."""
        meter, setting = self.probe.meter, self.probe.setting
        if np.isposinf(self.shown):
            low = meter.over_range_from(setting)
            return Span(low, np.inf, meter.accuracy_counts * float(meter.step_of(low, setting)))
        step = float(meter.step_of(self.shown, setting))
        noise = meter.accuracy_counts * step
        if self.at_least:
            return Span(self.shown, np.inf, noise)
        low = self.shown - step / 2
        if self.shown <= meter.lowest_shown:
            low = meter.least(setting) - noise - step / 2  # whatever is less also shows as zero
        number = int(meter.range_of(self.shown))
        if number > 0 and low <= meter.range_from(number):
            # Two ranges with gains of their own: the lower one ran over, this one may read less.
            apart = meter.accuracy_percent / 100
            low = (meter.range_from(number) - noise) * (1 - apart) / (1 + apart) - noise
        return Span(low, self.shown + step / 2, noise)

    def contradicts(self, other: Reading) -> bool:
        """Whether one meter on the same leads cannot have said both, whatever its errors."""
        if self.probe != other.probe or self.unsteady or other.unsteady:
            return False
        gain = self.probe.meter.accuracy_percent / 100
        bounds = [
            ((r.span.low - r.span.noise) / (1 + gain), (r.span.high + r.span.noise) / (1 - gain))
            for r in (self, other)
            if gain < 1
        ]
        return bool(bounds) and max(low for low, _ in bounds) > min(high for _, high in bounds)

    @property
    def gain_group(self) -> tuple[str, str, int]:
        """Readings with the same group share one unknown gain: same meter, method and range."""
        meter, setting = self.probe.meter, self.probe.setting
        on_scale = min(self.shown, meter.over_range_from(setting))
        return (meter.name, setting.method or "", int(meter.range_of(on_scale)))


def predict(
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    probes: Sequence[Probe],
    *,
    mesh_of: MeshMaker = uniform_piece,
) -> FloatArray:
    """What ideal meters without leads would show.

    Parameters
    ----------
    cable, faults
        The damaged cable; numbers may be arrays over a batch. Of an installation of several, the
        faults are those of its main cable.
    probes
        The readings to predict.
    mesh_of
        What stands for a uniform piece; the exact solution unless a comparison asks for a ladder.

    Returns
    -------
    ndarray, shape (..., readings)
        Values in each meter's own unit; infinite where no path joins the leads.

    Raises
    ------
    InputError
        If there is no probe, a fault does not fit the cable, or a meter works on one cable only.
    """
    if isinstance(faults, Break | Degraded | Flashover | Joint | Short):
        raise InputError("faults", faults, "a tuple of faults", "write (fault,) for a single one")
    if not probes:
        raise InputError("probes", list(probes), "at least one probe")
    columns: list[FloatArray | None] = [None] * len(probes)
    shape = batch_shape(cable, faults)
    for k, probe in enumerate(probes):
        meter, hookup, setting = probe.meter, probe.hookup, probe.setting
        hookup.check_terminals(cable)
        alone = meter.sees_places or meter.seconds(setting) is not None
        if alone and not isinstance(cable, Cable):
            raise one_cable_only(f"the {meter.kind}" + " with seconds" * (not meter.sees_places))
        if meter.sees_places:
            assert isinstance(cable, Cable)  # refused above
            value = meter.exact_of(cable, faults, hookup, setting)
            columns[k] = np.broadcast_to(value, shape)
    for (frequency_hz, seconds), chosen in manners(probes).items():
        terminals = frozenset[Terminal]().union(*(probes[k].hookup.terminals for k in chosen))
        network = terminal_network(
            cable, faults, terminals, frequency_hz, seconds=seconds, mesh_of=mesh_of
        )
        for k in chosen:
            meter, hookup, setting = probes[k].meter, probes[k].hookup, probes[k].setting
            value = meter.exact_in(network, faults, hookup, setting, mesh_of)
            columns[k] = np.broadcast_to(value, network.batch_shape)
    return np.stack([column for column in columns if column is not None], axis=-1)


def manners(probes: Sequence[Probe]) -> dict[tuple[float, float | None], list[int]]:
    """Which probes read one and the same network.

    Returns
    -------
    dict
        For each frequency [Hz] and time since switching on [s] the numbers of the probes; those
        whose meters see places read no network.
    """
    found: dict[tuple[float, float | None], list[int]] = {}
    for k, probe in enumerate(probes):
        meter, setting = probe.meter, probe.setting
        if not meter.sees_places:
            manner = (meter.frequency_hz(setting), meter.seconds(setting))
            found.setdefault(manner, []).append(k)
    return found


def measure(
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    probes: Sequence[Probe],
    *,
    rng: np.random.Generator,
    mesh_of: MeshMaker = uniform_piece,
) -> FloatArray:
    """What real meters would show: with their gain, leads, counts and rounding.

    Parameters
    ----------
    cable, faults, probes, mesh_of
        As for `predict`. Probes whose meters share a name share that meter's errors.
    rng
        Source of the errors.

    Returns
    -------
    ndarray, shape (..., readings)
        Displays, in each meter's own unit; infinite for over range.

    Raises
    ------
    InputError
        As for `predict`, or if the source of the errors is none.
    """
    if not isinstance(rng, np.random.Generator):
        mend = "make one with numpy.random.default_rng(1)"
        raise InputError("rng", rng, "a random generator of numpy", mend)
    drawn = [faults] * len(probes)
    if any(getattr(fault, "drift_percent", 0.0) for fault in faults):
        # An unsteady fault is another one at each reading.
        shape = batch_shape(cable, faults)
        drawn = [drifted(faults, rng, shape) for _ in probes]
        each = [
            predict(cable, now, [probe], mesh_of=mesh_of)
            for now, probe in zip(drawn, probes, strict=True)
        ]
        exact = np.concatenate(each, axis=-1)
    else:
        exact = predict(cable, faults, probes, mesh_of=mesh_of)
    unseen = [
        probe.meter.unseen(cable, now, probe.hookup, probe.setting)
        for now, probe in zip(drawn, probes, strict=True)
    ]
    return display(exact, probes, rng=rng, unseen=unseen)


def drifted(
    faults: tuple[Fault, ...], rng: np.random.Generator, shape: tuple[int, ...] = ()
) -> tuple[Fault, ...]:
    """The faults as they are at one reading: of those that drift the resistance is drawn.

    Parameters
    ----------
    faults
        As stated.
    rng
        Source of the drift.
    shape
        Of the batch.
    """
    now = list(faults)
    for k, fault in enumerate(faults):
        if isinstance(fault, Short | Degraded) and fault.drift_percent:
            factor = (1 + fault.drift_percent / 100) ** rng.uniform(-1.0, 1.0, shape)
            now[k] = replace(fault, resistance_ohm=fault.resistance_ohm * factor)
    return tuple(now)
