"""The height of a cut: a high stub leaves leaf that grows again sooner."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import grown, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.harvests import cut_at, usual_harvest
from mixcraft.recipe.model import HarvestUse, OnDate


def test_leaf_is_left_in_proportion_to_the_stub() -> None:
    """Mizuna: a stub of 2.5 cm leaves 0.3 of the leaf, one of 5 cm 0.6, by hand; what is not cut is not changed."""
    part = load_crop("mizuna").main_part
    usual = usual_harvest(0, part, "cut")
    assert cut_at(usual, 0.025).take == pytest.approx(usual.take)
    assert 1.0 - cut_at(usual, 0.05).take == pytest.approx(2.0 * (1.0 - usual.take))
    assert cut_at(usual, None) == usual
    assert cut_at(usual_harvest(0, part, "leaf"), 0.05) == usual_harvest(0, part, "leaf")


def test_a_high_cut_takes_less_and_comes_again_sooner() -> None:
    item = planting("mizuna", start=OnDate("04-10"), density_per_m2=300.0)
    days, first = {}, {}
    for height in (0.025, 0.05):
        use = HarvestUse("leaves", "cut", every_days=3.0, cut_height_m=height)
        season = grown(replace(item, harvest=(use,)), years=1)
        picked = np.flatnonzero(season.picked_kg[:, 0, 0])
        days[height], first[height] = picked, season.picked_kg[picked[0], 0, 0]
    assert first[0.05] < first[0.025]
    assert days[0.05][1] <= days[0.025][1]
    assert len(days[0.05]) >= len(days[0.025])
