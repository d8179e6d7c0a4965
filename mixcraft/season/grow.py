"""From a plan to a season: weather, setting, light, day loop, result."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mixcraft.place import Weather, daily_from_normals
from mixcraft.recipe.plan import Plan

from .growth import BalanceError, ShareLight, Trace, run
from .result import Season
from .setting import BEFORE_DAYS, Setting, season_weather, settle
from .sharing import Apart, Corrections, Layered, Scout
from .water import SeasonWater

YEARS = 30
SEED = 20260401


def grow(
    plan: Plan,
    years: int = YEARS,
    seed: int = SEED,
    weather: Weather | None = None,
    *,
    voxels: bool = True,
    apart: bool = False,
    cyclic: bool = False,
    light: float = 1.0,
) -> Season:
    """Grow `plan` over `years` stochastic weather years (or the given weather, with 30 days before the first sowing).

    With `voxels` the light is shared in three dimensions (see `sharing`): asked in the season itself where it is one year, in a
    scouting season where there are more.  Without, by the layered canopy alone, which is faster and blind to place; `apart`,
    plantings do not see one another at all, as in a trial of crops side by side.  Same plan, years and seed: same season.
    Raises `BalanceError` if a balance does not close (a fault of the engine).
    """
    weather = season_weather(plan, years, seed) if weather is None else weather
    setting = _shaded(settle(plan, weather), light)
    if apart:
        return _season(setting, run(setting, Apart(setting), _water(setting)), "apart", None)
    if voxels and setting.par_mj.shape[1] == 1:
        return _season(setting, *_asked(setting, cyclic))
    corrections = scout(plan, cyclic, light) if voxels else None
    layered = Layered(setting, corrections)
    return _season(setting, _run(setting, layered, layered), "voxels" if voxels else "layers", corrections)


def _shaded(setting: Setting, light: float) -> Setting:
    """The setting with a share of the open sky's light."""
    return setting if light == 1.0 else replace(setting, clear=setting.clear * light, bright=setting.bright * light)


def scout(plan: Plan, cyclic: bool = False, light: float = 1.0) -> Corrections:
    """Corrections of the layered canopy by the voxel model, from a season grown in the place's normal year."""
    start = plan.start - np.timedelta64(BEFORE_DAYS, "D")
    setting = settle(plan, daily_from_normals(plan.place, start, plan.days + BEFORE_DAYS))
    return _asked(_shaded(setting, light), cyclic)[2]


def _asked(setting: Setting, cyclic: bool) -> tuple[Trace, str, Corrections]:
    """A season in which the voxel model is asked as it grows, the light model's name, and the corrections that it gave."""
    ask = Scout(setting, Layered(setting), cyclic)
    return _run(setting, ask, ask.layered), "voxels", ask.corrections()


def _run(setting: Setting, share_light: ShareLight, layered: Layered) -> Trace:
    return run(setting, share_light, _water(setting), layered.overlap)


def _water(setting: Setting) -> SeasonWater | None:
    """The soil water of a bed that is not always watered, and of its twins."""
    return None if setting.plan.bed.watering.kind == "watered" else SeasonWater(setting)


def _season(setting: Setting, trace: Trace, light_model: str, corrections: Corrections | None) -> Season:
    plan = setting.plan
    p, h = len(plan.plantings), len(plan.harvests)
    if (trace.absorbed_mj[:, :, :p] > trace.alone_mj + 1e-6).any():
        raise BalanceError("a planting absorbs more light among others than alone")
    return Season(
        plan=plan, weather=setting.weather, leaf_m2=trace.leaf_m2[:, :, :p], height_m=trace.height_m[:, :, :p],
        absorbed_mj=trace.absorbed_mj[:, :, :p], alone_mj=trace.alone_mj, taken_mj=trace.taken_mj,
        growth_g=trace.growth_g[:, :, :p], lone_growth_g=trace.growth_g[:, :, p : 2 * p],
        picked_kg=trace.picked_kg[:, :, :h], lone_kg=trace.picked_kg[:, :, h : 2 * h],
        sole_kg=trace.picked_kg[:, :, 2 * h :], water=trace.water, emergence=setting.emergence, death=setting.death,
        opens=setting.opens, closes=setting.closes, light_model=light_model,
        clocks=setting.clocks, ground=() if corrections is None else corrections.ground,
    )  # fmt: skip
