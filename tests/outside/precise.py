"""The same damaged cable with many digits: an oracle that shares no step with `cablesim.line`.

Each piece is the exponential of the telegrapher's matrix, the circuit is a dense nodal matrix with
its diagonal stored, and what is not a terminal is eliminated by Gauss. All of this subtracts large
numbers, which is why it works with many digits where the product never subtracts. Dead shorts and
joints of no resistance are one node here, not a small resistance.

Sources: the chain matrix as an exponential is the definition of the line equations' solution
(C. R. Paul, Analysis of Multiconductor Transmission Lines, Wiley, 1994; from memory).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations, pairwise

import mpmath as mp

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.cable.materials import alloy
from cablesim.line.terminals import Hookup, Terminal

DIGITS = 50  # kept in every answer; more are carried where a piece attenuates strongly


@dataclass
class Nodal:
    """A nodal matrix by rows, and which node stands for a name."""

    admittance: defaultdict
    stands_for: dict

    def find(self, name):
        while name in self.stands_for:
            name = self.stands_for[name]
        return name

    def join(self, u, v):
        u, v = self.find(u), self.find(v)
        if u == v:
            return
        self.stands_for[v] = u
        row = self.admittance.pop(v, {})
        for other, siemens in row.items():
            target = u if other in (u, v) else other
            self._add(u, target, siemens)
            if other not in (u, v):
                del self.admittance[other][v]
                self._add(other, u, siemens)
        if v in self.admittance[u]:
            self._add(u, u, self.admittance[u].pop(v))

    def stamp(self, u, v, siemens):
        """One entry of the nodal matrix: current into u by the voltage of v."""
        self._add(self.find(u), self.find(v), siemens)

    def shunt(self, u, v, siemens):
        for a, b, sign in ((u, u, 1), (v, v, 1), (u, v, -1), (v, u, -1)):
            self.stamp(a, b, sign * siemens)

    def _reached_from(self, nodes):
        reached, waiting = set(nodes), list(nodes)
        while waiting:
            for other, siemens in self.admittance[waiting.pop()].items():
                if other not in reached and siemens != 0:
                    reached.add(other)
                    waiting.append(other)
        return reached

    def _add(self, u, v, siemens):
        self.admittance[u][v] = self.admittance[u].get(v, mp.mpf(0)) + siemens

    def eliminate_all_but(self, names):
        kept = {self.find(name) for name in names}
        reached = self._reached_from(kept)  # an island has no potential: its pivot would be zero
        for node in [n for n in self.admittance if n not in kept]:
            row = self.admittance.pop(node)
            if node not in reached:
                continue
            pivot = row.pop(node)
            row = {other: siemens for other, siemens in row.items() if other in reached}
            for u in row:
                share = self.admittance[u].pop(node) / pivot
                for v, siemens in row.items():
                    self._add(u, v, -share * siemens)


def between_leads(cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, frequency_hz=0.0):
    """Admittance between the first two leads [S], all other terminals open."""
    return lead_mesh(cable, faults, hookup, frequency_hz)[0, 1]


def lead_mesh(cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, frequency_hz=0.0):
    """Admittance between every two leads [S]."""
    with mp.workdps(DIGITS + 30):
        nodal, ends = _circuit(cable, faults, frequency_hz)
        for group in (*hookup.leads, *hookup.links):
            for other in group[1:]:
                nodal.join(ends[group[0]], ends[other])
        leads = [nodal.find(ends[lead[0]]) for lead in hookup.leads]
        nodal.eliminate_all_but(leads)
        return {
            (i, j): mp.inf if u == v else -nodal.admittance[u].get(v, mp.mpf(0))
            for (i, u), (j, v) in combinations(enumerate(leads), 2)
        }


def piece(series, leak, length_m):
    """Nodal matrix of a uniform piece, near conductors first: rows of mpf or mpc."""
    count = len(series)
    # Digits are lost to attenuation, not to phase. An eigenvalue of Z Y is x*Yx / x*Z^-1x, so its
    # angle is at least the least of Y's and the least of Z's together.
    shunts = [y for y in leak.values() if y != 0]
    angle = min(map(mp.arg, series)) + min(map(mp.arg, shunts), default=mp.mpf(0))
    turns = mp.sqrt(max(map(abs, series)) * 2 * sum(map(abs, shunts), mp.mpf(0)))
    nepers = length_m * turns * mp.cos(angle / 2)
    with mp.workdps(mp.mp.dps + 20 + int(nepers)):
        generator = mp.zeros(2 * count)
        for i, z in enumerate(series):
            generator[i, count + i] = -z * length_m
        for (i, j), y in leak.items():
            for a, b, sign in ((i, i, -1), (j, j, -1), (i, j, 1), (j, i, 1)):
                generator[count + a, b] += sign * y * length_m
        chain = _exponential(generator)
        a, b = chain[:count, :count], chain[:count, count:]
        c, d = chain[count:, :count], chain[count:, count:]
        into = b**-1
        near_far, near_near = into, -into * a
        far_near, far_far = -(c - d * into * a), -d * into
    rows = mp.zeros(2 * count)
    for i in range(count):
        for j in range(count):
            rows[i, j], rows[i, count + j] = near_near[i, j], near_far[i, j]
            rows[count + i, j], rows[count + i, count + j] = far_near[i, j], far_far[i, j]
    return rows


def _exponential(matrix):
    """Taylor series after halving to a small norm, then squared back."""
    size = mp.mnorm(matrix, 1)
    halvings = max(0, int(mp.ceil(mp.log(size, 2))) + 8) if size > 0 else 0
    with mp.workdps(mp.mp.dps + halvings):
        small = matrix / mp.mpf(2) ** halvings
        total = term = mp.eye(matrix.rows)
        k = 0
        while mp.mnorm(term, 1) > mp.eps:
            k += 1
            term = term * small / k
            total = total + term
        for _ in range(halvings):
            total = total * total
    return total


def _circuit(cable: Cable, faults: tuple[Fault, ...], frequency_hz):
    names = cable.conductors
    nodal = Nodal(defaultdict(dict), {})
    places = {mp.mpf(0), mp.mpf(cable.heated_length_m), _first(cable), _last(cable)}
    for fault in faults:
        places |= {mp.mpf(p) for p in _places(fault)}
    places = sorted(places)
    for at in places:
        _lumps(nodal, names, at, faults)
    for begin, end in pairwise(places):
        series, leak = _per_metre(cable, begin, frequency_hz)
        for fault in faults:
            if isinstance(fault, Degraded) and fault.from_m <= begin and end <= fault.to_m:
                i, j = sorted(names.index(name) for name in fault.between)
                whole = mp.mpf(fault.to_m) - mp.mpf(fault.from_m)
                leak[i, j] += _siemens(fault.resistance_ohm) / whole
        rows = piece(series, leak, end - begin)
        nodes = [(n, begin, "far") for n in names] + [(n, end, "near") for n in names]
        for i, u in enumerate(nodes):
            for j, v in enumerate(nodes):
                nodal.stamp(u, v, rows[i, j])
    ends = {Terminal(n, "near"): (n, places[0], "near") for n in names}
    ends |= {Terminal(n, "far"): (n, places[-1], "far") for n in names}
    if cable.far_end == "joined":
        for other in cable.construction.cores[1:]:
            nodal.join(ends[Terminal(names[0], "far")], ends[Terminal(other, "far")])
    return nodal, ends


def _first(cable):
    return -mp.mpf(cable.cold_lead_m)


def _last(cable):
    length = mp.mpf(cable.heated_length_m)
    return length + mp.mpf(cable.cold_lead_m) if cable.construction.returns else length


def _places(fault):
    return (fault.from_m, fault.to_m) if isinstance(fault, Degraded) else (fault.at_m,)


def _siemens(ohm):
    return mp.mpf(0) if mp.isinf(ohm) else 1 / mp.mpf(ohm)


def _lumps(nodal, names, at, faults):
    """Near-side shunts, what is in series, far-side shunts; a leak at a point is half on each."""
    here = [f for f in faults if at in {mp.mpf(p) for p in _places(f)}]
    for name in names:
        ohm = sum(
            (mp.mpf(f.resistance_ohm) for f in here if _cuts(f) and name in f.conductors), mp.mpf(0)
        )
        near, far = (name, at, "near"), (name, at, "far")
        if ohm == 0:
            nodal.join(near, far)
        else:
            nodal.shunt(near, far, _siemens(ohm))
    for fault in here:
        if _cuts(fault) or (isinstance(fault, Degraded) and fault.from_m < fault.to_m):
            continue
        sides = (fault.side,) if isinstance(fault, Short) else ("near", "far")
        for side in sides:
            u, v = ((name, at, side) for name in fault.between)
            if fault.resistance_ohm == 0:
                nodal.join(u, v)
            else:
                nodal.shunt(u, v, _siemens(fault.resistance_ohm) / len(sides))


def _cuts(fault):
    return isinstance(fault, Break | Joint)


def _per_metre(cable, begin, frequency_hz):
    cores = len(cable.construction.cores)
    heated = 0 <= begin < mp.mpf(cable.heated_length_m)
    warm = mp.mpf(alloy(cable.core_alloy).factor(cable.temperature_c))
    series = [
        mp.mpf(ohm) * warm if heated else mp.mpf(cable.cold_lead_ohm_per_m)
        for ohm in cable.core_ohm_per_m
    ]
    series.append(mp.mpf(cable.braid_ohm_per_m))

    def value(name):
        own = None if heated else getattr(cable, f"cold_lead_{name}")
        return mp.mpf(getattr(cable, name) if own is None else own)

    leak = {
        pair: 1 / (value("insulation_gigaohm_m") * 10**9)
        for pair in combinations(range(cores + 1), 2)
    }
    if heated and cable.construction.heats_between:
        leak[0, 1] += 1 / mp.mpf(cable.heating_ohm_m)
    if frequency_hz:
        frequency, loss = mp.mpf(frequency_hz), value("loss_tangent")
        omega, slope = 2 * mp.pi * frequency, 2 * mp.atan(loss) / mp.pi
        farad_per_m = {
            (i, j): value(f"capacitance_core_{'braid' if j == cores else 'core'}_pf_per_m")
            * mp.mpf(10) ** -12
            for i, j in leak
        }
        for pair, farad in farad_per_m.items():
            # A constant loss angle: a power of j w, of modulus w C / cos(angle) at 1 kHz.
            leak[pair] += omega * farad * (frequency / 1000) ** -slope * mp.mpc(loss, 1)
        speed = value("velocity_factor") * 299792458
        for k, henry in enumerate(_henry_per_m(farad_per_m, cores, speed, slope)):
            series[k] += mp.mpc(0, omega * henry)
    return series, leak


def _henry_per_m(farad_per_m, cores, speed, slope):
    """Without couplings, from [L] = [C]^-1 / v^2 with the braid as reference."""
    at_pulses = mp.mpf(10**7 / mp.mpf(1000)) ** -slope
    if cores == 1:
        return [1 / (speed**2 * farad_per_m[0, 1] * at_pulses), mp.mpf(0)]
    c1, c2, c12 = (at_pulses * farad_per_m[pair] for pair in ((0, 2), (1, 2), (0, 1)))
    inverse = mp.matrix([[c1 + c12, -c12], [-c12, c2 + c12]]) ** -1 / speed**2
    mutual = inverse[0, 1]
    return [inverse[0, 0] - mutual, inverse[1, 1] - mutual, mutual]
