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
from cablesim.line.layout import Circuit, MeshMaker, Piece, Rows, circuits
from cablesim.line.piece import uniform_piece
from cablesim.line.potentials import Potentials, node_potentials
from cablesim.line.several import (
    Installation,
    batch_shape,
    part_of,
    parts_of,
)
from cablesim.line.supply import Supply, usual_supply
from cablesim.line.terminals import node_of

__all__ = ["Along", "Energised", "energise", "power_profile"]


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

    def pieces_of(self, part: str) -> list[Piece]:
        """The pieces of one cable, from its near terminals on."""
        return [piece for piece in self.circuit.pieces if piece.part == part]


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

    cable: Cable | Installation
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
        whole = sum(
            self.watt_between(part.cable.first_m, part.cable.last_m, part.name)
            for part in parts_of(self.cable)
        )
        return np.asarray(whole - self.stretch_watt.sum(axis=-1))

    def at(self, positions_m: FloatArray, part: str = "") -> Along:
        """Voltage, current and heat at some places.

        Parameters
        ----------
        positions_m : ndarray, shape (positions,)
            Places [m from the cold joint], the same for the whole batch; negative in the cold lead.
        part
            Name of the cable, where there are several.

        Raises
        ------
        InputError
            If a place lies off the cable.
        """
        cable = part_of(self.cable, part)
        positions_m = np.atleast_1d(np.asarray(positions_m, float))
        first, last = float(np.min(cable.first_m)), float(np.max(cable.last_m))
        require("positions_m", positions_m, at_least=first, at_most=last)
        size = int(np.prod(self.batch_shape))
        count = len(cable.conductors)
        volt, ampere = (np.zeros((size, len(positions_m), count)) for _ in range(2))
        watt_per_m = np.zeros((size, len(positions_m)))
        for state in self._states:
            rows = np.arange(size)[state.rows.index]
            pieces = state.pieces_of(part)
            for piece in pieces:
                start = np.reshape(piece.start_m, (-1, 1))
                length = np.reshape(piece.length_m, (-1, 1))
                last_one = piece is pieces[-1]
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
                for whole, new in zip((volt, ampere, watt_per_m), found, strict=True):
                    new = np.broadcast_to(new, (len(rows), *new.shape[1:]))
                    whole[rows[row], columns[column]] = new[row, column]
        shape = (*self.batch_shape, len(positions_m))
        return Along(
            positions_m,
            volt.reshape(*shape, count),
            ampere.reshape(*shape, count),
            watt_per_m.reshape(shape),
        )

    def watt_between(self, from_m: Real, to_m: Real, part: str = "") -> FloatArray:
        """Heat along some of the cable, without that of faults at a point [W].

        Parameters
        ----------
        from_m, to_m
            Its ends, positions from the cold joint [m].
        part
            Name of the cable, where there are several.
        """
        total = np.zeros(int(np.prod(self.batch_shape)))
        for state in self._states:
            low, high = state.rows.of(from_m), state.rows.of(to_m)
            for piece in state.pieces_of(part):
                for places, weight in panels(piece, low, high):
                    watt_per_m = inside(piece, state.potentials, places, self._mesh_of)[2]
                    total[state.rows.index] += (watt_per_m * weight).sum(axis=-1)
        return total.reshape(self.batch_shape)

    def marks_m(self, part: str = "") -> tuple[float, ...]:
        """Places where one uniform piece ends and the next begins, of a single scenario [m]."""
        if self.batch_shape:
            raise InputError("marks_m", self.batch_shape, "asked of one scenario, not of a batch")
        (state,) = self._states
        ends = [float(np.asarray(piece.start_m)) for piece in state.pieces_of(part)]
        last_m = float(np.asarray(part_of(self.cable, part).last_m))
        return tuple(dict.fromkeys([*ends, last_m]))

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
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    supply: Supply,
    *,
    mesh_of: MeshMaker = uniform_piece,
) -> Energised:
    """Put a damaged cable on its supply.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape. Of an installation, the
        faults given are those of its main cable; in the result those of the others follow.
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
    every = [fault for part in parts_of(cable, faults) for fault in part.faults]
    in_faults = np.zeros((3, size, len(every)))
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
        for k, fault in enumerate(every):
            for whole, part in zip(in_faults, _in_fault(k, fault, state, mesh_of), strict=True):
                whole[rows.index, k] = part
    return Energised(
        cable,
        faults,
        supply,
        shape,
        lead_ampere.reshape(*shape, len(leads)),
        in_faults[0].reshape(*shape, len(every)),
        in_faults[1].reshape(*shape, len(every)),
        in_faults[2].reshape(*shape, len(every)),
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
