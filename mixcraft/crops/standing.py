"""Standing: how long what is ready holds in the bed.  It ages with warmth, not with the crop's thermal time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .development import NEVER, later
from .model import Crop
from .remembered import remembered

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Q10_C = 10.0
"""Degrees for which a Q10 is the factor, by definition."""


@remembered
def standing_days(mean_c: Floats) -> Floats:
    """Days of standing that have passed, each worth as many days at `standing_reference` as produce ages on it, (Y, D)."""
    worth = constant("standing_q10") ** ((mean_c - constant("standing_reference")) / Q10_C)
    return np.asarray(np.cumsum(worth, axis=-1))


def holds_until(standing: Floats, opens: Ints, hold_days: float) -> Ints:
    """Last day (Y,) on which what was ready on day `opens` still holds; NEVER if it was never ready."""
    return later(standing, opens, hold_days)


def keeps_in_ground(crop: Crop, standing: Floats, ready: Ints, end: Ints) -> tuple[Ints, Ints]:
    """Day from which the tops are dead, `NEVER` for crops whose life ends with them, and day on which all ends, (Y,) each.

    Tubers of annuals lie in the ground for their `hold` when the tops have died; those that are dug young, from when they are
    ready.
    """
    part = crop.main_part
    if crop.life != "annual" or crop.root_form != "tuberous" or part.pool != "organ" or "hold" not in part.records:
        return np.full_like(end, NEVER), end
    if part.methods[0] not in ("once", "pull"):
        return np.full_like(end, NEVER), end
    until = holds_until(standing, end if part.methods[0] == "once" else ready, part.number("hold"))
    return end, np.asarray(np.where(end < NEVER, np.maximum(end, np.minimum(until, NEVER)), end))
