"""Usual months: when a grower starts a crop where there are seasons, beyond what frost and yield say (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import YEAR, Almanac

from .constants import constant

USUAL_STARTS_FILE = Path(__file__).with_name("usual_starts.yaml")
AFTER = 14, 42
"""Days after a start over which the mean temperature is taken."""


@lru_cache(maxsize=1)
def _known() -> Mapping[str, Mapping[str, Any]]:
    found: Mapping[str, Mapping[str, Any]] = yaml.safe_load(USUAL_STARTS_FILE.read_text("utf-8"))
    return found


def usual_start(crop: Crop, day: int, sky: Almanac) -> bool:
    """Whether growers of a place with seasons usually start the crop on a day of the almanac; yes where nothing is known."""
    said, mean_c = _known().get(crop.id), sky.weather.tmean_c[0]
    year = mean_c[:YEAR]
    if said is None or float(year.max() - year.min()) < constant("seasons_c"):
        return True
    days = np.arange(day + AFTER[0], day + AFTER[1]) % YEAR
    after_c = float(year[days].mean())
    if not said.get("coolest", -np.inf) <= after_c <= said.get("warmest", np.inf):
        return False
    return "phase" not in said or _in_phase(said, day, sky, after_c)


def _in_phase(said: Mapping[str, Any], day: int, sky: Almanac, after_c: float) -> bool:
    """Whether a day lies in the half of the year in which a crop is started."""
    coldest = sky.coldest_day % YEAR
    warmest = (coldest + YEAR // 2) % YEAR
    since = (day - coldest) % YEAR
    turn = (warmest - coldest) % YEAR - 7 * int(said.get("before", 0))
    if said["phase"] == "spring":
        return since <= turn
    return since >= turn or after_c <= said.get("in_spring", -np.inf)
