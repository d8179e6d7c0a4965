"""What the days bring to a planting: warmth, growth of leaf and organ, height, roots, windows of its harvests.

Pure functions of a crop, its clock and the weather under its covers; nothing here knows what else grows.  Shapes: Y years, D
days.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.bulbs import leaf_goes_on, makes_bulbs
from mixcraft.crops.clock import PLANTED, Clock
from mixcraft.crops.cold import grows_again, recent_mean
from mixcraft.crops.development import NEVER, trapezium
from mixcraft.crops.model import Crop
from mixcraft.crops.remembered import remembered
from mixcraft.crops.windows import part_days
from mixcraft.place import Weather
from mixcraft.place.et0 import saturation_vapour_pressure
from mixcraft.recipe.covering import shelter
from mixcraft.recipe.plan import Planned

from .columns import reached_m, start_leaf_m2
from .constants import constant
from .dilution import is_c4
from .roots import root_depth
from .tables import DRIVERS, Table, table

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def drivers(
    planned: Planned, clock: Clock, par: Floats, mean_c: Floats, grown: Floats, shut: Bools | None, air: Weather, passed: Floats
) -> Table:
    """What the days bring to a planting, a table (Y, D) of `tables.DRIVERS`; `par` and `mean_c` are those under its covers,
    which let the share `passed` of the light through."""
    crop = planned.planting.crop
    daily = table(DRIVERS, *par.shape)
    daily.par = par
    warm = warmth_factor(crop, mean_c)
    daily.potential = crop["canopy.rue"] * par * warm / reference_use(crop)
    daily.leaf_rate = np.expm1(crop["canopy.rgr"] * clock.rate)
    if makes_bulbs(crop):
        daily.leaf_rate *= leaf_goes_on(clock.thermal, clock.organ, clock.ready)
        daily.potential *= np.arange(par.shape[1]) < clock.ready[:, None]
    daily.leaf_area = crop["canopy.sla"] / 1000.0 * thinness(clock.thermal / full_height_at(crop))
    daily.height = reached_m(planned) * grown
    daily.organ_share = organ_share(crop, clock, shut)
    daily.unripe = unripe_share(crop, clock, shut)
    daily.cool = cut_without_end(crop) & (recent_mean(air.tmean_c, int(constant("cool_days"))) < constant("cool_cuts"))
    daily.anew = grows_again(clock.rate)
    old = np.arange(par.shape[1]) >= clock.old[:, None]
    daily.ageing = np.where(old, constant("age_death_rate"), 0.0)
    daily.dies_back = clock.dieback
    daily.roots = root_depth(crop, clock.thermal)
    moist = dry_air(air) * np.maximum(warm, constant("leaf_least"))
    daily.bright = brightness(crop, par, air.daylength_h) / moist
    daily.shade = -np.log(passed)
    return daily


def cut_without_end(crop: Crop) -> bool:
    """Whether a crop is cut in the cool as often as it grows again: salads, which shoot from their hearts."""
    return crop.form == "rosette" and crop.life != "perennial"


J_PER_MJ, SECONDS_PER_HOUR, SHORTEST_DAY_H = 1e6, 3600.0, 1.0


def brightness(crop: Crop, par_mj: Floats | float, daylength_h: Floats | float) -> Floats:
    """Light that a leaf under open sky absorbs over that which half saturates it; the day's hours count by their light.

    `par_mj` (Y, D) [MJ m-2 d-1], `daylength_h` (D,) [h].
    """
    kind = "c4" if is_c4(crop) else "c3"
    half = constant(f"leaf_{kind}_most") / constant(f"leaf_{kind}_initial")
    watts = constant("sine_course") * J_PER_MJ * par_mj / (SECONDS_PER_HOUR * np.maximum(daylength_h, SHORTEST_DAY_H))
    return np.asarray(crop["canopy.k"] * watts / half)


def reference_use(crop: Crop) -> float:
    """Use of light in the canopy and the weather in which published light use is measured, over that of weak light."""
    usual = float(brightness(crop, constant("reference_par"), constant("reference_daylength")))
    passed = np.exp(-crop["canopy.k"] * constant("reference_lai"))
    return float(np.log((1.0 + usual) / (1.0 + usual * passed)) / (usual * (1.0 - passed)))


@remembered
def dry_air(weather: Weather) -> Floats:
    """Greatest photosynthesis of a leaf in the day's dryness of the air over that in moist air, (Y, D).

    The vapour pressure deficit is that of FAO-56 (eqs. 11, 12 and 48: the night's lowest temperature is the dew point).
    """
    deficit = 0.5 * (saturation_vapour_pressure(weather.tmax_c) - saturation_vapour_pressure(weather.tmin_c))
    fall = constant("dry_air_fall") * np.maximum(deficit - constant("dry_air_from"), 0.0)
    return np.asarray(np.maximum(1.0 - fall, constant("leaf_least")))


def warmth_factor(crop: Crop, mean_c: Floats) -> Floats:
    """Temperature factor 0..1 on light use by the mean of the day, shape of `mean_c`.

    Straight lines between the temperatures of `development.light_use` where the crop has them, as in APSIM.  Else a sine from
    base to optimum as in EPIC (Williams et al. 1989), then a straight fall to the ceiling; the optimum for growth is then the
    cooler end of the crop's optimum range where the range is known.
    """
    if "development.light_use.all_from" in crop.records:
        turns = (
            crop["development.light_use.none_below"], crop["development.light_use.all_from"],
            crop["development.light_use.all_until"], crop["development.light_use.none_above"],
        )  # fmt: skip
        return trapezium(mean_c, turns)
    base, top = crop["development.t_base"], crop["development.t_ceiling"]
    record = crop.records["development.t_optimum"]
    best = record.low if record.low is not None and record.low > base + 4.0 else record.value
    warmest = max(record.value, record.high or record.value)
    warmest = min(warmest, top - 1.0)
    rising = np.sin(0.5 * np.pi * np.clip((mean_c - base) / (best - base), 0.0, 1.0))
    falling = np.clip((top - mean_c) / (top - warmest), 0.0, 1.0)
    return np.asarray(rising * falling)


def full_height_at(crop: Crop) -> float:
    """Thermal time [C d] at which a crop has reached its height: ripeness, or flowering if its fruit follows it; later if it
    goes on growing while it is picked, but not on a support, whose top it has reached by then."""
    if "development.flower" in crop.records and crop.main_part.opens != "ready":
        return crop["development.flower"]
    return ripens_at(crop)


def ripens_at(crop: Crop) -> float:
    """Thermal time [C d] at which a crop has all its leaf: ripeness, or later if it goes on growing while it is picked, but not
    on a support, whose top it has reached by then."""
    grows_on = crop.main_part.methods[0] == "pick" and crop.form != "climber"
    return crop["development.ready"] * (constant("picked_growth") if grows_on else 1.0)


def height_share(crop: Crop, thermal: Floats) -> Floats:
    """Height as a share of full height: the square root of the share of the leaf that a stand has by then, as in SWAT.

    That share rises along an S with thermal time, through two points (x, y): y = x / (x + exp(a - b x)) (Neitsch et al. 2011).
    """
    early, late = constant("leaf_early"), constant("leaf_late")
    first = np.log(early / constant("leaf_early_share") - early)
    fall = (first - np.log(late / constant("leaf_late_share") - late)) / (late - early)
    x = np.clip(thermal / ripens_at(crop), 0.0, 1.0)
    leaf = x / (x + np.exp(first + fall * (early - x)))
    return np.asarray(np.sqrt(leaf * (1.0 + np.exp(first + fall * (early - 1.0)))))


def set_out(planned: Planned) -> bool:
    """Whether a planting is of plants in leaf: one is as narrow as it is low, where seedlings of a row stand close."""
    return planned.planting.comes in PLANTED


def young_height(planned: Planned, clock: Clock) -> Floats:
    """Height as a share of full height as far as the leaf of young plants has come, (Y, D): the square root of the share of its
    leaf, as above; 1 for perennials and for tall crops, sown ones and climbers, which run up ahead of their leaf.

    Thermal time alone would have slow crops nearly full-grown as they leave their trays, where leaf has no room, and seedlings
    of quick ones half a metre high with two leaves.  The leaf is that of a stand at the crop's best density, which grows from
    there by temperature alone, and less the more of it there is.
    """
    crop, up = planned.planting.crop, np.clip(clock.emergence, 0, clock.thermal.shape[1] - 1)
    tall = crop["canopy.height"] >= constant("pole_height")
    if crop.life == "perennial" or (tall and (crop.form == "climber" or not set_out(planned))):
        return np.ones_like(clock.thermal)
    first = min(start_leaf_m2(planned) * crop["spacing.density"] / crop["canopy.lai_max"], 1.0)
    since = np.maximum(clock.thermal - np.take_along_axis(clock.thermal, up[:, None], axis=1), 0.0)
    return np.asarray(1.0 / np.sqrt(1.0 + (1.0 / first - 1.0) * np.exp(-crop["canopy.rgr"] * since)))


def days_shut(planned: Planned, days: int, what: Literal["pests_out", "pollinators_out"]) -> Bools:
    """Days on which a cover over the planting keeps pests or pollinators out, (D,)."""
    return np.asarray(getattr(shelter(planned.covers, days), what))


def needs_pollinators(crop: Crop) -> bool:
    """Whether the main part is a fruit or pod that insects must set."""
    return crop.pollination == "insect" and crop.main_part.pool == "organ" and bool({"fruit", "pod"} & set(crop.kinds))


def organ_share(crop: Crop, clock: Clock, shut: Bools | None = None) -> Floats:
    """Harvest index reached, (Y, D): 0 before the organ starts, rising in a straight line with thermal time.

    As in EPIC and SWAT; the span is organ start to ripeness for roots, bulbs, heads and ears, `fruit_span` for fruit and
    pods that are picked again and again.  What does not set and fill in heat, or on `shut` days (D,), is taken from it once: half
    of the flowers make half of the fruit.
    """
    if "harvest.harvest_index" not in crop.records:
        return np.zeros_like(clock.thermal)
    picked = crop.main_part.methods[0] == "pick"
    least = max(crop["development.ready"] - crop["harvest.organ_start"], constant("organ_span_least"))
    span = constant("fruit_span") if picked else least
    setting, whole = _setting(clock, shut)
    return np.asarray(setting / np.maximum(span, whole) * crop["harvest.harvest_index"])


def unripe_share(crop: Crop, clock: Clock, shut: Bools | None = None) -> Floats:
    """Share of all fruit made so far that is not ripe yet, (Y, D); 0 where nothing ripens one by one.

    Fruit grows evenly for as long as the first takes to ripen (thermal time L), and is then ripe: of what has set by thermal time
    w since the start of the organ, S(w), S(w - L) is ripe, and half of the rest has grown.  The last that set are ripe at the end
    of the plant's life.  Heat lets fewer set, and those that do ripen none the later.
    """
    if "harvest.harvest_index" not in crop.records or crop.main_part.pool != "organ" or crop.main_part.methods[0] != "pick":
        return np.zeros_like(clock.thermal)
    ripens = max(crop["development.ready"] - crop["harvest.organ_start"], 0.0)
    have_set, passed = _setting(clock, shut)
    sets_until = crop["development.end"] - crop["development.ready"]
    have_set = np.stack([np.interp(np.minimum(w, sets_until), w, s) for w, s in zip(passed, have_set, strict=True)])
    grown = np.stack([np.interp(w - ripens, w, s, left=0.0) for w, s in zip(passed, have_set, strict=True)])
    growing = 0.5 * (have_set - grown)
    return np.asarray(np.divide(growing, grown + growing, out=np.zeros_like(grown), where=grown + growing > 0.0))


def _setting(clock: Clock, shut: Bools | None) -> tuple[Floats, Floats]:
    """Thermal time [C d] since the organ started, on days when it can set, by the share that sets in the heat, and on all days,
    (Y, D) each."""
    days = np.arange(clock.thermal.shape[1])
    rate = np.where(days > clock.organ[:, None], np.diff(clock.thermal, axis=1, prepend=0.0), 0.0)
    sets = rate * clock.setting if shut is None else np.where(shut, 0.0, rate * clock.setting)
    return np.cumsum(sets, axis=1), np.cumsum(rate, axis=1)


def thinness(age: Floats) -> Floats:
    """Specific leaf area of new leaf over the crop's usual one: thin while young, by thermal time over that to full height."""
    young = np.maximum(1.0 - age / constant("young_until"), 0.0)
    return np.asarray(1.0 + (constant("young_leaf_thinness") - 1.0) * young)


def windows(planned: Planned, clock: Clock, days: int) -> tuple[Ints, Ints, Ints, Ints]:
    """First and last day of each harvest of a planting on `days` days, that until which what is too small may be left to grow,
    and the first on which its plants are full-grown, (Y, H) each; `NEVER` opening if it does not come."""
    crop, limit = planned.planting.crop, days - 1
    opens = np.empty((len(clock.emergence), len(planned.harvests)), dtype=np.int64)
    closes, latest, full = np.empty_like(opens), np.empty_like(opens), np.empty_like(opens)
    if planned.planting.end.kind != "harvested":
        limit = min(limit, planned.end)
    for h, harvest in enumerate(planned.harvests):
        first, last, until = part_days(crop, harvest.part, clock, harvest.method, stands=planned.planting.stands)
        if harvest.start is not None:
            first = np.where(first < NEVER, np.maximum(first, harvest.start), NEVER)
        first = np.full_like(first, NEVER) if planned.planting.too_young(harvest.part) else first
        most = limit if harvest.until is None else min(limit, harvest.until)
        last, latest[:, h] = np.minimum(last, most), np.minimum(until, most)
        opens[:, h], closes[:, h] = np.where(first <= last, first, NEVER), last
        full[:, h] = np.maximum(opens[:, h], clock.event(harvest.part.opens))
    return opens, closes, latest, full


def last_day(planned: Planned, clock: Clock, opens: Ints, latest: Ints) -> Ints:
    """Day after which a planting is cleared, (Y,): its end rule, else the latest day of its last window, else its life;
    perennials stand and shade as long as they live."""
    if planned.planting.end.kind != "harvested" or planned.planting.crop.life == "perennial":
        return np.minimum(clock.end, planned.end)
    last = np.where(opens < NEVER, latest, -1).max(axis=1, initial=-1)
    return np.asarray(np.where(last >= 0, np.minimum(last, clock.end), clock.end))
