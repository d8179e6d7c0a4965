"""Small changes to the code that the tests must notice: one at a time, drawn by a seed, in a process of its own.

Usage: python tests/mutating.py [--seed N] [--count N] [--packages scoring season recipe] [--seconds N]

A mutation swaps a comparison, changes a number, an operator or a truth, or leaves out a `not`.  It is made in memory as its
module is imported, so that no file is touched; then the tests of its package run until one fails.  What survives is printed with
its place.  Meanwhile nothing is kept, and of what was kept before only compiled code is used: kernels are not mutated.
"""

from __future__ import annotations

import argparse
import ast
import copy
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGES = ("scoring", "season", "recipe")
SWAPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
LOADER = """
import ast, importlib.machinery, sys
import pytest
from mixcraft.files import keeping
sys.path.insert(0, {tests!r})
import mutating
kept_in = keeping.kept_in
keeping.kept_in = lambda where, name: kept_in(where, name) if name.endswith(".code") else iter(())
keeping.keep_in = lambda *_: True
source = importlib.machinery.SourceFileLoader.get_code
def code(self, name):
    if name != {module!r}:
        return source(self, name)
    tree = ast.parse(self.get_data(self.get_filename(name)))
    mutating.made(tree, {number})
    return compile(ast.fix_missing_locations(tree), self.get_filename(name), "exec")
importlib.machinery.SourceFileLoader.get_code = code
sys.exit(pytest.main({arguments!r}))
"""


@dataclass(frozen=True)
class Mutation:
    """A change to be made: the `number`-th of those that can be made to a file, its line and what it is."""

    path: Path
    number: int
    line: int
    said: str

    @property
    def package(self) -> str:
        """Package of the file."""
        return self.path.parts[self.path.parts.index("mixcraft") + 1]

    @property
    def module(self) -> str:
        """Name of the file's module."""
        return ".".join(self.path.relative_to(ROOT).with_suffix("").parts)


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """Nodes that can be changed, with words for the change; text, types and defaults of nothing are left alone."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
            yield node, f"{type(node.ops[0]).__name__} swapped"
        elif isinstance(node, ast.BoolOp) or (isinstance(node, ast.BinOp) and type(node.op) in SWAPPED and not _of_text(node)):
            yield node, f"{type(node.op).__name__} swapped"
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float) and node.value not in (0, -1):
            yield node, f"{node.value} changed"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "not left out"


def _of_text(node: ast.BinOp) -> bool:
    sides = (node.left, node.right)
    return any(isinstance(one, ast.JoinedStr) or (isinstance(one, ast.Constant) and isinstance(one.value, str)) for one in sides)


def made(tree: ast.AST, number: int) -> None:
    """Make the `number`-th change that can be made to a tree."""
    node = next(node for n, (node, _) in enumerate(places(tree)) if n == number)
    if isinstance(node, ast.Compare):
        node.ops[0] = SWAPPED[type(node.ops[0])]()
    elif isinstance(node, ast.BinOp | ast.BoolOp):
        node.op = SWAPPED[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.Constant):
        node.value = node.value * 2 if isinstance(node.value, float) else node.value + 1
    elif isinstance(node, ast.UnaryOp):
        inner = copy.copy(node.operand)
        node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), inner)


def all_mutations(packages: list[str]) -> list[Mutation]:
    """Every change that can be made to the functions of packages, kernels and tables of them left out."""
    found = []
    for package in packages:
        for path in sorted((ROOT / "mixcraft" / package).rglob("*.py")):
            if path.name.startswith(("kernel", "tables", "native", "compiled", "march")):
                continue
            tree = ast.parse(path.read_text("utf-8"))
            found += [Mutation(path, n, node.lineno, said) for n, (node, said) in enumerate(places(tree))]  # type: ignore[attr-defined]
    return found


OF_WHAT_IS_KEPT = (
    "scoring/test_found.py",
    "scoring/test_kept_fates.py",
    "scoring/test_kept_repairs.py",
    "season/test_compiled.py",
)
"""Tests of what is kept on disk, which fail here, as nothing is."""


def caught(package: str, module: str, number: int, seconds: float) -> str:
    """How the tests of a package notice a mutation: "failed", "late" if they take too long, "" if they do not."""
    arguments = ["-n", "0", "-x", "-q", "-p", "no:cacheprovider", "-m", "not slow and not bench", str(ROOT / "tests" / package)]
    arguments += [f"--ignore={ROOT / 'tests' / name}" for name in OF_WHAT_IS_KEPT]
    program = LOADER.format(tests=str(ROOT / "tests"), module=module, number=number, arguments=arguments)
    try:
        ran = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, timeout=seconds)
    except subprocess.TimeoutExpired:
        return "late"
    return "failed" if ran.returncode else ""


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--count", type=int, default=60)
    asked.add_argument("--packages", nargs="*", default=list(PACKAGES))
    asked.add_argument("--seconds", type=float, default=900.0)
    args = asked.parse_args()
    drawn = random.Random(args.seed).sample(all_mutations(args.packages), args.count)
    for package in args.packages:
        if caught(package, "", 0, args.seconds):
            sys.exit(f"the tests of {package} fail without any mutation: nothing can be said")
    told: dict[str, int] = {}
    for one in drawn:
        how = caught(one.package, one.module, one.number, args.seconds) or "survived"
        told[how] = told.get(how, 0) + 1
        print(f"{how:9} {one.path.relative_to(ROOT)}:{one.line} {one.said}", flush=True)
    print(", ".join(f"{count} {how}" for how, count in sorted(told.items())), f"of {args.count} with seed {args.seed}")


if __name__ == "__main__":
    main()
