"""Soil water: the stress coefficient, roots in layers, and a balance that closes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import bed, grown, planned, planting

from mixcraft.recipe.model import Rule, Watering
from mixcraft.season.grow import grow
from mixcraft.season.setting import season_weather, settle
from mixcraft.season.water import BedWater, available_water_m3_m3, root_layers, stress

YEARS = 3


def test_stress_of_a_tomato_by_hand() -> None:
    """FAO-56 eq. 84 with the soil of its example 37 (from memory): 200 mm/m over 0.8 m is 160 mm, p 0.40.

    Readily available: 64 mm.  At 55 mm depletion nothing is felt; at 65 mm (160 - 65) / (160 - 64) = 0.99; at 112 mm 0.5; at
    160 mm nothing is left.
    """
    ks = stress(np.array([0.0, 55.0, 64.0, 65.0, 112.0, 160.0]), np.array(160.0), np.array(0.4))
    assert ks == pytest.approx([1.0, 1.0, 1.0, 0.98958, 0.5, 0.0], abs=1e-4)


@given(st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.floats(0.1, 0.8))
@settings(max_examples=60)
def test_stress_is_a_share_and_falls_as_soil_dries(a: float, b: float, p: float) -> None:
    low, high = sorted((min(a, 160.0), min(b, 160.0)))
    ks = stress(np.array([low, high]), np.array(160.0), np.array(p))
    assert 0.0 <= ks[1] <= ks[0] <= 1.0


@given(st.floats(0.03, 1.0))
@settings(max_examples=40)
def test_roots_in_layers(depth: float) -> None:
    """All roots lie in the layers, most of them on top, none below the rooting depth."""
    bounds = np.linspace(0.1, 1.0, 10)
    share = root_layers(np.array(depth), bounds)
    assert share.sum() == pytest.approx(1.0)
    assert (np.diff(share) <= 1e-12).all()
    assert (share[bounds - 0.1 >= depth] == 0.0).all()


def test_clay_and_loam_hold_more_than_sand() -> None:
    """Order of FAO-56 Table 19."""
    water = available_water_m3_m3()
    assert water["sand"] < water["loamy sand"] < water["sandy loam"] < water["loam"] <= water["silt loam"]
    assert water["sand"] < water["clay"]
    assert all(0.03 < value < 0.25 for value in water.values())


@pytest.mark.parametrize("watering", [Watering("rain"), Watering("weekly", 20.0)], ids=["rain", "weekly"])
@pytest.mark.parametrize("soil", ["sand", "clay"])
def test_the_balance_closes(soil: str, watering: Watering) -> None:
    """Rain and watering = what evaporates, transpires and drains + what the soil still lacks less than before."""
    plan = planned(planting("spinach"), planting("lettuce-cos", density_per_m2=8.0), one=bed(soil=soil, watering=watering))
    setting = settle(plan, season_weather(plan, YEARS, 5))
    water = BedWater(setting)
    leaf = np.full((YEARS, 2), 2.0)
    factors = np.stack([water(day, leaf) for day in range(plan.days)])
    out = water.evaporated + water.transpired + water.drained
    assert water.added - out == pytest.approx(-water.depletion.sum(axis=1), abs=1e-6)
    rain = setting.weather.rain_mm[:, 30 : 30 + plan.days].sum(axis=1)
    gift = 20.0 * len(range(0, plan.days, 7)) if watering.kind == "weekly" else 0.0
    assert water.added == pytest.approx(rain + gift)
    assert (factors >= 0.0).all()
    assert (factors <= 1.0).all()
    assert (water.depletion <= water.capacity + 1e-9).all()
    assert water.transpired.min() > 0.0


def test_more_water_is_never_worse() -> None:
    def growth(watering: Watering, soil: str) -> float:
        lettuce = planting("lettuce-cos", establish="module", count=16, start=Rule("date", month_day="06-01"))
        return float(grown(lettuce, one=bed(soil=soil, watering=watering), years=YEARS).growth_g.sum())

    rain, some, much = (growth(w, "sand") for w in (Watering("rain"), Watering("weekly", 10.0), Watering("weekly", 40.0)))
    assert rain < some <= much <= growth(Watering("watered"), "sand") * (1.0 + 1e-9)
    assert growth(Watering("rain"), "sand") < growth(Watering("rain"), "silt loam")


def test_neighbours_share_the_water() -> None:
    """On rain alone, lettuce with thirsty neighbours dries out more than lettuce alone."""
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=8, start=Rule("date", month_day="06-01"))
    kale = planting("kale", name="kale", establish="module", count=6, start=Rule("date", month_day="05-01"))
    one = bed(soil="sand", watering=Watering("rain"))
    mixed, alone = planned(lettuce, kale, one=one), planned(lettuce, one=one)
    a = grow(mixed, YEARS, 5, voxels=False)
    b = grow(alone, YEARS, 5, voxels=False)
    growing = a.leaf_m2[:, :, 0] > 0.0
    assert a.water[:, :, 0][growing].mean() < b.water[:, :, 0][b.leaf_m2[:, :, 0] > 0.0].mean()
