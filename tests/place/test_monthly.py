"""Daily curves keep their monthly means, stay smooth and above their bounds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from looping import each

from mixcraft.place import daily_from_normals, reference_place, reference_places
from mixcraft.place.climate import days_in_month, monthly_radiation
from mixcraft.place.monthly import curve_for_dates, daily_curve, is_leap, month_of_day, monthly_means

EXACT = 1e-9
temperatures = st.lists(st.floats(-40, 40), min_size=12, max_size=12)
amounts = st.lists(st.one_of(st.just(0.0), st.floats(0, 30)), min_size=12, max_size=12)


@given(temperatures, st.booleans())
@settings(max_examples=60, deadline=None)
def test_curve_keeps_every_month_s_mean(means: list[float], leap: bool) -> None:
    curve = daily_curve(means, leap=leap)
    assert curve.size == (366 if leap else 365)
    assert np.abs(monthly_means(curve, leap) - means).max() < EXACT


@given(amounts)
@settings(max_examples=12, deadline=None)
def test_bounded_curve_keeps_means_and_bound(means: list[float]) -> None:
    curve = daily_curve(means, lower=0.0)
    assert (curve >= 0).all()
    assert np.abs(monthly_means(curve) - means).max() < EXACT


def test_curve_is_the_smoothest() -> None:
    rng = np.random.default_rng(3)
    means = 10 + 8 * np.sin(np.arange(12) / 2)
    curve = daily_curve(means)

    def roughness(x: np.ndarray) -> float:
        return float((np.diff(np.concatenate([x, x[:2]]), 2) ** 2).sum())

    for _ in range(20):  # any other curve with the same means is rougher
        other = rng.normal(size=365)
        other -= monthly_means(other)[month_of_day()]
        assert roughness(curve + 0.01 * other) > roughness(curve)


def test_no_step_between_months_or_over_new_year() -> None:
    curve = daily_curve(reference_place("Winnipeg").normals.tmin_c)
    assert np.abs(np.diff(np.append(curve, curve[0]))).max() < 0.6  # the year's range is 36 C


def test_mean_below_the_bound_is_refused() -> None:
    with pytest.raises(ValueError, match="lies below the bound 0"):
        daily_curve([1.0] * 11 + [-0.5], lower=0.0)


def test_wrong_number_of_months_is_refused() -> None:
    with pytest.raises(ValueError, match="12 monthly means"):
        daily_curve([1.0] * 11)


def test_leap_years() -> None:
    assert [is_leap(y) for y in (1900, 2000, 2023, 2024)] == [False, True, False, True]


def test_dates_across_a_leap_year_keep_all_means() -> None:
    dates = np.datetime64("2023-01-01") + np.arange(365 + 366)
    means = np.arange(12.0)
    series = curve_for_dates(means, dates)
    months = dates.astype("datetime64[M]")
    for month in np.unique(months):
        expected = means[int(month.astype(np.int64)) % 12]
        assert series[months == month].mean() == pytest.approx(expected, abs=EXACT)


def keeps_the_normals(name: str) -> None:
    """Asserts that the average year of a place has the means that it is made from."""
    place = reference_place(name)
    weather = daily_from_normals(place, "2023-01-01", 365)
    normals = place.normals
    assert np.abs(monthly_means(weather.tmax_c[0]) - normals.tmax_c).max() < EXACT
    assert np.abs(monthly_means(weather.tmin_c[0]) - normals.tmin_c).max() < EXACT
    assert np.abs(monthly_means(weather.rain_mm[0]) * days_in_month() - normals.rain_mm).max() < EXACT
    assert np.abs(monthly_means(weather.radiation_mj[0]) - monthly_radiation(place)[0]).max() < EXACT
    assert (weather.tmax_c > weather.tmin_c).all()
    assert (weather.et0_mm >= 0).all()
    assert weather.tmean_c == pytest.approx((weather.tmax_c + weather.tmin_c) / 2)


@each("name", reference_places()[::10])
def test_weather_of_the_average_year_keeps_the_normals(name: str) -> None:
    keeps_the_normals(name)


@pytest.mark.slow
@each("name", reference_places())
def test_weather_of_the_average_year_keeps_the_normals_everywhere(name: str) -> None:
    keeps_the_normals(name)
