"""Directions that light comes from: sample points of the beam through a day, and of the diffuse sky."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray
from mixcraft.place.solar_position import almanac_declination_rad, horizontal

Sky = Literal["uniform", "overcast"]

_FINE = 192  # points of the day that the beam energy is tabulated at
_NO_SUN_ELEVATION_DEG = 1.0


def _air_mass(elevation_deg: FloatArray) -> FloatArray:
    """Relative optical air mass [-] (Kasten & Young 1989)."""
    a, b, c = (constant(f"kasten_young_{i}") for i in "abc")
    low = np.maximum(elevation_deg, 0.0)
    return np.asarray(1.0 / (np.sin(np.deg2rad(low)) + a * (low + b) ** -c))


def clear_beam_on_flat(elevation_deg: npt.ArrayLike) -> FloatArray:
    """Clear-sky beam on the flat over the beam above the atmosphere [-], by sun elevation [deg]."""
    elevation = np.asarray(elevation_deg, dtype=np.float64)
    through = constant("beam_transmittance") ** _air_mass(elevation)
    return np.asarray(np.maximum(np.sin(np.deg2rad(elevation)), 0.0) * through)


def half_day_hours(latitude_deg: float, day_of_year: npt.ArrayLike) -> FloatArray:
    """Hours from sunrise to noon [h] without refraction; 0 in polar night."""
    phi, delta = np.deg2rad(latitude_deg), almanac_declination_rad(day_of_year)
    cosine = -np.sin(phi) * np.sin(delta) / np.maximum(np.cos(phi) * np.cos(delta), np.finfo(np.float64).tiny)
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)) * constant("hours_per_day") / (2 * np.pi))


def _gauss_nodes(points: FloatArray, energy: FloatArray, n: int) -> tuple[FloatArray, FloatArray]:
    """Nodes in -1..1 and weights (..., n) of the Gauss quadrature with weight function ``energy`` (..., m).

    ``energy`` sums to 1 and is even about noon. Discrete Stieltjes recurrence, then Golub & Welsch 1969.
    """
    before, now = np.zeros_like(energy), np.ones_like(energy)
    norm = np.ones(energy.shape[:-1])
    off_diagonal: list[FloatArray] = []
    for _ in range(1, n):
        ahead = points * now - (off_diagonal[-1][..., np.newaxis] * before if off_diagonal else 0.0)
        ahead_norm = (energy * ahead**2).sum(axis=-1)
        off_diagonal.append(ahead_norm / norm)
        before, now, norm = now, ahead, ahead_norm
    jacobi = np.zeros((*energy.shape[:-1], n, n))
    for k, beta in enumerate(off_diagonal):
        jacobi[..., k, k + 1] = jacobi[..., k + 1, k] = np.sqrt(beta)
    nodes, vectors = np.linalg.eigh(jacobi)
    return nodes, vectors[..., 0, :] ** 2


def day_beam_samples(latitude_deg: float, day_of_year: npt.ArrayLike, n: int = 5) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sample directions of the direct beam through a day, by Gauss quadrature over its energy.

    ``latitude_deg`` [deg]; ``day_of_year`` a number or an array of shape (D,); ``n`` samples, best odd.
    Returns azimuths [deg, clockwise from north], elevations [deg] and weights, each of shape (n,) or (D, n).
    A weight is the share of the day's clear-sky beam energy on the flat (sin(elevation) x beam at that air
    mass) that its sample stands for; weights sum to 1. The rule is exact for polynomials of solar time up
    to degree 2 n - 1, so that samples lie where the energy is. On days when the sun does not rise the
    weights are 0 and the elevations a harmless 1 degree. Raises ``ValueError`` when ``n`` is below 1.
    """
    if n < 1:
        raise ValueError(f"a day needs at least 1 beam sample, found {n}")
    points = (2 * np.arange(_FINE) + 1) / _FINE - 1
    day = np.asarray(day_of_year, dtype=np.float64)[..., np.newaxis]
    half_day = half_day_hours(latitude_deg, day)
    hours = half_day * points
    # even about noon: the declination of noon holds all day
    phi, delta = np.deg2rad(latitude_deg), almanac_declination_rad(day)
    turn = np.deg2rad(constant("degrees_per_hour") * hours)
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(turn)
    energy = clear_beam_on_flat(np.rad2deg(np.arcsin(np.clip(sine, -1.0, 1.0))))
    total = energy.sum(axis=-1, keepdims=True)
    lit = total > 0
    even = np.divide(energy, total, out=np.full(energy.shape, 1.0 / _FINE), where=lit)
    nodes, weights = _gauss_nodes(points, even, n)
    nodes, weights = (nodes - nodes[..., ::-1]) / 2, (weights + weights[..., ::-1]) / 2  # the same but for rounding
    azimuth, elevation = horizontal(latitude_deg, delta, np.deg2rad(constant("degrees_per_hour") * half_day * nodes))
    up = lit & (elevation > 0)
    return azimuth, np.where(up, elevation, _NO_SUN_ELEVATION_DEG), np.where(lit, weights, 0.0)


def sky_directions(n_zenith: int = 3, n_azimuth: int = 6, sky: Sky = "uniform") -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sample directions of the diffuse sky.

    Returns azimuths [deg, clockwise from north], elevations [deg] and weights, each of shape
    (n_zenith * n_azimuth,); weights are shares of the diffuse energy on the flat and sum to 1.
    Elevations are Gauss-Legendre points in sin^2(zenith angle), in which the cosine-weighted uniform sky is
    flat.  The sky is the same on either side of the meridian: azimuths of a ring lie in pairs, a quarter of a step and then whole
    steps to both sides of north (one lies in the north where their number is odd), and every other ring looks the other way.  So
    no two of an even number lie opposite, and rows, which look the same from both sides, are seen under many angles.
    ``sky``: "uniform", or "overcast" for the standard overcast sky of Moon & Spencer 1942, three times as
    bright in the zenith as at the horizon. Raises ``ValueError`` for counts below 1 or another sky.
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
    pairs = step * (np.arange(n_azimuth // 2) + (1.0 if n_azimuth % 2 else constant("sky_turn")))
    around = np.concatenate([np.zeros(n_azimuth % 2), pairs, -pairs])
    azimuth = (180.0 * (np.arange(n_zenith) % 2)[:, np.newaxis] + around).ravel() % 360.0
    elevation = np.repeat(np.rad2deg(np.arcsin(cos_zenith)), n_azimuth)
    weights = np.repeat(ring / (ring.sum() * n_azimuth), n_azimuth)
    return azimuth, elevation, weights
