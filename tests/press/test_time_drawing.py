"""The season along its months: what is told of a planting that is picked under its cover."""

from __future__ import annotations

import pytest

from mixcraft.files import resource
from mixcraft.press.svg import PAPER
from mixcraft.press.time_drawing import draw_time, lives
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.season.grow import grow
from mixcraft.season.result import Season


@pytest.fixture(scope="module")
def winter() -> Season:
    """The winter bed of the demonstration, part of it under a low tunnel from November to March."""
    garden = load_garden(resource("recipes_demo", "kiln-lane.garden.yaml"))
    return grow(plan(load_recipe(resource("recipes_demo", "winter-greens.recipe.yaml")), garden, "winter bed"), 3)


def test_a_cover_is_seen_while_something_is_picked_under_it(winter: Season) -> None:
    """Hatched in white where the bar is black: once for each planting that is picked under its cover."""
    picked_under = [
        life for life in lives(winter, None)
        if any(on < last and first < off for on, off in life.covers for first, last in life.pickings)
    ]  # fmt: skip
    assert len(picked_under) == 2
    drawn = draw_time(winter, None, 500.0, 14.0, 9.0).parts
    white = [part for part in drawn if part.startswith("<path") and f'stroke="{PAPER}"' in part]
    assert len(white) == len(picked_under)
