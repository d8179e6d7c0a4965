"""Who may stand on whose sunny side: the rule before anything grows, by the heights that crops reach, which designs keep.

What comes of a recipe that does not keep it is judged by the shadows of what has grown (`shadow`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixcraft.place.sun import declination_rad
from mixcraft.recipe.plan import Plan, Planned

from .constants import constants
from .shadow import shadow_m

Floats = NDArray[np.float64]
ALIGNED = 1e-6
"""Sine of twice the heading up to which a bed lies along the light or across it."""
SOLSTICE = 172
"""Day of the year on which the sun stands furthest north, 21 June; its declination is the latitude of the tropic."""


def height_of(planned: Planned) -> float:
    """Height of a grown planting [m], no more than its support."""
    height = planned.planting.crop["canopy.height"]
    return height if planned.support_m is None else min(height, planned.support_m)


def stands_before(taller_m: float, height_m: float, apart_m: float, *, later: bool = False) -> bool:
    """Whether a planting that is so much taller must not stand so far on another's sunny side: tall ones nowhere, others not
    within the reach of their noon shadow; one that comes `later` is low while a tall one beside it is not."""
    return apart_m < _reach_m(taller_m, height_m, later)


def _reach_m(taller_m: float, height_m: float, later: bool) -> float:
    """Distance within which a planting must not stand on another's sunny side [m]: any for tall ones, below 0 for none."""
    if taller_m < constants()["shadow_tolerated_m"] - 1e-9:
        return constants()["shadow_reach"] * height_m / 2.0 if later and height_m >= constants()["tall_m"] else -math.inf
    return math.inf if height_m >= constants()["tall_m"] else constants()["shadow_reach"] * taller_m


@dataclass(frozen=True, slots=True)
class _Side:
    """Where a planting stands as seen from the noon sun [m]: first and last and middle of its ground from the sun away, and its
    ends across the light."""

    near: float
    far: float
    middle: float
    left: float
    right: float

    @property
    def turned(self) -> _Side:
        """The same as seen from the other side."""
        return _Side(-self.far, -self.near, -self.middle, self.left, self.right)

    def beside(self, other: _Side) -> bool:
        """Whether two have more than a little in common across the light."""
        common = min(self.right, other.right) - max(self.left, other.left)
        narrower = min(self.right - self.left, other.right - other.left)
        return common >= 0.0 and common > constants()["beside_share"] * narrower - 1e-9


@lru_cache(maxsize=4096)
def shaded_ways(latitude_deg: float, first: np.datetime64, last: np.datetime64) -> tuple[int, ...]:
    """Ways in which shadows of noon fall on the days from `first` to `last`: 1 northward, -1 southward.

    Away from the equator, but between the tropics where the noon sun stands on either side of the zenith, by the mean length
    of what falls to a side, if it is worth minding (`noon_shadow_least`).
    """
    if abs(latitude_deg) > float(np.degrees(declination_rad(SOLSTICE))):
        return (1,) if latitude_deg > 0.0 else (-1,)
    days = np.arange(first, last + np.timedelta64(1, "D"), np.timedelta64(int(constants()["sunny_every_days"]), "D"))
    length = np.array([shadow_m(1.0, latitude_deg, day) for day in days])
    least = constants()["noon_shadow_least"]
    return tuple(way for way in (1, -1) if float(np.maximum(way * length, 0.0).mean()) >= least)


def _from_the_sun(plan: Plan) -> tuple[Floats, Floats]:
    """Where each cell lies as seen from a sun in the south: its distance away from it and across the light [m]."""
    x, y = plan.grid.centres()
    heading = math.radians(plan.bed.heading_deg)
    return x * math.cos(heading) + y * math.sin(heading), x * -math.sin(heading) + y * math.cos(heading)


def _sides(plan: Plan) -> list[_Side]:
    """`_Side` of each planting for a sun in the south."""
    depth, aside = _from_the_sun(plan)
    found = []
    for planned in plan.plantings:
        there = planned.stand.cells > 0.0
        d, a = depth[there], aside[there]
        found.append(_Side(float(d.min()), float(d.max()), float(d.mean()), float(a.min()), float(a.max())))
    return found


def on_the_sunny_side(plan: Plan, later_days: float) -> Iterator[tuple[str, str]]:
    """Names of tall plantings that stand between the noon sun and a lower one for long, each with that of the lower one; what is
    started more than `later_days` after the taller one comes later."""
    sides, heights = _sides(plan), [height_of(p) for p in plan.plantings]
    for i, tall in enumerate(plan.plantings):
        begins = tall.start + constants()["shadow_height_share"] * (min(tall.first_harvest, tall.end) - tall.start)
        for j, low in enumerate(plan.plantings):
            first, last = max(int(begins), low.start), min(tall.end, low.end)
            if i == j or last - max(begins, low.start) < constants()["sunny_few_days"]:
                continue
            later, more_m = low.start > tall.start + later_days, heights[i] - heights[j]
            for way in shaded_ways(plan.place.latitude_deg, plan.date(first), plan.date(last)):
                before, after = (sides[i], sides[j]) if way > 0 else (sides[i].turned, sides[j].turned)
                if before.middle >= after.middle - constants()["before_m"]:
                    continue
                reach_m = _reach_m(more_m, heights[i], later)
                shades = after.near - before.far < reach_m and before.beside(after)
                if shades and not _together(tall, low) and _falls_on(plan, tall, low, way, reach_m):
                    yield tall.name, low.name
                    break


def _falls_on(plan: Plan, tall: Planned, low: Planned, way: int, reach_m: float) -> bool:
    """Whether more than a little of a planting lies straight behind another in the light, within `reach_m`: where a bed lies
    aslant, two may have much of their width across the light in common, and yet the shadow falls beside."""
    turned = math.radians(2.0 * plan.bed.heading_deg)
    if abs(math.sin(turned)) < ALIGNED:
        return True
    depth, aside = _from_the_sun(plan)
    one, other = tall.stand.cells > 0.0, low.stand.cells > 0.0
    cell_m = max(plan.grid.dx_m, plan.grid.dy_m)
    in_line = np.abs(aside[other][:, None] - aside[one]) <= cell_m / 2.0 + 1e-9
    apart_m = way * (depth[other][:, None] - depth[one])
    behind = in_line & (apart_m > 0.0) & (apart_m - cell_m < reach_m)
    return float(behind.any(axis=1).mean()) > constants()["beside_share"]


def _together(a: Planned, b: Planned) -> bool:
    """Whether two plantings share so much ground that they stand among one another."""
    one, other = a.stand.cells > 0.0, b.stand.cells > 0.0
    return bool((one & other).sum() > constants()["shadow_shared"] * min(one.sum(), other.sum()))
