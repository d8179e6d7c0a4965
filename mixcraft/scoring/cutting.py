"""Heads on the plate: what is ready in one day need not be eaten in one week.

A head that is cut whole stands good in the bed for a while (`hold` of its part, less long in the heat, and until it runs to seed
or the frost takes it), and a household cuts one when it wants one.  A crop that can be pulled as it is wanted says so by its way
of picking; one that can only be cut once, plant by plant, is eaten evenly over the days that it stands, or until the next crop
wants its ground.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.plan import HarvestPlan
from mixcraft.season.result import Season

from .constants import constants
from .portions import KEEP_DRY

Floats = NDArray[np.float64]
WEEK = 7


def stands_to_be_cut(season: Season, harvest: HarvestPlan) -> bool:
    """Whether plants of a harvest that is taken once are cut one after another, as they are wanted."""
    part, crop = harvest.part, season.plan.plantings[harvest.planting].planting.crop
    as_wanted = {"pull", "pick"} & set(part.methods)
    return harvest.method == "once" and part.food and "hold" in part.records and not as_wanted and not KEEP_DRY & set(crop.kinds)


def cut_as_wanted(season: Season, overlaps: Floats, weekly_kg: Floats) -> Floats:
    """Kilograms by week of the season and harvest, (S, Y, H), of `weekly_kg` with heads spread evenly over the weeks from the day
    on which they are ready to the last on which they are good."""
    found = [h for h, harvest in enumerate(season.harvests) if stands_to_be_cut(season, harvest)]
    if not found:
        return weekly_kg
    spread = weekly_kg.copy()
    for h in found:
        own = weekly_kg[:, :, h]
        spread[:, :, h] = 0.0
        for week, year in zip(*np.nonzero(own), strict=True):
            last = max(_last_day(season, overlaps, h, int(year), int(week)) // WEEK, week)
            spread[week : last + 1, year, h] += own[week, year] / len(spread[week : last + 1])
    return spread


def _last_day(season: Season, overlaps: Floats, h: int, year: int, week: int) -> int:
    """Last day on which what is ready in a week is good and its ground its own."""
    plantings, i = season.plan.plantings, season.harvests[h].planting
    follow = [
        p.start for j, p in enumerate(plantings)
        if j != i and overlaps[i, j] > constants()["shadow_shared"] and p.start > week * WEEK
    ]  # fmt: skip
    return int(min([int(season.closes[year, h]), *follow]))
