"""Soil temperature, covers and frost dates: limits, hemispheres, what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mixcraft.files.constants import QUALITIES
from mixcraft.place import (
    StatedFrost,
    UnknownCover,
    apply_covers,
    combined,
    cover,
    cover_kinds,
    covers_together,
    daily_from_normals,
    frost_dates,
    ground_frost_dates,
    place_from_normals,
    reference_place,
    reference_places,
    soil_temperature,
    weather_years,
)
from mixcraft.place._data import read_data
from mixcraft.place.monthly import monthly_means
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
        assert len(found.sources) >= 7  # a line for each number
        assert all(line.split(", ")[-1] in QUALITIES for line in found.sources)


def test_covers_are_found_by_everyday_names() -> None:
    assert cover("Row cover").kind == "fleece"
    assert cover("greenhouse").kind == "glasshouse"
    assert cover("low_tunnel").kind == "low-tunnel"
    with pytest.raises(UnknownCover, match=r"no cover is called 'fleec'; did you mean 'fleece'\?"):
        cover("fleec")


@pytest.mark.parametrize("kind", KINDS)
def test_a_number_of_a_cover_lies_in_the_range_of_its_source(kind: str) -> None:
    records = {name: r for name, r in read_data("covers.yaml")[kind].items() if isinstance(r, dict)}
    assert {"min_gain", "mean_gain", "frost_gain", "light"} <= set(records)
    outside = {name: (r["value"], r["range"]) for name, r in records.items() if not r["range"][0] <= r["value"] <= r["range"][1]}
    assert not outside


def test_cover_changes_only_its_days() -> None:
    weather = daily_from_normals(reference_place("Oxford"), "2024-03-01", 10)
    days = np.arange(10) < 4
    under = apply_covers(weather, cover("low-tunnel"), days)
    assert np.array_equal(under.tmin_c[:, 4:], weather.tmin_c[:, 4:])
    assert under.tmin_c[:, :4] == pytest.approx(weather.tmin_c[:, :4] + cover("low-tunnel").min_gain_c)
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


def in_the_wrong_half(name: str) -> bool:
    """Whether a place has its middle spring frost in autumn or the other way round."""
    place = reference_place(name)
    dates = frost_dates(place)
    if dates.last_spring is None or dates.first_autumn is None:
        return dates.frost_share > 0.99
    last, first = dates.last_spring.median, dates.first_autumn.median
    if place.southern:
        return not (170 < last < 366 and (first < 215))
    return not ((last < 215 or last > 330) and (first > 195 or first < 40))


@pytest.mark.slow
def test_frost_dates_lie_in_the_right_half_of_the_year() -> None:
    temperate = [n for n in reference_places() if abs(reference_place(n).latitude_deg) > 25]
    assert [name for name in temperate if in_the_wrong_half(name)] == []


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


def test_ground_frost_comes_later_and_earlier_than_air_frost() -> None:
    for name in ("Oxford", "Minneapolis, MN", "Pergamino"):
        air, ground = frost_dates(reference_place(name)), ground_frost_dates(reference_place(name))
        assert air.last_spring is not None
        assert ground.last_spring is not None
        assert air.first_autumn is not None
        assert ground.first_autumn is not None
        assert 5 < ground.last_spring.median - air.last_spring.median < 45
        assert 5 < air.first_autumn.median - ground.first_autumn.median < 45


def test_stated_frost_dates_are_those_of_the_weather_too() -> None:
    known = replace(reference_place("Oxford"), last_spring_frost=StatedFrost(120), first_autumn_frost=StatedFrost(300, early=285))
    dates, drawn = frost_dates(known), frost_dates(known, years=2000, seed=3)
    assert dates.last_spring is not None
    assert drawn.last_spring is not None
    assert dates.first_autumn is not None
    assert drawn.first_autumn is not None
    assert (dates.last_spring.median, dates.first_autumn.median, dates.first_autumn.early) == (120, 300, 285)
    assert drawn.last_spring.median == pytest.approx(120, abs=2)
    assert drawn.first_autumn.median == pytest.approx(300, abs=2)
    assert dates.last_spring.late == pytest.approx(drawn.last_spring.late, abs=3)
    months = monthly_means(weather_years(known, "2023-01-01", 365, 400).tmin_c)
    assert months.mean(axis=0) == pytest.approx(known.normals.tmin_c, abs=0.4)  # the normals stay


def test_one_stated_date_moves_the_other_half_as_well() -> None:
    place = reference_place("Oxford")
    plain, late = frost_dates(place), frost_dates(replace(place, last_spring_frost=StatedFrost(125)))
    assert plain.first_autumn is not None
    assert late.first_autumn is not None
    assert late.first_autumn.median < plain.first_autumn.median


@pytest.mark.parametrize(("median", "message"), [(200, "within reason"), (300, "other half")])
def test_a_stated_frost_that_cannot_be_is_refused(median: int, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        frost_dates(replace(reference_place("Oxford"), last_spring_frost=StatedFrost(median)))
    with pytest.raises(ValueError, match="day 400, allowed is 1 to 365"):
        StatedFrost(400)


def test_two_covers_are_warmer_and_darker_than_one() -> None:
    # one sheet of film gained 2 C of the mean and 1.5 C of frost, two gained 4 and 3 C (Acta Horticulturae 187, abstract)
    sheet = cover("low-tunnel")
    two = combined([sheet, sheet])
    assert two.min_gain_c == pytest.approx(3.0)
    assert two.mean_gain_c / sheet.mean_gain_c == pytest.approx(4 / 2)
    inside = covers_together(frozenset({"fleece", "polytunnel"}))
    for kind in ("fleece", "polytunnel"):
        assert inside.min_gain_c > cover(kind).min_gain_c
        assert inside.mean_gain_c > cover(kind).mean_gain_c
        assert inside.light < cover(kind).light
        assert inside.height_m <= cover(kind).height_m
    assert inside.light == pytest.approx(cover("fleece").light * cover("polytunnel").light)
    assert inside.rain == 0.0
    assert inside.pests_out
    assert inside.pollinators_out
    assert inside.kind == "fleece under polytunnel"
    assert combined([sheet]) is sheet
    with pytest.raises(ValueError, match="no cover to combine"):
        combined([])
