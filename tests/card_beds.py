"""Mixtures of any number of plantings for beds of any size, some on ground that others have left: what cards are tried with."""

from __future__ import annotations

from pathlib import Path

from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import load_garden, load_recipe

EARLY = (
    ("radish", "broadcast", "density: 30 plants/m2"), ("spinach", "drills", "density: 40 plants/m2"),
    ("loose-leaf lettuce", "module", "density: 12 plants/m2"), ("pea", "stations", "density: 15 plants/m2"),
    ("beetroot", "stations", "density: 16 plants/m2"), ("maincrop carrot", "drills", "density: 80 plants/m2"),
    ("onion", "set", "density: 20 plants/m2"), ("rocket", "drills", "density: 60 plants/m2"),
)  # fmt: skip
LATE = (
    ("kale", "module", "density: 3 plants/m2"), ("leek", "module", "density: 15 plants/m2"),
    ("chard", "module", "density: 9 plants/m2"), ("corn salad", "drills", "density: 100 plants/m2"),
    ("bush bean", "stations", "density: 12 plants/m2"), ("basil", "module", "density: 12 plants/m2"),
)  # fmt: skip
SIZES = ((1.0, 0.4), (3.0, 1.2), (15.0, 0.75))
COUNTS = (1, 8, 16, 30)


def recipe_text(count: int, length_m: float, width_m: float) -> str:
    """A recipe of `count` plantings in strips side by side; from the ninth on they follow on the ground of the first."""
    lines = [
        "format: mixcraft-recipe/1", f"name: Mixture of {count}", "author: mixcraft tests", "licence: CC0-1.0",
        f"bed: {{length: {length_m} m, width: {width_m} m}}", "plantings:",
    ]  # fmt: skip
    strips = min(count, 8 if count < 30 else 15)
    wide = length_m / strips
    for i in range(count):
        crop, way, amount = (EARLY if i < strips else LATE)[i % (8 if i < strips else len(LATE))]
        start = f"0{3 + i % 2}-{1 + i % 27:02d}" if i < strips else f"08-{1 + i % 27:02d}"
        x0 = (i % strips) * wide
        lines.append(
            f"  - {{crop: {crop}, name: {crop.split()[-1]} {i + 1}, establish: {way}, {amount}, "
            f"place: {{kind: strip, from: {x0:.3f} m, to: {x0 + wide:.3f} m}}, start: {{kind: date, on: {start}}}}}"
        )
    return "\n".join(lines) + "\n"


def garden_text(length_m: float, width_m: float) -> str:
    """A garden with one bed, a trellis at its north edge and a wall in the west."""
    return (
        "format: mixcraft-garden/1\nname: Test Yard\nplace: {kind: reference, name: Oxford}\nbeds:\n"
        f"  - name: bed\n    length: {length_m} m\n    width: {width_m} m\n    heading: 90 deg\n"
        "    trellises: [{edge: north, height: 2 m}]\n    obstacles: [{side: west, distance: 1 m, height: 1.8 m}]\n"
    )


def plan_of(folder: Path, count: int, length_m: float, width_m: float) -> Plan:
    """The plan of such a mixture."""
    recipe, garden = folder / f"mixture-{count}-{length_m}.recipe.yaml", folder / f"yard-{length_m}.garden.yaml"
    recipe.write_text(recipe_text(count, length_m, width_m), "utf-8")
    garden.write_text(garden_text(length_m, width_m), "utf-8")
    return plan(load_recipe(recipe), load_garden(garden), "bed")
