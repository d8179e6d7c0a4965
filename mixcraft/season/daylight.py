"""Light by month: what reaches each planting and the soil, as a share of the open sky and in mol of PAR."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import cover
from mixcraft.recipe.covering import shelter

from .constants import constant
from .directions import diffuse_shares, slope_light
from .open_sky import kept_of_open_sky, sun_hours
from .result import Season

Floats = NDArray[np.float64]

LEAST_LEAF_M2 = 1e-3
"""Less leaf than this on the whole bed shades nothing."""


@dataclass(frozen=True)
class MonthLight:
    """Light of one month of the season.

    `month` is its first day (datetime64[M]); `open_mol` PAR of the open sky on the bed's surface [mol m-2 d-1]; `share` (P,) the
    share of it that a planting's leaves get beside the same leaves without neighbours, walls and covers, nan when it has no
    leaves; `mol` (P,) the same in mol m-2 d-1; `ground` (nx, ny) share of the open sky's light on the soil, under the structure
    in which the bed stands, or None before the first leaves; `sun_hours` hours in which a clear day's sun shines on the bed in
    the middle of the month, mean over its bare ground [h].
    """

    month: np.datetime64
    open_mol: float
    share: Floats
    mol: Floats
    ground: Floats | None
    sun_hours: float


def light_by_month(season: Season) -> tuple[MonthLight, ...]:
    """Light of every month of the season, means over days and years."""
    months = season.dates().astype("datetime64[M]")
    lies = slope_light(season.plan.bed, season.weather, season.plan.place.latitude_deg)
    par = (season.weather.radiation_mj * lies)[:, season.before :].mean(axis=0) * constant("par_share")
    absorbed, alone = season.absorbed_mj.mean(axis=1), season.alone_mj.mean(axis=1)
    mol = constant("mol_per_mj_par")
    asked, plan = season.ground, season.plan
    diffuse = diffuse_shares(season.weather, plan.place.latitude_deg)[season.before :]
    leaf, height = np.median(season.leaf_m2, axis=1), np.median(season.height_m, axis=1)
    passed = np.stack([shelter(planned.covers, season.days).light for planned in plan.plantings], axis=1)
    roof = cover(plan.bed.under).light if plan.bed.under else 1.0
    found = []
    for month in np.unique(months):
        days = np.nonzero(months == month)[0]
        total = alone[days].sum(axis=0)
        share = np.divide(absorbed[days].sum(axis=0), total, out=np.full(total.shape, np.nan), where=total > 1e-6)
        maps = [ground for day, ground in asked if days[0] <= day <= days[-1]]
        if not maps:
            earlier = [ground for day, ground in asked if day < days[0]]
            maps = earlier[-1:]
        if asked and leaf[days].max() < LEAST_LEAF_M2:  # all is cleared: the lightest that each spot has been
            maps = [np.max([ground for _, ground in asked], axis=0)]
        sky = float(par[days].mean() * mol)
        day = int(days[len(days) // 2])
        share = share * kept_of_open_sky(plan, day, float(diffuse[day]), leaf[day], height[day]) * passed[days].mean(axis=0)
        hours = float(sun_hours(plan, day).mean())
        soil = roof * np.mean(maps, axis=0) if maps else None
        found.append(MonthLight(month, sky, share, share * sky, soil, hours))
    return tuple(found)
