"""A cable on its supply: currents, voltages, and where the heat comes from.

Fixed voltages at the terminals give the voltages at all marked points, and within a piece any
point parts it in two exact pieces, so that voltage and current follow there too. Heat per metre is
``sum r_i I_i^2 + sum g_ij (V_i - V_j)^2`` over the conductors i and their pairs.

Everything here is direct current. At 50 Hz the heat is the same but for what inductance and
capacitance do, less than one part in a million on a floor's cable (docs/energised.md); the current
to earth through the healthy capacitance is not small beside what trips a protective device, and is
taken from the network at the supply's frequency: `residual_ampere`.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint
from cablesim.cable.numbers import FloatArray, Real, require
from cablesim.errors import InputError
from cablesim.line.circuit import terminal_network
from cablesim.line.inside import inside, not_too_short, panels
from cablesim.line.layout import Circuit, MeshMaker, Rows, batch_shape, circuits
from cablesim.line.piece import uniform_piece
from cablesim.line.potentials import Potentials, node_potentials
from cablesim.line.terminals import Hookup, node_of

__all__ = ["Along", "Energised", "Supply", "energise", "power_profile", "usual_supply"]


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply without internal resistance.

    Parameters
    ----------
    volt
        Voltage between the live and the neutral lead [V].
    hookup
        What the live lead touches, what the neutral lead touches, and, third, what is earthed; the
        supply's neutral is earthed too. Without a third lead the braid floats.
    """

    volt: Real
    hookup: Hookup

    def __post_init__(self) -> None:
        require("volt", self.volt, at_least=0.0)
        if len(self.hookup.leads) not in (2, 3) or self.hookup.links:
            raise InputError(
                "supply",
                list(self.hookup.across),
                "two or three leads without links: live, neutral, and what is earthed",
            )


def usual_supply(cable: Cable, volt: Real, *, live: str = "core1", earthed: bool = True) -> Supply:
    """The supply at the thermostat.

    Parameters
    ----------
    cable
        The cable: two cores are supplied between them, one core from both of its ends.
    volt
        Voltage [V].
    live
        The terminal on the live lead; the other one is on the neutral.
    earthed
        Whether the braid is earthed, at each of its ends that the thermostat reaches.

    Raises
    ------
    InputError
        If a cable is not supplied there.
    """
    returns = cable.construction.returns
    ends = ("core1", "core1@far") if returns else ("core1", "core2")
    if live not in ends:
        raise InputError("live", live, " or ".join(ends))
    neutral = ends[1 - ends.index(live)]
    braid = ("braid+braid@far" if returns else "braid",) if earthed else ()
    return Supply(volt, Hookup.of(cable, (live, neutral, *braid)))


@dataclass(frozen=True, slots=True)
class Along:
    """What goes on along an energised cable.

    Parameters
    ----------
    positions_m : ndarray, shape (positions,)
        Places [m from the cold joint].
    volt : ndarray, shape (..., positions, conductors)
        Voltage of each conductor above the neutral [V].
    ampere : ndarray, shape (..., positions, conductors)
        Current in each conductor, positive away from the near terminals [A]; just beyond a fault
        that lies at the very place.
    watt_per_m : ndarray, shape (..., positions)
        Heat [W/m], with that of degraded stretches, without that of faults at a point.
    """

    positions_m: FloatArray
    volt: FloatArray
    ampere: FloatArray
    watt_per_m: FloatArray


@dataclass(frozen=True, slots=True)
class _State:
    """One circuit of the batch, solved."""

    circuit: Circuit
    rows: Rows
    potentials: Potentials


