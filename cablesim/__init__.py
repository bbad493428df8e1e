"""Simulate a damaged electric floor-heating cable and locate what is broken from meter readings.

This is the public face: every name below can be had as ``cablesim.<name>``. Nothing is computed
here, and a name's home module is imported when the name is first used, so that ``import cablesim``
stays light.

To offer a new name, add it to both lists below; a test keeps the two in step.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cablesim.errors import CablesimError as CablesimError
    from cablesim.errors import InputError as InputError
    from cablesim.errors import ScenarioError as ScenarioError

__version__ = "0.1.0"

_HOME = {
    "CablesimError": "cablesim.errors",
    "InputError": "cablesim.errors",
    "ScenarioError": "cablesim.errors",
}

__all__ = sorted(["__version__", *_HOME])


def __getattr__(name: str) -> object:
    """Import a public name from its home module, once (PEP 562)."""
    home = _HOME.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(home), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *__all__})
