"""Heat: what stops setting, turns bitter or dies when months are warmer than a crop bears; and flowers that do not set in the
cool.  Pure array functions, (Y, D).

The measure of a crop is the warmest month in which it still grows well, `development.heat_above` (Knott's table, in
`habits.yaml`); crops without one are not held back here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .cold import HOURS, recent_mean, running_mean
from .constants import constant
from .model import Crop

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def excess(crop: Crop, mean_c: Floats, days: float) -> Floats:
    """Degrees [C] by which the mean of the last `days` days lies above what the crop bears, (Y, D); negative below it."""
    return recent_mean(mean_c, int(days)) - crop.number("development.heat_above", np.inf)


def share_left(mean_c: Floats, min_c: Floats, low: tuple[float, float] | None, high: tuple[float, float] | None) -> Floats:
    """Share 0..1 that the temperature of a day leaves, (Y, D): the mean over its hours of a function of CROPGRO (shape QDR).

    It is nought below the first and above the last of its four temperatures, 1 between the middle ones, and falls on either side
    with the square of the distance: `low` are the first two of them [C] and `high` the last two, None where it does not fall.
    """
    total = np.zeros_like(mean_c)
    for hour in HOURS:
        t = mean_c + hour * (mean_c - min_c)
        total += 1.0
        if low is not None:
            total -= np.clip((low[1] - t) / (low[1] - low[0]), 0.0, 1.0) ** 2
        if high is not None:
            total -= np.clip((t - high[0]) / (high[1] - high[0]), 0.0, 1.0) ** 2
    return np.asarray(total / len(HOURS))


def pod_set(crop: Crop, mean_c: Floats, min_c: Floats) -> Floats:
    """Share 0..1 of the flowers of a day that set, (Y, D), by the sides of the function that the crop has temperatures of."""
    low = high = None
    if "development.setting.all_from" in crop.records:
        low = crop["development.setting.none_below"], crop["development.setting.all_from"]
    if "development.setting.all_until" in crop.records:
        high = crop["development.setting.all_until"], crop["development.setting.none_above"]
    return share_left(mean_c, min_c, low, high)


def pod_filling(crop: Crop, mean_c: Floats, min_c: Floats) -> Floats:
    """Growth of pods and fruit on a day over that in the warmth that suits them, 0..1, (Y, D); 1 for crops that do not say."""
    if "development.filling.all_until" not in crop.records:
        return np.ones_like(mean_c)
    return share_left(mean_c, min_c, None, (crop["development.filling.all_until"], crop["development.filling.none_above"]))


def setting_share(crop: Crop, mean_c: Floats, min_c: Floats | None = None) -> Floats:
    """Share 0..1 of flowers, heads or bulbs that set and fill in the warmth of the last week, (Y, D); by `pod_set` and
    `pod_filling` where the crop has their temperatures, and days without their minima `min_c` are as warm all day.

    What heat leaves of crops without such temperatures falls from all to none over `heat_span`: about the warmest month that
    suits the crop where flowers set fruit one by one, from there on where roots, heads and bulbs fill.  What cold leaves of
    fruit that fills is told by its thermal time already.
    """
    low = mean_c if min_c is None else min_c
    told = {"development.setting.all_from", "development.setting.all_until"} & crop.records.keys()
    sets = running_mean(pod_set(crop, mean_c, low), int(constant("heat_days_setting"))) if told else 1.0
    if "development.setting.all_until" in crop.records:
        return np.asarray(sets * pod_filling(crop, mean_c, low))
    over = excess(crop, mean_c, constant("heat_days_setting"))
    if crop.main_part.pool == "organ" and crop.main_part.methods[0] == "pick":
        over = over + 0.5 * constant("heat_span")
    return np.asarray(sets * np.clip(1.0 - over / constant("heat_span"), 0.0, 1.0))


def of_warm_climates(crop: Crop) -> bool:
    """Whether chill ends a crop, and heat does not: it loses its flowers then (`setting_share`) and lives on."""
    return "frost.chill_below" in crop.records


def unfit(crop: Crop, mean_c: Floats) -> Bools:
    """Days on which leaves and heads of a cool annual are bitter, tough or running to seed for heat, (Y, D); none of others."""
    if crop.life != "annual" or of_warm_climates(crop):
        return np.zeros(mean_c.shape, dtype=bool)
    return excess(crop, mean_c, constant("heat_days_unfit")) > constant("heat_margin")


def worn_out(crop: Crop, mean_c: Floats, green: Bools) -> Bools:
    """Days on which the heat since emergence has worn the crop out, (Y, D): degree days above what it bears; none of crops
    of warm climates."""
    if of_warm_climates(crop):
        return np.zeros(mean_c.shape, dtype=bool)
    over = np.clip(mean_c - crop.number("development.heat_above", np.inf), 0.0, None) * green
    return np.asarray(np.cumsum(over, axis=-1) >= constant("heat_dose"))
