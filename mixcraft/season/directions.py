"""Directions of light for the voxel model: the sun's through the day and the sky's, turned into the bed's own axes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import Weather
from mixcraft.place.series import day_of_year
from mixcraft.place.sun import (
    day_beam_samples,
    diffuse_fraction_daily_spitters86,
    extraterrestrial_radiation,
    sky_directions,
)
from mixcraft.recipe.model import Bed, Slope
from mixcraft.recipe.plan import Plan

from .constants import constant

Floats = NDArray[np.float64]

BEAM_SAMPLES = 7
SKY_ZENITH, SKY_AZIMUTH = 2, 6
"""Directions of the beam through a day, and rings of the sky and directions in each.  An odd number in a ring: no two of them
lie opposite, so that rows, which look the same from both sides, are seen under as many angles as there are directions.  Rows
then get their season's light within 3 %, whichever way they run; one beam or two sky directions less do not do."""
ALIKE = 6
"""Places after the point to which angles are compared."""
TINY = 1e-6
FINE_ZENITH, FINE_AZIMUTH = 12, 24
"""Rings of the sky and directions in each for a sum over the whole sky, of which a slope sees a part."""
LOWEST_DEG = 6.0
"""Light from lower than this is taken to come from this elevation: it carries next to nothing and rays would run for ever."""


@dataclass(frozen=True)
class Directions:
    """Directions (R,): unit vector of travel over the ground in bed axes, elevation as tan and sin, weights summing to 1,
    and where in its cell each direction's rays meet the ground (0..1)."""

    ux: Floats
    uy: Floats
    tan: Floats
    sin: Floats
    weight: Floats
    shift_x: Floats
    shift_y: Floats


def bed_directions(azimuth_deg: Floats, elevation_deg: Floats, weight: Floats, heading_deg: float) -> Directions:
    """Directions of light that comes from compass azimuths and elevations [deg], for a bed of this heading [deg].

    Light travels away from where it comes; x is the heading of the bed, y its left.  Where they meet the ground follows the
    golden-ratio sequence (R2 of Roberts 2018), so that no direction lines up with the grid; two that lie to the left and to the
    right of the meridian alike meet it alike, each seen from its own side, so that a mirrored bed is given mirrored light.
    """
    elevation = np.radians(np.maximum(elevation_deg, LOWEST_DEG))
    travel = np.radians(np.asarray(azimuth_deg) + 180.0 - heading_deg)
    ux, uy = np.cos(travel), -np.sin(travel)
    n, g = _numbers(np.asarray(azimuth_deg), elevation), constant("plastic_number")
    return Directions(
        ux, uy, np.tan(elevation), np.sin(elevation), np.asarray(weight, dtype=float),
        _from_its_side(n / g, ux), _from_its_side(n / g**2, uy),
    )  # fmt: skip


def _numbers(azimuth_deg: Floats, elevation: Floats) -> Floats:
    """Numbers of directions from 1 on; those that lie alike on either side of the meridian have one number."""
    aside = np.abs((azimuth_deg + 180.0) % 360.0 - 180.0)
    known: dict[tuple[float, float], int] = {}
    keys = zip(aside.round(ALIKE).tolist(), elevation.round(ALIKE).tolist(), strict=True)
    return np.array([known.setdefault(key, len(known) + 1) for key in keys], dtype=float)


def _from_its_side(number: Floats, step: Floats) -> Floats:
    """Where in its cell a ray meets the ground, 0..1, counted from the side that it comes from; its middle where it keeps to a
    row of cells."""
    place = (0.5 + number) % 1.0
    along = step.round(ALIKE) == 0.0
    return np.where(along, 0.5, np.where(step > 0.0, place, 1.0 - place))


COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
POINT_DEG = 45.0
"""Angle between two points of the compass."""


def on_slope(azimuth_deg: Floats, elevation_deg: Floats, slope: Slope) -> tuple[Floats, Floats]:
    """Azimuths and elevations [deg] above the surface of a slope, as its own compass has them, of directions given above the
    level; below 0 behind the slope.

    The level is turned about the horizontal across the way downhill, so that a slope that falls away from the pole sees the sky
    of a latitude that is nearer to the equator by its angle.
    """
    falls, tilt = np.radians(POINT_DEG * COMPASS.index(slope.falls)), np.radians(slope.angle_deg)
    around, up = np.radians(azimuth_deg) - falls, np.radians(elevation_deg)
    downhill, across, above = np.cos(up) * np.cos(around), np.cos(up) * np.sin(around), np.sin(up)
    along = downhill * np.cos(tilt) - above * np.sin(tilt)
    high = downhill * np.sin(tilt) + above * np.cos(tilt)
    azimuth = np.degrees(np.arctan2(across, along) + falls) % 360.0
    return np.asarray(azimuth), np.degrees(np.arcsin(np.clip(high, -1.0, 1.0)))


