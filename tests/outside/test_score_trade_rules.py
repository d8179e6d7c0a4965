"""Rules of thumb of the trade.  Each is marked: common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import grown, planting

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.development import NEVER
from mixcraft.recipe.model import OnDate

WEEK = 7.0
SOWINGS = ("04-01", "04-10", "04-20", "05-01", "05-10", "05-20", "05-31")


def first_cut_days(on: str) -> float:
    """Days from a sowing of baby leaf at Oxford to its first cut, middle of seven years."""
    crop = load_crop("lettuce-baby-leaf")
    density = crop["spacing.cutting_density"]
    season = grown(planting("lettuce-baby-leaf", start=OnDate(on), density_per_m2=density), years=7)
    first = season.first_picking()[:, 0]
    assert (first < NEVER).all()
    return float(np.median(first)) - season.plan.plantings[0].start


def test_baby_leaf_is_cut_three_to_five_weeks_after_a_spring_sowing() -> None:
    """Common practice, no source: baby leaf 3-5 weeks from a spring sowing; a week either way is allowed.

    The middle of the sowings of April and May counts; a cold first week of April takes longer.
    """
    days = [first_cut_days(on) for on in SOWINGS]
    assert (3.0 - 1.0) * WEEK <= float(np.median(days)) <= (5.0 + 1.0) * WEEK
    assert days == sorted(days, reverse=True)  # warmer weeks, quicker leaves


def test_salad_leaves_are_cut_about_an_inch_above_the_ground() -> None:
    """Common practice, no source: a stub of about 2.5 cm is left, the growing point in it; Rutgers prints 1-2
    inches.
    """
    crops = [c for c in all_crops() if "leaf" in c.kinds and c.form == "rosette" and c.main_part.methods[0] == "cut"]
    heights = {c.id: c.main_part.records["cut_height"] for c in crops if "cut_height" in c.main_part.records}
    assert "lettuce-baby-leaf" in heights
    assert heights["lettuce-baby-leaf"].value == pytest.approx(2.5, abs=0.5)
    for crop_id, record in heights.items():
        assert record.unit == "cm", crop_id
        assert 1.0 <= record.value <= 8.0, crop_id


def test_cut_leaves_grow_again() -> None:
    """Common practice, no source: cut and come again gives a second cut, some weeks after the first, and not a
    third of it on the day after.
    """
    crop = load_crop("lettuce-baby-leaf")
    density = crop["spacing.cutting_density"]
    season = grown(planting("lettuce-baby-leaf", start=OnDate("04-20"), density_per_m2=density), years=5)
    for year in range(season.years):
        cuts = np.nonzero(season.picked_kg[:, year, 0])[0]
        assert len(cuts) >= 2
        assert (np.diff(cuts) >= WEEK).all()


def test_radish_is_the_quickest_root() -> None:
    """Common practice, no source: radishes are pulled before any other root sown on the same day."""
    season = grown(planting("radish"), planting("carrot-maincrop"), planting("beetroot"), planting("parsnip"))
    first = np.median(season.first_picking(), axis=0)
    assert (first[0] < first[1:]).all()
    assert first[0] - season.plan.plantings[0].start <= 8 * WEEK
