"""Dates of a plan come from the soil at the depth of sowing, the recipe's own or the crop's: deeper soil is slower in spring."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import place, planned, planting

from mixcraft.crops import load_crop
from mixcraft.crops.clock import run_clock
from mixcraft.place import soil_temperature
from mixcraft.recipe.calendar import almanac, bare_soil
from mixcraft.recipe.model import OnDate

CROPS = ("radish", "carrot-maincrop", "parsnip")
START = OnDate("03-20")


def emergence(crop_id: str, depth_m: float) -> int:
    """Day of emergence from sowing at a depth, reckoned from the soil temperature of the place directly."""
    sky, crop = almanac(place()), load_crop(crop_id)
    soil = soil_temperature(bare_soil(sky.weather, sky.weather.tmean_c), depth_m)
    start = sky.month_day("03-20", not_before=0)
    clock = run_clock(crop, "broadcast", start, sky.weather.tmean_c, sky.weather.tmin_c, soil, sky.daylength_h)
    return int(clock.emergence[0]) - start


@pytest.mark.parametrize("depth_m", [0.01, 0.03, 0.06])
@pytest.mark.parametrize("crop_id", CROPS)
def test_emergence_is_that_of_the_depth_of_sowing(crop_id: str, depth_m: float) -> None:
    plan = planned(planting(crop_id, start=START, depth_m=depth_m))
    first = plan.plantings[0]
    assert int(first.clock.emergence[0]) - first.start == emergence(crop_id, depth_m)
    assert first.depth_m == depth_m


@pytest.mark.parametrize("crop_id", CROPS)
def test_without_a_depth_it_is_the_crops(crop_id: str) -> None:
    plan = planned(planting(crop_id, start=START))
    first = plan.plantings[0]
    assert int(first.clock.emergence[0]) - first.start == emergence(crop_id, load_crop(crop_id)["seed.depth"] / 100.0)


def test_ten_times_the_depth_is_another_day() -> None:
    """The soil of March at 30 cm is another than at 3 cm, so that the tests above can fail."""
    assert all(emergence(crop_id, 0.3) != emergence(crop_id, 0.03) for crop_id in CROPS)
    sky = almanac(place())
    bare = bare_soil(sky.weather, sky.weather.tmean_c)
    assert float(np.abs(soil_temperature(bare, 0.3) - soil_temperature(bare, 0.03)).max()) > 1.0