def lit_slope(azimuth_deg: Floats, elevation_deg: Floats, weight: Floats, slope: Slope | None) -> tuple[Floats, Floats, Floats]:
    """Azimuths, elevations and weights of light on a bed's surface: shares of the light on the level, none from behind."""
    if slope is None:
        return azimuth_deg, elevation_deg, weight
    azimuth, elevation = on_slope(azimuth_deg, elevation_deg, slope)
    steeper = np.sin(np.radians(np.maximum(elevation, 0.0))) / np.sin(np.radians(elevation_deg))
    return azimuth, elevation, weight * steeper


@lru_cache(maxsize=4096)
def _slope_gains(latitude_deg: float, day_of_year: int, slope: Slope) -> tuple[float, float]:
    """Beam and diffuse light of a clear and an overcast day on a slope over that on the level."""
    beam = _beam(latitude_deg, day_of_year)
    lit = [float(lit_slope(*one, slope)[2].sum()) for one in (beam, sky_directions(FINE_ZENITH, FINE_AZIMUTH, "overcast"))]
    return lit[0] / max(float(beam[2].sum()), TINY), lit[1]


def slope_light(bed: Bed, weather: Weather, latitude_deg: float) -> Floats | float:
    """Light on the surface of a bed over that on the level, (Y, D); 1 on a level bed.

    Each day's direct and diffuse light by itself (Spitters and others 1986); light that the ground throws back is not counted,
    nor that a slope in the sun is warmer.
    """
    if bed.slope is None:
        return 1.0
    days = day_of_year(weather.dates)
    ra = np.maximum(extraterrestrial_radiation(latitude_deg, days), TINY)
    diffuse = np.asarray(diffuse_fraction_daily_spitters86(weather.radiation_mj, ra))
    beam, scattered = np.array([_slope_gains(latitude_deg, int(day), bed.slope) for day in days]).T
    return np.asarray((1.0 - diffuse) * beam + diffuse * scattered)


def day_directions(latitude_deg: float, day_of_year: float, diffuse: float, bed: Bed) -> Directions:
    """All directions of one day: the beam's with weight 1 - `diffuse`, the sky's (standard overcast) with the rest."""
    return _directions(latitude_deg, day_of_year, diffuse, bed.heading_deg, bed.slope)


@lru_cache(maxsize=256)
def _directions(latitude_deg: float, day_of_year: float, diffuse: float, heading_deg: float, slope: Slope | None) -> Directions:
    azimuth, elevation, weight = _beam(latitude_deg, day_of_year)
    up = weight > 0.0
    sky_azimuth, sky_elevation, sky_weight = sky()
    beam = weight[up] / weight[up].sum() if up.any() else weight[up]
    share = 1.0 if not up.any() else float(diffuse)
    azimuth, elevation = np.concatenate([azimuth[up], sky_azimuth]), np.concatenate([elevation[up], sky_elevation])
    weight = np.concatenate([beam * (1.0 - share), sky_weight * share])
    if slope is not None:
        azimuth, elevation, weight = lit_slope(azimuth, elevation, weight, slope)
        lit = weight > 0.0
        azimuth, elevation, weight = azimuth[lit], elevation[lit], weight[lit] / weight[lit].sum()
    return bed_directions(azimuth, elevation, weight, heading_deg)


@lru_cache(maxsize=512)
def _beam(latitude_deg: float, day_of_year: float) -> tuple[Floats, Floats, Floats]:
    return day_beam_samples(latitude_deg, day_of_year, BEAM_SAMPLES)


@lru_cache(maxsize=1)
def sky() -> tuple[Floats, Floats, Floats]:
    """Azimuths, elevations [deg] and weights of the sky's directions."""
    return sky_directions(SKY_ZENITH, SKY_AZIMUTH, "overcast")


@lru_cache(maxsize=256)
def leaf_projection(k: float) -> float:
    """Projected leaf area per leaf area, G, for which an even canopy of leaf area index 3 passes exp(-3 k) of the sky's light.

    Published extinction coefficients refer to a whole canopy under daylight; a ray needs G = optical depth per leaf area on
    its path.  Solved by bisection over the same sky directions as the model uses.
    """
    _, elevation, weight = sky()
    reference = constant("reference_lai")
    target = np.exp(-k * reference)
    low, high = 0.0, 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        passed = float((weight * np.exp(-middle * reference / np.sin(np.radians(elevation)))).sum())
        low, high = (middle, high) if passed > target else (low, middle)
    return 0.5 * (low + high)


def diffuse_shares(weather: Weather, latitude_deg: float) -> Floats:
    """Diffuse share of each day's light, mean over years, (D,), after Spitters, Toussaint & Goudriaan (1986)."""
    ra = np.maximum(extraterrestrial_radiation(latitude_deg, day_of_year(weather.dates)), 1e-6)
    return np.asarray(diffuse_fraction_daily_spitters86(weather.radiation_mj.mean(axis=0), ra))


def plan_directions(plan: Plan, day: int, diffuse: float) -> Directions:
    """Directions of light on day index `day` of a plan."""
    return day_directions(plan.place.latitude_deg, int(day_of_year(plan.date(day))), diffuse, plan.bed)
