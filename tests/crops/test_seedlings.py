"""What a sowing loses in cold soil before it is up, and afterwards."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.crops.constants import constant
from mixcraft.crops.model import Crop
from mixcraft.crops.seedlings import daily_losses, stand

DAYS, SOWN, UP = 120, 10, 40


def lives(crop: Crop, soil_c: float, established: int) -> float:
    """Share of a sowing that gets away in soil of one temperature, which comes up on day `UP`."""
    soil = np.full((1, DAYS), soil_c)
    return float(stand(crop, True, False, soil, SOWN, np.array([UP]), np.array([established]))[0])


@pytest.mark.parametrize("name", ["corn-salad", "cornflower"])
def test_a_winter_annual_loses_seed_as_others_do_and_fewer_seedlings(name: str) -> None:
    """Thirty days of waiting take what the usual loss takes of anything; sixty as a seedling take two thirds of that, not twice
    as much."""
    crop, usual, own = load_crop(name), constant("seed_loss"), 0.006
    cold = constant("cold_soil") - constant("cold_soil_span")
    assert daily_losses(crop, True, False) == (usual, own)
    assert lives(crop, cold, UP) == pytest.approx((1 - usual) ** 30)
    assert lives(crop, cold, UP + 60) == pytest.approx((1 - usual) ** 30 * (1 - own) ** 60)
    assert lives(crop, constant("cold_soil"), UP + 60) == 1.0


def test_others_lose_seed_and_seedlings_at_one_rate() -> None:
    for name in ("onion", "kohlrabi", "field-bean"):
        waiting, seedling = daily_losses(load_crop(name), True, False)
        assert waiting == seedling


def test_peas_rot_in_cold_wet_ground_where_field_beans_do_not() -> None:
    """Common practice, no source: wrinkled peas wait for warmer soil; half of them are lost in five weeks of it."""
    pea, bean = (daily_losses(load_crop(name), True, False)[0] for name in ("pea-dwarf", "field-bean"))
    assert (1 - pea) ** 35 == pytest.approx(0.5, abs=0.02)
    assert (1 - bean) ** 35 > 0.8
