"""Who stands on whose sunny side: the shadow that a tall planting throws at noon on the ground of a low one beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.place.series import day_of_year
from mixcraft.place.sun import declination_rad
from mixcraft.recipe.plan import Plan
from mixcraft.season.result import Season

from .constants import constants

Floats = NDArray[np.float64]
EVERY_DAYS = 14
"""Days between the noons that are looked at."""


@dataclass(frozen=True)
class Shadows:
    """Share of its ground, over all days on which planting j stands, that lies at noon in the shadow of planting i, (P, P) as
    [j, i]; `days` (P, P, 2) the first and last day index on which it does, -1 if never."""

    share: Floats
    days: NDArray[np.int64]


def noon_shadows(season: Season, overlaps: Floats) -> Shadows:
    """Noon shadows between plantings that do not share their ground.

    The shadow of plants i reaches as far as they are taller than plants j, in the direction away from the noon sun; a difference
    in height below `shadow_least` is none.  Plants that share more than `shadow_shared` of their ground stand among one another
    and on nobody's side.  Clouds, gaps between plants and other hours are left to the light model; this says which end is which.
    """
    c, plan = constants(), season.plan
    count = len(plan.plantings)
    height = season.height_m.mean(axis=1)
    alive = season.leaf_m2.mean(axis=1) > 0.0
    cells = np.stack([p.stand.cells > 0.0 for p in plan.plantings])
    share, stood = np.zeros((count, count)), np.zeros(count)
    days = np.full((count, count, 2), -1, dtype=np.int64)
    for day in range(0, season.days, EVERY_DAYS):
        up = np.nonzero(alive[day])[0]
        stood[up] += 1.0
        for i in up:
            for j in up:
                taller = height[day, i] - height[day, j]
                if i == j or taller < c["shadow_least"] or max(overlaps[i, j], overlaps[j, i]) > c["shadow_shared"]:
                    continue
                hit = float((_cast(cells[i], taller, plan, day) & cells[j] & ~cells[i]).sum() / cells[j].sum())
                if hit > 0.0:
                    share[j, i] += hit
                    days[j, i] = (day if days[j, i, 0] < 0 else days[j, i, 0], day)
    return Shadows(share / np.maximum(stood, 1.0)[:, None], days)


def _cast(cells: NDArray[np.bool_], height_m: float, plan: Plan, day: int) -> NDArray[np.bool_]:
    """Cells in the noon shadow of plants of a height above the ground looked at on `cells`, (nx, ny)."""
    reach = shadow_m(height_m, plan.place.latitude_deg, plan.date(day))
    heading = math.radians(plan.bed.heading_deg)
    step = min(plan.grid.dx_m, plan.grid.dy_m)
    shaded = np.zeros_like(cells)
    for distance in np.arange(step, abs(reach) + step / 2.0, step):
        along = math.copysign(float(distance), reach)
        x, y = along * math.cos(heading), along * math.sin(heading)
        shaded |= _moved(cells, round(x / plan.grid.dx_m), round(y / plan.grid.dy_m))
    return shaded


def shadow_m(height_m: float, latitude_deg: float, date: np.datetime64) -> float:
    """Length [m] of the shadow of a height [m] at noon, northward; southward where it is negative.

    No sun is reckoned lower than `shadow_lowest_sun`, as where it does not rise.
    """
    zenith = math.radians(latitude_deg) - float(declination_rad(int(day_of_year(date))))
    most = math.radians(90.0 - constants()["shadow_lowest_sun"])
    return height_m * math.tan(min(max(zenith, -most), most))


def _moved(cells: NDArray[np.bool_], nx: int, ny: int) -> NDArray[np.bool_]:
    """Cells moved by whole cells; what leaves the bed is gone."""
    moved = np.zeros_like(cells)
    width, depth = cells.shape
    if abs(nx) >= width or abs(ny) >= depth:
        return moved
    to_x, from_x = slice(max(nx, 0), width + min(nx, 0)), slice(max(-nx, 0), width - max(nx, 0))
    to_y, from_y = slice(max(ny, 0), depth + min(ny, 0)), slice(max(-ny, 0), depth - max(ny, 0))
    moved[to_x, to_y] = cells[from_x, from_y]
    return moved
