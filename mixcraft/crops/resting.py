"""When pieces of plants wake, and when what grows goes to rest in the cold.  Shapes as in the clock: (Y, D) and (Y,)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .cold import rests, running_mean
from .development import NEVER, crop_thermal_rate, emergence_day, first_day_reaching
from .model import Crop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

YEAR_DAYS, MONTH_DAYS = 365, 30


def wakes_on(crop: Crop, start: int, mean_c: Floats, soil_c: Floats, daylength_h: Floats, stands: bool = False) -> int:
    """Day from which a piece that is set out on day `start` grows: that day, or of a rootstock that rests through winter, where
    the coldest month of the middle year is cold enough for it to rest, the next shortest day.

    It waits for that if it is set out when the days grow shorter, or when those that stand are picked already, as none is to be
    had dormant any more; one that `stands` was never lifted.  Parameters as of the clock: temperatures [C] of air and soil
    (Y, D), day length [h].
    """
    later_days = daylength_h[start : start + YEAR_DAYS]
    if "development.rests_below" not in crop.records or len(later_days) < 2:
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


def resting(crop: Crop, rate: Floats, mean_c: Floats, organ: Ints) -> Ints:
    """Day from which growth rests in the cold, after what is eaten has begun to fill on the days `organ`, (Y,)."""
    filling = np.arange(rate.shape[1]) >= organ[:, None]
    return first_day_reaching(rests(rate) & filling & (mean_c < crop["development.t_optimum"]), True)
