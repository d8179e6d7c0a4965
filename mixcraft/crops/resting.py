"""When pieces of plants wake, and when what grows goes to rest in the cold.  Shapes as in the clock: (Y, D) and (Y,)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .cold import rests, running_mean
from .constants import constant
from .development import NEVER, crop_thermal_rate, emergence_day, first_day_reaching, first_from
from .model import Crop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

YEAR_DAYS, MONTH_DAYS = 365, 30


def rests_in_winter(crop: Crop) -> bool:
    """Whether a crop's rootstock is dormant in a winter that is cold enough."""
    return "development.rests_below" in crop.records


def wakes_on(crop: Crop, start: int, mean_c: Floats, soil_c: Floats, daylength_h: Floats, stands: bool = False) -> int:
    """Day from which a piece that is set out on day `start` grows: that day, or of a rootstock that rests through winter, where
    the coldest month of the middle year is cold enough for it to rest, the next shortest day.

    It waits for that if it is set out when the days grow shorter, or when those that stand are picked already, as none is to be
    had dormant any more; one that `stands` was never lifted.  Parameters as of the clock: temperatures [C] of air and soil
    (Y, D), day length [h].
    """
    later_days = daylength_h[start : start + YEAR_DAYS]
    if not rests_in_winter(crop) or len(later_days) < 2:
        return start
    coldest = float(
        np.median(running_mean(mean_c[:, start : start + YEAR_DAYS], MONTH_DAYS)[:, MONTH_DAYS:].min(axis=1, initial=np.inf))
    )
    if coldest >= crop["development.rests_below"]:
        return start
    shortest = start + int(np.argmin(later_days))
    if later_days[1] < later_days[0]:
        return shortest
    if stands:
        return start
    up = emergence_day(crop, soil_c, shortest)
    grown = np.where(np.arange(mean_c.shape[1]) >= up[:, None], crop_thermal_rate(crop, mean_c), 0.0)
    picked = float(np.median(first_day_reaching(np.cumsum(grown, axis=1), crop["development.ready"])))
    return shortest if picked < NEVER and start >= picked - YEAR_DAYS else start


@dataclass(frozen=True, slots=True)
class Stood:
    """What a plant that stands brings into a season: thermal time `had` since the coldest day, or since it rested in the cold
    [C d], `nan` when its time in this year is over; whether it is `wintered`; and of a rootstock in how many days its
    shoots are `up`, 0 if they are."""

    had: float = 0.0
    wintered: bool = False
    up: int | None = None


def stood(crop: Crop, head: float, year_c: Floats, day: int) -> Stood:
    """What a plant with a `head` start into its year [C d] brings into a season that begins on `day` of a year that starts in
    midwinter, of daily means `year_c` (365,) [C].

    Leaf has thermal time until it can be picked, and none of its next year in the last quarter.  What fruits or flowers once a
    year has its time behind it when that is past, and waits for the next where there is a winter.
    """
    rate, first_half = crop_thermal_rate(crop, year_c), slice(0, YEAR_DAYS // 2)
    rested = np.flatnonzero(rests(rate[None])[0, first_half])
    had = float(rate[max([int(np.argmin(year_c[first_half])), *rested[-1:]]) : day].sum())
    left = max(crop["development.ready"] - head, 0.0)
    late, winter = day > YEAR_DAYS * constant("spring_from"), float(year_c.min()) < constant("winter_below")
    if crop.main_part.pool == "leaf":
        return Stood(0.0 if late else min(had, left), winter and not late)
    if had <= left and not late:
        return Stood(had, winter)
    return Stood(np.nan if winter else 0.0)


def sprouted(crop: Crop, year_c: Floats, soil_c: Floats, day: int) -> Stood | None:
    """What a rootstock that rests in winter and stands brings into a season that begins on `day` of a year that starts in
    midwinter, of daily means of air and soil (365,) [C]: shoots that are up by then or soon, if they are not past their picking
    and the days still grow longer."""
    if not rests_in_winter(crop) or day > YEAR_DAYS // 2 or year_c.min() >= crop["development.rests_below"]:
        return None
    up = int(emergence_day(crop, soil_c[None], int(np.argmin(year_c[: YEAR_DAYS // 2])))[0])
    had = float(crop_thermal_rate(crop, year_c[up:day]).sum()) if up < day else 0.0
    return Stood(had, True, max(up - day, 0)) if had < crop["development.flower"] else None


def comes_up(emergence: Ints, start: int, stands: Stood | None) -> Ints:
    """Days on which shoots come up, (Y,): of a rootstock that stands no later in the middle than in the normal year, earlier in
    warm years than in cold ones, and never before `start`."""
    if stands is None or stands.up is None or (emergence >= NEVER).all():
        return emergence
    late = max(int(np.median(emergence[emergence < NEVER])) - (start + stands.up), 0)
    return np.asarray(np.where(emergence < NEVER, np.maximum(emergence - late, start), emergence), dtype=np.int64)


def counted_days(crop: Crop, head: float, start: int, daylength_h: Floats, stands: Stood | None) -> tuple[Bools, float]:
    """Whether days count (D,), and the head start [C d].

    What `stands` has what its year has given it, or waits for the next shortest day.  Of a crop that makes its flower buds in
    short days nothing counts before the first of them, and a plant set out in long days has no buds to bring; one set out later
    was dug with some.
    """
    days = np.arange(len(daylength_h))
    if stands is not None and np.isnan(stands.had):
        return days >= start + int(np.argmin(daylength_h[start : start + YEAR_DAYS])), head
    short = daylength_h < crop.number("development.short_days", np.inf)
    if stands is not None or short[start : start + 1].all():
        return np.ones(len(days), dtype=bool), head + (0.0 if stands is None else stands.had)
    return days >= int(first_from(short, np.array([start]))[0]), 0.0


def resting(crop: Crop, rate: Floats, mean_c: Floats, organ: Ints) -> Ints:
    """Day from which growth rests in the cold, after what is eaten has begun to fill on the days `organ`, (Y,)."""
    filling = np.arange(rate.shape[1]) >= organ[:, None]
    return first_day_reaching(rests(rate) & filling & (mean_c < crop["development.t_optimum"]), True)
