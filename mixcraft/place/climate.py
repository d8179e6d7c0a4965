"""Daily climate of a place: smooth curves from its normals, with what they lack derived."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.place._constants import constant
from mixcraft.place.et0 import (
    dew_point,
    et0_penman_monteith,
    vapour_pressure_from_mean_humidity,
    vapour_pressure_from_tmin,
)
from mixcraft.place.model import FloatArray, Normals, Place
from mixcraft.place.monthly import curve_for_dates, month_of_day, monthly_means
from mixcraft.place.series import DateArray, Day, Weather, date_range, day_of_year, daylength
from mixcraft.place.sun import (
    clear_sky_radiation,
    daylight_hours,
    extraterrestrial_radiation,
    hargreaves_radiation,
    solar_radiation_from_sunshine,
)

_YEAR_DAYS = np.arange(1, 366)


def days_in_month() -> FloatArray:
    """Days of the months of a common year (12,)."""
    return np.bincount(month_of_day()).astype(np.float64)


def monthly_radiation(place: Place) -> tuple[FloatArray, str]:
    """Mean global radiation by month (12,) [MJ/(m2 d)] and how it was had.

    Measured radiation first, then sunshine (FAO-56 Eq. 35), else the temperature range (Eq. 50).
    """
    normals = place.normals
    if normals.radiation_mj is not None:
        return normals.radiation_mj, "radiation normals"
    ra = monthly_means(extraterrestrial_radiation(place.latitude_deg, _YEAR_DAYS))
    if normals.sunshine_h_per_day is not None:
        day = monthly_means(daylight_hours(place.latitude_deg, _YEAR_DAYS))
        return solar_radiation_from_sunshine(normals.sunshine_h_per_day, day, ra), "sunshine normals, FAO-56 Eq. 35"
    guess = hargreaves_radiation(ra, normals.tmax_c, normals.tmin_c, coastal=place.coastal)
    most = constant("clearness_mean_max") * clear_sky_radiation(ra, place.elevation_m)
    return np.minimum(guess, most), "temperature range, FAO-56 Eq. 50"


def monthly_wet_days(normals: Normals) -> FloatArray:
    """Wet days by month (12,) [d]; where unknown, from the square root of the rain."""
    if normals.wet_days is not None:
        days = normals.wet_days
    else:
        days = constant("wet_days_per_root_rain") * np.sqrt(normals.rain_mm)
    return np.minimum(days, constant("wet_share_max") * days_in_month())


def dew_point_depression(normals: Normals) -> FloatArray:
    """How far the dew point lies under the minimum temperature by month (12,) [C]; 0 without humidity."""
    if normals.humidity_pct is None:
        return np.zeros_like(normals.tmin_c)
    ea = vapour_pressure_from_mean_humidity(normals.tmax_c, normals.tmin_c, np.maximum(normals.humidity_pct, 5.0))
    return np.maximum(normals.tmin_c - dew_point(ea), 0.0)


@dataclass(frozen=True)
class DailyClimate:
    """Smooth daily climate on dates (D,): what the normals say of each day, all arrays (D,)."""

    dates: DateArray
    tmax_c: FloatArray
    tmin_c: FloatArray
    rain_mm: FloatArray
    wet_share: FloatArray
    radiation_mj: FloatArray
    ra_mj: FloatArray
    dew_depression_c: FloatArray
    wind_m_s: FloatArray
    daylength_h: FloatArray
    radiation_from: str


def daily_climate(place: Place, start: Day, n_days: int) -> DailyClimate:
    """Daily curves of a place from ``start`` over ``n_days``, each keeping its monthly means exactly."""
    normals = place.normals
    dates = date_range(start, n_days)
    per_month = days_in_month()
    radiation, how = monthly_radiation(place)
    wind = np.full(n_days, constant("wind_default"))
    if normals.wind_m_s is not None:
        wind = curve_for_dates(normals.wind_m_s, dates, lower=0.0)
    return DailyClimate(
        dates=dates,
        tmax_c=curve_for_dates(normals.tmax_c, dates),
        tmin_c=curve_for_dates(normals.tmin_c, dates),
        rain_mm=curve_for_dates(normals.rain_mm / per_month, dates, lower=0.0),
        wet_share=curve_for_dates(monthly_wet_days(normals) / per_month, dates, lower=0.0),
        radiation_mj=curve_for_dates(radiation, dates, lower=0.0),
        ra_mj=extraterrestrial_radiation(place.latitude_deg, day_of_year(dates)),
        dew_depression_c=curve_for_dates(dew_point_depression(normals), dates, lower=0.0),
        wind_m_s=wind,
        daylength_h=daylength(place.latitude_deg, dates),
        radiation_from=how,
    )


def climate_et0(climate: DailyClimate, elevation_m: float, tmax: FloatArray, tmin: FloatArray, rs: FloatArray) -> FloatArray:
    """Penman-Monteith ET0 [mm/d] of daily values (Y, D) with the place's dampness and wind."""
    ea = vapour_pressure_from_tmin(tmin, climate.dew_depression_c)
    return et0_penman_monteith(tmax, tmin, rs, climate.ra_mj, elevation_m, ea_kpa=ea, wind_2m=climate.wind_m_s)


def daily_from_normals(place: Place, start: Day, n_days: int) -> Weather:
    """Smooth weather of an average year, Y = 1: each month keeps its normals exactly.

    ``start`` day (``YYYY-MM-DD``, date or datetime64), ``n_days`` [d]. Every day is damp: rain is spread
    evenly, so use :func:`weather_years` where spells matter. Raises ``ValueError`` for a bad day or number
    of days.
    """
    climate = daily_climate(place, start, n_days)
    tmax, tmin, rs = climate.tmax_c[np.newaxis], climate.tmin_c[np.newaxis], climate.radiation_mj[np.newaxis]
    return Weather(
        dates=climate.dates,
        tmean_c=(tmax + tmin) / 2,
        tmin_c=tmin,
        tmax_c=tmax,
        radiation_mj=rs,
        rain_mm=climate.rain_mm[np.newaxis],
        et0_mm=climate_et0(climate, place.elevation_m, tmax, tmin, rs),
        daylength_h=climate.daylength_h,
        source=f"normals of {place.name}",
        notes=(f"radiation: {climate.radiation_from}",),
    )


def wet_dry_contrast(ra_mj: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean of dry days less that of wet days (D,) [C] for tmax and tmin.

    Wet days are the cooler under a high sun, and the milder under the low sun of a maritime winter.
    """
    lacking = np.maximum(constant("wet_low_sun_ra") - ra_mj, 0.0)
    tmax = constant("tmax_wet_drop") - constant("tmax_wet_low_sun") * lacking
    tmin = -constant("tmin_wet_rise") - constant("tmin_wet_low_sun") * lacking
    return tmax, tmin


def within_states(sd: FloatArray, contrast: FloatArray, f: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Contrast held to the standard deviation, and what the contrast leaves of it within dry or wet days."""
    held = np.clip(contrast, -sd, sd)
    return held, np.sqrt(sd**2 - f * (1 - f) * held**2)
