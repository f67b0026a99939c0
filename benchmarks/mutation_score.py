"""Change one operator, comparison or number of an equation at a time: do the tests notice?

Usage: python benchmarks/mutation_score.py [--count 200] [--seed 1] [--of laws,chemistry]

Mutants are drawn at random among all places of the modules: + and - or * and / exchanged, a
comparison turned about, `and` for `or`, a sign dropped, the smaller for the larger of two, a
number larger by a tenth (0 becomes 1). Documentation, annotations and words are left alone, and so
is what only cuts the work into blocks, keeps what was solved, guesses or bounds the rounds. Each
mutant runs in a process of its own: the examples of its module, then the tests of its field, up to
the first that fails. What survives is printed with its line; some of it changes no result (an
iteration that takes a step more, a start value), so that 100 % is not to be had.
"""

import argparse
import ast
import contextlib
import doctest
import importlib
import importlib.abc
import importlib.util
import io
import os
import random
import resource
import signal
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

PROJECT = Path(__file__).resolve().parents[1]
PACKAGE = PROJECT / "pretreat"
LONGEST_CPU_S = 300
FIELDS = {
    "laws": ("tests/laws", "tests/sizing", "tests/processes", "tests/published", "tests/quote"),
    "chemistry": ("tests/chemistry", "tests/membrane", "tests/published"),
}
NOT_SOLVING = {"second_opinion.py", "__init__.py"}  # calls another engine; names
# Numbers that set how the work is cut, kept or begun, not what comes out.
OF_THE_WORK = {
    "BLOCK", "TWINS_AMONG", "MOST_APART", "REMEMBERED", "WORK_BYTES", "STAND_IN_C", "FEW", "MANY",
    "STEP", "MAX_ITERATIONS", "CROWDED", "ROUNDS", "NEWTON_STEPS",
}  # fmt: skip
FIRST_GUESSES = {"_first_guess", "_first_strength", "_guess_ph"}  # the solver ends where it ends
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE, ast.GtE: ast.LtE,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
TWINS = {"most": "least", "least": "most", "maximum": "minimum", "minimum": "maximum"}
TWINS |= {"max": "min", "min": "max"}


def modules(field: str) -> list[Path]:
    """Return the modules of a field."""
    if field == "chemistry":
        return sorted(p for p in (PACKAGE / field).glob("*.py") if p.name not in NOT_SOLVING)
    return sorted(PACKAGE.rglob("*laws.py"))


def places(tree: ast.Module) -> Iterator[ast.AST]:
    """Yield every node that can be changed: within functions, and numbers given a name."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name not in FIRST_GUESSES:
            for statement in node.body[1 if ast.get_docstring(node) else 0 :]:
                yield from filter(_changeable, _equations(statement))
        elif isinstance(node, ast.Assign) and not _of_the_work(node):
            yield from filter(_changeable, ast.walk(node.value))


def _equations(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what stands below a node but for expressions that only cut or bound the work."""
    if isinstance(node, ast.expr) and _of_the_work(node):
        return
    yield node
    for below in ast.iter_child_nodes(node):
        yield from _equations(below)


def _of_the_work(node: ast.AST) -> bool:
    return any(isinstance(n, ast.Name) and n.id in OF_THE_WORK for n in ast.walk(node))


def _changeable(node: ast.AST) -> bool:
    if isinstance(node, ast.BinOp | ast.BoolOp):
        return type(node.op) in SWAPS
    if isinstance(node, ast.Compare):
        return type(node.ops[0]) in SWAPS
    if isinstance(node, ast.Constant):
        return isinstance(node.value, int | float) and not isinstance(node.value, bool)
    if isinstance(node, ast.UnaryOp):
        return isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant)
    return isinstance(node, ast.Call) and _called(node) in TWINS


def _called(node: ast.Call) -> str:
    function = node.func
    if isinstance(function, ast.Name):
        return function.id
    return function.attr if isinstance(function, ast.Attribute) else ""


