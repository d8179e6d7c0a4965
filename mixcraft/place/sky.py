"""Directions that light comes from: sample points of the beam through a day, and of the diffuse sky."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray
from mixcraft.place.solar_position import almanac_declination_rad, sun_position

Sky = Literal["uniform", "overcast"]

_HOURS = constant("hours_per_day")
_NO_SUN_ELEVATION_DEG = 1.0


def _air_mass(elevation_deg: FloatArray) -> FloatArray:
    """Relative optical air mass [-] (Kasten & Young 1989)."""
    a, b, c = (constant(f"kasten_young_{i}") for i in "abc")
    low = np.maximum(elevation_deg, 0.0)
    return np.asarray(1.0 / (np.sin(np.deg2rad(low)) + a * (low + b) ** -c))


def day_beam_samples(
    latitude_deg: float, day_of_year: npt.ArrayLike, n: int = 5
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sample directions of the direct beam through a day, by Gauss-Legendre quadrature over solar time.

    ``latitude_deg`` [deg]; ``day_of_year`` a number or an array of shape (D,); ``n`` samples from sunrise to
    sunset. Returns azimuths [deg, clockwise from north], elevations [deg] and weights, each of shape (n,) or
    (D, n). A weight is the share of the day's clear-sky beam energy on the flat that comes from there: quadrature
    weight x sin(elevation) x beam at that air mass; weights sum to 1. On days when the sun does not rise the
    weights are 0 and the elevations a harmless 1 degree. Raises ``ValueError`` when ``n`` is below 1.
    """
    if n < 1:
        raise ValueError(f"a day needs at least 1 beam sample, found {n}")
    nodes, quadrature = np.polynomial.legendre.leggauss(n)
    day = np.asarray(day_of_year, dtype=np.float64)[..., np.newaxis]
    phi, delta = np.deg2rad(latitude_deg), almanac_declination_rad(day)
    cosine = -np.sin(phi) * np.sin(delta) / np.maximum(np.cos(phi) * np.cos(delta), np.finfo(np.float64).tiny)
    half_day = np.arccos(np.clip(cosine, -1.0, 1.0)) * _HOURS / (2 * np.pi)
    azimuth, elevation = sun_position(latitude_deg, day, _HOURS / 2 + nodes * half_day)
    beam = constant("beam_transmittance") ** _air_mass(elevation)
    weight = quadrature * np.maximum(np.sin(np.deg2rad(elevation)), 0.0) * beam * (half_day > 0)
    total = weight.sum(axis=-1, keepdims=True)
    weights = np.divide(weight, total, out=np.zeros_like(weight), where=total > 0)
    lit = (weights > 0) & (elevation > 0)
    return azimuth, np.where(lit, elevation, _NO_SUN_ELEVATION_DEG), weights


def sky_directions(
    n_zenith: int = 3, n_azimuth: int = 6, sky: Sky = "uniform"
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sample directions of the diffuse sky.

    Returns azimuths [deg, clockwise from north], elevations [deg] and weights, each of shape
    (n_zenith * n_azimuth,); weights are shares of the diffuse energy on the flat and sum to 1.
    Elevations are Gauss-Legendre points in sin^2(zenith angle), in which the cosine-weighted uniform sky is flat;
    azimuth rings are turned against one another so that no direction lines up with rows.
    ``sky``: "uniform", or "overcast" for the standard overcast sky of Moon & Spencer 1942, three times as bright
    in the zenith as at the horizon. Raises ``ValueError`` for counts below 1 or another sky.
    """
    if n_zenith < 1 or n_azimuth < 1:
        raise ValueError(f"a sky needs at least 1 x 1 directions, found {n_zenith} x {n_azimuth}")
    if sky not in ("uniform", "overcast"):
        raise ValueError(f"sky must be 'uniform' or 'overcast', found {sky!r}")
    nodes, quadrature = np.polynomial.legendre.leggauss(n_zenith)
    cos_zenith = np.sqrt(1 - (nodes + 1) / 2)
    ring = quadrature.copy()
    if sky == "overcast":
        ring *= 1 + constant("overcast_gradation") * cos_zenith
    step = 360.0 / n_azimuth
    turn = (np.arange(n_zenith) + 0.5) / n_zenith * step
    azimuth = (turn[:, np.newaxis] + step * np.arange(n_azimuth)).ravel() % 360.0
    elevation = np.repeat(np.rad2deg(np.arcsin(cos_zenith)), n_azimuth)
    weights = np.repeat(ring / (ring.sum() * n_azimuth), n_azimuth)
    return azimuth, elevation, weights
