"""Where the sun stands: azimuth and elevation through the day.

The apparent longitude comes from the low-precision formulae of the Astronomical Almanac
(Michalsky 1988), good to 0.01 degrees between 1950 and 2050.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray


def _ecliptic(days: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean longitude [deg], ecliptic longitude [rad], obliquity [rad] for ``days`` since J2000."""
    mean_longitude = constant("mean_longitude_0") + constant("mean_longitude_rate") * days
    g = np.deg2rad(constant("mean_anomaly_0") + constant("mean_anomaly_rate") * days)
    centre = constant("ecliptic_centre_1") * np.sin(g) + constant("ecliptic_centre_2") * np.sin(2 * g)
    obliquity = np.deg2rad(constant("obliquity_0") + constant("obliquity_rate") * days)
    return mean_longitude, np.deg2rad(mean_longitude + centre), obliquity


def _declination(days: FloatArray) -> FloatArray:
    _, longitude, obliquity = _ecliptic(days)
    return np.asarray(np.arcsin(np.sin(obliquity) * np.sin(longitude)))


def _equation_of_time_deg(days: FloatArray) -> FloatArray:
    """Apparent minus mean solar time, as an angle [deg]."""
    mean_longitude, longitude, obliquity = _ecliptic(days)
    right_ascension = np.arctan2(np.cos(obliquity) * np.sin(longitude), np.cos(longitude))
    return np.asarray((mean_longitude - np.rad2deg(right_ascension) + 180.0) % 360.0 - 180.0)


def _days_since_j2000(day_of_year: FloatArray, solar_hour: FloatArray, year: int | None) -> FloatArray:
    if year is None:
        start = constant("mean_year_noon")
    else:
        unix_days = np.datetime64(f"{year:04d}-01-01", "D").astype(np.int64)
        start = float(unix_days) - 1 + constant("unix_epoch_julian") + 0.5 - constant("j2000")
    return np.asarray(start + day_of_year + solar_hour / constant("hours_per_day") - 0.5)


def almanac_declination_rad(
    day_of_year: npt.ArrayLike, solar_hour: npt.ArrayLike = 12.0, *, year: int | None = None
) -> FloatArray:
    """Solar declination [rad]; without ``year`` that of the average year of a leap cycle."""
    day, hour = np.asarray(day_of_year, np.float64), np.asarray(solar_hour, np.float64)
    return _declination(_days_since_j2000(day, hour, year))


def horizontal(latitude_deg: npt.ArrayLike, declination: FloatArray, hour_angle: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Azimuth [deg, clockwise from north] and true elevation [deg] of the sun at a declination and an hour angle [rad]."""
    phi = np.deg2rad(np.asarray(latitude_deg, dtype=np.float64))
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.cos(phi) * np.sin(declination) - np.sin(phi) * np.cos(declination) * np.cos(hour_angle)
    up = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    azimuth = np.rad2deg(np.arctan2(east, north)) % 360.0
    return np.asarray(azimuth), np.asarray(np.rad2deg(np.arcsin(np.clip(up, -1.0, 1.0))))


def sun_position(
    latitude_deg: npt.ArrayLike,
    day_of_year: npt.ArrayLike,
    solar_hour: npt.ArrayLike,
    *,
    year: int | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Azimuth [deg, clockwise from north] and true elevation [deg] of the sun at apparent solar time.

    ``solar_hour`` [h] is 12 when the sun is due south (or north); inputs broadcast. Refraction is left out.
    Without ``year`` the average year of a leap cycle is used: the sun of a particular year may then stand up
    to 0.2 degrees higher or lower near the equinoxes; with ``year`` the result is good to 0.02 degrees.
    """
    day, hour = np.asarray(day_of_year, np.float64), np.asarray(solar_hour, np.float64)
    declination = _declination(_days_since_j2000(day, hour, year))
    hour_angle = np.deg2rad(constant("degrees_per_hour") * (hour - constant("hours_per_day") / 2))
    return horizontal(latitude_deg, declination, np.asarray(hour_angle))


def sun_position_utc(
    latitude_deg: npt.ArrayLike, longitude_deg: npt.ArrayLike, time_utc: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Azimuth [deg, clockwise from north] and true elevation [deg] of the sun at UTC times (datetime64).

    Good to 0.02 degrees between 1950 and 2050. Refraction is left out.
    """
    seconds = np.asarray(time_utc, dtype="datetime64[s]").astype(np.int64) / constant("seconds_per_day")
    days = np.asarray(seconds + constant("unix_epoch_julian") - constant("j2000"))
    mean_angle = (seconds % 1.0) * 360.0 - 180.0 + np.asarray(longitude_deg, dtype=np.float64)
    hour_angle = np.deg2rad(mean_angle + _equation_of_time_deg(days))
    return horizontal(latitude_deg, _declination(days), np.asarray(hour_angle))
