"""Every number has its source: records cite the bibliography, and formulas hold no physical numbers of their own."""

from __future__ import annotations

import ast
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from .sources import PACKAGE, functions, modules, name_of, tree

BIBLIOGRAPHY = PACKAGE / "crops" / "bibliography.yaml"
WITHOUT_SOURCE = {"common practice", "memory"}
"""What a record says that has no published source; its quality must then say the same."""
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@lru_cache(maxsize=1000)
def loaded(path: Path) -> Any:
    """What a file says, read once for all tests."""
    return yaml.load(path.read_bytes(), Loader=LOADER)


@lru_cache(maxsize=1)
def bibliography() -> dict[str, Any]:
    return dict(yaml.load(BIBLIOGRAPHY.read_bytes(), Loader=LOADER))


def citations(node: Any, where: str) -> list[tuple[str, str, dict[str, Any]]]:
    """Source, place and record of everything in a data file that names a source."""
    found = []
    if isinstance(node, dict):
        if isinstance(node.get("source"), str):
            found.append((node["source"], where, node))
        for key, value in node.items():
            found += citations(value, f"{where}.{key}")
    elif isinstance(node, list):
        for i, value in enumerate(node):
            found += citations(value, f"{where}[{i}]")
    return found


def unknown(paths: list[Path]) -> list[str]:
    """Citation keys in these files that the bibliography lacks."""
    known = set(bibliography()) | WITHOUT_SOURCE
    return sorted({key for p in paths for key, _, _ in citations(loaded(p), p.name) if key not in known})


def test_constants_cite_the_bibliography() -> None:
    paths = sorted(PACKAGE.glob("*/constants.yaml"))
    assert len(paths) >= 4
    assert unknown(paths) == []


def test_data_of_places_cite_the_bibliography() -> None:
    assert unknown(sorted((PACKAGE / "place" / "data").glob("*.yaml"))) == []


def test_units_cite_the_bibliography() -> None:
    assert unknown([PACKAGE / "files" / "units.yaml"]) == []


def test_crops_cite_the_bibliography() -> None:
    assert unknown(sorted((PACKAGE / "crops" / "data").glob("*.yaml"))) == []


def test_cautions_name_their_source() -> None:
    data = yaml.load((PACKAGE / "crops" / "cautions.yaml").read_bytes(), Loader=LOADER)
    for code, entry in data.items():
        assert str(entry.get("source", "")).strip(), code
        assert str(entry["text"]).strip().endswith("."), code


def test_what_has_no_source_says_so() -> None:
    """A record from memory or of common practice is marked as such, and a published one names where."""
    wrong = []
    for path in sorted(PACKAGE.rglob("*.yaml")):
        if path in (BIBLIOGRAPHY, PACKAGE / "crops" / "cautions.yaml", PACKAGE / "files" / "units.yaml"):
            continue
        for source, where, record in citations(loaded(path), path.name):
            quality = record.get("quality", "published")
            if source in WITHOUT_SOURCE and quality == "published" and "value" in record:
                wrong.append(where)
            if source == "memory" and quality not in ("memory", "derived", "common practice") and "value" in record:
                wrong.append(where)
    assert wrong == []


CLASSES = {
    "science", "statistics", "extension", "standard", "handbook", "food table", "authority", "trade page", "popular page", "own",
}  # fmt: skip
"""What a work of the bibliography is: papers, models and databases of science; official statistics and weather services;
extension services; laws and standards; handbooks and works of reference; tables of foods; offices that warn of poisons;
seed merchants, nurseries and makers; columns, web logs and pages without an author; and no work at all."""
BELOW = {"trade page", "popular page"}
POPULAR_SERIES = {"rome_guide"}
"""Monthly weather of a place still read in a secondary page."""


def test_a_published_number_cites_science_statistics_extension_standards_or_handbooks() -> None:
    known = bibliography()
    wrong = []
    for path in sorted(PACKAGE.rglob("*.yaml")):
        for source, where, record in citations(loaded(path), path.name):
            low = known.get(source, {}).get("class") in BELOW and source not in POPULAR_SERIES
            low = low or (path.parent.name == "data" and path.parents[1].name == "crops" and source in WITHOUT_SOURCE)
            if low and record.get("quality", "published") in ("published", "derived") and "unit" in record:
                wrong.append(f"{where} cites {source}")
    assert wrong == []


