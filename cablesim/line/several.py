"""Several cables as one circuit: two lengths at a splice, two mats at one thermostat, a ring.

An installation is a main cable, others with names, and joins between terminals; any tree or loop
will do. It stands where a single cable stands: terminals of the others are written with their
name, ``"b.core1@far"``, and what is joined counts as one place.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.placing import check_faults
from cablesim.errors import InputError, nearest
from cablesim.line.terminals import Terminal, node_of, terminal

__all__ = [
    "Installation",
    "Part",
    "at_thermostat",
    "batch_shape",
    "one_cable_only",
    "part_of",
    "parts_of",
]


@dataclass(frozen=True, slots=True)
class Part:
    """One cable of an installation.

    Parameters
    ----------
    name
        Its name, before the dot of a terminal; empty for the main cable.
    cable, faults
        The cable and what is broken in it; numbers may be arrays over the batch.
    """

    name: str
    cable: Cable
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Installation:
    """Several cables, and what of them is joined.

    The faults of the main cable are given beside the installation wherever faults are given; those
    of the others belong to their parts.

    Parameters
    ----------
    main
        The main cable.
    others
        The others, each with a name of its own.
    joins
        Groups of terminals that are one place.
    """

    main: Cable
    others: tuple[Part, ...]
    joins: tuple[tuple[Terminal, ...], ...]
    _stands_for: Mapping[Terminal, Terminal] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        names = [part.name for part in self.others]
        for name in names:
            if not name or names.count(name) > 1 or not name.replace("-", "_").isidentifier():
                raise InputError(
                    "name of another cable",
                    name,
                    "a word of its own: letters, digits, - and _",
                )
        for part in self.others:
            check_faults(part.cable, part.faults)
        import networkx as nx  # slow to load, and few files need it

        one: nx.Graph[Terminal] = nx.Graph()
        for group in self.joins:
            if len(set(group)) < 2:
                raise InputError(
                    "joins",
                    [str(t) for t in group],
                    "groups of at least two different terminals",
                    'write it like [["core1@far", "b.core1"]]',
                )
            nx.add_path(one, [self._alone(found) for found in group])
        stands = {t: min(group) for group in nx.connected_components(one) for t in group}
        object.__setattr__(self, "_stands_for", stands)

    @classmethod
    def of(
        cls,
        main: Cable,
        others: Mapping[str, Cable | tuple[Cable, tuple[Fault, ...]]],
        joins: Iterable[Iterable[str]] | None = None,
    ) -> Installation:
        """Make an installation from plain parts.

        Parameters
        ----------
        main
            The main cable.
        others
            The others by name, each alone or with its faults.
        joins
            Groups of terminals, as texts; left out, all cables are parallel at the thermostat.

        Examples
        --------
        Two lengths that a repair splice joins, the second of which lies beyond the first:

        >>> near = Cable.rated("twin", 12.0, 35.28, far_end="open")
        >>> far = Cable.rated("twin", 18.0, 52.92, cold_lead_m=0.0)
        >>> whole = Installation.of(near, {"b": far}, [[f"{c}@far", f"b.{c}"]
        ...                                            for c in near.conductors])
        >>> str(whole.node_of(whole.terminal("b.core1")))
        'core1@far'
        """
        parts = tuple(
            Part(name, *(given if isinstance(given, tuple) else (given,)))
            for name, given in others.items()
        )
        bare = cls(main, parts, ())
        if joins is None:
            return replace(bare, joins=bare._parallel())
        return replace(
            bare, joins=tuple(tuple(bare.terminal(text) for text in group) for group in joins)
        )

    @property
    def healthy(self) -> Installation:
        """The same without the faults of the others."""
        return replace(self, others=tuple(replace(part, faults=()) for part in self.others))

    def cable_called(self, name: str) -> Cable:
        """The cable of this name; empty for the main one.

        Raises
        ------
        InputError
            If there is none.
        """
        if not name:
            return self.main
        for part in self.others:
            if part.name == name:
                return part.cable
        known = [part.name for part in self.others]
        near = nearest(name, known)
        raise InputError(
            "cable",
            name,
            f"one of {', '.join(known)}",
            f"did you mean {near}?" if near else None,
        )

    def terminal(self, text: str) -> Terminal:
        """Read ``"core1"``, ``"b.core1"`` or ``"b.core1@far"``.

        Raises
        ------
        InputError
            If there is no such cable, or it has no such terminal.
        """
        name, dot, rest = text.strip().rpartition(".")
        if dot and not name:
            raise InputError("terminal", text, "the name of a cable before the dot")
        return terminal(rest, self.cable_called(name))._replace(cable=name)

    def node_of(self, found: Terminal) -> Terminal:
        """The terminal that stands for this one and all that it is joined to."""
        alone = self._alone(found)
        return self._stands_for.get(alone, alone)

    def _alone(self, found: Terminal) -> Terminal:
        node = node_of(found._replace(cable=""), self.cable_called(found.cable))
        return node._replace(cable=found.cable)

    def _parallel(self) -> tuple[tuple[Terminal, ...], ...]:
        roles: dict[int, list[Terminal]] = {}
        for part in parts_of(self):
            for role, group in enumerate(at_thermostat(part.cable)):
                found = [t._replace(cable=part.name) for t in group]
                roles.setdefault(role, []).extend(found)
        return tuple(tuple(group) for group in roles.values())


def one_cable_only(what: str) -> InputError:
    """What is said where only a single cable will do.

    Parameters
    ----------
    what
        What needs a cable by itself, such as "locate".
    """
    return InputError(
        f"{what} works on one cable by itself, and several are joined here",
        try_this="disconnect them at the thermostat or the splice and read each alone, in a "
        "scenario of its own",
    )


def at_thermostat(cable: Cable) -> tuple[tuple[Terminal, ...], ...]:
    """What of a cable comes to the thermostat: live, neutral, and the braid's ends.

    Parameters
    ----------
    cable
        Any cable.
    """
    if cable.construction.returns:
        return (
            (Terminal("core1"),),
            (Terminal("core1", "far"),),
            (Terminal("braid"), Terminal("braid", "far")),
        )
    return ((Terminal("core1"),), (Terminal("core2"),), (Terminal("braid"),))


def parts_of(where: Cable | Installation, faults: tuple[Fault, ...] = ()) -> tuple[Part, ...]:
    """Every cable with its faults, the main one first.

    Parameters
    ----------
    where
        One cable, or an installation.
    faults
        Those of the one, or of the main cable.
    """
    if isinstance(where, Cable):
        return (Part("", where, faults),)
    return (Part("", where.main, faults), *where.others)


def part_of(where: Cable | Installation, name: str) -> Cable:
    """One cable of an installation by its name; a single cable has the empty one.

    Raises
    ------
    InputError
        If there is none of this name.
    """
    if isinstance(where, Cable):
        if name:
            raise InputError("cable", name, "left empty where there is only one")
        return where
    return where.cable_called(name)


def batch_shape(where: Cable | Installation, faults: tuple[Fault, ...]) -> tuple[int, ...]:
    """Shape to which all numbers of cables and faults broadcast, ``()`` for one scenario."""
    shapes = set()
    for part in parts_of(where, faults):
        for item in (part.cable, *part.faults):
            for name in item.__slots__:
                value = getattr(item, name)
                for number in value if isinstance(value, tuple) else (value,):
                    if isinstance(number, np.ndarray):
                        shapes.add(number.shape)
    return np.broadcast_shapes(*shapes)
