"""Who may stand on whose sunny side: the rule before anything grows, by the heights that crops reach, which designs keep.

What comes of a recipe that does not keep it is judged by the shadows of what has grown (`shadow`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mixcraft.place.sun import declination_rad
from mixcraft.recipe.plan import Plan, Planned

from .constants import constants
from .shadow import shadow_m

SOLSTICE = 172
"""Day of the year on which the sun stands furthest north, 21 June; its declination is the latitude of the tropic."""


def height_of(planned: Planned) -> float:
    """Height of a grown planting [m], no more than its support."""
    height = planned.planting.crop["canopy.height"]
    return height if planned.support_m is None else min(height, planned.support_m)


def stands_before(taller_m: float, height_m: float, apart_m: float, *, later: bool = False) -> bool:
    """Whether a planting that is so much taller must not stand so far on another's sunny side: tall ones nowhere, others not
    within the reach of their noon shadow; one that comes `later` is low while a tall one beside it is not."""
    if taller_m < constants()["shadow_tolerated_m"] - 1e-9:
        return later and height_m >= constants()["tall_m"] and apart_m < constants()["shadow_reach"] * height_m / 2.0
    return height_m >= constants()["tall_m"] or apart_m < constants()["shadow_reach"] * taller_m


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


def _sides(plan: Plan) -> list[_Side]:
    """`_Side` of each planting for a sun in the south."""
    x, y = plan.grid.centres()
    heading = math.radians(plan.bed.heading_deg)
    depth = x * math.cos(heading) + y * math.sin(heading)
    aside = x * -math.sin(heading) + y * math.cos(heading)
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
                shades = stands_before(more_m, heights[i], after.near - before.far, later=later)
                if shades and before.beside(after) and not _together(tall, low):
                    yield tall.name, low.name
                    break


def _together(a: Planned, b: Planned) -> bool:
    """Whether two plantings share so much ground that they stand among one another."""
    one, other = a.stand.cells > 0.0, b.stand.cells > 0.0
    return bool((one & other).sum() > constants()["shadow_shared"] * min(one.sum(), other.sum()))
