"""The setting of a season: weather years laid over a plan, and every planting's clock, covers and windows in them.

Shapes: Y years, D days, P plantings, H harvests.  Everything that does not depend on growth is made here, once, so that the
day loop only grows and picks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PIECES, PLANTED, Clock, head_start, part_window, run_clock
from mixcraft.crops.development import NEVER
from mixcraft.crops.model import Crop
from mixcraft.place import Weather, cover, soil_temperature, weather_years
from mixcraft.place.series import day_of_year
from mixcraft.place.soil import AnnualWave, fit_annual_wave
from mixcraft.recipe.calendar import YEAR, bare_soil
from mixcraft.recipe.model import Harvested
from mixcraft.recipe.plan import Plan, Planned, covered_air

from .constants import constant

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

BEFORE_DAYS = 30
"""Days of weather before the first sowing that the soil remembers."""


@dataclass(frozen=True)
class Setting:
    """What the day loop is given.  Arrays by planting are (Y, P) or (D, Y, P); by harvest (Y, H)."""

    plan: Plan
    weather: Weather
    par_mj: Floats
    rate: Floats
    thermal: Floats
    warmth: Floats
    clear: Floats
    height_share: Floats
    organ_share: Floats
    unripe: Floats
    ageing: Bools
    dieback: Bools
    emergence: Ints
    death: Ints
    end: Ints
    opens: Ints
    closes: Ints
    clocks: tuple[Clock, ...]
    bright: Floats
    reference_use: Floats


def season_weather(plan: Plan, years: int, seed: int) -> Weather:
    """Weather of `years` stochastic years over the days of the plan, with `BEFORE_DAYS` in front."""
    start = plan.start - np.timedelta64(BEFORE_DAYS, "D")
    return weather_years(plan.place, start, plan.days + BEFORE_DAYS, years, seed)


def settle(plan: Plan, weather: Weather) -> Setting:
    """Lay weather (Y, `BEFORE_DAYS` + D) over the plan."""
    days, before = plan.days, BEFORE_DAYS
    soils = _Soils(plan, weather)
    clocks, rates, thermals, warmths, clears, heights, organs, unripe = [], [], [], [], [], [], [], []
    for planned in plan.plantings:
        mean, low = _air(planned, weather)
        clock = _clock(planned, weather, mean, low, soils.under(planned, mean))
        clocks.append(clock)
        rates.append(clock.rate)
        thermals.append(clock.thermal)
        warmths.append(warmth_factor(planned.planting.crop, mean[:, before:]))
        clears.append(np.broadcast_to(_light_passed(planned, days), clock.rate.shape))
        heights.append(height_share(planned.planting.crop, clock.thermal))
        shut = shut_days(planned, days)
        organs.append(organ_share(planned.planting.crop, clock, shut))
        unripe.append(unripe_share(planned.planting.crop, clock, shut))
    opens, closes = _windows(plan, clocks)
    ends = _ends(plan, clocks, opens, closes)
    life = np.array([p.planting.crop["development.end"] for p in plan.plantings])
    thermal = _by_day(thermals)
    return Setting(
        plan, weather, weather.radiation_mj[:, before:].T * constant("par_share"), _by_day(rates), thermal,
        _by_day(warmths), _by_day(clears), _by_day(heights), _by_day(organs), _by_day(unripe),
        thermal > constant("age_death_from") * life, _by_day([c.dieback for c in clocks]),
        np.stack([c.emergence for c in clocks], axis=1), np.stack([c.death for c in clocks], axis=1), ends, opens, closes,
        tuple(clocks), *_brightness(plan, weather, _by_day(clears), _by_day(warmths)),
    )  # fmt: skip


def _brightness(plan: Plan, weather: Weather, clear: Floats, warmth: Floats) -> tuple[Floats, Floats]:
    """Light on a leaf under open sky over the light that half saturates it (D, Y, P), and the use of light in the canopy and
    the weather in which published light use is measured (P,)."""
    b = BEFORE_DAYS
    crops = [p.planting.crop for p in plan.plantings]
    k = np.array([crop["canopy.k"] for crop in crops])
    half = np.array([half_saturation(crop) for crop in crops])
    seconds = 3600.0 * weather.daylength_h[b:, None, None]
    light = constant("sine_course") * 1e6 * constant("par_share") * weather.radiation_mj[:, b:].T[:, :, None] / seconds
    dry = dry_air(weather.tmin_c[:, b:], weather.tmax_c[:, b:]).T[:, :, None]
    usual = constant("sine_course") * 1e6 * constant("reference_par") / (3600.0 * constant("reference_daylength")) * k / half
    depth = k * constant("reference_lai")
    use = np.log((1.0 + usual) / (1.0 + usual * np.exp(-depth))) / usual / -np.expm1(-depth)
    return k / half * light * clear / dry / np.maximum(warmth, constant("dry_air_least")), use


def half_saturation(crop: Crop) -> float:
    """Light absorbed by a leaf [W/m2 PAR] that half saturates its photosynthesis."""
    kind = "c4" if crop.botanical.split()[0] in C4_GENERA else "c3"
    return constant(f"leaf_{kind}_most") / constant(f"leaf_{kind}_initial")


def dry_air(tmin_c: Floats, tmax_c: Floats) -> Floats:
    """Greatest photosynthesis of a leaf in the day's dryness of the air over that in moist air."""
    def saturated(t: Floats) -> Floats:
        return np.asarray(0.6108 * np.exp(17.27 * t / (t + 237.3)))

    vpd = 0.5 * (saturated(tmax_c) - saturated(tmin_c))
    fall = constant("dry_air_fall") * np.maximum(vpd - constant("dry_air_from"), 0.0)
    return np.asarray(np.maximum(1.0 - fall, constant("dry_air_least")))


