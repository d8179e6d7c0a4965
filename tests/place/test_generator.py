"""Stochastic years: unbiased means, share of wet days, spread; seeds; southern and polar places."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.place import daily_from_normals, library, place_from_normals, reference_place, weather_years
from mixcraft.place.climate import daily_climate, monthly_wet_days
from mixcraft.place.generator import correlated_noise, latent_mean, noise_matrices, wet_states
from mixcraft.place.monthly import curve_for_dates, month_of_day, monthly_means
from mixcraft.place.near import spread_ratio
from mixcraft.place.spread import about_the_season, default_temperature_sd, temperature_spread

YEARS = 400
STANDARD_ERRORS = 4.5  # some 240 comparisons: one in 600 000 would go past by chance
ROUNDING_C = 0.03
SPREAD = 0.06  # of a standard deviation, over a month's days of 400 years, and what the cuts take

PLACES = ("Oxford", "Wageningen", "Champion", "Hyderabad", "Tunis", "Pergamino")


def by_month(values: np.ndarray) -> np.ndarray:
    """Monthly means (Y, 12)."""
    return monthly_means(values)


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize("series", ["tmax_c", "tmin_c", "tmean_c", "radiation_mj", "rain_mm"])
def test_means_are_those_of_the_normals(name: str, series: str) -> None:
    place = reference_place(name)
    years = by_month(getattr(weather_years(place, "2023-01-01", 365, YEARS, seed=7), series))
    wanted = by_month(getattr(daily_from_normals(place, "2023-01-01", 365), series))[0]
    error = years.std(axis=0, ddof=1) / np.sqrt(YEARS)
    assert (np.abs(years.mean(axis=0) - wanted) <= STANDARD_ERRORS * error + ROUNDING_C).all()


@pytest.mark.parametrize("name", PLACES)
def test_share_of_wet_days_is_that_of_the_normals(name: str) -> None:
    place = reference_place(name)
    wet = weather_years(place, "2023-01-01", 365, YEARS, seed=7).rain_mm > 0
    days = np.stack([wet[:, month_of_day() == m].sum(axis=1) for m in range(12)], axis=1)
    error = days.std(axis=0, ddof=1) / np.sqrt(YEARS)
    # a chain carries the month before over its edge, by a day's share at most
    assert (np.abs(days.mean(axis=0) - monthly_wet_days(place.normals)) <= STANDARD_ERRORS * error + 0.15).all()


@pytest.mark.parametrize("name", PLACES)
def test_wet_days_have_a_millimetre_or_more(name: str) -> None:
    place = reference_place(name)
    rain = weather_years(place, "2023-01-01", 365, 50, seed=7).rain_mm
    climate = daily_climate(place, "2023-01-01", 365)
    usual = climate.rain_mm > 2 * climate.wet_share  # over 2 mm a wet day
    falls = np.asarray(rain)[:, usual]
    assert falls[falls > 0].min() >= 1.0 - 1e-12


@pytest.mark.parametrize("name", ["Wageningen", "Champion", "Chiang Mai"])
@pytest.mark.parametrize("which", ["tmax", "tmin"])
def test_spread_is_that_of_the_place(name: str, which: str) -> None:
    place = reference_place(name)
    weather = weather_years(place, "2023-01-01", 365, YEARS, seed=7)
    daily = getattr(weather, f"{which}_c").std(axis=0)
    wanted = curve_for_dates(getattr(place.normals, f"{which}_sd_c"), weather.dates)
    ratio = monthly_means(daily) / monthly_means(wanted)
    assert np.abs(ratio - 1).max() < SPREAD + 0.04  # tmax is held above tmin, which takes from winter spread


def test_days_follow_one_another_as_published() -> None:
    # the residuals' own lag-0 and lag-1 correlations are M0 and M1 of Richardson & Wright 1984
    noise = correlated_noise(np.random.default_rng(1).standard_normal((400, 500, 3)))
    flat = noise[20:].reshape(-1, 3)
    lag0 = np.asarray(np.corrcoef(flat.T))
    assert lag0[0, 1] == pytest.approx(0.633, abs=0.02)
    assert lag0[1, 2] == pytest.approx(-0.193, abs=0.02)
    lag1 = np.corrcoef(noise[21:, :, 0].ravel(), noise[20:-1, :, 0].ravel())[0, 1]
    assert lag1 == pytest.approx(0.621, abs=0.02)
    assert noise[0].std(axis=0) == pytest.approx(np.ones(3), abs=0.12)  # stationary from the first day
    a, b = noise_matrices()
    assert np.abs(np.linalg.eigvals(a)).max() < 1
    assert b[0, 1] == b[0, 2] == b[1, 2] == 0


def test_wet_spells_persist_as_published() -> None:
    # Geng et al. 1986: P(wet after dry) = 0.75 f, P(wet after wet) = 0.25 + 0.75 f
    f = 0.4
    wet = wet_states(np.random.default_rng(2).random((400, 800)), np.full(400, f))
    after_dry = wet[1:][~wet[:-1]].mean()
    after_wet = wet[1:][wet[:-1]].mean()
    assert after_dry == pytest.approx(0.75 * f, abs=0.01)
    assert after_wet == pytest.approx(0.25 + 0.75 * f, abs=0.01)
    assert wet.mean() == pytest.approx(f, abs=0.01)


def test_cut_distribution_keeps_its_mean() -> None:
    target, sd = np.array([0.3, 0.6, 0.93]), np.full(3, 0.2)
    low, high = np.full(3, 0.05), np.ones(3)
    mu = latent_mean(target, sd, low, high)
    draws = mu + sd * np.random.default_rng(4).standard_normal((400_000, 3))
    assert np.clip(draws, low, high).mean(axis=0) == pytest.approx(target, abs=0.002)
    mu = latent_mean(target, sd, low)
    draws = mu + sd * np.random.default_rng(4).standard_normal((400_000, 3))
    assert np.maximum(draws, low).mean(axis=0) == pytest.approx(target, abs=0.002)


def test_same_seed_same_weather_and_longer_begins_with_shorter() -> None:
    place = reference_place("Oxford")
    short = weather_years(place, "2024-03-01", 60, 5, seed=9)
    long = weather_years(place, "2024-03-01", 200, 5, seed=9)
    other = weather_years(place, "2024-03-01", 60, 5, seed=10)
    for series in ("tmax_c", "tmin_c", "radiation_mj", "rain_mm"):
        assert np.array_equal(getattr(short, series), getattr(weather_years(place, "2024-03-01", 60, 5, 9), series))
        assert np.abs(getattr(long, series)[:, :60] - getattr(short, series)).max() < 1e-9
        assert not np.array_equal(getattr(short, series), getattr(other, series))


def test_physical_limits_hold_on_every_day() -> None:
    for name in ("Lerwick", "Winnipeg", "Tillabéri", "Alkali Lake"):
        weather = weather_years(reference_place(name), "2023-07-01", 400, 50, seed=3)
        assert (weather.tmax_c > weather.tmin_c).all()
        assert (weather.radiation_mj >= 0).all()
        assert (weather.rain_mm >= 0).all()
        assert np.isfinite(weather.et0_mm).all()


def test_polar_night_and_dry_season_do_no_harm() -> None:
    place = place_from_normals(
        "Far north",
        71.0,
        25.0,
        10.0,
        tmax_c=[-3, -3, -1, 2, 6, 11, 14, 13, 9, 4, 1, -2],
        tmin_c=[-9, -9, -7, -4, 1, 6, 9, 8, 5, 0, -4, -7],
        rain_mm=[50] * 6 + [0] * 6,
    )
    weather = weather_years(place, "2023-01-01", 365, 20)
    assert np.isfinite(weather.et0_mm).all()
    assert weather.radiation_mj[:, :5].max() == 0
    assert (weather.rain_mm[:, 200:360] == 0).all()
    assert weather.daylength_h.min() == 0
    assert weather.daylength_h.max() == 24


def test_published_spread_does_not_count_the_season_twice() -> None:
    """Within a month the values of a year spread as published, the season's rise included (Richardson 1981 adds it)."""
    place = reference_place("Chernihiv")
    published = np.array(library.record("chernihiv")["series"]["tmin_sd_c"]["values"])
    minima = weather_years(place, "2023-01-01", 365, YEARS, seed=7).tmin_c
    within = np.array([minima[:, month_of_day() == month].std() for month in range(12)])
    assert np.abs(within / published - 1).max() < SPREAD + 0.04  # tmax is held above tmin, which takes from winter spread
    spread = temperature_spread(place).tmin_c
    assert spread == pytest.approx(about_the_season(published, place.normals.tmin_c))
    assert (spread[[2, 3, 9, 10]] < 0.97 * published[[2, 3, 9, 10]]).all()  # spring and autumn, when a month warms by 7 C


