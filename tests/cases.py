"""Recipes that between them use every way of growing and picking, with the beds that they are grown in."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from mixcraft.recipe.model import Garden
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import load_garden, load_recipe

CASES = Path(__file__).parent / "season" / "cases"
DEMO = Path(__file__).parents[1] / "recipes_demo"
BEDS = {
    "trellis-and-points": ("oxford", "trellis bed"),
    "strips-and-covers": ("oxford", "small bed"),
    "cut-and-come": ("oxford", "small bed"),
    "thinned": ("oxford", "small bed"),
    "side-shoots": ("oxford", "small bed"),
    "perennials": ("oxford", "small bed"),
    "dry": ("rome", "rain bed"),
    "weekly": ("rome", "weekly bed"),
    "southern": ("melbourne", "melbourne bed"),
    "winter": ("oxford", "walled bed"),
    "killed": ("oxford", "rain bed"),
    "alone": ("oxford", "small bed"),
}
DEMOS = {
    "salad-and-roots": "long bed",
    "trellis-summer": "trellis bed",
    "winter-greens": "winter bed",
    "what-not-to-do": "trellis bed",
}


@lru_cache(maxsize=8)
def case_garden(name: str) -> Garden:
    """A garden of the cases, or the demonstration's."""
    return load_garden(DEMO / f"{name}.garden.yaml" if name == "kiln-lane" else CASES / f"{name}.garden.yaml")


@lru_cache(maxsize=32)
def case(name: str) -> Plan:
    """The plan of a case or of a recipe of the demonstration."""
    folder, (garden, bed) = (DEMO, ("kiln-lane", DEMOS[name])) if name in DEMOS else (CASES, BEDS[name])
    return plan(load_recipe(folder / f"{name}.recipe.yaml"), case_garden(garden), bed)
