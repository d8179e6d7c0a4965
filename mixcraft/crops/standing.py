"""Standing: how long what is ready holds in the bed.  It ages with warmth, not with the crop's thermal time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .development import NEVER, first_day_reaching
from .remembered import remembered

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@remembered
def standing_days(mean_c: Floats) -> Floats:
    """Days of standing that have passed, each worth as many days at `standing_reference` as produce ages on it, (Y, D)."""
    worth = constant("standing_q10") ** ((mean_c - constant("standing_reference")) / 10.0)
    return np.asarray(np.cumsum(worth, axis=-1))


def holds_until(standing: Floats, opens: Ints, hold_days: float) -> Ints:
    """Last day (Y,) on which what was ready on day `opens` still holds; NEVER if it was never ready."""
    begun = np.take_along_axis(standing, np.minimum(opens, standing.shape[-1] - 1)[:, None], axis=1)
    return np.asarray(np.where(opens < NEVER, first_day_reaching(standing - begun, hold_days), NEVER), dtype=np.int64)
