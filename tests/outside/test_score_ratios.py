"""Land equivalent ratio and area-time equivalence ratio against published tables and examples.

Sources: Mead & Willey 1980 (the ratio); Ijoyah & Dzer 2012, ISRN Agronomy 485810, Table 4 (sole and intercrop
yields of okra and maize with the ratios computed from them); Wikipedia, Land equivalent ratio (worked example);
Hiebsch & McCollum 1987 (the area-time ratio, whose example could not be read; the numbers of the example here
are our own, worked by hand).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import grown, planting

from mixcraft.scoring.measures import area_time_equivalence_ratio, land_equivalent_ratio, season_ater, season_ler

DATA = Path(__file__).parent / "data" / "score_ler.csv"
ONE_HUNDREDTH = 0.0101  # partial ratios are rounded to 0.01 before they are summed
SEASONS = ("same time", "maize 2 weeks later", "maize 4 weeks later")


def value(item: str, quantity: str, condition: str) -> float:
    with DATA.open(encoding="utf-8", newline="") as handle:
        found = [
            float(row["value"]) for row in csv.DictReader(handle)
            if (row["item"], row["quantity"], row["condition"]) == (item, quantity, condition)
        ]  # fmt: skip
    assert len(found) == 1, (item, quantity, condition)
    return found[0]


@pytest.mark.parametrize("year", ["2010", "2011"])
@pytest.mark.parametrize("system", SEASONS)
def test_okra_and_maize_at_makurdi(year: str, system: str) -> None:
    mixture = np.array([value(crop, "intercrop yield", f"{year} {system}") for crop in ("okra", "maize")])
    sole = np.array([value(crop, "sole yield", year) for crop in ("okra", "maize")])
    printed = value("both", "land equivalent ratio", f"{year} {system}")
    assert float(land_equivalent_ratio(mixture, sole)) == pytest.approx(printed, abs=ONE_HUNDREDTH)


def test_grain_and_fruit() -> None:
    mixture = np.array([value(crop, "intercrop yield", "example") for crop in ("grain", "fruit")])
    sole = np.array([value(crop, "sole yield", "example") for crop in ("grain", "fruit")])
    assert float(land_equivalent_ratio(mixture, sole)) == pytest.approx(value("both", "land equivalent ratio", "example"))


def test_area_time_ratio_by_hand() -> None:
    """Beans 60 d with 0.5 of their sole yield beside cassava 300 d with 0.9 of its own, on the ground for 300 days.

    By hand: (0.5 x 60 + 0.9 x 300) / 300 = (30 + 270) / 300 = 1.0, where the land equivalent ratio is 1.4: the beans
    alone would have been followed by other crops.
    """
    mixture, sole = np.array([0.5, 18.0]), np.array([1.0, 20.0])
    days, whole = np.array([60.0, 300.0]), np.array(300.0)
    assert float(area_time_equivalence_ratio(mixture, sole, days, whole)) == pytest.approx(1.0)
    assert float(land_equivalent_ratio(mixture, sole)) == pytest.approx(1.4)


RATIOS = st.lists(st.tuples(st.floats(0.0, 5.0), st.floats(0.1, 5.0), st.floats(20.0, 200.0)), min_size=1, max_size=6)


@given(RATIOS)
@settings(max_examples=60)
def test_area_time_ratio_never_exceeds_the_land_ratio(crops: list[tuple[float, float, float]]) -> None:
    """Hiebsch & McCollum 1987: equal when all crops hold the ground equally long, else below."""
    mixture, sole, days = (np.array(column) for column in zip(*crops, strict=True))
    whole = np.array(days.max())
    land = float(land_equivalent_ratio(mixture, sole))
    assert float(area_time_equivalence_ratio(mixture, sole, days, whole)) <= land + 1e-9
    even = np.full(len(days), float(whole))
    assert float(area_time_equivalence_ratio(mixture, sole, even, whole)) == pytest.approx(land)


@given(RATIOS, st.floats(0.1, 100.0))
@settings(max_examples=60)
def test_the_land_ratio_has_no_unit(crops: list[tuple[float, float, float]], factor: float) -> None:
    """Grams or kilograms, per bed or per hectare: the ratio stays."""
    mixture, sole, _ = (np.array(column) for column in zip(*crops, strict=True))
    assert float(land_equivalent_ratio(mixture * factor, sole * factor)) == pytest.approx(
        float(land_equivalent_ratio(mixture, sole))
    )


def test_a_crop_without_a_sole_yield_does_not_count() -> None:
    assert float(land_equivalent_ratio(np.array([1.0, 3.0]), np.array([2.0, 0.0]))) == pytest.approx(0.5)


def test_the_ratio_of_a_season_is_the_sum_of_its_crops() -> None:
    """Second formula over the season's own kilograms, year by year, then the middle of the years."""
    season = grown(planting("radish"), planting("carrot-maincrop"), years=5)
    by_year = []
    for year in range(season.years):
        total = 0.0
        for h in range(len(season.harvests)):
            total += season.picked_kg[:, year, h].sum() / season.sole_kg[:, year, h].sum()
        by_year.append(total)
    assert season_ler(season).middle == pytest.approx(float(np.median(by_year)))
    assert season_ater(season).middle <= season_ler(season).middle + 1e-9
