"""Sun and radiation: daily sums after FAO-56, day length, position of the sun, diffuse share.

All functions are vectorised: numbers or arrays that broadcast go in, arrays (or numbers) come out.
The directions that the light model samples live in :mod:`mixcraft.place.sky` and are offered here too.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray
from mixcraft.place.sky import day_beam_samples, sky_directions
from mixcraft.place.solar_position import (
    almanac_declination_rad,
    sun_position,
    sun_position_utc,
)

__all__ = [
    "civil_daylength_hours",
    "clear_sky_radiation",
    "day_beam_samples",
    "daylight_hours",
    "declination_rad",
    "diffuse_fraction_daily_spitters86",
    "diffuse_fraction_hourly_spitters86",
    "extraterrestrial_radiation",
    "hargreaves_radiation",
    "inverse_relative_distance",
    "par",
    "photoperiod_hours",
    "sky_directions",
    "solar_radiation_from_sunshine",
    "sun_position",
    "sun_position_utc",
    "sunset_hour_angle",
]


def _year_angle(day_of_year: npt.ArrayLike) -> FloatArray:
    """Angle of the year 2 pi J / 365 [rad] in FAO-56 Eqs 23 and 24."""
    return np.asarray(2 * np.pi * np.asarray(day_of_year, np.float64) / constant("days_per_year_fao"))


def inverse_relative_distance(day_of_year: npt.ArrayLike) -> FloatArray:
    """Inverse relative distance Earth-Sun dr [-] (FAO-56 Eq. 23). ``day_of_year`` 1-366."""
    return np.asarray(1 + constant("earth_distance_amplitude") * np.cos(_year_angle(day_of_year)))


def declination_rad(day_of_year: npt.ArrayLike) -> FloatArray:
    """Solar declination [rad] (FAO-56 Eq. 24), good to about 0.01 rad. ``day_of_year`` 1-366."""
    return np.asarray(constant("declination_amplitude") * np.sin(_year_angle(day_of_year) - constant("declination_phase")))


def _hour_angle(latitude_rad: FloatArray, declination: FloatArray, altitude_rad: float = 0.0) -> FloatArray:
    """Hour angle [rad] at which the sun stands at an altitude; 0 in polar night, pi in polar day."""
    cosine = (np.sin(altitude_rad) - np.sin(latitude_rad) * np.sin(declination)) / np.maximum(
        np.cos(latitude_rad) * np.cos(declination), np.finfo(np.float64).tiny
    )
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def sunset_hour_angle(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Sunset hour angle ws [rad] (FAO-56 Eq. 25); 0 when the sun stays down, pi when it stays up."""
    return _hour_angle(np.deg2rad(np.asarray(latitude_deg, dtype=np.float64)), declination_rad(day_of_year))


