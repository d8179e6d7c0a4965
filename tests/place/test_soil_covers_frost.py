"""Soil temperature, covers and frost dates: limits, hemispheres, what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.files.constants import QUALITIES
from mixcraft.place import (
    UnknownCover,
    apply_covers,
    cover,
    cover_kinds,
    daily_from_normals,
    frost_dates,
    place_from_normals,
    reference_place,
    reference_places,
    soil_temperature,
    weather_years,
)
from mixcraft.place.series import Weather
from mixcraft.place.soil import annual_wave, response_weights

KINDS = (
    "fleece-light",
    "fleece",
    "fleece-heavy",
    "mesh",
    "low-tunnel",
    "cloche",
    "cold-frame",
    "polytunnel",
    "glasshouse",
    "shade-cloth",
)


def test_surface_is_the_air_and_depth_is_calmer() -> None:
    air = weather_years(reference_place("Oxford"), "2023-01-01", 365, 3).tmean_c
    assert np.array_equal(soil_temperature(air, 0.0), air)
    swings = [np.diff(soil_temperature(air, z), axis=1).std() for z in (0.02, 0.05, 0.1, 0.2)]
    assert swings == sorted(swings, reverse=True)


def test_response_weights_are_a_mean() -> None:
    for depth in (0.02, 0.05, 0.1):
        weights = response_weights(depth, 0.5e-6)
        assert (weights > 0).all()
        # what is missing after 150 days is erf(z / (2 sqrt(a t))), 2.2 % at 10 cm
        assert 0.97 < weights.sum() < 1
    assert response_weights(0.02, 0.5e-6)[0] > response_weights(0.1, 0.5e-6)[0]


def test_short_series_and_known_past_agree_with_the_long_one() -> None:
    place = reference_place("Oxford")
    weather = daily_from_normals(place, "2023-01-01", 365)
    whole = soil_temperature(weather.tmean_c, 0.05)[0]
    wave = annual_wave(place)
    spring = weather.tmean_c[:, 60:180]
    known = soil_temperature(spring, 0.05, dates=weather.dates[60:180], annual=wave)[0]
    assert known == pytest.approx(whole[60:180], abs=0.2)
    alone = soil_temperature(spring, 0.05)[0]
    assert alone[30:] == pytest.approx(whole[90:180], abs=0.6)


def test_annual_wave_lies_in_summer_of_its_hemisphere() -> None:
    assert 180 < annual_wave(reference_place("Oxford")).day_of_maximum < 230
    assert annual_wave(reference_place("Pergamino")).day_of_maximum < 40


@pytest.mark.parametrize(("depth", "kappa"), [(-0.1, None), (0.1, 0.0)])
def test_bad_soil_is_refused(depth: float, kappa: float | None) -> None:
    with pytest.raises(ValueError, match="depth of 0 m or more"):
        soil_temperature(np.zeros((1, 10)), depth, diffusivity=kappa)


def test_wave_without_dates_is_refused() -> None:
    with pytest.raises(ValueError, match="pass dates"):
        soil_temperature(np.zeros((1, 10)), 0.1, annual=annual_wave(reference_place("Oxford")))


def test_covers_are_complete_and_sourced() -> None:
    assert cover_kinds() == KINDS
    for kind in KINDS:
        found = cover(kind)
        assert 0.3 <= found.light <= 0.95
        assert found.height_m > 0.2
        assert len(found.sources) == 5
        assert all(line.split(", ")[-1] in QUALITIES for line in found.sources)


def test_covers_are_found_by_everyday_names() -> None:
    assert cover("Row cover").kind == "fleece"
    assert cover("greenhouse").kind == "glasshouse"
    assert cover("low_tunnel").kind == "low-tunnel"
    with pytest.raises(UnknownCover, match=r"no cover is called 'fleec'; did you mean 'fleece'\?"):
        cover("fleec")


def test_cover_changes_only_its_days() -> None:
    weather = daily_from_normals(reference_place("Oxford"), "2024-03-01", 10)
    days = np.arange(10) < 4
    under = apply_covers(weather, cover("low-tunnel"), days)
    assert np.array_equal(under.tmin_c[:, 4:], weather.tmin_c[:, 4:])
    assert under.tmin_c[:, :4] == pytest.approx(weather.tmin_c[:, :4] + 1.7)
    assert under.tmean_c[:, :4] == pytest.approx((under.tmax_c + under.tmin_c)[:, :4] / 2)
    assert under.radiation_mj[:, :4] == pytest.approx(weather.radiation_mj[:, :4] * 0.8)
    assert (under.rain_mm[:, :4] == 0).all()
    assert (under.et0_mm[:, :4] < weather.et0_mm[:, :4]).all()
    with pytest.raises(ValueError, match="days under cover need shape"):
        apply_covers(weather, cover("mesh"), np.array([True]))


@pytest.mark.parametrize("kind", KINDS)
def test_no_cover_turns_day_and_night_round(kind: str) -> None:
    weather = weather_years(reference_place("Lerwick"), "2024-01-01", 60, 5)
    under = apply_covers(weather, cover(kind), np.ones(60, dtype=bool))
    assert (under.tmax_c >= under.tmin_c).all()


@pytest.mark.parametrize("name", reference_places())
def test_frost_dates_lie_in_the_right_half_of_the_year(name: str) -> None:
    place = reference_place(name)
    dates = frost_dates(place)
    if dates.last_spring is None or dates.first_autumn is None:
        assert dates.frost_share <= 0.97
        return
    last, first = dates.last_spring.median, dates.first_autumn.median
    if place.southern:
        assert 182 < last < 350
        assert 60 < first < 215
    else:
        assert last < 200
        assert first > 200


def test_frost_dates_move_with_the_threshold() -> None:
    place = reference_place("Oxford")
    frost, ground = frost_dates(place), frost_dates(place, threshold_c=3.0)
    assert frost.last_spring is not None
    assert ground.last_spring is not None
    assert frost.last_spring.early <= frost.last_spring.median <= frost.last_spring.late
    assert ground.last_spring.median > frost.last_spring.median


def test_no_frost_and_always_frost() -> None:
    free = frost_dates(reference_place("Palmira"))
    assert free.frost_free
    assert free.last_spring is None
    assert free.first_autumn is None
    cold = place_from_normals("Ice", 75.0, 0.0, 0.0, tmax_c=[-20.0] * 12, tmin_c=[-30.0] * 12, rain_mm=[5.0] * 12)
    assert frost_dates(cold).frost_share == 1.0


def test_weather_of_wrong_shape_is_refused() -> None:
    weather = daily_from_normals(reference_place("Oxford"), "2024-03-01", 10)
    with pytest.raises(ValueError, match="rain_mm of the weather has shape"):
        Weather(
            dates=weather.dates,
            tmean_c=weather.tmean_c,
            tmin_c=weather.tmin_c,
            tmax_c=weather.tmax_c,
            radiation_mj=weather.radiation_mj,
            rain_mm=weather.rain_mm[:, :5],
            et0_mm=weather.et0_mm,
            daylength_h=weather.daylength_h,
        )
