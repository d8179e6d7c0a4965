"""Pairs of arrangements in short form (`tests/outside/data/arrangement_pairs.yaml`) turned into recipes and gardens."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from mixcraft.recipe.model import Garden, Recipe
from mixcraft.recipe.reading import load_garden, load_recipe

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
PAIRS_FILE = Path(__file__).parent / "outside" / "data" / "arrangement_pairs.yaml"
LATER = ("second", "third", "fourth", "fifth", "sixth", "seventh")
FILES = (PAIRS_FILE, *(PAIRS_FILE.with_name(f"arrangement_pairs_{name}.yaml") for name in LATER))
BED = {"name": "bed", "length": "3 m", "width": "1.2 m", "heading": "90 deg", "soil": "loam"}
PLATE = {"from": "05-15", "until": "10-31", "weekly": "500 g", "people": 2}


def load_pairs(file: Path = PAIRS_FILE) -> list[dict[str, Any]]:
    """The pairs of a file."""
    pairs: list[dict[str, Any]] = yaml.load(file.read_bytes(), Loader=LOADER)
    return pairs


def planting(short: Mapping[str, Any]) -> dict[str, Any]:
    """A planting as recipes write it, from its short form."""
    start = short["s"]
    long: dict[str, Any] = {
        "crop": short["crop"], "establish": short["e"], "place": short["p"],
        "start": start if isinstance(start, dict) else {"kind": "date", "on": start},
    }  # fmt: skip
    if "name" in short:
        long["name"] = short["name"]
    if "n" in short and short["p"]["kind"] != "points":
        long["count"] = short["n"]
    if "d" in short:
        long["density"] = f"{short['d']} plants/m2"
    if "support" in short:
        long["support"] = {"kind": "stake", "height": short["support"]}
    if "cover" in short:
        long["cover"] = [short["cover"]]
    if "h" in short:
        long["harvest"] = [harvest(text) for text in short["h"]]
    return long


def harvest(text: str) -> dict[str, str]:
    """``part/method`` or ``part/method/every``."""
    keys = ("part", "method", "every")
    return dict(zip(keys, text.split("/"), strict=False))


def sides(pair: Mapping[str, Any], folder: Path) -> dict[str, tuple[Recipe, Garden]]:
    """The better and the worse side of a pair, read from files that are written to `folder`."""
    return {side: _side(pair, side, folder) for side in ("better", "worse")}


def _side(pair: Mapping[str, Any], side: str, folder: Path) -> tuple[Recipe, Garden]:
    bed = {**BED, **pair.get("bed", {}), **pair.get(f"{side}_bed", {})}
    recipe = {
        "format": "mixcraft-recipe/1", "name": f"{pair['id']} {side}",
        "bed": {key: bed[key] for key in ("length", "width")},
        "plantings": [planting(short) for short in (*pair["common"], *pair.get(side, ()))],
    }  # fmt: skip
    garden = {
        "format": "mixcraft-garden/1", "name": pair["place"], "place": {"kind": "reference", "name": pair["place"]},
        "beds": [bed], "plate": {**PLATE, **pair.get("plate", {})},
    }  # fmt: skip
    paths = [folder / f"{pair['id']}-{side}.{kind}.yaml" for kind in ("recipe", "garden")]
    for path, content in zip(paths, (recipe, garden), strict=True):
        path.write_text(yaml.safe_dump(content, sort_keys=False), encoding="utf-8")
    return load_recipe(paths[0]), load_garden(paths[1])
