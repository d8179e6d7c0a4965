"""Recipes fitted to other beds and places."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mixcraft.design.fit import fit, freed, resized
from mixcraft.files import resource
from mixcraft.place import reference_place
from mixcraft.recipe.model import AtTrellis, Bed, Count, Garden, Trellis
from mixcraft.recipe.reading import load_recipe

RECIPE = load_recipe(resource("recipes_demo", "trellis-summer.recipe.yaml"))


def test_numbers_follow_the_ground_and_places_are_round() -> None:
    bed = Bed("half", 2.0, 1.2, 0.0, (Trellis("north", 2.0),))
    half = resized(RECIPE, bed, 52.0)
    counts = [(a.amount.plants, b.amount.plants) for a, b in zip(RECIPE.plantings, half.plantings, strict=True)
              if isinstance(a.amount, Count) and isinstance(b.amount, Count) and not isinstance(a.where, AtTrellis)]  # fmt: skip
    assert counts
    assert all(b == pytest.approx(a / 2, abs=0.51) for a, b in counts)
    assert half.planting("beans").amount == RECIPE.planting("beans").amount  # the trellis is as wide as it was


def test_climbers_without_a_trellis_get_canes_at_the_far_end() -> None:
    bean = resized(RECIPE, Bed("plain", 4.0, 1.2), 52.0).planting("beans")
    assert bean.support == "canes"
    assert bean.where.x[1].value == 4.0  # type: ignore[union-attr]


@pytest.mark.slow
def test_a_recipe_moves_to_another_hemisphere(garden: Garden) -> None:
    trellis = garden.bed("trellis bed")
    beds, plate = (replace(trellis, history=()),), replace(garden.plate, start="", until="")
    there = replace(garden, place=reference_place("Melbourne"), beds=beds, plate=plate)
    fitted = fit(RECIPE, there, "trellis bed", seconds=15.0, years=4, patience=np.inf)
    assert fitted.recipe.planting("beans").where == AtTrellis("south")
    assert fitted.score.overall > 40.0
    assert {p.crop.id for p in RECIPE.plantings} == {p.crop.id for p in fitted.recipe.plantings}
    assert {loss.planting for loss in fitted.losses} <= {p.name for p in RECIPE.plantings}


def test_a_day_of_another_hemisphere_does_not_hold_a_sowing_back(garden: Garden) -> None:
    """Beans that at Oxford wait for warm soil, not before 5 May, would wait at Melbourne for the spring after."""
    assert freed(RECIPE, garden).planting("beans") == RECIPE.planting("beans")
    there = freed(RECIPE, replace(garden, place=reference_place("Melbourne")))
    assert there.planting("beans").start == replace(RECIPE.planting("beans").start, not_before="")  # type: ignore[type-var]
    assert there.planting("spinach") == RECIPE.planting("spinach")
