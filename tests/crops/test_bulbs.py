"""Bulbs: kinds that suit the days of a place, cold before they divide, heat that ripens them, leaf that ends."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.crops.bulbs import bulb_cold, leaf_goes_on, ripened_by_heat, swelling_daylength
from mixcraft.crops.development import NEVER

DAYS = 200


def steady(value: float) -> np.ndarray:
    return np.full((1, DAYS), value)


@pytest.mark.parametrize(("longest_h", "critical_h"), [(16.7, 14.0), (14.0, 12.5), (12.1, 12.0)])
def test_garlic_of_a_place_swells_before_its_longest_days(longest_h: float, critical_h: float) -> None:
    """In the north in days of 14 h (del Pozo & Gonzalez 2005), southwards an hour and a half before the longest, near the equator
    in the shortest days that any kind takes."""
    assert swelling_daylength(load_crop("garlic"), np.array([10.0, longest_h])) == pytest.approx(critical_h)


def test_garlic_without_cold_stays_small_where_its_kinds_ask_for_it() -> None:
    garlic, long_days, organ = load_crop("garlic"), np.full(DAYS, 16.0), np.array([100])
    assert bulb_cold(garlic, steady(5.0), 0, organ, long_days).item() == 1.0
    assert bulb_cold(garlic, steady(5.0), 80, organ, long_days).item() == pytest.approx(0.75)
    assert bulb_cold(garlic, steady(18.0), 0, organ, long_days).item() == 0.5
    assert bulb_cold(garlic, steady(18.0), 0, organ, np.full(DAYS, 12.1)).item() == 1.0
    assert bulb_cold(load_crop("onion"), steady(18.0), 0, organ, long_days).item() == 1.0


def test_heat_ripens_bulbs_that_have_begun_and_kills_those_that_have_not() -> None:
    ready, heat = ripened_by_heat(np.array([50, 90]), np.array([120, 160]), np.array([80, 80]))
    assert ready.tolist() == [80, 160]
    assert heat.tolist() == [NEVER, 80]


def test_leaf_ends_half_way_from_swelling_to_ripeness() -> None:
    thermal = np.arange(DAYS, dtype=float)[None, :] * 10.0
    share = leaf_goes_on(thermal, np.array([50]), np.array([150]))[0]
    assert share[:51].min() == 1.0
    assert share[75] == pytest.approx(0.5)
    assert share[100:].max() == 0.0
    assert (leaf_goes_on(thermal, np.array([NEVER]), np.array([NEVER])) == 1.0).all()
