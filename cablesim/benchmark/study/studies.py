"""What a person asks of a study, and the answer in all its forms: table, JSON, rows, figure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import DAMAGES, Damage, damage_of
from cablesim.benchmark.study.first import first_chart
from cablesim.benchmark.study.methods import METHODS, Method, method_named
from cablesim.benchmark.study.reach_map import ReachMap, reach_map, usual_axes
from cablesim.benchmark.study.sensitivity import sensitivity
from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.instruments.meters import Meter

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import RenderableType

__all__ = ["ALL", "Study", "Wanted", "chosen", "study_of_first", "study_of_reach",
           "study_of_sensitivity"]  # fmt: skip

ALL = "all"
# Places, resistances and draws where nothing is said: for closed forms, and for estimators that
# answer one case after the other.
_USUAL = (15, 28, 100)
_USUAL_ONE_BY_ONE = (3, 5, 5)
_USUAL_SENSITIVITY = (7, 3, 300)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a study is to be made; what is None takes its usual value.

    Parameters
    ----------
    seed
        Of the random numbers.
    grades
        Meter classes by name.
    places, resistances, draws
        As for `usual_axes`.
    formulation
        As for `reach_map`.
    bags
        For each meter class its meters by kind.
    """

    seed: int
    grades: tuple[str, ...] = tuple(GRADES)
    places: int | None = None
    resistances: int | None = None
    draws: int | None = None
    formulation: str | None = None
    bags: Mapping[str, Mapping[str, Meter]] = field(default_factory=lambda: GRADES)

    def sizes(self, usual: tuple[int, int, int]) -> tuple[int, int, int]:
        """Places, resistances and draws."""
        asked = (self.places, self.resistances, self.draws)
        p, r, d = (u if a is None else a for a, u in zip(asked, usual, strict=True))
        return p, r, d


@dataclass(frozen=True, slots=True)
class Study:
    """A finished study.

    Parameters
    ----------
    maps
        All maps in it.
    told
        As JSON can hold it.
    view, figure
        From a title to a table for people, and to a drawing.
    """

    maps: tuple[ReachMap, ...]
    told: dict[str, Any]
    view: Callable[[str], RenderableType]
    figure: Callable[[str], Figure]


def chosen(
    cable: Cable, method: str = ALL, damage: str | None = None
) -> tuple[tuple[Method, Damage], ...]:
    """Methods with the damage that each is mapped for.

    Parameters
    ----------
    cable
        Decides what fits.
    method
        A name, or ``"all"`` for every classical method that fits the cable.
    damage
        A name; the first damage that a method is for and the cable can have, unless given.

    Raises
    ------
    InputError
        If a name is unknown, or nothing fits.
    """
    kinds = None if damage is None else (damage_of(damage),)
    if method != ALL:
        how = method_named(method)
        tried = kinds or tuple(DAMAGES[name] for name in how.damages)
        what = next((d for d in tried if not how.unfit(cable, d)), tried[0])
        if reason := how.unfit(cable, what):
            raise InputError(
                f"the method {method} {reason}", try_this="name another method or damage"
            )
        return ((how, what),)
    pairs = []
    for how in METHODS.values():
        tried = kinds or tuple(DAMAGES[name] for name in how.damages)
        fits = [d for d in tried if not how.unfit(cable, d)]
        pairs += [(how, fits[0])] if fits else []
    if not pairs:
        raise InputError(
            f"no classical method serves {damage} on this {cable.construction.name} cable",
            try_this="name another damage, or the method posterior",
        )
    return tuple(pairs)


def study_of_reach(cable: Cable, pairs: Sequence[tuple[Method, Damage]], wanted: Wanted) -> Study:
    """Map each method.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    pairs
        From `chosen`.
    wanted
        How.
    """
    maps = []
    for method, damage in pairs:
        usual = _USUAL if method.classical else _USUAL_ONE_BY_ONE
        places, resistances, draws = wanted.sizes(usual)
        axes = usual_axes(
            cable,
            damage,
            places=places,
            resistances=resistances,
            grades=wanted.grades,
            draws=draws,
        )
        maps.append(
            reach_map(
                cable,
                method,
                axes,
                seed=wanted.seed,
                damage=damage,
                formulation=wanted.formulation,
                bags=wanted.bags,
            )
        )

    def view(title: str) -> RenderableType:
        from cablesim.benchmark.study.reach_view import reach_view

        return reach_view(maps, title)

    def figure(title: str) -> Figure:
        from cablesim.benchmark.study.map_figure import map_figure, overview_figure

        return map_figure(maps[0], title) if len(maps) == 1 else overview_figure(maps, title)

    return Study(tuple(maps), {"maps": [m.to_dict() for m in maps]}, view, figure)


def study_of_first(cable: Cable, wanted: Wanted, damage: str | None = None) -> Study:
    """Say which method comes first.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    wanted
        How, with a single meter class.
    damage
        What is broken; every kind unless given.

    Raises
    ------
    InputError
        If there is more than one meter class, or no method serves the damage.
    """
    if len(wanted.grades) != 1:
        raise InputError("meter classes", list(wanted.grades), "one class for this chart")
    places, resistances, draws = wanted.sizes(_USUAL)
    if damage is not None:
        chosen(cable, ALL, damage)  # or refuse
    chart = first_chart(
        cable,
        wanted.grades[0],
        seed=wanted.seed,
        places=places,
        resistances=resistances,
        draws=draws,
        damages=DAMAGES if damage is None else {damage: damage_of(damage)},
        bags=wanted.bags,
    )

    def view(title: str) -> RenderableType:
        from cablesim.benchmark.study.first_view import first_view

        return first_view(chart, title)

    def figure(title: str) -> Figure:
        from cablesim.benchmark.study.first_figure import first_figure

        return first_figure(chart, title)

    maps = tuple(row.found for rows in chart.candidates.values() for row in rows)
    return Study(maps, chart.to_dict(), view, figure)


def study_of_sensitivity(
    cable: Cable, pairs: Sequence[tuple[Method, Damage]], wanted: Wanted
) -> Study:
    """Say what disturbs each method.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    pairs
        From `chosen`.
    wanted
        How; there are always three resistances.

    Raises
    ------
    InputError
        By ``figure``, where there are several methods.
    """
    if wanted.resistances is not None or wanted.formulation is not None:
        raise InputError(
            "resistances or formulation of a study of sensitivity",
            try_this="leave them out: it takes a low, a middling and a high resistance, and the "
            "usual formulation",
        )
    places, _, draws = wanted.sizes(_USUAL_SENSITIVITY)
    found = [
        sensitivity(
            cable,
            method,
            seed=wanted.seed,
            damage=damage,
            places=places,
            grades=wanted.grades,
            draws=draws,
            bags=wanted.bags,
        )
        for method, damage in pairs
    ]

    def view(title: str) -> RenderableType:
        from cablesim.benchmark.study.sensitivity_view import sensitivity_view

        return sensitivity_view(found, title)

    def figure(title: str) -> Figure:
        from cablesim.benchmark.study.sensitivity_view import sensitivity_figure

        return sensitivity_figure(found[0], title)

    maps = tuple(one for study in found for row in study.maps for one in row)
    return Study(maps, {"methods": [one.to_dict() for one in found]}, view, figure)