def test_spread_is_taken_from_places_near_by_where_it_is_not_stated() -> None:
    guess = default_temperature_sd(reference_place("Oxford").normals)[1]
    own = temperature_spread(reference_place("Oxford")).tmin_c
    assert own / guess == pytest.approx(spread_ratio(51.76, -1.26, 63.0))
    assert (own / guess).mean() > 1.05  # the annual range alone makes British minima too calm
    mediterranean = reference_place("Rome")
    assert temperature_spread(mediterranean).tmin_c.mean() < 0.9 * default_temperature_sd(mediterranean.normals)[1].mean()


def test_default_spread_grows_with_the_seasons() -> None:
    tropical = default_temperature_sd(reference_place("Palmira").normals)[0]
    continental = default_temperature_sd(reference_place("Champion").normals)[0]
    assert tropical.max() < 2 < continental.min()


@pytest.mark.parametrize(("days", "years", "message"), [(0, 1, "at least 1 day"), (10, 0, "at least 1 year")])
def test_nothing_to_make_is_refused(days: int, years: int, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        weather_years(reference_place("Oxford"), "2024-01-01", days, years)


def test_bad_day_is_refused() -> None:
    with pytest.raises(ValueError, match=r"'spring' is not a day; write it as YYYY-MM-DD"):
        daily_from_normals(reference_place("Oxford"), "spring", 10)
