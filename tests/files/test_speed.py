"""Starting fast: nothing heavy is imported before it is needed, and reading a recipe takes no time."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from mixcraft.files import check_schema, load_document, parse_document

ROOT = Path(__file__).parents[2]
HEAVY = ("numpy", "pandas", "jsonschema", "ruamel", "networkx", "weasyprint", "numba", "yaml", "difflib")


def long_recipe(lines: int = 200) -> str:
    """A recipe of so many lines."""
    text = "format: mixcraft-recipe/1\nname: Long\nbed: {length: 6 m, width: 1.2 m}\nplantings:\n"
    planting = (
        "  - crop: radish          # quick\n"
        "    name: radish {number}\n"
        "    establish: drills\n"
        "    density: 25 plants/m2\n"
        "    depth: 1 cm\n"
        "    place: {{kind: strip, from: 0 m, to: 1 m}}\n"
        "    start: {{kind: soil, at_least: 7 C, not_before: 03-15}}\n"
        "    harvest:\n"
        "      - {{part: root, method: pull, every: 7 days}}\n"
        "    note: pull the largest first\n"
    )
    while text.count("\n") < lines:
        text += planting.format(number=text.count("crop:"))
    return text


@pytest.mark.parametrize("module", HEAVY)
def test_importing_the_package_does_not_import(module: str) -> None:
    program = f"import sys; import mixcraft.files; sys.exit({module!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], cwd=ROOT, check=False, timeout=600).returncode == 0


@pytest.mark.bench
def test_a_recipe_of_200_lines_is_read_within_20_ms_and_checked_within_50() -> None:
    text = long_recipe()
    assert 200 <= text.count("\n") <= 215
    document = parse_document(text, "t.yaml")
    assert check_schema(document, "recipe") == []  # warm: imports and the validator are in place
    reading = checking = float("inf")
    for _ in range(5):
        begun = time.process_time()
        document = parse_document(text, "t.yaml")
        read = time.process_time()
        check_schema(document, "recipe")
        reading, checking = min(reading, read - begun), min(checking, time.process_time() - read)
    assert reading < 0.020
    assert checking < 0.050


def test_reading_from_disk_gives_the_same(tmp_path: Path) -> None:
    path = tmp_path / "long.yaml"
    path.write_text(long_recipe(), encoding="utf-8")
    assert load_document(path).data == parse_document(long_recipe(), "t").data
