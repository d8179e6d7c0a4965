"""From a plan to a season, in one line: settle, light, day loop, collect."""

from __future__ import annotations

import numpy as np

from mixcraft.files import UsageError
from mixcraft.files.shelf import Shelf
from mixcraft.place import Weather, daily_from_normals
from mixcraft.recipe.plan import Plan

from .columns import LONE, MIXTURE, SOLE, columns_of
from .result import Season
from .setting import BEFORE_DAYS, HORIZON_DAYS, Setting, season_weather, settle
from .sharing import Corrections, apart_light, asked_of, still_hold
from .stand import BalanceError, ground_of, run, stand_of
from .tables import Floats, Trace
from .twins import Twin, twins

YEARS = 30
SEED = 20260401
WEEK = 7
MOST_PLANTING_YEARS = 6000
"""Most plantings times years of one season, 60 times 100: 1.2 GB (measured; each takes half a kilobyte a day)."""


def grow(
    plan: Plan,
    years: int = YEARS,
    seed: int = SEED,
    weather: Weather | None = None,
    *,
    voxels: bool = True,
    apart: bool = False,
    corrections: Corrections | None = None,
    keep: Shelf | None = None,
    normal: Shelf | None = None,
    cyclic: bool = False,
    light: float = 1.0,
) -> Season:
    """Grow `plan` over `years` stochastic weather years (or the given weather, with 30 days before the first sowing).

    With `voxels` the light is shared in three dimensions (see `sharing`): asked in the season itself where it is one year, in a
    scouting season where there are more, or taken from the `corrections` of a neighbouring recipe where they still hold.
    Without, by the layered canopy alone, which is faster and blind to place; `apart`, plantings do not see one another at all,
    as in a trial of crops side by side.  `keep` and `normal` hold what was made for other plans in the same weather, and in the
    normal year.  `cyclic`, the bed goes on for ever at its sides, as in a large field; `light` is the share of the open sky's
    light that reaches it.  Same plan, years and seed: same season.  Raises `BalanceError` if a balance does not close (a fault of
    the engine), `UsageError` for more plantings times years than `MOST_PLANTING_YEARS`.
    """
    _check_size(len(plan.plantings), years if weather is None else weather.years)
    keep = Shelf() if keep is None else keep
    setting = settle(plan, season_weather(plan, years, seed) if weather is None else weather, keep, light)
    shared = light_of(setting, corrections, keep, normal, cyclic) if voxels and not apart else None
    mixture = day_loop(setting, shared, keep, apart=apart)
    return collect(setting, mixture, twins(setting, shared, keep), shared, apart=apart)


def _check_size(plantings: int, years: int) -> None:
    if plantings * years > MOST_PLANTING_YEARS:
        raise UsageError(
            f"{plantings} plantings over {years} years are too much for the memory of a usual computer: "
            f"give up to {MOST_PLANTING_YEARS // plantings} years"
        )


def light_of(setting: Setting, known: Corrections | None, keep: Shelf, normal: Shelf | None, cyclic: bool = False) -> Corrections:
    """Corrections of the layered canopy for a setting: those `known` where they still hold, else asked."""
    scouting, shelf = (setting, keep) if setting.weather.years == 1 else normal_year(setting.plan, normal, setting.light)
    if known is not None and still_hold(known, scouting, shelf):
        return known.with_apart(apart_light(scouting, shelf, cyclic))
    return asked_of(scouting, shelf, cyclic)


def scout(plan: Plan) -> Corrections:
    """Corrections of the layered canopy by the voxel model, from a season grown in the place's normal year."""
    return asked_of(*normal_year(plan))


def normal_year(plan: Plan, keep: Shelf | None = None, light: float = 1.0) -> tuple[Setting, Shelf]:
    """A plan in the place's normal year, with the shelf of that year's days from the plan's first on."""
    start, days = plan.date(-BEFORE_DAYS), plan.days + BEFORE_DAYS
    if keep is None or days > HORIZON_DAYS:
        return settle(plan, daily_from_normals(plan.place, start, days), keep := Shelf(), light), keep
    weather: Weather = keep("normal", lambda: daily_from_normals(plan.place, start, HORIZON_DAYS))
    return settle(plan, weather, keep, light), keep


def day_loop(setting: Setting, light: Corrections | None, keep: Shelf, *, apart: bool = False) -> Trace:
    """The mixture through all days of all years."""
    plan = setting.plan
    p = len(plan.plantings)
    columns = columns_of(plan.plantings, MIXTURE, plan.bed.area_m2)
    factor = None if light is None else light.factor[:, [*range(p), *range(3 * p, 4 * p)]]
    return run(stand_of(setting, columns, ground_of(setting, columns, factor, keep, apart=apart), keep))


def collect(
    setting: Setting, trace: Trace, others: dict[tuple[str, int], Twin], light: Corrections | None, *, apart: bool = False
) -> Season:
    """The season: the mixture's trace beside the twins'."""
    plan = setting.plan
    alone = trace.absorbed_mj if apart else trace.alone_mj
    if (trace.absorbed_mj > alone + 1e-6).any():
        raise BalanceError("a planting absorbs more light among others than alone")
    p = range(len(plan.plantings))
    rows = [(i, row) for i in p for row in setting.courses[i].rows]
    order = np.argsort([first + row.harvest for i, row in rows for first in [_first(setting, i)]])
    return Season(
        plan=plan, weather=setting.season_weather, leaf_m2=trace.leaf_m2, height_m=trace.height_m, absorbed_mj=trace.absorbed_mj,
        alone_mj=alone, takers=held(trace, others) if light is None else light.takers, growth_g=trace.growth_g,
        lone_growth_g=np.stack([others[LONE, i].growth_g for i in p], axis=-1), picked_kg=trace.picked_kg[:, :, order],
        held_back=trace.held_back, lone_held_back=np.stack([others[LONE, i].held_back for i in p], axis=1),
        nitrogen=trace.nitrogen, small_kg=trace.small_kg[:, :, order],
        lone_kg=np.concatenate([others[LONE, i].picked_kg for i in p], axis=-1),
        sole_kg=np.concatenate([others[SOLE, i].picked_kg for i in p], axis=-1), water=trace.water,
        emergence=setting.by_planting("emergence"), death=setting.by_planting("death"), opens=setting.by_harvest("opens"),
        closes=setting.by_harvest("closes"), light_model="apart" if apart else "layers" if light is None else "voxels",
        clocks=setting.clocks, ground=() if light is None else light.ground, corrections=light,
    )  # fmt: skip


def _first(setting: Setting, index: int) -> int:
    """Index of a planting's first harvest among all."""
    return sum(len(course.rows) for course in setting.courses[:index])


def held(trace: Trace, others: dict[tuple[str, int], Twin]) -> Floats:
    """Who takes whose light, (D, P, P), found every week, held till the next day on which it was found and anything lived."""
    if not trace.takers.size:
        return np.zeros((*trace.takers.shape[:1], trace.leaf_m2.shape[2], trace.leaf_m2.shape[2]))
    lived = trace.anything | np.any([twin.anything for twin in others.values()], axis=0)
    found = np.arange(len(lived))
    found = np.maximum.accumulate(np.where(lived & (found % WEEK == 0), found, -1))
    return np.where((lived & (found >= 0))[:, None, None], trace.takers[found], 0.0)
