"""Used as a library is used: every public function more than once in one process, whatever was called before."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import mixcraft

from .sources import PACKAGE, ROOT

DEMO = ROOT / "recipes_demo"
SEARCHES = ("compose", "mend", "fit")
"""Public functions that take long."""


def saved(recipe: Any) -> str:
    """The text that saving a recipe writes."""
    with tempfile.TemporaryDirectory() as folder:
        mixcraft.save_recipe(recipe, Path(folder) / "saved.yaml")
        return (Path(folder) / "saved.yaml").read_text("utf-8")


def calls() -> dict[str, Callable[[], Any]]:
    """A call of every public function."""
    recipe = mixcraft.load_recipe(DEMO / "salad-and-roots.recipe.yaml")
    garden = mixcraft.load_garden(DEMO / "kiln-lane.garden.yaml")
    season = mixcraft.grow(recipe, garden, "long bed", years=2)
    few = replace(recipe, plantings=recipe.plantings[:3])
    brief = replace(mixcraft.load_brief(DEMO / "long-bed.brief.yaml"), at_hand=tuple(p.crop for p in few.plantings), wishes=())
    short: dict[str, Any] = {"seconds": 0.5, "years": 2, "patience": float("inf")}
    return {
        "load_recipe": lambda: mixcraft.load_recipe(DEMO / "salad-and-roots.recipe.yaml").name,
        "save_recipe": lambda: saved(recipe),
        "load_garden": lambda: mixcraft.load_garden(DEMO / "kiln-lane.garden.yaml").name,
        "plan": lambda: [p.start for p in mixcraft.plan(recipe, garden, "long bed").plantings],
        "with_repairs": lambda: [r.repair for r in mixcraft.with_repairs(mixcraft.score(season)).reasons],
        "grow": lambda: mixcraft.grow(recipe, garden, "long bed", years=2).picked_kg.sum(),
        "evaluator": lambda: mixcraft.evaluator(garden, "long bed", years=2).season(recipe).picked_kg.sum(),
        "interactions": lambda: sorted(mixcraft.interactions(season).edges(keys=True)),
        "score": lambda: mixcraft.score(season).overall,
        "load_brief": lambda: mixcraft.load_brief(DEMO / "long-bed.brief.yaml"),
        "compose": lambda: mixcraft.compose(brief, **short)[0].recipe,
        "mend": lambda: mixcraft.mend(few, garden, "long bed", **short).recipe,
        "fit": lambda: mixcraft.fit(few, garden, "winter bed", **short).recipe,
        "press_card": lambda: mixcraft.press_card(season, mixcraft.score(season)),
    }


def test_every_public_function_works_twice() -> None:
    made = calls()
    assert set(made) == {name for name in mixcraft.__all__ if not isinstance(getattr(mixcraft, name), type)}
    _twice({name: call for name, call in made.items() if name not in SEARCHES})


@pytest.mark.slow
def test_every_search_gives_the_same_twice() -> None:
    _twice({name: call for name, call in calls().items() if name in SEARCHES})


def _twice(made: dict[str, Callable[[], Any]]) -> None:
    first = {name: call() for name, call in made.items()}
    assert {name: call() for name, call in made.items()} == first


def test_public_functions_stand_after_everything_is_imported() -> None:
    """In a process of its own: no import puts anything else in the place of a public function."""
    code = (
        "import importlib, pkgutil, mixcraft; before = {n: getattr(mixcraft, n) for n in mixcraft.__all__}\n"
        "for m in pkgutil.walk_packages(mixcraft.__path__, 'mixcraft.'):\n"
        "    if not m.name.endswith('__main__'): importlib.import_module(m.name)\n"
        "print([n for n, f in before.items() if getattr(mixcraft, n) is not f])"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120, check=True)
    assert ran.stdout.strip() == "[]"


def test_no_package_has_the_name_of_a_function() -> None:
    inside = {path.stem for path in [*PACKAGE.glob("*.py"), *(p.parent for p in Path(PACKAGE).glob("*/__init__.py"))]}
    assert inside & set(mixcraft.__all__) == set()
