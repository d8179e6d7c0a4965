"""Greens that are eaten half-grown before they run to seed are not lost to it."""

from __future__ import annotations

import pytest

from mixcraft.crops import load_crop
from mixcraft.place import reference_place
from mixcraft.recipe.model import Bed, Density, Garden, HarvestUse, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.scoring.fates import fates
from mixcraft.season.grow import grow


@pytest.mark.parametrize(
    ("crop", "start", "method", "lost"),
    [
        ("rocket", "04-15", "once", False), ("rocket", "04-15", "leaf", False),
        ("spinach", "05-15", "leaf", False), ("spinach", "05-15", "once", True), ("mustard-leaf", "05-01", "once", True),
    ],
)  # fmt: skip
def test_what_is_picked_for_weeks_before_its_stem_is_not_lost_to_it(crop: str, start: str, method: str, *, lost: bool) -> None:
    """At Oxford all of them have shot by the end of June.  Rocket is food from four weeks on (Royal Horticultural Society);
    spinach and mustard that are to be cut in one go, full-grown, do not come to that."""
    grown = load_crop(crop)
    use = (HarvestUse("leaves", method),)
    one = Planting(crop, grown, "drills", WholeBed(), OnDate(start), amount=Density(grown["spacing.density"]), harvest=use)
    garden = Garden("g", reference_place("Oxford"), (Bed("bed", 2.0, 1.0),))
    season = grow(plan(Recipe("r", 2.0, 1.0, (one,)), garden, "bed"), 10)
    assert (season.clocks[0].bolt < season.days).mean() >= 0.8
    assert bool(fates(season).bolted.mean() > 0.5) is lost
