"""Reading the project's own files for the house tests."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "mixcraft"


@lru_cache(maxsize=1)
def tracked() -> tuple[Path, ...]:
    """Files that git tracks and that are there."""
    names = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True, timeout=600
    ).stdout.split("\0")
    return tuple(ROOT / name for name in names if name and (ROOT / name).is_file())


@lru_cache(maxsize=512)
def tree(path: Path) -> ast.Module:
    """Syntax tree of a module."""
    return ast.parse(path.read_text("utf-8"), filename=str(path))


def modules(package: str = "") -> list[Path]:
    """Modules of a package of mixcraft, or of all of it."""
    return sorted(p for p in (PACKAGE / package).rglob("*.py") if "__pycache__" not in p.parts)


def functions(module: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """All functions and methods of a module."""
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def name_of(path: Path) -> str:
    """A path as it is written in messages."""
    return str(path.relative_to(ROOT))
