"""From readings back to what is broken, where, and how sure one can be.

``from cablesim.locate import locate, posterior`` gives the two verbs; they are imported when first
used, so that the closed forms and the prior stay light. The classical formulas stand in
`cablesim.locate.closed_forms`.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cablesim.locate.answer import locate as locate
    from cablesim.locate.estimate import Estimate as Estimate
    from cablesim.locate.weighing import posterior as posterior

_HOME = {
    "Estimate": "cablesim.locate.estimate",
    "locate": "cablesim.locate.answer",
    "posterior": "cablesim.locate.weighing",
}

__all__ = ["Estimate", "locate", "posterior"]


def __getattr__(name: str) -> object:
    """Import a verb from its home module, once (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value
