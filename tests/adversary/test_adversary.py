"""A search against the score: what it likes best must pass a grower's list."""

from __future__ import annotations

import pytest
from growers_list import complaints
from searching import SCENES, YEARS, scene, search

from mixcraft.season.evaluator import Evaluator


@pytest.mark.slow
@pytest.mark.parametrize("name", ["Oxford"])
def test_a_short_search_finds_nothing_that_is_praised_and_laughed_at(name: str) -> None:
    """A few evaluations of random recipes and moves find no recipe that is praised while a grower would laugh at it."""
    garden = SCENES[name]
    for found in search(garden, "bed", 60, seed=5, best=3):
        said = complaints(Evaluator(garden, "bed", YEARS, 5).season(found.recipe, voxels=False))
        assert 0.0 <= found.points <= 100.0
        assert found.points < PRAISED or not said, (found.points, said)


PRAISED = 65.0
"""Points from which a recipe is called good."""
OTHER_YEARS = 100
"""Weather years in which the finds are looked at, others than those of the search: of twenty, five may be lost where one in seven
is to be expected."""


@pytest.mark.bench
@pytest.mark.parametrize("bed", sorted(SCENES))
@pytest.mark.parametrize("climate", sorted(SCENES))
def test_the_ten_best_of_three_thousand_pass_a_growers_list(climate: str, bed: str) -> None:
    garden = scene(climate, bed)
    evaluator = Evaluator(garden, "bed", OTHER_YEARS, 99)
    told = {}
    for found in search(garden, "bed", 3000, seed=1):
        said = complaints(evaluator.season(found.recipe, voxels=False))
        if said:
            told[round(found.points, 1)] = said
    assert told == {}
