"""The public face: light to import, and its lists agree."""

import ast
import importlib
import inspect
import json
import subprocess
import sys

import pytest

import cablesim

HEAVY = ["matplotlib", "networkx", "rich", "scipy.stats", "typer"]


def modules_after(statement: str) -> set[str]:
    """Run a statement in a fresh interpreter and return the names of all modules it loaded."""
    code = f"{statement}\nimport json, sys\nprint(json.dumps(list(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout))


@pytest.mark.parametrize("statement", ["import cablesim", "import cablesim; dir(cablesim)"])
def test_import_loads_nothing_heavy(statement):
    assert modules_after(statement).isdisjoint(HEAVY)


def test_the_check_above_would_notice():
    loaded = modules_after("import cablesim, " + ", ".join(HEAVY))
    assert loaded.issuperset(HEAVY)


def test_a_name_is_loaded_on_first_use_only():
    assert "cablesim.errors" not in modules_after("import cablesim")
    assert "cablesim.errors" in modules_after("import cablesim; cablesim.InputError")


def test_all_is_sorted_and_every_name_resolves():
    assert cablesim.__all__ == sorted(set(cablesim.__all__))
    for name in cablesim.__all__:
        assert getattr(cablesim, name) is not None
        assert name in dir(cablesim)


def test_every_name_is_public_at_home():
    for name, home in cablesim._HOME.items():
        module = importlib.import_module(home)
        assert name in module.__all__
        assert getattr(cablesim, name) is getattr(module, name)


def test_type_checkers_see_the_same_names():
    tree = ast.parse(inspect.getsource(cablesim))
    (block,) = (node for node in tree.body if isinstance(node, ast.If))
    seen = {
        alias.asname: statement.module
        for statement in block.body
        if isinstance(statement, ast.ImportFrom)
        for alias in statement.names
    }
    assert seen == cablesim._HOME


def test_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'no_such_name'"):
        cablesim.no_such_name  # noqa: B018