C4_GENERA = ("Zea", "Amaranthus", "Portulaca", "Cymbopogon")
"""Genera of the library whose photosynthesis is C4 (Sage 2017, J. Exp. Bot. 68:4039-4056, from memory)."""


def _by_day(arrays: Sequence[NDArray[Any]]) -> Any:
    return np.ascontiguousarray(np.stack(arrays, axis=-1).transpose(1, 0, 2))


def _air(planned: Planned, weather: Weather) -> tuple[Floats, Floats]:
    spans = [replace(c, on=c.on + BEFORE_DAYS, off=c.off + BEFORE_DAYS) for c in planned.covers]
    return covered_air(weather, spans)


def _clock(planned: Planned, weather: Weather, mean: Floats, low: Floats, soil: Floats) -> Clock:
    b, planting = BEFORE_DAYS, planned.planting
    return run_clock(
        planting.crop, planting.establish, planned.start, mean[:, b:], low[:, b:], soil[:, b:], weather.daylength_h[b:]
    )  # fmt: skip


class _Soils:
    """Soil temperatures (Y, D) of a season by sowing depth and covers, each computed once."""

    def __init__(self, plan: Plan, weather: Weather) -> None:
        self.weather, self.past = weather, _soil_past(plan)
        self.known: dict[tuple[float, int], Floats] = {}

    def under(self, planned: Planned, mean_c: Floats) -> Floats:
        """Temperature at the planting's sowing depth under its covers, where the air's mean is `mean_c` [C]."""
        key = (planned.depth_m, hash(planned.covers))
        if key not in self.known:
            surface = bare_soil(self.weather, mean_c)
            self.known[key] = soil_temperature(surface, planned.depth_m, dates=self.weather.dates, annual=self.past)
        return self.known[key]


def _soil_past(plan: Plan) -> AnnualWave:
    """The annual wave of the bare soil's surface in the normal year, which the soil remembers before the season's weather."""
    sky = plan.almanac
    surface = bare_soil(sky.weather, sky.weather.tmean_c)[0, :YEAR]
    return fit_annual_wave(surface, day_of_year(sky.weather.dates[:YEAR]))


def _light_passed(planned: Planned, days: int) -> Floats:
    """Share of light that the planting's covers let through, (D,)."""
    passed = np.ones(days)
    for span in planned.covers:
        window = slice(max(span.on, 0), max(span.off, 0))
        passed[window] = np.minimum(passed[window], cover(span.kind).light)
    return passed


def warmth_factor(crop: Crop, mean_c: Floats) -> Floats:
    """Temperature factor 0..1 on light use: a sine from base to optimum as in EPIC (Williams et al. 1989), then a
    straight fall to the ceiling.  Shape of `mean_c`.

    The optimum for growth is the cooler end of the crop's optimum range where the range is known.
    """
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
    grows_on = crop.main_part.methods[0] == "pick" and crop.form != "climber"
    return crop["development.ready"] * (constant("picked_growth") if grows_on else 1.0)


def height_share(crop: Crop, thermal: Floats) -> Floats:
    """Height as a share of full height, growing with the square root of relative thermal time (as canopies do in SWAT)."""
    share = np.clip(thermal / full_height_at(crop), 0.0, 1.0)
    return np.asarray(share ** constant("height_power"))


def shut_days(planned: Planned, days: int) -> Bools:
    """Days on which a cover keeps pollinators from a crop whose fruit needs them, (D,)."""
    if needs_pollinators(planned.planting.crop):
        return days_shut(planned, days, "pollinators_out")
    return np.zeros(days, dtype=bool)


def days_shut(planned: Planned, days: int, what: Literal["pests_out", "pollinators_out"]) -> Bools:
    """Days on which a cover over the planting keeps pests or pollinators out, (D,)."""
    shut = np.zeros(days, dtype=bool)
    for span in planned.covers:
        if getattr(cover(span.kind), what):
            shut[max(span.on, 0) : max(span.off, 0)] = True
    return shut


def needs_pollinators(crop: Crop) -> bool:
    """Whether the main part is a fruit or pod that insects must set."""
    return crop.pollination == "insect" and crop.main_part.pool == "organ" and bool({"fruit", "pod"} & set(crop.kinds))


