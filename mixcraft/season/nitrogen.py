"""Nitrogen that soil and feeding give to a bed, and the compost that would make good what it lacks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.recipe.model import Feeding

from .constants import constant
from .result import Season
from .setting import Setting
from .tables import Floats

SANDS = ("sand", "loamy sand")
DAYS = 365
"""Days from one dressing to the next."""
Q10_C = 10.0
"""Degrees of a Q10."""


def soil_supply(soil: str, tmean_c: Floats) -> tuple[float, Floats]:
    """Mineral nitrogen in the soil at first [g/m2], and what its humus gives each day [g/(m2 d)], shape of `tmean_c` [C].

    Humus decays twice as fast with each 10 C, and not in the cold; sands hold less of it.
    """
    rate = constant("mineral_rate") * (constant("mineral_sand") if soil in SANDS else 1.0)
    warmth = constant("mineral_q10") ** ((tmean_c - constant("mineral_reference")) / Q10_C)
    daily = np.where(tmean_c > constant("mineral_least"), rate * warmth, 0.0)
    return constant(f"soil_nitrogen_{soil.replace(' ', '_')}"), daily


def given_g_m2(feeding: Feeding) -> float:
    """Nitrogen that a bed's feeding makes available in a year [g/m2]."""
    if feeding.kind == "usual":
        return constant("usual_feeding")
    return feeding.litres_m2 * constant("compost_nitrogen") * constant("compost_available")


def compost_litres(nitrogen_g_m2: float) -> float:
    """Litres of compost to the square metre that make so much nitrogen available in their first year."""
    return nitrogen_g_m2 / (constant("compost_nitrogen") * constant("compost_available"))


@dataclass(frozen=True)
class NitrogenNeed:
    """Nitrogen of a bed over a season, means over years [g/m2 of the bed]: `wanted` by its crops, `fixed` by its legumes, `soil`
    what the soil gives by itself, `lacked` what was wanted and not had; and the compost that would make good what soil and
    legumes do not give [l/m2]."""

    wanted: float
    fixed: float
    soil: float
    lacked: float
    compost_l_m2: float


def nitrogen_need(season: Season) -> NitrogenNeed:
    """What the crops of a season want of nitrogen, and where it comes from."""
    plan = season.plan
    share = np.array([p.stand.area_m2 for p in plan.plantings]) / plan.bed.area_m2
    taken, fixed, lacked = (float((season.nitrogen[:, :, i] @ share).mean()) for i in range(3))
    start, daily = soil_supply(plan.bed.soil, season.weather.tmean_c[:, season.before :])
    soil = start + float(daily.sum(axis=1).mean())
    wanted = taken + fixed + lacked
    return NitrogenNeed(wanted, fixed, soil, lacked, compost_litres(max(wanted - fixed - soil, 0.0)))


def supply_of(setting: Setting) -> Floats:
    """What each day brings to the soil, (Y, D) [g/m2]: at first what is there, each year the bed's feeding, daily the humus."""
    bed = setting.plan.bed
    start, daily = soil_supply(bed.soil, setting.weather.tmean_c[:, setting.days])
    supply = np.array(daily, order="C")
    supply[:, ::DAYS] += given_g_m2(bed.feeding)
    supply[:, 0] += start
    return supply
