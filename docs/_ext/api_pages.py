"""The reference of the Python interface: the public face, then every module under the commands."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from typing import get_origin

import cablesim

_LAYERS = {
    "cable": "Cable, faults, materials: value objects, numbers only.",
    "line": "The electrics, arrays only: exact piece, ladder, reduction, circuit.",
    "instruments": "Meters: what they show, how wrong they may be.",
    "locate": "Hypotheses, posterior, classical methods, limits, the next reading.",
    "site": "The floor: plan, heat, opening, repair and acceptance.",
    "scenario": "The scenario file: schema, reading, writing.",
    "report": "What people see: tables, figures, marks.",
    "benchmark": "Estimators over suites of cases.",
    "training": "Cases to practise on, and their marking.",
}
_HEAD = """# From Python

What `import cablesim` offers. Everything is loaded when it is first used. A name carries its unit;
numbers may be arrays, batch axes first, readings last.

"""


def pages() -> dict[str, str]:
    """The public face, a page for each of its names, and a page for each layer of modules."""
    face = [name for name in cablesim.__all__ if not name.startswith("_")]
    text = _HEAD + "| name | what it is |\n| --- | --- |\n"
    text += "".join(f"| [`{name}`](#cablesim.{name}) | {_summary(name)} |\n" for name in face)
    layers = [layer for layer in _LAYERS if importlib.util.find_spec(f"cablesim.{layer}")]
    text += "\n## Modules\n\n"
    text += "".join(f"- [`cablesim.{layer}`]({layer}.md): {_LAYERS[layer]}\n" for layer in layers)
    text += "\n## The public face\n\n```{eval-rst}\n.. currentmodule:: cablesim\n\n"
    for name in face:
        kind = "class" if inspect.isclass(getattr(cablesim, name)) else "function"
        text += f".. auto{'exception' if name.endswith('Error') else kind}:: {name}\n"
        text += "   :members:\n\n" if kind == "class" else "\n"
    text += "```\n\n```{toctree}\n:hidden:\n\n" + "\n".join(layers) + "\n```\n"
    return {"api/index": text} | {f"api/{layer}": _layer(layer) for layer in layers}


def _summary(name: str) -> str:
    return (inspect.getdoc(getattr(cablesim, name)) or "").partition("\n")[0]


def _layer(layer: str) -> str:
    text = f"# `cablesim.{layer}`\n\n{_LAYERS[layer]}\n\n```{{eval-rst}}\n"
    package = importlib.import_module(f"cablesim.{layer}")
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        text += f"{found.name}\n{'-' * len(found.name)}\n\n.. automodule:: {found.name}\n"
        module = importlib.import_module(found.name)
        # What stands for a type has no signature to show.
        names = [n for n in getattr(module, "__all__", ()) if not get_origin(getattr(module, n))]
        # Names of the public face have their place there.
        text += f"   :members: {', '.join(names)}\n" if names else ""
        text += "   :no-index:\n\n"
    return text + "```\n"
