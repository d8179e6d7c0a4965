"""Names of the plantings of a design."""

from __future__ import annotations

from mixcraft.crops import load_crop
from mixcraft.design.naming import named_in_order
from mixcraft.recipe.model import After, OnDate, Planting, Recipe, WholeBed


def _planting(name: str, crop: str, start: OnDate | After) -> Planting:
    return Planting(name, load_crop(crop), "drills", WholeBed(), start)


RECIPE = Recipe("designed", 2.0, 1.0, (
    _planting("radish 3", "radish", OnDate("08-01")), _planting("radish again", "radish", OnDate("04-01")),
    _planting("rocket again", "rocket", After("radish again", "end")), _planting("radish 4", "radish", OnDate("05-01")),
))  # fmt: skip
STARTS = [200, 80, 140, 110]


def test_those_of_a_crop_are_counted_in_the_order_in_which_they_go_in() -> None:
    """What the search left out leaves no gap in the names, and who waits for another waits for the same one."""
    named = named_in_order(RECIPE, STARTS)
    assert [p.name for p in named.plantings] == ["radish 3", "radish", "rocket", "radish again"]
    assert named.plantings[2].start == After("radish", "end")
    assert [p.crop for p in named.plantings] == [p.crop for p in RECIPE.plantings]


def test_names_that_a_user_gave_stay() -> None:
    named = named_in_order(RECIPE, STARTS, ["radish again", "a name that is there no more"])
    assert [p.name for p in named.plantings] == ["radish 3", "radish again", "rocket", "radish"]