def change(node: Any) -> str:
    """Change a node in place; return the change in words."""
    before = ast.unparse(node)
    if isinstance(node, ast.BinOp | ast.BoolOp):
        node.op = SWAPS[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.Compare):
        node.ops[0] = SWAPS[type(node.ops[0])]()  # type: ignore[call-overload]
    elif isinstance(node, ast.Constant):
        number: Any = node.value
        node.value = number + 1 if isinstance(number, int) or number == 0 else number * 1.1
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd()
    elif isinstance(node.func, ast.Name):
        node.func.id = TWINS[node.func.id]
    else:
        node.func.attr = TWINS[node.func.attr]
    return f"{before}  ->  {ast.unparse(node)}"


class Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module with its change instead of the file."""

    def __init__(self, name: str, tree: ast.Module, path: Path) -> None:
        self.name, self.path = name, path
        self.code = compile(ast.fix_missing_locations(tree), str(path), "exec")

    def find_spec(self, fullname: str, _path: Any = None, _target: Any = None) -> Any:
        """Return a specification for the one module."""
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed code."""
        exec(self.code, module.__dict__)


def _twins_there(tree: ast.Module) -> set[str]:
    names = {
        a.asname or a.name for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) for a in n.names
    }
    return names | {"max", "min"}


def noticed(name: str, tree: ast.Module, path: Path, tests: tuple[str, ...]) -> str:
    """Return what became of a mutant: failed, broken, late, or survived."""
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            os._exit(_tried(name, tree, path, tests))
        os._exit(3)
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return {0: "survived", 1: "failed", -signal.SIGXCPU: "late"}.get(code, "broken")


def _tried(name: str, tree: ast.Module, path: Path, tests: tuple[str, ...]) -> int:
    import pytest

    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_CPU_S, LONGEST_CPU_S + 5))
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
    sys.meta_path.insert(0, Mutated(name, tree, path))
    module = importlib.import_module(name)
    with contextlib.redirect_stdout(io.StringIO()):
        if doctest.testmod(module).failed:
            return 1
    options = ["-n", "0", "-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0"]
    return 1 if pytest.main([*options, *tests]) == 1 else 0


def main() -> int:
    """Draw and try mutants; return 1 if fewer than 85 % are noticed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--of", default="laws,chemistry")
    asked = parser.parse_args()
    os.chdir(PROJECT)
    import numpy as np  # noqa: F401  once for all children
    import openpyxl  # noqa: F401
    import pytest  # noqa: F401
    import xlsxwriter  # noqa: F401

    worst = 1.0
    for field in asked.of.split(","):
        found: Counter[str] = Counter()
        every = [
            (path, number)
            for path in modules(field)
            for number, _ in enumerate(places(ast.parse(path.read_text("utf-8"))))
        ]
        drawn = random.Random(f"{field} {asked.seed}").sample(every, min(asked.count, len(every)))
        for path, number in drawn:
            tree = ast.parse(path.read_text("utf-8"))
            node = list(places(tree))[number]
            by_name = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if by_name and TWINS[_called(node)] not in _twins_there(tree):  # type: ignore[arg-type]
                continue  # its twin is not imported there
            line, words = getattr(node, "lineno", 0), change(node)
            name = ".".join(path.relative_to(PROJECT).with_suffix("").parts)
            outcome = noticed(name, tree, path, FIELDS[field])
            found[outcome] += 1
            if outcome == "survived":
                print(f"{path.relative_to(PROJECT)}:{line}: {words}", flush=True)
        tried = sum(found.values())
        score = 1.0 - found["survived"] / max(tried, 1)
        worst = min(worst, score)
        print(
            f"{field}: {tried} mutants of {len(every):,} places, {dict(found)}: "
            f"{score:.1%} noticed",
            flush=True,
        )
    return 0 if worst >= 0.85 else 1


if __name__ == "__main__":
    sys.exit(main())
