"""Who stood on whose sunny side: the shadow that a tall planting throws at noon on the ground of a low one beside it.

Who may stand there, before anything grows, is the rule of `sunny_side`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.shelf import Shelf
from mixcraft.place.series import day_of_year
from mixcraft.place.sun import declination_rad
from mixcraft.recipe.plan import Plan
from mixcraft.season.result import Season

from .constants import constants

Floats = NDArray[np.float64]
ROUNDING = 1e-9
_places = Shelf(20)
"""Shadows of the last places of plantings; the grower's plants differ more often than their places."""


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
    noons = np.arange(0, season.days, int(constants()["shadows_every_days"]))
    height = season.height_m[noons].mean(axis=1)
    up = np.asarray(season.leaf_m2[noons].any(axis=1))
    taller = height[:, :, None] - height[:, None, :]
    apart = (np.maximum(overlaps, overlaps.T) <= c["shadow_shared"]) & ~np.eye(count, dtype=bool)
    casts = up[:, :, None] & up[:, None, :] & apart & (taller >= c["shadow_least"])
    hit = np.zeros_like(taller)
    if casts.any():
        step = min(plan.grid.dx_m, plan.grid.dy_m)
        per_m = np.array(_noon_lengths(plan.place.latitude_deg, int(plan.start.astype(int)), len(noons)))
        for way in (1.0, -1.0):
            reach = np.where(casts, np.maximum(way * per_m, 0.0)[:, None, None] * taller, 0.0)
            steps = np.maximum(np.ceil(reach / step - 0.5), 0.0).astype(np.int64)
            shaded = _shaded(plan, way * step, int(steps.max()))
            i, j = np.indices((count, count))
            hit += shaded[np.minimum(steps, len(shaded) - 1), i, j]
    hit = np.swapaxes(hit, 1, 2)
    first = np.where((hit > 0.0).any(axis=0), noons[np.argmax(hit > 0.0, axis=0)], -1)
    last = np.where((hit > 0.0).any(axis=0), noons[len(noons) - 1 - np.argmax(hit[::-1] > 0.0, axis=0)], -1)
    return Shadows(hit.sum(axis=0) / np.maximum(up.sum(axis=0), 1.0)[:, None], np.stack([first, last], axis=-1))


def _shaded(plan: Plan, step_m: float, most: int) -> Floats:
    """Share of the ground of planting j that lies in a shadow of n steps [m] northward from planting i, (n, P, P) as [n, i, j],
    for no step to as many as matter."""
    cells = np.stack([p.stand.cells > 0.0 for p in plan.plantings])
    key = cells.tobytes(), cells.shape, plan.grid, plan.bed.heading_deg, step_m, most
    return np.asarray(_places(key, lambda: _moving(cells, plan, step_m, most)))


def _moving(cells: NDArray[np.bool_], plan: Plan, step_m: float, most: int) -> Floats:
    """`_shaded` of plantings that stand on `cells` (P, nx, ny)."""
    heading = math.radians(plan.bed.heading_deg)
    along, across = math.cos(heading) / plan.grid.dx_m, math.sin(heading) / plan.grid.dy_m
    shaded, ground = np.zeros_like(cells), cells.reshape(len(cells), -1).astype(float)
    found = [np.zeros((len(cells), len(cells)))]
    for n in range(1, most + 1):
        nx, ny = _cells(n * step_m * along), _cells(n * step_m * across)
        if abs(nx) >= plan.grid.nx or abs(ny) >= plan.grid.ny:
            break
        shaded |= _moved(cells, nx, ny)
        found.append((shaded & ~cells).reshape(len(cells), -1) @ ground.T)
    return np.asarray(np.stack(found) / ground.sum(axis=1))


def _cells(way: float) -> int:
    """The nearest whole number of cells, the lesser of two that are equally near, so that left and right are alike."""
    return int(math.copysign(math.ceil(abs(way) - 0.5 - ROUNDING), way))


def shadow_m(height_m: float, latitude_deg: float, date: np.datetime64) -> float:
    """Length [m] of the shadow of a height [m] at noon, northward; southward where it is negative.

    No sun is reckoned lower than `shadow_lowest_sun`, as where it does not rise.
    """
    zenith = math.radians(latitude_deg) - float(declination_rad(int(day_of_year(date))))
    most = math.radians(90.0 - constants()["shadow_lowest_sun"])
    return height_m * math.tan(min(max(zenith, -most), most))


@lru_cache(maxsize=64)
def _noon_lengths(latitude_deg: float, start: int, count: int) -> tuple[float, ...]:
    """Shadows [m] of a metre on so many noons from a day `start`, counted from 1970."""
    every = int(constants()["shadows_every_days"])
    return tuple(shadow_m(1.0, latitude_deg, np.datetime64(start + n * every, "D")) for n in range(count))


def _moved(cells: NDArray[np.bool_], nx: int, ny: int) -> NDArray[np.bool_]:
    """Cells (P, nx, ny) moved by whole cells; what leaves the bed is gone."""
    moved = np.zeros_like(cells)
    width, depth = cells.shape[1:]
    to_x, from_x = slice(max(nx, 0), width + min(nx, 0)), slice(max(-nx, 0), width - max(nx, 0))
    to_y, from_y = slice(max(ny, 0), depth + min(ny, 0)), slice(max(-ny, 0), depth - max(ny, 0))
    moved[:, to_x, to_y] = cells[:, from_x, from_y]
    return moved
