"""What the leads of a meter touch: terminals, and how they are joined into a hook-up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, nearest

if TYPE_CHECKING:
    from cablesim.line.several import Installation

__all__ = ["Hookup", "Terminal", "node_of", "terminal"]


class Terminal(NamedTuple):
    """One end of one conductor."""

    conductor: str
    end: str = "near"
    # Name of the cable where there are several; empty for the main one.
    cable: str = ""

    def __str__(self) -> str:
        name = f"{self.cable}.{self.conductor}" if self.cable else self.conductor
        return name if self.end == "near" else f"{name}@far"


def terminal(text: str, cable: Cable | Installation) -> Terminal:
    """Read ``"core1"`` or ``"core1@far"``.

    Raises
    ------
    InputError
        If the cable has no such terminal.
    """
    if not isinstance(cable, Cable):
        return cable.terminal(text)
    conductor, _, end = text.strip().partition("@")
    known = [*cable.conductors, *(f"{name}@far" for name in cable.conductors)]
    if conductor not in cable.conductors or end not in ("", "far") or text.strip().endswith("@"):
        near = nearest(text.strip(), known)
        raise InputError(
            what="terminal",
            got=text,
            allowed=f"{', '.join(known)} on a {cable.construction.name} cable",
            try_this=f"did you mean {near}?" if near else None,
        )
    return Terminal(conductor, end or "near")


def node_of(found: Terminal, cable: Cable | Installation) -> Terminal:
    """The terminal that stands for this one: cores joined at the far end are one place."""
    if not isinstance(cable, Cable):
        return cable.node_of(found)
    cores = cable.construction.cores
    if cable.far_end == "joined" and found.end == "far" and found.conductor in cores:
        return Terminal(cores[0], "far")
    return found


def _texts(given: object) -> bool:
    """Whether this is a list of texts, and no single one."""
    if isinstance(given, str) or not isinstance(given, Sequence):
        return False
    return all(isinstance(item, str) for item in given)


@dataclass(frozen=True, slots=True)
class Hookup:
    """Which terminals each lead touches, and which are linked beside the leads.

    Parameters
    ----------
    leads
        For each lead of the meter the terminals joined on it. A bridge has three: sound side,
        faulty side, return.
    links
        Groups of terminals joined by a wire of no resistance, such as the far ends for a loop test.
    """

    leads: tuple[tuple[Terminal, ...], ...]
    links: tuple[tuple[Terminal, ...], ...] = ()

    @classmethod
    def of(
        cls,
        cable: Cable | Installation,
        across: tuple[str, ...],
        links: tuple[tuple[str, ...], ...] = (),
    ) -> Hookup:
        """Read a hook-up as it stands in a scenario file, ``("core1+core2", "braid")``.

        Raises
        ------
        InputError
            If a terminal is unknown or touched twice.
        """
        if not _texts(across):
            raise InputError(
                what="across",
                got=across,
                allowed="one text for each lead",
                try_this='write it like ("core1", "braid")',
            )
        leads = tuple(tuple(terminal(name, cable) for name in lead.split("+")) for lead in across)
        linked = tuple(tuple(terminal(name, cable) for name in group) for group in links)
        touched = [t for lead in leads for t in lead]
        for found in touched:
            if touched.count(found) > 1:
                raise InputError(
                    what="across",
                    got=list(across),
                    allowed="each terminal on one lead only",
                    try_this=f"{found} is touched more than once",
                )
        if len(leads) < 2:
            raise InputError(
                what="across",
                got=list(across),
                allowed="one entry for each lead, at least two",
                try_this='write it like ["core1", "braid"]',
            )
        for group in linked:
            if len(set(group)) < 2:
                raise InputError(
                    what="links",
                    got=[str(t) for t in group],
                    allowed="groups of at least two different terminals",
                    try_this='write it like [["core1@far", "core2@far"]]',
                )
        hookup = cls(leads, linked)
        hookup.check_leads(cable)
        return hookup

    def check_terminals(self, cable: Cable | Installation) -> None:
        """Refuse a hook-up that was made for a cable with other conductors.

        Parameters
        ----------
        cable
            The one that is read.

        Raises
        ------
        InputError
            If it has no such terminal.
        """
        for group in (*self.leads, *self.links):
            for found in group:
                # The names are looked up only where they are foreign: this runs at each prediction.
                known = cable.conductors if isinstance(cable, Cable) and not found.cable else ()
                if found.conductor not in known:
                    terminal(str(found), cable)

    def check_leads(self, cable: Cable | Installation) -> None:
        """Refuse leads that this cable ties together.

        Parameters
        ----------
        cable
            The one that is read.

        Raises
        ------
        InputError
            If two leads are metallically one.
        """
        if self._joined_leads(cable):
            raise InputError(
                what="across",
                got=list(self.across),
                allowed="leads that are not joined to each other outside the meter",
                try_this="a link or the far-end joint ties two of these leads together",
            )

    @property
    def terminals(self) -> frozenset[Terminal]:
        """Every terminal that is touched or linked."""
        return frozenset(t for group in (*self.leads, *self.links) for t in group)

    @property
    def across(self) -> tuple[str, ...]:
        """The leads as written in a scenario file."""
        return tuple("+".join(str(t) for t in lead) for lead in self.leads)

    def _joined_leads(self, cable: Cable | Installation) -> bool:
        """Whether two leads are metallically one at the ends of the cable."""
        # A few sets do: a graph library takes longer to load than all the rest of a short command.
        joined: list[set[Terminal]] = []
        for group in (*self.leads, *self.links):
            nodes = {node_of(found, cable) for found in group}
            apart = [other for other in joined if not other & nodes]
            joined = [*apart, nodes.union(*(other for other in joined if other & nodes))]
        firsts = [node_of(lead[0], cable) for lead in self.leads]
        return any({a, b} <= one for one in joined for a, b in combinations(firsts, 2))
