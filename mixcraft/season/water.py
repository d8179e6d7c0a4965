"""Water in the soil of a bed: a daily balance after FAO-56 (Allen et al. 1998, chapters 7 and 8) over layers that roots share.

Rain and watering come early in the day, fill the layers from the top, and drain away below the last one.  Evaporation and
transpiration follow the dual crop coefficient of chapter 7: the surface layer dries in two stages (readily and totally
evaporable water of Table 19, eq. 74), only where soil lies bare (eqs. 71 and 75).  Drought follows chapter 8: a planting's
stress coefficient (eq. 84) comes from what its whole root zone lacks, so that roots in wet layers make good for those in dry
ones, or from what the surface layer lacks where rain on dry soil has made that the wetter (as in AquaCrop, Raes et al. 2009,
Agronomy Journal 101:438-447); the water is then taken where roots and water are.  Plantings whose roots share a layer share
its water; their twins, which grow alone, have beds of their own.

Taken as simple: rain and watering wet the whole surface and none runs off; rain that a cover keeps out is spread over the bed;
no water rises from below, but a layer that roots have entered gives from its whole depth; roots also dry the bare surface (Tew
of eq. 77); snow counts as rain; the air's dryness and wind are those of FAO-56's standard climate (minimum humidity 45 %, wind
2 m/s) in the greatest crop coefficient; ground under leaves or mulch is not followed apart from the bare.  A bed watered
whenever it needs it knows no stress and is not followed.  A weekly gift falls on the plan's first day and every seventh day
after, whatever the weather: a gardener's fixed round, neither skipped after rain nor brought forward in drought.

What happens to a soil on a day stands in `kernel_water`; here is what it begins from and what it is given.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mixcraft.crops.clock import PLANTED
from mixcraft.files.shelf import Shelf
from mixcraft.place import Place, cover, weather_years
from mixcraft.place.series import day_of_year
from mixcraft.recipe.covering import shelter
from mixcraft.recipe.model import Bed
from mixcraft.recipe.plan import Plan

from .columns import MIXTURE, SOLE, Column
from .constants import constant
from .kernel_water import lie_fallow
from .roots import MM_PER_M, layer_bounds, texture
from .setting import BEFORE_DAYS, Setting
from .tables import NOW, TRAITS, Floats, Soil, Stand, Wetness, table

WEEK = 7
FALLOW_YEARS = 10
"""Stochastic years over which a bed lies fallow before the season."""
FALLOW_SEED = 19980101
NORMAL_YEAR = 365
KEPT = 16
"""Places and soils whose fallow is kept."""
BALANCE_MM = 1e-6
"""What a soil's balance over a season may be out by [mm]: rounding."""


def empty_soil(soil: str, bed_m2: float, years: int = 1) -> Soil:
    """A `Soil` of a texture that holds all it can and is given nothing, where water is not followed."""
    held, edges = texture(soil), np.concatenate([[0.0], layer_bounds()])
    capacity = held.available * MM_PER_M * np.diff(edges)
    return Soil(
        0, capacity, edges, held.evaporable, held.readily, bed_m2, np.zeros((1, years, 1)), np.zeros((years, 1)),
        np.zeros((years, len(capacity))), np.zeros(years),
    )  # fmt: skip


def fallow(soil: str, depletion: Floats, surface: Floats, rain_mm: Floats, et0_mm: Floats) -> tuple[Floats, Floats]:
    """Let soils lie fallow: `depletion` (Y, L) and `surface` (Y,) are changed; each day's, before it, (D, Y, L) and (D, Y) [mm].

    Weeds and leftovers of a crop are taken as short grass (FAO-56 Tables 17 and 22) over half the ground.  `rain_mm`, `et0_mm`
    (Y, D).
    """
    years, days = rain_mm.shape
    traits, layers = table(TRAITS, 1), depletion.shape[1]
    traits.kcb, traits.depletion = constant("fallow_kcb"), constant("fallow_depletion")
    wetness = Wetness(np.zeros((1, layers)), np.zeros(1), np.zeros((1, layers)), *np.zeros((2, layers)))
    depletions, surfaces = np.empty((days, *depletion.shape)), np.empty((days, years))
    lie_fallow(
        np.array(rain_mm, order="C"), np.array(et0_mm, order="C"), constant("fallow_cover"),
        np.array([constant("fallow_root_depth")]), depletion, surface, table(NOW, 1), traits, empty_soil(soil, 1.0), wetness,
        depletions, surfaces,
    )  # fmt: skip
    return depletions, surfaces


_kept: dict[tuple[int, str], tuple[Place, Floats, Floats]] = {}


def fallow_states(place: Place, soil: str) -> tuple[Floats, Floats]:
    """How dry a bed that is not gardened lies on each day of the year: depletion (365, `FALLOW_YEARS`, L) and bare surface
    (365, `FALLOW_YEARS`) [mm].

    The bed lies under weeds in stochastic weather of the place (a smooth normal year would drizzle daily, and lose to the air
    what real rain puts down); never watered.  The soil begins dry and runs for two years, of which the second counts: wet
    winters fill it in the first, and where none is wet enough the depth stays dry.  Kept for the places last asked for.
    """
    kept = _kept.get((id(place), soil))
    if kept is not None and kept[0] is place:
        return kept[1], kept[2]
    weather = weather_years(place, "2001-01-01", 2 * NORMAL_YEAR, FALLOW_YEARS, FALLOW_SEED)
    like = empty_soil(soil, 1.0)
    depletion, surface = np.tile(like.capacity, (FALLOW_YEARS, 1)), np.full(FALLOW_YEARS, like.evaporable)
    depletions, surfaces = fallow(soil, depletion, surface, weather.rain_mm, weather.et0_mm)
    if len(_kept) > KEPT:
        _kept.clear()
    states = depletions[NORMAL_YEAR:], surfaces[NORMAL_YEAR:]
    _kept[id(place), soil] = (place, *states)
    return states


