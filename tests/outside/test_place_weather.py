"""Generated weather against counts that did not go into it: air frost days of British stations."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from mixcraft.place import frost_dates, reference_place, weather_years
from mixcraft.place.generator import noise_matrices
from mixcraft.place.monthly import month_of_day

STATIONS = {
    "Lerwick, Shetland, UK": "Lerwick",
    "Tiree, UK": "Tiree",
    "Nairn, UK": "Nairn",
    "Oxford, UK": "Oxford",
    "Ross-on-Wye, UK": "Ross-on-Wye",
}
# the default spread of daily minima is good to 0.7 C, which moves frost days by about a fifth where winters are mild
FROST_DAYS_YEAR = 8.0
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
    assert observed.sum() == pytest.approx(ours.sum(), abs=FROST_DAYS_YEAR)
    assert np.abs(ours - observed).max() < FROST_DAYS_MONTH


def test_noise_matrices_are_those_printed() -> None:
    # Richardson & Wright 1984 (WGEN), as coded in public copies; rows tmax, tmin, radiation
    a, b = noise_matrices()
    assert a == pytest.approx(
        np.array([[0.567, 0.086, -0.002], [0.253, 0.504, -0.050], [-0.006, -0.039, 0.244]]), abs=0.003
    )
    assert b == pytest.approx(np.array([[0.781, 0, 0], [0.328, 0.637, 0], [0.238, -0.341, 0.873]]), abs=LAST_DIGIT)


def test_last_frost_comes_later_inland_and_uphill() -> None:
    # sign only: mild sea air (Tiree) before Oxford, both before a mountain valley in Montana and 1800 m in Idaho
    last = [frost_dates(reference_place(n)).last_spring for n in ("Tiree", "Oxford", "Creston", "Ketchum")]
    assert all(day is not None for day in last)
    medians = [day.median for day in last if day is not None]
    assert medians == sorted(medians)
    # Ketchum: mean minimum of June is 3 C; frost in June is usual there
    assert medians[-1] > 152
