"""Winter cover: a green manure where a bed would lie bare until the next year's first sowing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mixcraft.crops import all_crops
from mixcraft.crops.clock import SOWN
from mixcraft.crops.model import Crop
from mixcraft.files import FileFaults
from mixcraft.recipe.calendar import YEAR, almanac
from mixcraft.recipe.model import Bed, Density, Garden, OnDate, Planting, Recipe, Where, WholeBed
from mixcraft.recipe.moves import free_name
from mixcraft.recipe.plan import plan
from mixcraft.season.grow import SEED, grow
from mixcraft.season.result import Season

from .constants import constant
from .drawing import round_density
from .fill import gap_on
from .rotation import rested, years_apart

SOWABLE_UNTIL_DAYS = 70
"""Before the coldest day of winter, a green manure is sown no later than so many days.  Common practice, no source."""


def cover_for(
    recipe: Recipe | None, season: Season | None, bed: Bed, garden: Garden, next_start: np.datetime64 | None,
    following: Sequence[Crop],
) -> tuple[Recipe | None, str]:  # fmt: skip
    """The recipe with a green manure on the largest ground that lies bare over winter, and its name; as it was, and nothing,
    where no ground does or nothing would cover it.  `following` are next year's crops, which must be able to follow it."""
    if recipe is None or season is None:
        return recipe, ""
    settled = season.plan
    latest = _winter(garden) - SOWABLE_UNTIL_DAYS
    ends = sorted(p.end + 3 for p in settled.plantings if p.end + 3 + settled.offset <= latest)
    cleared = _cleared(next_start, garden)
    for day in reversed(ends):
        gap = gap_on(settled, str(settled.date(day))[5:10])
        if gap is None or gap.until is not None:
            continue
        start = str(settled.date(day))[5:10]
        best = _best(start, cleared, bed, garden, following)
        if best is not None:
            where: Where = WholeBed() if gap.area_m2 > 0.95 * bed.area_m2 else gap.where
            names = [p.name for p in recipe.plantings]
            planting = replace(best, name=free_name(best.crop.name, names), where=where)
            tried = replace(recipe, plantings=(*recipe.plantings, planting))
            if _stands_alone(tried, bed, garden):
                return tried, best.crop.name
    return recipe, ""


def _stands_alone(recipe: Recipe, bed: Bed, garden: Garden) -> bool:
    """Whether the last planting of a recipe can be sown, on ground where nothing else stands then or later."""
    try:
        planned = plan(recipe, replace(garden, beds=(bed,)), bed.name, draw=False).plantings
    except FileFaults:
        return False
    green = planned[-1]
    return not any(other.end > green.start and (other.stand.cells * green.stand.cells).any() for other in planned[:-1])


def _winter(garden: Garden) -> int:
    """The coldest day of the winter after the season, as a day of the almanac."""
    coldest = almanac(garden.place).coldest_day % YEAR
    return coldest + (YEAR if coldest < YEAR // 2 else 0)


def _cleared(next_start: np.datetime64 | None, garden: Garden) -> str:
    """Month-day on which a green manure is cut: some weeks before the next sowing, else early in spring."""
    if next_start is None:
        sky = almanac(garden.place)
        return str(sky.date(sky.last_spring_frost or 60))[5:10]
    return str(next_start - np.timedelta64(int(7 * constant("cover_cleared_weeks")), "D"))[5:10]


def _best(start: str, cleared: str, bed: Bed, garden: Garden, following: Sequence[Crop]) -> Planting | None:
    """The green manure that covers most ground by the middle of winter, of those that suit the bed's history and what follows."""
    found = [c for c in all_crops() if "green-manure" in c.kinds and c["canopy.height"] < 2.0 and set(c.establish) & set(SOWN)]
    found = [c for c in found if rested(c, bed) and all(years_apart(c, crop) < 1 for crop in following)]
    if not found:
        return None
    plantings = tuple(
        Planting(
            c.name, c, next(way for way in c.establish if way in SOWN), WholeBed(), OnDate(start), OnDate(cleared),
            Density(round_density(c["spacing.density"])),
        )
        for c in found[:40]
    )  # fmt: skip
    alone = replace(garden, beds=(Bed("alone", 2.0, 2.0),))
    try:
        season = grow(plan(Recipe("alone", 2.0, 2.0, plantings), alone, "alone", draw=False, apart=True), 2, SEED, apart=True)
    except FileFaults:
        return None
    day = _winter(garden) - season.plan.offset
    leaf = season.leaf_m2[min(max(day, 0), season.days - 1)].mean(axis=0) / 4.0
    cover = 1.0 - np.exp(-np.array([c["canopy.k"] for c in found[:40]]) * leaf)
    cover = cover * (season.death > day).all(axis=0)
    best = int(np.argmax(cover))
    return plantings[best] if cover[best] >= constant("cover_least") else None
