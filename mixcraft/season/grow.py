"""From a plan to a season: weather, setting, light, day loop, result."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import Weather
from mixcraft.recipe.plan import Plan

from .growth import BalanceError, Trace, run, traits_of
from .light_layers import absorb_layers, overlaps
from .result import Season
from .setting import Setting, season_weather, settle

Floats = NDArray[np.float64]

YEARS = 30
SEED = 20260401


def grow(plan: Plan, years: int = YEARS, seed: int = SEED, weather: Weather | None = None) -> Season:
    """Grow `plan` over `years` stochastic weather years (or the given weather, with 30 days before the first sowing).

    Same plan, years and seed: same season.  Raises `BalanceError` if a balance does not close (a fault of the engine).
    """
    weather = season_weather(plan, years, seed) if weather is None else weather
    setting = settle(plan, weather)
    trace = run(setting, layered_light(setting))
    return _season(setting, trace, "layers")


def layered_light(setting: Setting):  # type: ignore[no-untyped-def]
    """Light sharing by the layered canopy, for `run`."""
    plan = setting.plan
    cells = np.stack([p.stand.cells for p in plan.plantings])
    overlap = overlaps(cells)
    traits = traits_of(setting)
    p = len(plan.plantings)
    k, area = traits.k[:p], traits.area[:p]
    sky = plan.bed.area_m2

    def share(day: int, leaf_m2: Floats, height_m: Floats) -> tuple[Floats, Floats, Floats | None]:
        shares = absorb_layers(leaf_m2 / area, height_m, k, area, overlap, attribute=day % 7 == 0)
        total = shares.absorbed.sum(axis=1, keepdims=True)
        if (total > sky * 1.02).any():
            scale = np.minimum(1.0, sky / np.maximum(total, 1e-12))
            return shares.absorbed * scale, shares.alone, shares.taken
        return shares.absorbed, shares.alone, shares.taken

    return share


def _season(setting: Setting, trace: Trace, light_model: str) -> Season:
    plan = setting.plan
    p, h = len(plan.plantings), len(plan.harvests)
    if (trace.absorbed_mj[:, :, :p] > trace.alone_mj + 1e-6).any():
        raise BalanceError("a planting absorbs more light among others than alone")
    return Season(
        plan=plan, weather=setting.weather, leaf_m2=trace.leaf_m2[:, :, :p], height_m=trace.height_m[:, :, :p],
        absorbed_mj=trace.absorbed_mj[:, :, :p], alone_mj=trace.alone_mj, taken_mj=trace.taken_mj.mean(axis=1),
        growth_g=trace.growth_g[:, :, :p], lone_growth_g=trace.growth_g[:, :, p : 2 * p],
        picked_kg=trace.picked_kg[:, :, :h], lone_kg=trace.picked_kg[:, :, h : 2 * h],
        sole_kg=trace.picked_kg[:, :, 2 * h :], water=trace.water, emergence=setting.emergence, death=setting.death,
        opens=setting.opens, closes=setting.closes, light_model=light_model, extras={"clocks": setting.clocks},
    )  # fmt: skip
