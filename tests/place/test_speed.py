"""Speed of the weather, best of several runs on a warm machine."""

from __future__ import annotations

import time
from functools import partial

import pytest
from measuring import own_seconds

from mixcraft.place import daily_from_normals, frost, frost_dates, reference_place, soil_temperature, weather_years

THIRTY_YEARS_S = 0.060
SMOOTH_YEAR_S = 0.010
SOIL_S = 0.020
FROST_S = 0.020

pytestmark = pytest.mark.bench


best = partial(own_seconds, times=7, clock=time.perf_counter)


def test_thirty_years_of_four_hundred_days() -> None:
    place = reference_place("Oxford")
    assert best(lambda: weather_years(place, "2024-02-01", 400, 30)) < THIRTY_YEARS_S


def test_smooth_year_soil_and_frost() -> None:
    place = reference_place("Oxford")
    assert best(lambda: daily_from_normals(place, "2024-02-01", 400)) < SMOOTH_YEAR_S
    weather = weather_years(place, "2024-02-01", 400, 30)
    assert best(lambda: soil_temperature(weather.tmean_c, 0.05)) < SOIL_S
    assert own_seconds(lambda: (frost._exact.cache_clear(), frost_dates(place)), times=7) < FROST_S