@dataclass(frozen=True, slots=True)
class Energised:
    """A cable on its supply.

    Parameters
    ----------
    cable, faults, supply
        As given.
    batch_shape
        Shape of the batch, ``()`` for one scenario.
    lead_ampere : ndarray, shape (..., leads)
        Current from the supply into the cable, by its live, its neutral and its earth lead [A].
    lump_watt : ndarray, shape (..., faults)
        Heat in each fault as far as it sits at a point [W].
    stretch_watt : ndarray, shape (..., faults)
        Heat in each degraded stretch, in what leaks there beyond the healthy leak [W].
    fault_ampere : ndarray, shape (..., faults)
        Current through each fault, without sign [A]; the largest where it cuts several conductors.
    """

    cable: Cable
    faults: tuple[Fault, ...]
    supply: Supply
    batch_shape: tuple[int, ...]
    lead_ampere: FloatArray
    lump_watt: FloatArray
    stretch_watt: FloatArray
    fault_ampere: FloatArray
    _states: tuple[_State, ...] = field(repr=False)
    _mesh_of: MeshMaker = field(repr=False)

    @property
    def watt(self) -> FloatArray:
        """Power taken from the supply [W]."""
        return np.asarray(self.lead_ampere[..., 0] * self.supply.volt)

    @property
    def fault_watt(self) -> FloatArray:
        """Heat in each fault [W], shape (..., faults)."""
        return self.lump_watt + self.stretch_watt

    @property
    def along_watt(self) -> FloatArray:
        """Heat along the whole cable, cold leads included, faults not [W]."""
        whole = self.watt_between(self.cable.first_m, self.cable.last_m)
        return np.asarray(whole - self.stretch_watt.sum(axis=-1))

    def at(self, positions_m: FloatArray) -> Along:
        """Voltage, current and heat at some places.

        Parameters
        ----------
        positions_m : ndarray, shape (positions,)
            Places [m from the cold joint], the same for the whole batch; negative in the cold lead.

        Raises
        ------
        InputError
            If a place lies off the cable.
        """
        positions_m = np.atleast_1d(np.asarray(positions_m, float))
        first, last = float(np.min(self.cable.first_m)), float(np.max(self.cable.last_m))
        require("positions_m", positions_m, at_least=first, at_most=last)
        size = int(np.prod(self.batch_shape))
        count = len(self.cable.conductors)
        volt, ampere = (np.zeros((size, len(positions_m), count)) for _ in range(2))
        watt_per_m = np.zeros((size, len(positions_m)))
        for state in self._states:
            rows = np.arange(size)[state.rows.index]
            for piece in state.circuit.pieces:
                start = np.reshape(piece.start_m, (-1, 1))
                length = np.reshape(piece.length_m, (-1, 1))
                last_one = piece is state.circuit.pieces[-1]
                beyond = positions_m - start
                here = (beyond >= 0) & ((beyond < length) | last_one)
                if not here.any():
                    continue
                columns = np.flatnonzero(here.any(axis=0))
                places = np.clip(beyond[:, columns], 0.0, length)
                found = inside(piece, state.potentials, places, self._mesh_of)
                row, column = np.nonzero(
                    np.broadcast_to(here[:, columns], (len(rows), len(columns)))
                )
                for whole, part in zip((volt, ampere, watt_per_m), found, strict=True):
                    part = np.broadcast_to(part, (len(rows), *part.shape[1:]))
                    whole[rows[row], columns[column]] = part[row, column]
        shape = (*self.batch_shape, len(positions_m))
        return Along(
            positions_m,
            volt.reshape(*shape, count),
            ampere.reshape(*shape, count),
            watt_per_m.reshape(shape),
        )

    def watt_between(self, from_m: Real, to_m: Real) -> FloatArray:
        """Heat along a part of the cable, without that of faults at a point [W].

        Parameters
        ----------
        from_m, to_m
            The part, positions from the cold joint [m].
        """
        total = np.zeros(int(np.prod(self.batch_shape)))
        for state in self._states:
            low, high = state.rows.of(from_m), state.rows.of(to_m)
            for piece in state.circuit.pieces:
                for places, weight in panels(piece, low, high):
                    watt_per_m = inside(piece, state.potentials, places, self._mesh_of)[2]
                    total[state.rows.index] += (watt_per_m * weight).sum(axis=-1)
        return total.reshape(self.batch_shape)

    def marks_m(self) -> tuple[float, ...]:
        """Places where one uniform piece ends and the next begins, of a single scenario [m]."""
        if self.batch_shape:
            raise InputError("marks_m", self.batch_shape, "asked of one scenario, not of a batch")
        (state,) = self._states
        ends = [float(np.asarray(piece.start_m)) for piece in state.circuit.pieces]
        return tuple(dict.fromkeys([*ends, float(np.asarray(self.cable.last_m))]))

    def residual_ampere(self, frequency_hz: float = 50.0) -> FloatArray:
        """What a residual-current device in front of the cable sees [A, effective value].

        The current from the live lead that comes back by earth, capacitances included; nothing
        where nothing is earthed.

        Parameters
        ----------
        frequency_hz
            Frequency of the supply [Hz]; 0 leaves the capacitances out.
        """
        hookup = self.supply.hookup
        if len(hookup.leads) < 3:
            return np.zeros(self.batch_shape)
        network = terminal_network(
            self.cable, self.faults, hookup.terminals, frequency_hz, mesh_of=self._mesh_of
        )
        siemens = np.asarray(network.between_leads(hookup)[0, 2])
        return np.broadcast_to(np.abs(siemens) * self.supply.volt, self.batch_shape)


