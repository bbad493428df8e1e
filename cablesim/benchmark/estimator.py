"""The contract of estimators, and the registry where all of them are found by name.

An estimator is anything that takes a cable and readings and says where the damage is, with an
interval and its level, or why it declines:

>>> from cablesim.benchmark.answer import Answer
>>> def in_the_middle(cable, readings):
...     half = cable.heated_length_m / 2
...     return Answer(position_m=half, intervals_m=((0.025 * 2 * half, 0.975 * 2 * half),))

It is deterministic: the same readings get the same answer. A package offers one, under its name,
by an entry point of the group ``cablesim.estimators``; the built-in ones come first and keep
theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from typing import Protocol

from cablesim.benchmark.answer import Answer, Raw, answer_of
from cablesim.cable.cable import Cable
from cablesim.errors import InputError, looked_up
from cablesim.instruments.readings import Reading
from cablesim.locate.recipes import RECIPES

__all__ = ["GROUP", "Estimator", "Registered", "estimator_named", "estimator_names"]

GROUP = "cablesim.estimators"
"""Group of entry points in which other packages offer estimators."""


class Estimator(Protocol):
    """From a cable and its readings to where the damage is, or why that is not said."""

    def __call__(self, cable: Cable, readings: Sequence[Reading], /) -> Raw:
        """Answer.

        Parameters
        ----------
        cable
            As rated, plain numbers.
        readings
            In any number and order, at least one.

        Returns
        -------
        Answer, or Estimate or Declined of `cablesim.locate`
            With `Declined`, or ``Answer(declined=...)``, where it has nothing to say.
        """


@dataclass(frozen=True, slots=True)
class Registered:
    """An estimator under its name.

    Parameters
    ----------
    name
        Name in commands and results.
    estimator
        What answers.
    weighs
        Whether it weighs kinds of damage against each other; a method for one kind presumes it.
    informed
        Whether it is told what no estimator can know: the true core resistance, capacitances, gains
        and leads. For limits, not for use.
    from_package
        Which package brings it.
    """

    name: str
    estimator: Estimator
    weighs: bool = True
    informed: bool = False
    from_package: str = "cablesim"

    def answer(self, cable: Cable, readings: Sequence[Reading]) -> Answer:
        """Ask the estimator and bring what it says into the one result.

        Raises
        ------
        BrokenContract
            If it returns something else than the contract says.
        InputError
            If it refuses the readings.
        """
        return answer_of(self.estimator(cable, readings), cable, weighs=self.weighs)


# Module and attribute of each built-in estimator that is no classical method, and whether it is
# told the nuisances. They are imported when first asked for.
_BUILT_IN: dict[str, tuple[str, str, bool]] = {
    "floor": ("cablesim.benchmark.baselines", "floor", False),
    "ceiling": ("cablesim.benchmark.baselines", "ceiling", True),
    "posterior": ("cablesim.locate.answer", "locate", False),
    "least_squares": ("cablesim.benchmark.least_squares", "least_squares", False),
    "overconfident": ("cablesim.benchmark.baselines", "overconfident", False),
}


def estimator_names() -> tuple[str, ...]:
    """Names of every estimator there is, the built-in ones first; nothing is loaded."""
    offered = [name for name in _offered() if not _is_built_in(name)]
    return (*_BUILT_IN, *RECIPES, *offered)


def estimator_named(name: str) -> Registered:
    """Find an estimator by its name.

    Parameters
    ----------
    name
        One of `estimator_names`.

    Raises
    ------
    InputError
        If there is none of this name, or the package that offers it cannot be loaded.

    Examples
    --------
    >>> estimator_named("three_readings").weighs
    False
    """
    looked_up("estimator", name, dict.fromkeys(estimator_names()))
    if name in _BUILT_IN:
        module, attribute, informed = _BUILT_IN[name]
        return Registered(name, getattr(import_module(module), attribute), informed=informed)
    if name in RECIPES:
        from cablesim.locate.classical import ESTIMATORS

        return Registered(name, ESTIMATORS[name], weighs=False)
    return _loaded(_offered()[name])


def _is_built_in(name: str) -> bool:
    return name in _BUILT_IN or name in RECIPES


def _offered() -> dict[str, EntryPoint]:
    return {point.name: point for point in entry_points(group=GROUP)}


def _loaded(point: EntryPoint) -> Registered:
    package = point.dist.name if point.dist is not None else point.module
    try:
        estimator = point.load()
    except Exception as error:  # whatever a foreign package raises when imported
        raise InputError(
            f"estimator {point.name} of the package {package} cannot be loaded "
            f"({type(error).__name__}: {error})",
            try_this="mend or remove that package",
        ) from None
    if not callable(estimator):
        raise InputError(
            f"estimator {point.name} of the package {package}", estimator, "something to call"
        )
    return Registered(
        point.name, estimator, bool(getattr(estimator, "weighs", True)), from_package=package
    )
