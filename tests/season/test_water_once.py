"""Dryness takes from a day's growth once: on its first dry day a plant in a bed that only the rain waters grows by its water
factor less than in a watered bed, all else being the same until then."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, grown, planting

from mixcraft.recipe.model import OnDate, Watering

YEARS = 8
ROUNDING = 1e-3


@pytest.mark.parametrize("crop", ["radish", "lettuce-loose-leaf", "spinach"])
def test_the_first_dry_day_costs_its_water_factor_once(crop: str) -> None:
    watered, dry = (
        grown(planting(crop, start=OnDate("06-01")), one=bed(watering=Watering(kind)), years=YEARS, where="Rome")
        for kind in ("watered", "rain")
    )
    factors = []
    for year in range(YEARS):
        days = np.nonzero((dry.water[:, year, 0] < 1.0) & (watered.growth_g[:, year, 0] > 0.0))[0]
        if days.size:
            factors.append(float(dry.water[days[0], year, 0]))
            got = dry.growth_g[days[0], year, 0] / watered.growth_g[days[0], year, 0]
            assert got == pytest.approx(factors[-1], rel=ROUNDING)
    assert min(factors) < 0.9, "a factor near one would not tell once from twice"