def soil_before(setting: Setting) -> tuple[Floats, Floats]:
    """What the soil lacks on the plan's first day, (Y, L), and at the bare surface, (Y,) [mm]: fallow in the place's climate
    (`fallow_states`), then the given weather of the `BEFORE_DAYS` days before, or of as many as it has.

    The fallow years are dealt to the weather years in turn; a single year, such as the normal one, begins from their mean.
    """
    plan, weather = setting.plan, setting.weather
    before = slice(max(setting.offset - BEFORE_DAYS, 0), setting.offset)
    day = min(int(day_of_year(weather.dates[before.start])), NORMAL_YEAR) - 1
    depletion, surface = (states[day] for states in fallow_states(plan.place, plan.bed.soil))
    if weather.years == 1:
        depletion, surface = depletion.mean(axis=0, keepdims=True), surface.mean(axis=0, keepdims=True)
    dealt = np.arange(weather.years) % len(surface)
    depletion, surface = depletion[dealt], surface[dealt]
    fallow(plan.bed.soil, depletion, surface, _roof(plan.bed) * weather.rain_mm[:, before], weather.et0_mm[:, before])
    return depletion, surface


def _roof(bed: Bed) -> float:
    """Share of the rain that passes the structure in which a bed stands."""
    return cover(bed.under).rain if bed.under else 1.0


def rain_passed(plan: Plan, column: Column | None = None) -> Floats:
    """Share of the rain that covers let through to a bed, (D,): of the mixture, or of one planting with a bed to itself.

    A cover keeps rain from the place of its own planting, on the bed of a sole crop from all of it; a structure in which the bed
    stands from all of the bed.
    """
    roof = _roof(plan.bed)
    if column is not None:
        planned = plan.plantings[column.planting]
        under = 1.0 if column.kind == SOLE else float(planned.stand.cells.mean())
        return np.asarray(roof * (1.0 - under * (1.0 - shelter(planned.laid, plan.days).rain)))
    passed: Floats | None = None
    for planned in plan.plantings:
        own = [span for span in planned.covers if span.owner == planned.name]
        kept_out = 1.0 - shelter(own, plan.days).rain
        if kept_out.any():
            here = 1.0 - planned.stand.cells.ravel() * kept_out[:, None]
            passed = here if passed is None else np.minimum(passed, here)
    return np.full(plan.days, roof) if passed is None else np.asarray(roof * passed.mean(axis=1))


def watered_in(plan: Plan, columns: Sequence[Column]) -> Floats:
    """What columns are given over the whole bed when they are planted out [mm], (C, D)."""
    gifts = np.zeros((len(columns), plan.days))
    for c, column in enumerate(columns):
        planned = plan.plantings[column.planting]
        if planned.planting.comes in PLANTED and planned.start < plan.days:
            gifts[c, planned.start] = constant("watering_in") * min(column.area_m2 / plan.bed.area_m2, 1.0)
    return gifts


def soil_of(setting: Setting, columns: Sequence[Column], keep: Shelf) -> Soil:
    """The soils of columns: one that those of the mixture share, and one for each twin.  What is planted out is watered in,
    however the bed is watered."""
    plan, bed = setting.plan, setting.plan.bed
    years = setting.weather.years
    if bed.watering.kind == "watered":
        return empty_soil(bed.soil, bed.area_m2, years)
    depletion, surface = keep(("soil before", setting.offset), lambda: soil_before(setting))
    rain, et0 = setting.weather.rain_mm[:, setting.days], np.array(setting.weather.et0_mm[:, setting.days], order="C")
    gifts, mixture = watered_in(plan, columns), [c for c, column in enumerate(columns) if column.kind == MIXTURE]
    falls = [rain * rain_passed(plan) + gifts[mixture].sum(axis=0)] if mixture else []
    falls += [rain * rain_passed(plan, columns[c]) + gifts[c] for c in range(len(mixture), len(columns))]
    water = np.ascontiguousarray(np.stack(falls))
    if bed.watering.kind == "weekly":
        water[:, :, ::WEEK] += bed.watering.mm_per_week
    return empty_soil(bed.soil, bed.area_m2, years)._replace(
        followed=1, water=water, et0=et0, depletion=np.array(depletion, order="C"), surface=np.array(surface)
    )


def closes(stand: Stand, sums: Floats) -> bool:
    """Whether soil water balances: `sums` (Y, B, 5) of `kernel.run_days`."""
    if stand.soil.followed == 0 or not stand.daily.size:
        return True
    gained = stand.soil.depletion.sum(axis=1)[:, None] - sums[:, :, 4]
    error = np.abs(gained - (sums[:, :, 0] - sums[:, :, 1] - sums[:, :, 2] - sums[:, :, 3]))
    return bool(error.max(initial=0.0) <= BALANCE_MM and sums[:, :, 4].min(initial=0.0) >= -BALANCE_MM)