def energise(
    cable: Cable,
    faults: tuple[Fault, ...],
    supply: Supply,
    *,
    mesh_of: MeshMaker = uniform_piece,
) -> Energised:
    """Put a damaged cable on its supply.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    supply
        Voltage, and where it is put.
    mesh_of
        What stands for a uniform piece; the exact solution unless a comparison asks for a ladder.

    Raises
    ------
    InputError
        If a fault does not fit the cable.

    Examples
    --------
    A heating cable of 88.2 ohm that is shorted between its cores half-way takes twice the power,
    all of it in the near half.

    >>> from cablesim.cable.faults import Short
    >>> cable = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
    >>> short = Short(("core1", "core2"), 15.0, 0.0)
    >>> found = energise(cable, (short,), usual_supply(cable, 230.0))
    >>> print(f"{found.watt:.1f} W, {found.watt_between(0.0, 15.0):.1f} W")
    1199.5 W, 1199.5 W
    """
    mesh_of = not_too_short(mesh_of)
    shape = np.broadcast_shapes(batch_shape(cable, faults), np.shape(supply.volt))
    leads = [[node_of(t, cable) for t in lead] for lead in supply.hookup.leads]
    size = int(np.prod(shape))
    lead_ampere = np.zeros((size, len(leads)))
    in_faults = np.zeros((3, size, len(faults)))
    states = []
    volt = np.broadcast_to(supply.volt, shape).reshape(-1) if np.ndim(supply.volt) else supply.volt
    for circuit, rows in circuits(cable, faults, shape=shape, mesh_of=mesh_of):
        here = volt[rows.index] if isinstance(volt, np.ndarray) else volt
        fixed: dict[Hashable, Real] = {node: 0.0 for lead in leads[1:] for node in lead}
        fixed |= dict.fromkeys(leads[0], here)
        edges = list(circuit.edges())
        potentials = node_potentials(edges, fixed)
        state = _State(circuit, rows, potentials)
        states.append(state)
        for k, lead in enumerate(leads):
            lead_ampere[rows.index, k] = potentials.current(edges, lead)
        for k, fault in enumerate(faults):
            for whole, part in zip(in_faults, _in_fault(k, fault, state, mesh_of), strict=True):
                whole[rows.index, k] = part
    return Energised(
        cable,
        faults,
        supply,
        shape,
        lead_ampere.reshape(*shape, len(leads)),
        in_faults[0].reshape(*shape, len(faults)),
        in_faults[1].reshape(*shape, len(faults)),
        in_faults[2].reshape(*shape, len(faults)),
        tuple(states),
        mesh_of,
    )


def power_profile(
    cable: Cable, faults: tuple[Fault, ...], supply_volt: Real, positions_m: FloatArray
) -> FloatArray:
    """Heat along a cable on its usual supply, braid earthed.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    supply_volt
        Voltage [V].
    positions_m : ndarray, shape (positions,)
        Places [m from the cold joint].

    Returns
    -------
    ndarray, shape (..., positions)
        Heat [W/m], without that of faults at a point (`Energised.fault_watt`).

    Examples
    --------
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> power_profile(cable, (), 230.0, np.array([-1.0, 1.0, 29.0])).round(2)
    array([ 0.18, 19.96, 19.96])
    """
    return energise(cable, faults, usual_supply(cable, supply_volt)).at(positions_m).watt_per_m


def _in_fault(
    number: int, fault: Fault, state: _State, mesh_of: MeshMaker
) -> tuple[Real, Real, Real]:
    """Heat in a fault at a point, heat in a fault along a stretch, and current through both."""
    lump_watt: Real = 0.0
    stretch_watt: Real = 0.0
    ampere: Real = 0.0
    for lump in state.circuit.lumps:
        if lump.fault != number:
            continue
        drop = state.potentials.drop(lump.u, lump.v)
        through = lump.siemens * drop
        lump_watt = lump_watt + through * drop
        if isinstance(fault, Break | Joint):
            ampere = np.maximum(ampere, np.abs(through))
        else:
            ampere = ampere + through
    for piece in state.circuit.pieces:
        for stretch, (i, j), siemens_per_m in piece.stretches:
            if stretch != number:
                continue
            end_m = piece.start_m + piece.length_m
            for places, weight in panels(piece, piece.start_m, end_m):
                volt = inside(piece, state.potentials, places, mesh_of)[0]
                drop = volt[..., i] - volt[..., j]
                stretch_watt = stretch_watt + siemens_per_m * (drop**2 * weight).sum(axis=-1)
                ampere = ampere + siemens_per_m * (drop * weight).sum(axis=-1)
    return lump_watt, stretch_watt, np.abs(ampere)
