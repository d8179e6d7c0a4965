"""A season by the reference day loop, from the same setting and the same corrections of light as the compiled one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.result import Season
from mixcraft.season.setting import settle

from .growth import run
from .sharing import Apart, Layered
from .water import SeasonWater

Floats = NDArray[np.float64]


def by_the_oracle(season: Season) -> dict[str, Floats]:
    """What the reference loop says of a season that has been grown, by the names of the season's fields."""
    setting = settle(season.plan, season.weather)
    water = None if season.plan.bed.watering.kind == "watered" else SeasonWater(setting)
    if season.light_model == "apart":
        trace = run(setting, Apart(setting), water)
    else:
        layered = Layered(setting, season.corrections)
        trace = run(setting, layered, water, layered.overlap)
    p, h = len(season.plan.plantings), len(season.plan.harvests)
    return {
        "leaf_m2": trace.leaf_m2[:, :, :p], "height_m": trace.height_m[:, :, :p], "absorbed_mj": trace.absorbed_mj[:, :, :p],
        "alone_mj": trace.alone_mj, "taken_mj": trace.taken_mj, "growth_g": trace.growth_g[:, :, :p],
        "lone_growth_g": trace.growth_g[:, :, p : 2 * p], "picked_kg": trace.picked_kg[:, :, :h],
        "lone_kg": trace.picked_kg[:, :, h : 2 * h], "sole_kg": trace.picked_kg[:, :, 2 * h :], "water": trace.water,
    }  # fmt: skip