def test_the_bibliography_is_complete() -> None:
    """Every entry has a class, a title and somewhere to find it."""
    assert {key: entry.get("class") for key, entry in bibliography().items() if entry.get("class") not in CLASSES} == {}
    for key, entry in bibliography().items():
        assert entry.get("title"), key
        assert any(entry.get(field) for field in ("url", "doi", "publisher", "journal", "note", "isbn", "in")), key


READERS = {"epw.py", "csv_weather.py", "readers_common.py"}
"""Readers of file formats, whose numbers are columns and line counts."""
STRUCTURE = {0, 1, 2, 3, 4, 0.5}
"""Indices, signs, halves, squares and the three kinds of column of the day loop."""
UNITS = {7, 12, 24, 60, 90, 100, 180, 360, 365, 366, 1000}
"""Days of a week, months, hours, minutes, degrees of a quarter, half and full turn, per cent, days of a year, per thousand."""
TOLERANCE = 1e-6
"""Numbers this small only keep divisions and comparisons safe."""
DEBT = {
    ("frost.py", 0.1), ("frost.py", 0.9), ("generator.py", 0.001), ("places.py", 0.6), ("climate.py", 5.0), ("series.py", 10),
    ("et0.py", 200.0), ("monthly.py", 400), ("monthly.py", 1970), ("model.py", 450.0), ("model.py", 6000.0),
    ("light_voxels.py", 0.01), ("light_voxels.py", 200),
    # a recipe in a bed: days of months, a year without 29 February, quarters of a circle, parts of a cell, tolerances
    ("calendar.py", 5), ("calendar.py", 8), ("calendar.py", 10), ("calendar.py", 28), ("calendar.py", 30), ("calendar.py", 64),
    ("moves.py", 5), ("moves.py", 2001), ("layout.py", 0.51), ("layout.py", 0.6), ("layout.py", 45.0), ("plan.py", 0.01),
    ("reading_place.py", 5), ("rules_planting.py", 21.0), ("stands.py", 0.0001),
}  # fmt: skip
"""Numbers that stand in functions all the same: bounds of sanity, and some that ought to become records.  The list may
only grow shorter."""


def literals(path: Path) -> set[float]:
    """Numbers inside the functions of a module, but for structure, units, tolerances and defaults of parameters."""
    found = set()
    for function in functions(tree(path)):
        for statement in function.body:
            for node in ast.walk(statement):
                if isinstance(node, ast.Constant) and type(node.value) in (int, float):
                    value = abs(node.value)
                    if value not in STRUCTURE | UNITS and not 0.0 < value <= TOLERANCE and value != 10**6:
                        found.add(value)
    return found


def test_formulas_hold_no_physical_numbers() -> None:
    """A number in the code of these packages fails; it belongs into constants.yaml with its source."""
    found = {
        (path.name, value)
        for package in ("crops", "place", "recipe", "season", "graph", "scoring")
        for path in modules(package) if path.name not in READERS
        for value in literals(path)
    }  # fmt: skip
    assert found - DEBT == set(), "put these into constants.yaml, with unit and source"


UNEXPLAINED = {"LAYER_M", "LEAST_RADIUS_M", "SIDE_M"}
"""Sides of grids and the least radius of a plant, not yet explained where they stand."""


def test_named_numbers_say_where_they_come_from() -> None:
    """A number that a module keeps under a name is explained by a docstring within the next lines, or by a comment."""
    unexplained = []
    for package in ("season", "scoring", "graph", "recipe", "words"):
        for path in modules(package):
            body, lines = tree(path).body, path.read_text("utf-8").splitlines()
            told = [n.lineno for n in body if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)]
            for node in body:
                if not (isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)):
                    continue
                if type(node.value.value) is not float or node.value.value <= TOLERANCE or node.value.value in UNITS:
                    continue
                if {t.id for t in node.targets if isinstance(t, ast.Name)} <= UNEXPLAINED:
                    continue
                follows = any(0 < line - node.lineno <= 3 for line in told)
                if not follows and "#" not in lines[node.lineno - 1]:
                    unexplained.append(f"{name_of(path)}:{node.lineno}")
    assert unexplained == []
