"""How far daily temperatures spread about the course of the season.

A place that states its own spread has it. Elsewhere the annual range gives a first guess, which is too wide in east Asia,
round the Mediterranean and in California and too narrow in the south-east of North America, in South America and in Britain;
the ratio to it that the nearest reference places have mends that (:mod:`mixcraft.place.near`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.place._constants import constant
from mixcraft.place.climate_key import ClimateKey
from mixcraft.place.model import FloatArray, Normals, Place
from mixcraft.place.near import spread_ratio
from mixcraft.place.stated import fitted_minima


@dataclass(frozen=True)
class Spread:
    """Standard deviations about the course of the season by month, each (12,) [C]."""

    tmax_c: FloatArray
    tmin_c: FloatArray


def default_temperature_sd(normals: Normals) -> tuple[FloatArray, FloatArray]:
    """Standard deviations (12,) [C] of daily tmax and tmin within a month, where the place gives none.

    They grow with the annual range of the monthly means (continental climates) and towards the cold season;
    fitted to daily series of 15 stations from the equator to 52 degrees, good to about 0.8 C.
    """
    cold = normals.tmean_c.max() - normals.tmean_c
    tmax, tmin = (
        constant(f"{name}_sd_base") + constant(f"{name}_sd_range") * cold.max() + constant(f"{name}_sd_cold") * cold
        for name in ("tmax", "tmin")
    )
    return tmax, tmin


def about_the_season(sd_c: FloatArray, mean_c: FloatArray) -> FloatArray:
    """Standard deviation about the season (12,) [C] from that within a month, which is what tables print.

    Within a month the mean ``mean_c`` (12,) itself rises or falls; a straight rise by r adds r^2 / 12 to the variance.
    """
    rise = (np.roll(mean_c, -1) - np.roll(mean_c, 1)) / 2
    least = constant("season_share_max") * sd_c
    return np.asarray(np.sqrt(np.maximum(sd_c**2 - rise**2 / 12, least**2)))


def plain_spread(place: Place) -> Spread:
    """The spread of a place before any frost date that it states: its own, else the guess times the ratio round about."""
    normals = place.normals
    guess_max, guess_min = default_temperature_sd(normals)
    if normals.tmin_sd_c is None:
        guess_min = guess_min * spread_ratio(place.latitude_deg, place.longitude_deg, place.elevation_m)
    return Spread(
        tmax_c=guess_max if normals.tmax_sd_c is None else normals.tmax_sd_c,
        tmin_c=guess_min if normals.tmin_sd_c is None else normals.tmin_sd_c,
    )


def temperature_spread(place: Place) -> Spread:
    """The spread of daily maxima and minima that weather and frost dates of a place are made with.

    Where the place states frost dates, that of the minima is widened or narrowed in spring and in autumn until they fall so.
    """
    spread = plain_spread(place)
    if place.last_spring_frost is None and place.first_autumn_frost is None:
        return spread
    return Spread(spread.tmax_c, fitted_minima(ClimateKey(place), tuple(spread.tmin_c.tolist())))
