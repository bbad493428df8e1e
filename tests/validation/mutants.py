"""Small damages to the code, and a sample of them: does a test notice each?

mutmut says which damages there are. What it does not do is draw a sample of them and damage
constants and properties too, so the choice is ours; `validation.mutants_run` tries them.
"""

from __future__ import annotations

import ast
import difflib
import random
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Package:
    """A part of the code, how many of its mutants are tried, and the tests concerned with it.

    Those of ``more_tests`` are slow, or of another layer: what survived meets them in the end.
    """

    name: str
    sampled: int
    modules: tuple[str, ...]
    tests: tuple[str, ...]
    more_tests: tuple[str, ...] = ()


_OUTSIDE = tuple(f"tests/outside/test_{name}.py" for name in ("outside", "pulses", "transient"))
_LOCATE_TESTS = tuple(
    f"tests/locate/test_{name}.py"
    for name in (
        *("budget", "classical", "closed_forms", "echo", "limits"),
        *("propagation", "properties", "published"),
    )
)
PACKAGES = (
    Package(
        "line",
        150,
        ("cablesim/line/*.py",),
        ("tests/line", "tests/instruments", *_OUTSIDE, "cablesim/line", "cablesim/instruments"),
        ("tests/site/test_repair.py",),
    ),
    Package(
        "instruments",
        150,
        ("cablesim/instruments/*.py",),
        ("tests/instruments", *_OUTSIDE, *_LOCATE_TESTS, "cablesim/instruments"),
        ("tests/training/test_bench.py",),
    ),
    Package(
        "locate",
        100,
        (
            "cablesim/locate/closed_forms/*.py",
            "cablesim/locate/recipes/*.py",
            *(
                f"cablesim/locate/{name}.py"
                for name in (
                    "fitting",
                    "likelihood",
                    "linear",
                    "parameters",
                    "prior",
                    "propagation",
                )
            ),
        ),
        (*_LOCATE_TESTS, "cablesim/locate"),
        ("tests/locate/test_locate.py",),
    ),
)


@dataclass(frozen=True)
class Mutant:
    """One damage to one module, and what became of it."""

    package: str
    path: str
    line: int
    # Lines whose execution reaches the damage; empty at the level of a module or a class.
    reach: tuple[int, ...]
    removed: str
    added: str
    code: str = ""
    # "killed", "timed out", "survived", "not reached", "not typed"
    fate: str = ""
    by: str = ""

    @property
    def key(self) -> str:
        """Names it, also after other lines of its module have moved."""
        return f"{self.path}: {self.removed} -> {self.added}"


# --- which mutants there are ----------------------------------------------------------------------


def mutants_of(path: str, package: str = "", root: Path = ROOT) -> list[Callable[[], Mutant]]:
    """All mutants of one module that are not about words for people, in the order of the file.

    Left out is what stands in a `raise` or in `__all__`, text with a blank in it, and the type that
    `cast` is told. Each is written out when it is called.
    """
    import libcst as cst
    from libcst.metadata import MetadataWrapper, ParentNodeProvider, PositionProvider
    from mutmut.mutation.file_mutation import Mutation, MutationVisitor
    from mutmut.mutation.mutators import mutation_operators
    from mutmut.mutation.pragma_handling import IgnoredCode

    class Visitor(MutationVisitor):
        # A mutant is a whole module here, so that functions with decorators can be damaged too.
        def _skip_node_and_children(self, node: cst.CSTNode) -> bool:
            if isinstance(node, cst.FunctionDef):
                return False
            return super()._skip_node_and_children(node)

    text = (root / path).read_text(encoding="utf-8")
    wrapper = MetadataWrapper(cst.parse_module(text))
    visitor = Visitor(mutation_operators, IgnoredCode(set(), set(), set()))
    wrapper.visit(visitor)
    module = wrapper.module
    positions = wrapper.resolve(PositionProvider)
    parents = wrapper.resolve(ParentNodeProvider)
    statements = ast.parse(text)

    def above(node: cst.CSTNode) -> Iterator[cst.CSTNode]:
        while node is not None:
            yield node
            node = parents.get(node)

    def written(mutation: Mutation, line: int) -> Mutant:
        damaged = module.deep_replace(mutation.original_node, mutation.mutated_node).code
        removed, added = _difference(text, damaged)
        return Mutant(package, path, line, reach_of(statements, line), removed, added, damaged)

    found = []
    for mutation in visitor.mutations:
        node = mutation.original_node
        chain = list(above(node))
        if any(isinstance(one, cst.Raise) or _is_all(one) for one in chain):
            continue
        if isinstance(node, cst.SimpleString) and " " in node.value:
            continue
        if (
            isinstance(node, cst.Call)
            and isinstance(node.func, cst.Name)
            and node.func.value == "cast"
        ):
            continue
        line = next(positions[one].start.line for one in chain if one in positions)
        found.append(partial(written, mutation, line))
    return found


def _is_all(node: object) -> bool:
    import libcst.matchers as m

    return m.matches(node, m.Assign(targets=[m.AssignTarget(m.Name("__all__"))]))


def _difference(before: str, after: str) -> tuple[str, str]:
    changed = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    rows = [row for row in changed if not row.startswith(("---", "+++", "@@"))]
    return (
        " ".join(row[1:].strip() for row in rows if row[0] == "-"),
        " ".join(row[1:].strip() for row in rows if row[0] == "+"),
    )


def reach_of(module: ast.Module, line: int) -> tuple[int, ...]:
    """Lines of the innermost statement in a function around one, without the body below."""
    around = [
        one
        for one in ast.walk(module)
        if isinstance(one, ast.stmt) and one.lineno <= line <= (one.end_lineno or one.lineno)
    ]
    if not any(isinstance(one, ast.FunctionDef) for one in around):
        return ()
    innermost = around[-1]
    last = innermost.end_lineno or innermost.lineno
    if hasattr(innermost, "body") and not isinstance(innermost, ast.FunctionDef):
        last = max(innermost.lineno, innermost.body[0].lineno - 1)
    return tuple(range(innermost.lineno, last + 1))


def chosen(
    seed: int, packages: Iterable[Package] = PACKAGES
) -> tuple[list[Mutant], dict[str, int]]:
    """The sample, in the order of its runs, and how many mutants there are of every package."""
    sample: list[Mutant] = []
    made: dict[str, int] = {}
    for package in packages:
        paths = sorted(
            str(path.relative_to(ROOT))
            for pattern in package.modules
            for path in ROOT.glob(pattern)
        )
        every = [mutant for path in paths for mutant in mutants_of(path, package.name)]
        made[package.name] = len(every)
        draw = random.Random(f"{seed} {package.name}")
        sample += [write() for write in draw.sample(every, min(package.sampled, len(every)))]
    return sample, made