def organ_share(crop: Crop, clock: Clock, shut: Bools | None = None) -> Floats:
    """Harvest index reached, (Y, D): 0 before the organ starts, rising in a straight line with thermal time.

    As in EPIC and SWAT; the span is organ start to ripeness for roots, bulbs, heads and ears, `fruit_span` for fruit and
    pods that are picked again and again.  On `shut` days (D,) no fruit sets: the rise waits, and of what grows in all the organ
    gets the share of the days on which it could set.
    """
    if "harvest.harvest_index" not in crop.records:
        return np.zeros_like(clock.thermal)
    picked = crop.main_part.methods[0] == "pick"
    least = max(crop["development.ready"] - crop["harvest.organ_start"], constant("organ_span_least"))
    span = constant("fruit_span") if picked else least
    setting, whole = _setting(clock, shut)
    share = np.minimum(setting / span, 1.0) * np.divide(setting, whole, out=np.ones_like(whole), where=whole > 0.0)
    return np.asarray(share * crop["harvest.harvest_index"])


def unripe_share(crop: Crop, clock: Clock, shut: Bools | None = None) -> Floats:
    """Share of all fruit made so far that is not ripe yet, (Y, D); 0 where nothing ripens one by one.

    Fruit sets evenly from the start of the organ, grows evenly for as long as the first takes to ripen (thermal time L), and is
    then ripe: at thermal time u > L of setting, ripe fruit is u - L and growing fruit L / 2 of what u - L / 2 in all.
    """
    if "harvest.harvest_index" not in crop.records or crop.main_part.pool != "organ" or crop.main_part.methods[0] != "pick":
        return np.zeros_like(clock.thermal)
    ripens = max(crop["development.ready"] - crop["harvest.organ_start"], 0.0)
    u, _ = _setting(clock, shut)
    growing, grown = 0.5 * ripens, np.maximum(u - ripens, 0.0)
    return np.asarray(np.divide(growing, grown + growing, out=np.zeros_like(u), where=grown + growing > 0.0))


def _setting(clock: Clock, shut: Bools | None) -> tuple[Floats, Floats]:
    """Thermal time [C d] since the organ started, on days when fruit can set and on all, (Y, D) each."""
    days = np.arange(clock.thermal.shape[1])
    rate = np.where(days > clock.organ[:, None], np.diff(clock.thermal, axis=1, prepend=0.0), 0.0)
    whole = np.cumsum(rate, axis=1)
    return (whole, whole) if shut is None or not shut.any() else (np.cumsum(np.where(shut, 0.0, rate), axis=1), whole)


def _ends(plan: Plan, clocks: Sequence[Clock], opens: Ints, closes: Ints) -> Ints:
    """Day after which a planting is cleared, (Y, P): its end rule, else the close of its last window, else its life."""
    ends = []
    for index, (planned, clock) in enumerate(zip(plan.plantings, clocks, strict=True)):
        if not isinstance(planned.planting.end, Harvested):
            ends.append(np.minimum(clock.end, planned.end))
            continue
        mine = [h for h, harvest in enumerate(plan.harvests) if harvest.planting == index]
        last = np.where(opens[:, mine] < NEVER, closes[:, mine], -1).max(axis=1, initial=-1)
        ends.append(np.where(last >= 0, np.minimum(last, clock.end), clock.end))
    return np.stack(ends, axis=1)


def _windows(plan: Plan, clocks: Sequence[Clock]) -> tuple[Ints, Ints]:
    opens, closes = [], []
    for harvest in plan.harvests:
        planned, clock = plan.plantings[harvest.planting], clocks[harvest.planting]
        first, last = part_window(planned.planting.crop, harvest.part, clock)
        if harvest.start is not None:
            first = np.where(first < NEVER, np.maximum(first, harvest.start), NEVER)
        limit = plan.days - 1
        if harvest.until is not None:
            limit = min(limit, harvest.until)
        if not isinstance(planned.planting.end, Harvested):
            limit = min(limit, planned.end)
        last = np.minimum(last, limit)
        opens.append(np.where(first <= last, first, NEVER))
        closes.append(last)
    if not opens:
        empty = np.zeros((clocks[0].emergence.shape[0], 0), dtype=np.int64)
        return empty, empty
    return np.stack(opens, axis=1), np.stack(closes, axis=1)


def start_leaf_m2(planned: Planned) -> float:
    """Leaf area of one plant [m2] at emergence or planting out.

    A seedling's leaf is half the seed's mass; a module has grown at the crop's young rate through its nursery weeks; a
    planted piece sprouts leaf in proportion to its mass.
    """
    planting = planned.planting
    crop = planting.crop
    sla = crop["canopy.sla"] / 1000.0
    pieces = planting.establish == "plant" and "seed.per_gram" not in crop.records
    if pieces or planting.establish in PIECES:
        return crop.number("seed.propagule_mass", constant("propagule_mass")) * constant("propagule_to_leaf") * sla
    seed_g = 1.0 / crop.number("seed.per_gram", constant("seeds_per_gram"))
    leaf = constant("first_leaf_at_gram") * seed_g ** constant("first_leaf_power")
    if planting.establish in PLANTED:
        grown = leaf * np.exp(min(crop["canopy.rgr"] * head_start(crop, planting.establish), 12.0))
        return float(min(grown, max(constant("module_leaf_max"), leaf)))
    return leaf