def extraterrestrial_radiation(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Daily radiation above the atmosphere Ra [MJ/(m2 d)] (FAO-56 Eq. 21).

    ``latitude_deg`` north positive [deg], ``day_of_year`` 1-366; the two broadcast.
    FAO-56 gives the tables it makes as good to 0.1 MJ/(m2 d) outside the polar circles.

    >>> round(float(extraterrestrial_radiation(-20, 246)), 1)  # FAO-56 example 8
    32.2
    """
    phi = np.deg2rad(np.asarray(latitude_deg, dtype=np.float64))
    delta = declination_rad(day_of_year)
    ws = _hour_angle(phi, delta)
    lit = ws * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(ws)
    ra = constant("minutes_per_day") / np.pi * constant("solar_constant") * inverse_relative_distance(day_of_year) * lit
    return np.asarray(np.maximum(ra, 0.0))


def daylight_hours(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Daylight hours N [h] (FAO-56 Eq. 34): sun centre above a flat horizon, without refraction.

    >>> round(float(daylight_hours(-20, 246)), 1)  # FAO-56 example 9
    11.7
    """
    return np.asarray(constant("hours_per_day") / np.pi * sunset_hour_angle(latitude_deg, day_of_year))


def photoperiod_hours(
    latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike, sun_altitude_deg: float | None = None
) -> FloatArray:
    """Hours of the day that the sun centre is above an altitude [h].

    ``sun_altitude_deg`` defaults to -0.833, sunrise to sunset with refraction, which is what almanacs print.
    Uses the almanac declination of an average year; within 2 minutes of almanacs up to 60 degrees.
    """
    altitude = constant("altitude_sunrise") if sun_altitude_deg is None else sun_altitude_deg
    phi = np.deg2rad(np.asarray(latitude_deg, dtype=np.float64))
    ws = _hour_angle(phi, almanac_declination_rad(day_of_year), float(np.deg2rad(altitude)))
    return np.asarray(constant("hours_per_day") / np.pi * ws)


def civil_daylength_hours(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Day length with civil twilight [h]: sun centre above -6 degrees, as sensitive crops see it."""
    return photoperiod_hours(latitude_deg, day_of_year, constant("altitude_civil_twilight"))


def solar_radiation_from_sunshine(sunshine_h: npt.ArrayLike, daylight_h: npt.ArrayLike, ra: npt.ArrayLike) -> FloatArray:
    """Solar radiation Rs [MJ/(m2 d)] from hours of bright sunshine (Angstrom, FAO-56 Eq. 35).

    ``sunshine_h`` n and ``daylight_h`` N [h]; ``ra`` [MJ/(m2 d)]. Without local coefficients good to about
    10 %.

    >>> round(float(solar_radiation_from_sunshine(7.1, 10.9, 25.1)), 2)  # FAO-56 example 10
    14.45
    """
    n, day, above = (np.asarray(x, dtype=np.float64) for x in (sunshine_h, daylight_h, ra))
    share = np.clip(np.divide(n, day, out=np.zeros(np.broadcast(n, day).shape), where=day > 0), 0.0, 1.0)
    return np.asarray((constant("angstrom_a") + constant("angstrom_b") * share) * above)


def clear_sky_radiation(ra: npt.ArrayLike, elevation_m: npt.ArrayLike = 0.0) -> FloatArray:
    """Clear-sky radiation Rso [MJ/(m2 d)] (FAO-56 Eq. 37) from Ra [MJ/(m2 d)] and elevation [m]."""
    share = constant("clear_sky_base") + constant("clear_sky_per_metre") * np.asarray(elevation_m, np.float64)
    return np.asarray(share * np.asarray(ra, dtype=np.float64))


def hargreaves_radiation(ra: npt.ArrayLike, tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike, *, coastal: bool = False) -> FloatArray:
    """Solar radiation [MJ/(m2 d)] from the daily temperature range (Hargreaves, FAO-56 Eq. 50).

    ``ra`` [MJ/(m2 d)], ``tmax_c``, ``tmin_c`` [C]. Meant for means of several days; not for small islands.
    """
    k = constant("hargreaves_coastal" if coastal else "hargreaves_interior")
    span = np.maximum(np.asarray(tmax_c, dtype=np.float64) - np.asarray(tmin_c, dtype=np.float64), 0.0)
    return np.asarray(k * np.sqrt(span) * np.asarray(ra, dtype=np.float64))


def par(rs: npt.ArrayLike) -> FloatArray:
    """Photosynthetically active radiation [MJ/(m2 d)], half of solar radiation ``rs`` [MJ/(m2 d)]."""
    return np.asarray(constant("par_share") * np.asarray(rs, dtype=np.float64))


def _transmission(rs: npt.ArrayLike, ra: npt.ArrayLike) -> FloatArray:
    below, above = np.broadcast_arrays(np.asarray(rs, dtype=np.float64), np.asarray(ra, dtype=np.float64))
    return np.asarray(np.divide(below, above, out=np.zeros(below.shape), where=above > 0))


def diffuse_fraction_daily_spitters86(rs: npt.ArrayLike, ra: npt.ArrayLike) -> FloatArray:
    """Diffuse share of daily global radiation [-] from Rs and Ra (same unit).

    Spitters, Toussaint & Goudriaan 1986. Where Ra is zero the share is 1.
    """
    t = _transmission(rs, ra)
    t1, t2, t3 = (constant(f"spitters_daily_t{i}") for i in (1, 2, 3))
    bent = 1 - constant("spitters_daily_quadratic") * (t - t1) ** 2
    straight = constant("spitters_daily_intercept") - constant("spitters_daily_slope") * t
    clear: Any = constant("spitters_daily_clear")
    return np.asarray(np.select([t < t1, t < t2, t < t3], [np.ones_like(t), bent, straight], clear))


def diffuse_fraction_hourly_spitters86(rs: npt.ArrayLike, ra: npt.ArrayLike, sun_elevation_deg: npt.ArrayLike) -> FloatArray:
    """Diffuse share of hourly global radiation [-] from Rs and Ra of the hour and the sun's elevation [deg].

    Spitters, Toussaint & Goudriaan 1986.
    """
    t = _transmission(rs, ra)
    sin_beta = np.sin(np.deg2rad(np.asarray(sun_elevation_deg, dtype=np.float64)))
    floor = (
        constant("spitters_hourly_r0") + constant("spitters_hourly_r1") * sin_beta + constant("spitters_hourly_r2") * sin_beta**2
    )
    t1, t2 = constant("spitters_hourly_t1"), constant("spitters_hourly_t2")
    bent = 1 - constant("spitters_hourly_quadratic") * (t - t1) ** 2
    straight = constant("spitters_hourly_intercept") - constant("spitters_hourly_slope") * t
    share = np.select([t <= t1, t <= t2], [np.ones_like(t), bent], np.maximum(straight, floor))
    return np.asarray(share)
