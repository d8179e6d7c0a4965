"""The harvest strip: the weeks of the season with what is picked, which of them are wanted, gaps, and what each crop gives."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
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


def wanted_window(plan: Plan, after_weeks: float) -> tuple[int, int]:
    """First and last day index of the window in which the household wants to pick.

    The bed's or the garden's plate if there is one and it meets the season (though no sooner than `after_weeks` after the
    first start), else from `after_weeks` after the first start until the
    first autumn frost or the end of the season, whichever comes first.
    """
    plate, least = plate_of(plan), constants()["window_least_days"]
    offset = int((plan.start - plan.almanac.start).astype(int))
    if plate.start and plate.until:
        for base in (0, 365):
            first = plan.almanac.month_day(plate.start, not_before=base) - offset
            last = plan.almanac.month_day(plate.until, not_before=first + offset) - offset
            first, last = max(first, int(after_weeks * 7)), min(last, plan.days - 1)
            ripe = min((p.first_harvest for p in plan.plantings), default=0)
            if last - first >= least and ripe <= last:
                return first, last
    first = int(after_weeks * 7)
    last = plan.days - 1
    frost = plan.almanac.first_autumn_frost
    if frost is not None and first + least < frost - offset < last:
        last = frost - offset
    return min(first, last), last


def harvest_strip(season: Season, window: tuple[int, int], weekly_kg: Floats | None = None) -> tuple[StripWeek, ...]:
    """The weeks of the season with what is picked; a picking counts from `LEAST_PICKING_KG` up.

    `weekly_kg` (W, Y, H) is `season.weekly_kg()`, if it is at hand.
    """
    weekly = season.weekly_kg() if weekly_kg is None else weekly_kg
    total = weekly.sum(axis=2)
    amount = plate_of(season.plan).weekly_kg
    names = [p.name for p in season.plan.plantings]
    by_planting, middle = np.zeros((len(weekly), len(names))), middles(weekly, axis=1)
    for h, harvest in enumerate(season.harvests):
        by_planting[:, harvest.planting] += middle[:, h]
    order = np.argsort(-by_planting, axis=1).tolist()
    named = (by_planting >= LEAST_PICKING_KG * constants()["picked_named_share"]).tolist()
    kg = bands(total.T)
    chance = (total >= LEAST_PICKING_KG).mean(axis=1).tolist()
    starts = list(season.plan.start + 7 * np.arange(len(weekly)))
    served = np.minimum(total / amount, 1.0).mean(axis=1) if amount > 0.0 else None
    return tuple(
        StripWeek(
            starts[w], kg[w], chance[w], tuple(names[i] for i in order[w] if named[w][i]), window[0] <= w * 7 + 3 <= window[1],
            None if served is None else float(served[w]),
        )
        for w in range(len(weekly))
    )  # fmt: skip


def strip_gaps(strip: tuple[StripWeek, ...]) -> tuple[Gap, ...]:
    """Runs of wanted weeks in which nothing is picked in most years."""
    gaps: list[Gap] = []
    run: list[StripWeek] = []
    for week in (*strip, None):
        if week is not None and week.wanted and not week.picked:
            run.append(week)
            continue
        if run:
            gaps.append(Gap(run[0].start, run[-1].start + LAST_DAY, len(run)))
        run = []
    return tuple(gaps)


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
