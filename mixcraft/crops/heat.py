"""Heat: what stops setting, turns bitter or dies when months are warmer than a crop bears.  Pure array functions, (Y, D).

The measure of a crop is the warmest month in which it still grows well, `development.heat_above` (Knott's table, in
`habits.yaml`); crops without one are not held back here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .cold import recent_mean
from .constants import constant
from .model import Crop

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def excess(crop: Crop, mean_c: Floats, days: float) -> Floats:
    """Degrees [C] by which the mean of the last `days` days lies above what the crop bears, (Y, D); negative below it."""
    return recent_mean(mean_c, int(days)) - crop.number("development.heat_above", np.inf)


def setting_share(crop: Crop, mean_c: Floats) -> Floats:
    """Share 0..1 of flowers, heads or bulbs that set and fill in the heat of the last week, (Y, D).

    It falls from all to none over `heat_span`: about the warmest month that suits the crop where flowers set fruit one by one,
    from there on where roots, heads and bulbs fill.
    """
    over = excess(crop, mean_c, constant("heat_days_setting"))
    if crop.main_part.pool == "organ" and crop.main_part.methods[0] == "pick":
        over = over + 0.5 * constant("heat_span")
    return np.asarray(np.clip(1.0 - over / constant("heat_span"), 0.0, 1.0))


def unfit(crop: Crop, mean_c: Floats) -> Bools:
    """Days on which leaves and heads are bitter, tough or running to seed for heat, (Y, D)."""
    return excess(crop, mean_c, constant("heat_days_unfit")) > constant("heat_margin")


def worn_out(crop: Crop, mean_c: Floats, green: Bools) -> Bools:
    """Days on which the heat since emergence has worn the crop out, (Y, D): degree days above what it bears."""
    over = np.clip(mean_c - crop.number("development.heat_above", np.inf), 0.0, None) * green
    return np.asarray(np.cumsum(over, axis=-1) >= constant("heat_dose"))
