"""The harvest strip: the weeks of the season with what is picked, which of them are wanted, gaps, and what each crop gives."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.calendar import YEAR
from mixcraft.recipe.model import Plate
from mixcraft.recipe.plan import Plan
from mixcraft.season.result import BAND, LEAST_PICKING_KG, Season

from .constants import constants
from .measures import bands, middles, quantile
from .model import CropYield, Gap, StripWeek

Floats = NDArray[np.float64]
LAST_DAY = np.timedelta64(1, "W") - np.timedelta64(1, "D")
"""From the first day of a week to its last."""


def plate_of(plan: Plan) -> Plate:
    """What the household wants of the bed: the bed's own plate, else the garden's."""
    return plan.bed.plate or plan.garden.plate


@dataclass(frozen=True, slots=True)
class Weeks:
    """The weeks that are judged: those of the season and the wanted ones before and after it.

    `before` weeks lie before the first sowing; `total` weeks in all; `wanted` (W,) those in which the household wants to eat.
    """

    before: int
    total: int
    wanted: NDArray[np.bool_]

    def spread(self, weekly: Floats) -> Floats:
        """Values by week of the season (S, ...) on the axis of all weeks (W, ...), 0 outside the season."""
        result = np.zeros((self.total, *weekly.shape[1:]))
        result[self.before : self.before + len(weekly)] = weekly[: self.total - self.before]
        return result


def judged_weeks(season_weeks: int, window: tuple[int, int]) -> Weeks:
    """The weeks of a season and of a window of day indices, which may begin before day 0 and end after the season."""
    before = max(0, -(window[0] // 7))
    total = before + max(season_weeks, window[1] // 7 + 1)
    middle = (np.arange(total) - before) * 7 + 3
    return Weeks(before, total, (middle >= window[0]) & (middle <= window[1]))


def wanted_windows(plan: Plan) -> tuple[tuple[int, int], ...]:
    """The windows of day indices, one a year, in which the household may want to pick from what this plan grows.

    The part of the year for which the recipe says that it is there, else the plate's months, else from some weeks after the last
    spring frost until the first autumn frost, else all the year.  They are the household's: they begin before the first sowing
    where the recipe starts late, and end when the plate ends.
    """
    plate, sky = plate_of(plan), plan.almanac
    window = plan.recipe.serves or plate
    if window.start and window.until:
        first = sky.month_day(window.start)
        last = sky.month_day(window.until, not_before=first)
    elif sky.last_spring_frost is not None and sky.first_autumn_frost is not None:
        first = sky.last_spring_frost + int(7 * constants()["window_after_weeks"])
        last = max(sky.first_autumn_frost, first + int(constants()["window_least_days"]))
    else:
        first, last = 0, YEAR - 1
    years = [(first + turn * YEAR - plan.offset, last + turn * YEAR - plan.offset) for turn in (-1, 0, 1, 2)]
    return tuple(w for w in years if w[1] >= 0 and w[0] < plan.days) or (years[1],)


def harvest_strip(season: Season, weeks: Weeks, weekly_kg: Floats, served: Floats) -> tuple[StripWeek, ...]:
    """The weeks of the season with what is picked; a picking counts from `LEAST_PICKING_KG` up.

    `weekly_kg` (S, Y, H) is `season.weekly_kg()`, `served` (W, Y) the share of the plate that is filled.
    """
    total = weekly_kg.sum(axis=2)
    names = [p.name for p in season.plan.plantings]
    by_planting, middle = np.zeros((len(weekly_kg), len(names))), middles(weekly_kg, axis=1)
    for h, harvest in enumerate(season.harvests):
        by_planting[:, harvest.planting] += middle[:, h]
    order = np.argsort(-by_planting, axis=1, kind="stable").tolist()
    named = (by_planting >= LEAST_PICKING_KG * constants()["picked_named_share"]).tolist()
    kg, chance = bands(total.T), (total >= LEAST_PICKING_KG).mean(axis=1).tolist()
    filled, wanted = served.mean(axis=1)[weeks.before :].tolist(), weeks.wanted[weeks.before :].tolist()
    starts = list(season.plan.start + 7 * np.arange(len(weekly_kg)))
    return tuple(
        StripWeek(
            starts[w], kg[w], chance[w], tuple(names[i] for i in order[w] if named[w][i]), wanted[w], filled[w],
        )
        for w in range(len(weekly_kg))
    )  # fmt: skip


def strip_gaps(plan: Plan, weeks: Weeks, empty: NDArray[np.bool_]) -> tuple[Gap, ...]:
    """Runs of wanted weeks that are `empty` (W,)."""
    gap = np.concatenate([[False], empty & weeks.wanted, [False]])
    turns = np.nonzero(np.diff(gap.astype(np.int8)))[0]
    return tuple(
        Gap(plan.date((a - weeks.before) * 7), plan.date((b - weeks.before) * 7 - 1), int(b - a))
        for a, b in zip(turns[::2], turns[1::2], strict=True)
    )


def first_picking(season: Season) -> np.datetime64 | None:
    """The day on which the first of the harvests begins to be picked that at least half of the years pick, as `crop_yields` says
    it; None if there is none."""
    picked = season.picked_kg > 0.0
    years = picked.any(axis=0)
    firsts, counts = np.sort(np.where(years, picked.argmax(axis=0), NEVER), axis=0).T.tolist(), years.sum(axis=0).tolist()
    days = [quantile(first[:n], BAND[1]) for first, n in zip(firsts, counts, strict=True) if 2 * n >= season.years]
    return season.plan.date(round(min(days))) if days else None


def crop_yields(season: Season) -> tuple[CropYield, ...]:
    """Fresh kilograms by harvest with first and last picking days (middle of the years that pick)."""
    picked, total = season.picked_kg > 0.0, season.picked_kg.sum(axis=0)
    years = total > 0.0
    firsts = np.sort(np.where(years, picked.argmax(axis=0), NEVER), axis=0).T.tolist()
    lasts = np.sort(np.where(years, season.days - 1 - picked[::-1].argmax(axis=0), NEVER), axis=0).T.tolist()
    kg, counts = bands(total), years.sum(axis=0).tolist()
    found = []
    for h, harvest in enumerate(season.harvests):
        name = season.plan.plantings[harvest.planting].name
        item = CropYield(name, harvest.part.name, harvest.method, kg[h], None, None)
        if 2 * counts[h] >= season.years:
            (a0, a, a1), (b0, b, b1) = (_days(season, days[h][: counts[h]]) for days in (firsts, lasts))
            item = replace(item, first=a, last=b, first_band=(a0, a1), last_band=(b0, b1))
        found.append(item)
    return tuple(found)


def _days(season: Season, ordered: list[int]) -> tuple[np.datetime64, np.datetime64, np.datetime64]:
    """Dates of the band of day indices in order."""
    low, middle, high = (season.plan.date(round(quantile(ordered, share))) for share in BAND)
    return low, middle, high
