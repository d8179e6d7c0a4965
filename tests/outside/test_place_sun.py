"""Sun and radiation against FAO-56, pvlib, astral, and published regimes of the diffuse share."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import astral
import astral.sun
import numpy as np
import pandas as pd
import pvlib  # type: ignore[import-untyped]
import pytest
from looping import each

from mixcraft.place import sun

# FAO-56 prints its examples with these last digits
LAST_DIGIT_RA = 0.05
LAST_DIGIT_HOURS = 0.05
LAST_DIGIT_1000TH = 0.0005
# the annex table is for the middle of the month and the day is not stated
ANNEX_RA = 0.15
# pvlib's SPA is good to 0.0003 degrees, the almanac's short formulae to 0.01 degrees (Michalsky 1988)
TENTH_OF_A_DEGREE = 0.1
FIFTIETH_OF_A_DEGREE = 0.02
# almanacs print sunrise and sunset to the minute; an average year moves the date by up to 0.4 days
TWO_MINUTES = 2 / 60
FIVE_MINUTES = 5 / 60
TWELVE_MINUTES = 12 / 60  # at the polar circle the sun grazes the horizon

LATITUDES = (0.0, 35.0, 52.0, 60.0, 66.0, -35.0)
YEAR = 2023  # the middle of a leap cycle


def fao(item: str, quantity: str) -> float:
    """A value of tests/outside/data/place_fao56.csv (Allen et al. 1998, with example or table beside it)."""
    path = Path(__file__).parent / "data" / "place_fao56.csv"
    with path.open(encoding="utf-8", newline="") as handle:
        found = [r for r in csv.DictReader(handle) if r["item"].startswith(item) and r["quantity"].startswith(quantity)]
    assert found, (item, quantity)
    return float(found[0]["value"])


def annex_cells() -> list[tuple[float, int, float]]:
    """Latitude, month 1-12 and Ra of the cells of FAO-56 Annex 2 Table 2.6 that could be read."""
    path = Path(__file__).parent / "data" / "place_fao56.csv"
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    cells = []
    with path.open(encoding="utf-8", newline="") as handle:
        for row in csv.DictReader(handle):
            if row["item"] == "Annex table 2.6":
                _, _, latitude, month = row["quantity"].split()
                cells.append((float(latitude.rstrip("N")), months.index(month) + 1, float(row["value"])))
    return cells


def test_fao56_example_8_extraterrestrial_radiation() -> None:
    # FAO-56 example 8: 20 degrees south, 3 September (J = 246)
    assert sun.inverse_relative_distance(246) == pytest.approx(fao("example 8", "inverse relative"), abs=0.0005)
    assert sun.declination_rad(246) == pytest.approx(fao("example 8", "solar declination"), abs=LAST_DIGIT_1000TH)
    assert sun.sunset_hour_angle(-20, 246) == pytest.approx(fao("example 8", "sunset hour angle"), abs=0.001)
    assert sun.extraterrestrial_radiation(-20, 246) == pytest.approx(
        fao("example 8", "extraterrestrial radiation"), abs=LAST_DIGIT_RA
    )


def test_fao56_example_9_daylight_hours() -> None:
    assert sun.daylight_hours(-20, 246) == pytest.approx(fao("example 9", "daylight hours N"), abs=LAST_DIGIT_HOURS)
    assert sun.daylight_hours(-20, 246) == pytest.approx(fao("example 9", "daylight hours N (unrounded)"), abs=LAST_DIGIT_1000TH)


def test_fao56_example_10_radiation_from_sunshine() -> None:
    # Rio de Janeiro in May: N 10.9 h, n 7.1 h, Ra 25.1
    assert sun.solar_radiation_from_sunshine(7.1, 10.9, 25.1) == pytest.approx(fao("example 10", "solar radiation Rs"), abs=0.01)


def test_fao56_example_15_radiation_from_temperature() -> None:
    # Lyon in July: 45.72 N, tmax 26.6, tmin 14.8 C, interior (FAO-56 example 15); Ra 40.6
    assert sun.hargreaves_radiation(40.6, 26.6, 14.8) == pytest.approx(fao("example 15", "solar radiation"), abs=0.05)


def test_fao56_example_18_chain_of_the_day() -> None:
    # Uccle, 6 July (J = 187), 50.8 N, 100 m
    ra = sun.extraterrestrial_radiation(50.80, 187)
    assert ra == pytest.approx(fao("example 18", "intermediate Ra"), abs=LAST_DIGIT_RA)
    assert sun.daylight_hours(50.80, 187) == pytest.approx(fao("example 18", "intermediate N"), abs=LAST_DIGIT_HOURS)
    assert sun.clear_sky_radiation(ra, 100) == pytest.approx(fao("example 18", "intermediate Rso"), abs=0.1)
    assert sun.solar_radiation_from_sunshine(9.25, 16.1, 41.09) == pytest.approx(
        fao("example 18", "intermediate Rs"), abs=LAST_DIGIT_RA
    )


@each(("latitude", "month", "ra"), annex_cells())
def test_fao56_annex_table_of_ra(latitude: float, month: int, ra: float) -> None:
    middle = (date(2023, month, 15) - date(2023, 1, 1)).days + 1
    assert sun.extraterrestrial_radiation(latitude, middle) == pytest.approx(ra, abs=ANNEX_RA)


def test_daily_ra_against_pvlib() -> None:
    # pvlib get_extra_radiation (Spencer 1971, 1361 W/m2 with the constant given) integrated over SPA positions
    times = pd.date_range(f"{YEAR}-01-01", f"{YEAR}-12-31 23:50", freq="10min", tz="UTC")
    normal = pvlib.irradiance.get_extra_radiation(times, solar_constant=0.0820 / 60 * 1e6, method="spencer")
    for latitude in (-35.0, 0.0, 52.0):
        zenith = pvlib.solarposition.get_solarposition(times, latitude, 0.0)["zenith"]
        flat = normal * np.maximum(np.cos(np.deg2rad(zenith)), 0.0)
        daily = flat.resample("1D").mean().to_numpy() * 86400 / 1e6
        ours = sun.extraterrestrial_radiation(latitude, np.arange(1, 366))
        # FAO-56 Eq. 24 is one sine, as Cooper 1969, which Spencer 1971 puts at up to 1 degree off: 1 MJ/(m2 d)
        assert np.abs(ours - daily).max() < 1.0, latitude
        # one sine makes both half-years equally long, which they are not: up to 1.5 % of the year's Ra
        assert np.abs(ours.mean() / daily.mean() - 1) < 0.015


@pytest.mark.parametrize("latitude", LATITUDES)
def test_day_length_against_pvlib(latitude: float) -> None:
    noon = pd.date_range(f"{YEAR}-01-01 12:00", f"{YEAR}-12-31 12:00", freq="5D", tz="UTC")
    table = pvlib.solarposition.sun_rise_set_transit_spa(noon, latitude, 0.0)
    hours = (table["sunset"] - table["sunrise"]).dt.total_seconds().to_numpy() / 3600
    ours = sun.photoperiod_hours(latitude, noon.dayofyear.to_numpy())
    known = np.isfinite(hours) & (hours > 0)
    assert known.sum() > 60
    limit = TWO_MINUTES if abs(latitude) < 58 else FIVE_MINUTES if abs(latitude) < 65 else TWELVE_MINUTES
    assert np.abs(hours - ours)[known].max() < limit


@pytest.mark.parametrize("latitude", LATITUDES)
def test_day_length_and_civil_twilight_against_astral(latitude: float) -> None:
    observer = astral.Observer(latitude, 0.0, 0.0)
    limit = TWO_MINUTES if abs(latitude) < 58 else FIVE_MINUTES if abs(latitude) < 65 else TWELVE_MINUTES
    compared = 0
    for day_of_year in range(1, 366, 7):
        day = date.fromordinal(date(YEAR, 1, 1).toordinal() + day_of_year - 1)
        try:
            sunrise, sunset = astral.sun.daylight(observer, day)
            dawn = astral.sun.dawn(observer, day, depression=6)
            dusk = astral.sun.dusk(observer, day, depression=6)
        except ValueError:  # the sun does not reach that depression on this day
            continue
        light = (sunset - sunrise).total_seconds() / 3600
        civil = (dusk - dawn).total_seconds() / 3600
        assert sun.photoperiod_hours(latitude, day_of_year) == pytest.approx(light, abs=limit)
        if 0 < civil < 23:  # astral's dawn of a night without darkness falls on the day before
            grazing = TWELVE_MINUTES if civil > 21 else limit
            assert sun.civil_daylength_hours(latitude, day_of_year) == pytest.approx(civil, abs=grazing)
        compared += 1
    assert compared >= 38


def test_position_in_universal_time_against_pvlib() -> None:
    times = pd.date_range("2020-01-01", "2029-12-31", freq="1693min", tz="UTC")
    for latitude, longitude in ((52.0, 5.0), (-35.0, 149.0), (0.0, -78.0), (66.0, 25.0)):
        spa = pvlib.solarposition.get_solarposition(times, latitude, longitude)
        azimuth, elevation = sun.sun_position_utc(latitude, longitude, times.tz_localize(None).to_numpy())
        assert np.abs(elevation - spa["elevation"]).max() < FIFTIETH_OF_A_DEGREE
        turn = (azimuth - spa["azimuth"].to_numpy() + 180) % 360 - 180
        across = np.abs(turn) * np.cos(np.deg2rad(elevation))  # the azimuth is loose near the zenith
        assert across.max() < FIFTIETH_OF_A_DEGREE


@pytest.mark.parametrize("latitude", LATITUDES)
def test_position_in_solar_time_against_pvlib(latitude: float) -> None:
    times = pd.date_range(f"{YEAR}-01-01", f"{YEAR}-12-31", freq="397min", tz="UTC")
    spa = pvlib.solarposition.get_solarposition(times, latitude, 0.0)
    hour_angle = pvlib.solarposition.hour_angle(times, 0.0, spa["equation_of_time"])
    solar_hour = 12 + np.asarray(hour_angle) / 15
    day_of_year = times.dayofyear.to_numpy()
    for year in (YEAR, None):
        azimuth, elevation = sun.sun_position(latitude, day_of_year, solar_hour, year=year)
        assert np.abs(elevation - spa["elevation"]).max() < TENTH_OF_A_DEGREE
        turn = (azimuth - spa["azimuth"].to_numpy() + 180) % 360 - 180
        assert (np.abs(turn) * np.cos(np.deg2rad(elevation))).max() < TENTH_OF_A_DEGREE


def test_sun_stands_south_at_noon_in_the_north_and_north_in_the_south() -> None:
    assert sun.sun_position(52, 80, 12.0)[0] == pytest.approx(180)
    assert float(sun.sun_position(-35, 80, 12.0)[0]) % 360 == pytest.approx(0, abs=1e-6)
    assert 85 < float(sun.sun_position(52, 80, 7.0)[0]) < 180  # in the east in the morning


def test_daily_diffuse_share_has_the_published_regimes() -> None:
    # Spitters, Toussaint & Goudriaan 1986, Eq. 2 and Fig. 2: overcast 1, clear 0.23; at t = 0.5, 1.33 - 1.46 t = 0.60
    share = sun.diffuse_fraction_daily_spitters86
    assert share(0.05, 1.0) == 1.0
    assert share(0.20, 1.0) == pytest.approx(1 - 2.3 * 0.13**2)
    assert share(0.50, 1.0) == pytest.approx(0.60)
    assert share(0.80, 1.0) == pytest.approx(0.23)
    assert share(0.0, 0.0) == 1.0
    t = np.linspace(0, 1, 400)
    assert (np.diff(share(t, 1.0)) <= 1e-12).all()
    # the published pieces meet to within 0.01
    assert np.abs(np.diff(share(t, 1.0))).max() < 0.02


def test_hourly_diffuse_share_has_the_published_regimes() -> None:
    # Spitters et al. 1986, Eq. 20: at 45 degrees R = 0.847 - 1.61 s + 1.04 s^2 = 0.229
    share = sun.diffuse_fraction_hourly_spitters86
    s = np.sin(np.pi / 4)
    assert share(0.2, 1.0, 45) == 1.0
    assert share(0.30, 1.0, 45) == pytest.approx(1 - 6.4 * 0.08**2)
    assert share(0.50, 1.0, 45) == pytest.approx(1.47 - 1.66 * 0.5)
    assert share(0.95, 1.0, 45) == pytest.approx(0.847 - 1.61 * s + 1.04 * s**2)


def test_diffuse_share_lies_near_another_published_model() -> None:
    # Erbs, Klein & Duffie 1982 as in pvlib, hourly at a high sun: the two models differ by up to about 0.1
    ghi = np.linspace(100, 1000, 30)
    when = pd.DatetimeIndex(["2023-06-21 12:00"] * ghi.size, tz="UTC")
    erbs = pvlib.irradiance.erbs(ghi, np.full(ghi.size, 30.0), when)
    top = 1367 * float(sun.inverse_relative_distance(172)) * np.cos(np.deg2rad(30))
    ours = sun.diffuse_fraction_hourly_spitters86(ghi, top, 60.0)
    assert np.abs(ours - erbs["dhi"] / ghi).max() < 0.15


def test_par_is_half_of_global_radiation() -> None:
    # Spitters et al. 1986: 50 % of global radiation is photosynthetically active
    assert sun.par(18.0) == pytest.approx(9.0)
