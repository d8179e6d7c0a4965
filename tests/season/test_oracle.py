"""The compiled day loop against the reference one: the same season, whatever is grown and however it is picked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cases import BEDS, CASES, DEMOS, case
from hypothesis import given, settings
from hypothesis import strategies as st
from season.oracle.season import by_the_oracle
from strategies import bed, mixtures, planned, planting

from mixcraft.recipe.model import HarvestUse, OnDate, Watering
from mixcraft.season.compiled import COMPILED, Kernel
from mixcraft.season.grow import grow
from mixcraft.season.kernel import run_days
from mixcraft.season.result import Season

ROUNDING = 1e-9
"""Relative to the greater of the amount and 1; the order in which sums are taken differs."""


def differences(season: Season) -> dict[str, float]:
    """Greatest difference to the reference loop by field."""
    found = by_the_oracle(season)
    return {
        name: float(np.max(np.abs(value - getattr(season, name)) / np.maximum(np.abs(value), 1.0), initial=0.0))
        for name, value in found.items()
    }


def assert_same(season: Season) -> None:
    assert {name: error for name, error in differences(season).items() if not error <= ROUNDING} == {}


@pytest.mark.parametrize("name", [*BEDS, *DEMOS])
def test_every_way_of_growing_and_picking(name: str) -> None:
    """Trellises, points, drills, strips, covers, thinning, cutting, leaf by leaf, shoots, perennials, dry beds, winter, south."""
    season = grow(case(name), 3, 99, voxels=False)
    assert season.picked_kg.sum() > 0.0
    assert_same(season)


@pytest.mark.parametrize("name", ["trellis-and-points", "dry", "winter"])
def test_with_the_light_of_voxels(name: str) -> None:
    assert_same(grow(case(name), 2, 99))


@pytest.mark.parametrize("method", ["pull", "once"])
def test_corn_that_beans_climb(method: str) -> None:
    """Its ears are picked while the beans hang on it; corn in a bed without them is pulled whole."""
    corn = planting(
        "sweet-corn", establish="stations", density_per_m2=4.0, start=OnDate("05-10"), harvest=(HarvestUse("ears", method),)
    )
    beans = planting("bean-climbing", establish="stations", density_per_m2=4.0, start=OnDate("06-01"))
    squash = planting("courgette", establish="stations", density_per_m2=0.5, start=OnDate("06-01"))
    season = grow(planned(corn, beans, squash), 2, 5, voxels=False)
    assert_same(season)
    picked = np.flatnonzero(season.picked_kg[:, 0, 0])[-1]
    assert season.leaf_m2[picked + 5, 0, 0] > 0.5 * season.leaf_m2[picked - 1, 0, 0]
    assert season.growth_g[picked + 2 :, 0, 0].max() == 0.0
    alone = grow(planned(corn, squash), 2, 5, voxels=False)
    last = np.flatnonzero(alone.picked_kg[:, 0, 0])[-1]
    assert alone.leaf_m2[last + 5, 0, 0] == 0.0


def test_plantings_apart() -> None:
    assert_same(grow(case("dry"), 2, 99, apart=True))


@given(mixtures(most=3), st.sampled_from(["watered", "rain", "weekly"]))
@settings(max_examples=12)
def test_any_mixture(plantings: tuple, watering: str) -> None:  # type: ignore[type-arg]
    amount = 12.0 if watering == "weekly" else 0.0
    assert_same(grow(planned(*plantings, one=bed(watering=Watering(watering, amount))), 2, 5, voxels=False))


def test_the_reference_would_tell() -> None:
    """A season with one leaf more on one day is not the same."""
    season = grow(case("alone"), 2, 99, voxels=False)
    more = season.leaf_m2.copy()
    more[60, 1, 0] += 1e-6
    assert differences(replace(season, leaf_m2=more))["leaf_m2"] > ROUNDING


def test_years_do_not_know_one_another() -> None:
    """The first two of three weather years are those of a season of two."""
    two, three = (grow(case("cut-and-come"), years, 7, voxels=False) for years in (2, 3))
    weather = replace(
        three.weather,
        **{n: getattr(three.weather, n)[:2] for n in ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")},
    )  # fmt: skip
    again = grow(case("cut-and-come"), weather=weather, voxels=False)
    assert np.array_equal(again.picked_kg, three.picked_kg[:, :2])
    assert two.picked_kg.shape == again.picked_kg.shape


def test_the_loop_is_compiled_once() -> None:
    """Every season brings arrays of the same kinds, so that one compilation serves all."""
    for name, years in (("alone", 1), ("dry", 1), ("weekly", 2)):
        grow(case(name), years, 3, voxels=False)
    assert isinstance(run_days, Kernel)
    assert len(run_days._ready) == int(COMPILED)


def test_all_cases_are_tried() -> None:
    assert {path.name.removesuffix(".recipe.yaml") for path in Path(CASES).glob("*.recipe.yaml")} == set(BEDS)
