"""Generated weather against counts that did not go into it: air frost days of British stations."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from mixcraft.place import Weather, frost_dates, reference_place, weather_years
from mixcraft.place.generator import noise_matrices
from mixcraft.place.monthly import month_of_day

STATIONS = {
    "Lerwick, Shetland, UK": "Lerwick",
    "Tiree, UK": "Tiree",
    "Nairn, UK": "Nairn",
    "Oxford, UK": "Oxford",
    "Ross-on-Wye, UK": "Ross-on-Wye",
}
# the spread of daily minima is taken from stations some 100 km off and good to 0.5 C, which moves frost days by a fifth where
# winters are mild; Nairn lies by the sea and those stations inland
FROST_DAYS_YEAR = 8.0
BY_THE_SEA = 12.0
FROST_DAYS_MONTH = 3.0
LAST_DIGIT = 0.0015


def observed_air_frost() -> dict[str, np.ndarray]:
    """Days with a minimum below 0 C by month: Met Office historic station data, means 1981-2010."""
    found: dict[str, list[float]] = {}
    with (Path(__file__).parent / "data" / "place_air_frost.csv").open(encoding="utf-8", newline="") as handle:
        for row in csv.DictReader(handle):
            found.setdefault(row["item"], []).append(float(row["value"]))
    return {item: np.array(days) for item, days in found.items()}


@pytest.mark.parametrize("item", STATIONS)
def test_air_frost_days_of_british_stations(item: str) -> None:
    observed = observed_air_frost()[item]
    weather = weather_years(reference_place(STATIONS[item]), "2023-01-01", 365, years=400, seed=11)
    share = (weather.tmin_c < 0).mean(axis=0)
    ours = np.array([share[month_of_day() == month].sum() for month in range(12)])
    assert observed.sum() == pytest.approx(ours.sum(), abs=BY_THE_SEA if item.startswith("Nairn") else FROST_DAYS_YEAR)
    assert np.abs(ours - observed).max() < FROST_DAYS_MONTH


def test_noise_matrices_are_those_printed() -> None:
    # Richardson & Wright 1984 (WGEN), as coded in public copies; rows tmax, tmin, radiation
    a, b = noise_matrices()
    assert a == pytest.approx(np.array([[0.567, 0.086, -0.002], [0.253, 0.504, -0.050], [-0.006, -0.039, 0.244]]), abs=0.003)
    assert b == pytest.approx(np.array([[0.781, 0, 0], [0.328, 0.637, 0], [0.238, -0.341, 0.873]]), abs=LAST_DIGIT)


def test_last_frost_comes_later_inland_and_uphill() -> None:
    # sign only: mild sea air (Tiree) before Oxford, both before a mountain valley in Montana and 1800 m in Idaho
    last = [frost_dates(reference_place(n)).last_spring for n in ("Tiree", "Oxford", "Creston", "Ketchum")]
    assert all(day is not None for day in last)
    medians = [day.median for day in last if day is not None]
    assert medians == sorted(medians)
    # Ketchum: mean minimum of June is 3 C; frost in June is usual there
    assert medians[-1] > 152


# Statistics of daily series that the monthly normals do not hold. The spread of the five places was taken from the
# same series; runs, extremes and counts of days were not.
DAYS_OF_A_MONTH = 4.0  # days; 1 C of the spread or of the shape of the distribution
EXTREME_C = 3.0  # a normal distribution against the skewed one of nature
# first-order chains make long dry spells too short and years too alike (Wilks & Wilby 1999), by up to a third
DRY_RUN_RATIO = (0.65, 1.15)
WET_RUN_RATIO = (0.75, 1.25)
YEARS_RATIO = (0.67, 1.2)
WETTEST_DAY_RATIO = (0.7, 1.2)
SERIES = ("Brussels", "Wageningen", "Champion", "Tunis", "Hyderabad")


def daily_statistics(item: str, quantity: str) -> np.ndarray:
    """Values of tests/outside/data/place_daily_statistics.csv, computed from the daily series it names."""
    with (Path(__file__).parent / "data" / "place_daily_statistics.csv").open(encoding="utf-8", newline="") as handle:
        rows = [r for r in csv.DictReader(handle) if r["item"] == item and r["quantity"].startswith(quantity)]
    assert rows, (item, quantity)
    return np.array([float(row["value"]) for row in rows])


def longest_run(days: np.ndarray) -> float:
    """Mean over years of the longest run of True in a year, from an array (Y, D)."""
    best = run = np.zeros(len(days), dtype=int)
    for day in days.T:
        run = np.where(day, run + 1, 0)
        best = np.maximum(best, run)
    return float(best.mean())


@pytest.fixture(scope="module")
def made() -> dict[str, Weather]:
    return {name: weather_years(reference_place(name), "2023-01-01", 365, years=200, seed=4) for name in SERIES}


def per_month(days: np.ndarray) -> np.ndarray:
    return np.array([days[:, month_of_day() == month].sum(axis=1).mean() for month in range(12)])


@pytest.mark.parametrize("name", SERIES)
def test_frost_days_and_summer_days_of_daily_series(made: dict[str, Weather], name: str) -> None:
    cold = per_month(made[name].tmin_c < 0) - daily_statistics(name, "days with minimum below 0 C")
    warm = per_month(made[name].tmax_c >= 25) - daily_statistics(name, "days with maximum of 25 C or more")
    assert np.abs(cold).max() < DAYS_OF_A_MONTH
    assert np.abs(warm).max() < DAYS_OF_A_MONTH


@pytest.mark.parametrize("name", SERIES)
def test_coldest_night_and_hottest_day_of_daily_series(made: dict[str, Weather], name: str) -> None:
    coldest, hottest = made[name].tmin_c.min(axis=1).mean(), made[name].tmax_c.max(axis=1).mean()
    assert coldest == pytest.approx(daily_statistics(name, "coldest night")[0], abs=EXTREME_C)
    assert hottest == pytest.approx(daily_statistics(name, "hottest day")[0], abs=EXTREME_C)


@pytest.mark.parametrize("name", SERIES)
def test_spells_and_downpours_of_daily_series(made: dict[str, Weather], name: str) -> None:
    rain = made[name].rain_mm
    dry = longest_run(rain < 1) / daily_statistics(name, "longest run of days below 1 mm")[0]
    wet = longest_run(rain >= 1) / daily_statistics(name, "longest run of days with 1 mm or more")[0]
    most = rain.max(axis=1).mean() / daily_statistics(name, "wettest day")[0]
    assert DRY_RUN_RATIO[0] < dry < DRY_RUN_RATIO[1]
    assert WET_RUN_RATIO[0] < wet < WET_RUN_RATIO[1]
    assert WETTEST_DAY_RATIO[0] < most < WETTEST_DAY_RATIO[1]


@pytest.mark.parametrize("name", SERIES)
def test_years_differ_as_in_daily_series(made: dict[str, Weather], name: str) -> None:
    means = np.stack([made[name].tmean_c[:, month_of_day() == m].mean(axis=1) for m in range(12)], axis=1)
    ours = means.std(axis=0, ddof=1).mean() / daily_statistics(name, "year-to-year")[0]
    assert YEARS_RATIO[0] < ours < YEARS_RATIO[1]
