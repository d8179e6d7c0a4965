"""What walls and other obstacles beside a bed take of its light: of the open sky's light, and of the hours of direct sun."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.place.series import day_of_year
from mixcraft.place.sky import half_day_hours
from mixcraft.place.solar_position import sun_position
from mixcraft.recipe.plan import Plan

from .columns import reached_m
from .directions import bed_directions, on_slope
from .light_voxels import NO_WALLS, Spreader, voxel_alone, voxel_light, walls_of
from .sharing import plan_directions

Floats = NDArray[np.float64]

HOURS = 24.0
SUN_STEPS = 48
"""Moments of a day, from sunrise to sunset, at which the sun is looked for."""
BEAM_LEAST = 0.5
"""Share of the beam that must reach a place for the sun to shine there."""


def kept_of_open_sky(plan: Plan, day: int, diffuse: float, leaf_m2: Floats, height_m: Floats) -> Floats:
    """Light that leaves would absorb without the other plantings over that without the bed's obstacles either, (P,).

    `day` of the plan with its `diffuse` share, `leaf_m2` and `height_m` (P,); 1 where a bed has no obstacles or no leaves stand.
    """
    one = np.ones(len(leaf_m2))
    if not plan.bed.obstacles or not (leaf_m2 > 0.0).any():
        return one
    directions = plan_directions(plan, day, diffuse)
    shares = np.zeros((len(leaf_m2), plan.grid.nx * plan.grid.ny))
    for i in np.nonzero(leaf_m2 > 0.0)[0]:
        planned = plan.plantings[i]
        shares[i] = Spreader(planned, plan.grid).shares(min(1.0, float(height_m[i]) / reached_m(planned)))
    k = np.array([p.planting.crop["canopy.k"] for p in plan.plantings])
    behind, free = (
        voxel_alone(plan.grid, shares, leaf_m2, height_m, k, directions, walls) for walls in (walls_of(plan.bed), NO_WALLS)
    )
    return np.asarray(np.divide(behind, free, out=one, where=free > 0.0))


def ground_of_open_sky(plan: Plan, day: int, diffuse: float) -> Floats:
    """Share of the open sky's light on the bare ground of a bed behind its obstacles, (nx, ny)."""
    return _bare(plan, plan_directions(plan, day, diffuse))


def sun_hours(plan: Plan, day: int) -> Floats:
    """Hours in which a clear day's sun shines on the bare ground of a bed behind its obstacles, (nx, ny) [h]."""
    n = int(day_of_year(plan.date(day)))
    half = float(half_day_hours(plan.place.latitude_deg, n))
    step = 2.0 * half / SUN_STEPS
    hours = np.zeros((plan.grid.nx, plan.grid.ny))
    noon = HOURS / 2.0
    for i in range(SUN_STEPS):
        azimuth, elevation = sun_position(plan.place.latitude_deg, n, noon - half + (i + 0.5) * step)
        if plan.bed.slope is not None:
            azimuth, elevation = on_slope(azimuth, elevation, plan.bed.slope)
        if float(elevation) <= 0.0:
            continue
        beam = bed_directions(np.atleast_1d(azimuth), np.atleast_1d(elevation), np.ones(1), plan.bed.heading_deg)
        hours += step * (_bare(plan, beam) >= BEAM_LEAST)
    return hours


def _bare(plan: Plan, directions: object) -> Floats:
    """Share of the light of `directions` that comes to the bare ground, (nx, ny)."""
    none = np.zeros(1)
    shares = np.zeros((1, plan.grid.nx * plan.grid.ny))
    light = voxel_light(plan.grid, shares, none, none, np.full(1, 0.5), directions, walls_of(plan.bed))  # type: ignore[arg-type]
    return light.ground
