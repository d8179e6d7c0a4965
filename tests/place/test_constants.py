"""Every constant is used and known; no physical number hides in the formulas."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from mixcraft.files.constants import load_constants
from mixcraft.place._constants import CONSTANTS_FILE, constant

PACKAGE = CONSTANTS_FILE.parent
MODULES = sorted(PACKAGE.glob("*.py"))
# numbers that are counts, indices, halves, per cent, degrees of a circle, days of calendars, or limits of input
INNOCENT = {0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 24, 28, 29, 30, 64, 90, 100, 110, 180, 200, 360, 365, 366, 400, 1970}
FORMULAS = ("sun.py", "solar_position.py", "sky.py", "et0.py", "soil.py", "climate.py", "generator.py")


def test_constants_named_in_the_code_exist_and_all_are_used() -> None:
    text = "\n".join(path.read_text("utf-8") for path in MODULES)
    patterns = {re.sub(r"\{[^}]*\}", "[a-z0-9]+", name) for name in re.findall(r'constant\(\s*f?"([^"]+)"', text)}
    patterns |= {"hargreaves_coastal", "hargreaves_interior"}
    names = set(load_constants(CONSTANTS_FILE))
    unused = {name for name in names if not any(re.fullmatch(p, name) for p in patterns)}
    assert not unused
    missing = {p for p in patterns if not any(re.fullmatch(p, name) for name in names)}
    assert not missing


def test_an_unknown_constant_is_an_error() -> None:
    with pytest.raises(KeyError, match="phlogiston"):
        constant("phlogiston")


@pytest.mark.parametrize("name", FORMULAS)
def test_no_physical_number_in_formula_code(name: str) -> None:
    tree = ast.parse((PACKAGE / name).read_text("utf-8"))
    named = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign) and all(isinstance(t, ast.Name) and t.id.isupper() for t in node.targets)
    }
    found = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, (int, float))
        and not isinstance(node.value, bool)
        and id(node) not in named
        and abs(node.value) not in INNOCENT
    ]
    numerical = {0.5, 1e-3, 1e-9, 1e6, 1.0, 5.0, 350}  # halves, tolerances, mega, a floor of 5 % humidity
    assert not [value for value in found if abs(value) not in numerical]


def test_every_source_is_a_key() -> None:
    for name, record in load_constants(CONSTANTS_FILE).items():
        assert re.fullmatch(r"[a-z0-9_]+", record.source), name
        assert record.meaning, name


def test_modules_are_small_and_functions_short() -> None:
    for path in MODULES:
        text = path.read_text("utf-8")
        assert text.count("\n") < 500, path.name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                doc = ast.get_docstring(node) or ""
                assert (node.end_lineno or 0) - node.lineno - doc.count("\n") <= 50, (path.name, node.name)


def test_import_is_cheap() -> None:
    heavy = ("scipy", "pandas", "numba", "networkx", "weasyprint")
    code = f"import sys, mixcraft.place; print(','.join(m for m in {heavy} if m in sys.modules))"
    root = Path(__file__).parents[2]
    said = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert said.stdout.strip() == ""
