"""Ten recipes and gardens in five climates, written by hand as growers write them, from the README and `mixcraft keys` alone.

They are kept as they were written once the messages had been heeded: "amaranth" was asked back, Atlanta is no built-in place.
Numbers expected are those of a tape measure: length of the row over the distance in it.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from mixcraft import load_garden, load_recipe
from mixcraft.files import parse_document
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import read_recipe
from mixcraft.recipe.writing import canonical_text
from mixcraft.season.grow import grow

HERE = Path(__file__).parents[1] / "handwritten"
NAMES = sorted(path.name.removesuffix(".recipe.yaml") for path in HERE.glob("*.recipe.yaml"))


@lru_cache(maxsize=16)
def planned(name: str) -> Plan:
    recipe, garden = load_recipe(HERE / f"{name}.recipe.yaml"), load_garden(HERE / f"{name.split('-')[0]}.garden.yaml")
    bed = min(garden.beds, key=lambda b: abs(b.length_m - recipe.length_m))
    return plan(recipe, garden, bed.name)


def test_there_are_ten_in_five_gardens() -> None:
    assert len(NAMES) == 10
    assert len({name.split("-")[0] for name in NAMES}) == 5


@pytest.mark.parametrize("name", NAMES)
def test_each_is_planned_and_kept_as_it_is_written(name: str) -> None:
    found = planned(name)
    recipe = found.recipe
    assert recipe_text(recipe) == (HERE / f"{name}.recipe.yaml").read_text("utf-8")
    again = read_recipe(parse_document(canonical_text(recipe), "again"))
    assert again == recipe, "what is saved anew reads the same"


PLANTS = {
    "lakeside-salsa": {"tomato": 3, "jalapeno": 3, "cilantro": 32, "scallions": 96},
    "lakeside-three": {"snap peas": 60, "pole beans": 20, "romaine": 12},
    "millrace-roots": {"parsnip": 32, "leeks": 40}, "peachtree-summer": {"okra": 8, "cowpeas": 30, "sweet potato": 20},
    "peachtree-spring": {"yellow squash": 2, "new potatoes": 22}, "brunswick-winter": {"silverbeet": 8, "broad beans": 12},
    "brunswick-summer": {"capsicum": 4, "basil": 8, "Lebanese cucumber": 3}, "kiambu-dry": {"French beans": 40, "carrots": 200},
    "kiambu-rains": {"sukuma wiki": 18},
}  # fmt: skip
"""Plants of each planting: rows times their run over the distance, to the nearest plant; counts as they are given."""


@pytest.mark.parametrize("name", PLANTS)
def test_as_many_plants_as_a_tape_measure_gives(name: str) -> None:
    found = {p.name: p.stand.plants for p in planned(name).plantings}
    assert {key: round(found[key]) for key in PLANTS[name]} == PLANTS[name]


def test_days_are_those_that_are_written() -> None:
    """Dates in words, a week after the last frost that the garden states (8 May), eight weeks before the first."""
    salsa = {p.name: planned("lakeside-salsa").date(p.start) for p in planned("lakeside-salsa").plantings}
    assert str(salsa["tomato"])[5:] == "05-15"
    assert str(salsa["cilantro"])[5:] == "04-25"
    south = {p.name: planned("brunswick-summer").date(p.start) for p in planned("brunswick-summer").plantings}
    assert str(south["capsicum"])[5:] == "11-05"
    sowings = [p for p in planned("millrace-cut").plantings if p.name.startswith("mesclun")]
    assert [int(b.start - a.start) for a, b in pairwise(sowings)] == [28, 28, 28, 28]


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_each_gives_something_of_everything_in_most_of_four_years(name: str) -> None:
    season = grow(planned(name), 4, 1, voxels=False)
    total = season.picked_kg.sum(axis=0) + season.small_kg.sum(axis=0)
    assert np.median(total.sum(axis=1)) > 0.5
