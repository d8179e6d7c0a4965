"""The setting of a season: weather years laid over a plan, and every planting's own course through them.

Shapes: Y years, D days, P plantings, H harvests.  Everything that does not depend on growth is made here, once, so that the day
loop only grows and picks.  Weather may begin any number of days before the plan; what is made from it is made on the days of
the weather, and cut to the days of the plan in one place (`cut`).
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PLANTED, STANDING, Clock, run_clock
from mixcraft.crops.cold import snow_depth
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import Weather, soil_temperature, weather_years
from mixcraft.place.series import day_of_year
from mixcraft.place.soil import AnnualWave, fit_annual_wave
from mixcraft.recipe.calendar import YEAR, bare_soil
from mixcraft.recipe.covering import Shelter, shelter
from mixcraft.recipe.plan import SEASON_DAYS_MAX, CoverSpan, Plan, Planned, standing_from

from .columns import reached_m, start_leaf_m2
from .constants import constant
from .course import days_shut, drivers, height_share, last_day, needs_pollinators, set_out, warmth_factor, windows, young_height
from .directions import slope_light
from .harvest import PickRow, Windows, pick_rows, thinning_days
from .tables import Table

__all__ = [
    "BEFORE_DAYS", "Course", "Setting", "days_shut", "height_share", "needs_pollinators", "season_weather", "settle",
    "start_leaf_m2", "warmth_factor",
]  # fmt: skip

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
YEARLY = ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")
"""Fields of a weather by year and day."""
BEFORE_DAYS = 30
"""Days of weather before the first sowing that the soil remembers."""
HORIZON_DAYS = BEFORE_DAYS + SEASON_DAYS_MAX
"""Days of weather that hold any plan."""


@dataclass(frozen=True)
class Course:
    """One planting's own course through the weather on the days of the plan, whatever stands beside it.

    `clock` (Y, D); `daily` (Y, D) a table of `tables.DRIVERS`; `grown` (Y, D) its spread as a share; `windows` of its harvests
    and their `rows`; `end` (Y,) day after which it is cleared.
    """

    clock: Clock
    daily: Table
    grown: Floats
    windows: Windows
    rows: tuple[PickRow, ...]
    end: Ints
    key: Hashable


@dataclass(frozen=True)
class Setting:
    """What the day loop is given: a plan, the weather over it, day 0 of the plan among its days (`offset`), the plantings'
    courses, and the share of the open sky's light on the bed."""

    plan: Plan
    weather: Weather
    offset: int
    courses: tuple[Course, ...]
    light: float = 1.0

    @property
    def days(self) -> slice:
        """The days of the plan among those of the weather."""
        return slice(self.offset, self.offset + self.plan.days)

    @property
    def season_weather(self) -> Weather:
        """The weather of the plan's days, with `BEFORE_DAYS` in front or as many as there are."""
        first = max(self.offset - BEFORE_DAYS, 0)
        if first == 0 and self.days.stop == self.weather.days:
            return self.weather
        return weather_between(self.weather, first, self.days.stop)

    @property
    def clocks(self) -> tuple[Clock, ...]:
        """Clocks of the plantings."""
        return tuple(course.clock for course in self.courses)

    def by_planting(self, field: Literal["emergence", "death"]) -> Ints:
        """Days of an event, (Y, P)."""
        return np.stack([getattr(clock, field) for clock in self.clocks], axis=1)

    def by_harvest(self, field: Literal["opens", "closes", "latest"]) -> Ints:
        """First or last days of all harvests, (Y, H)."""
        return np.concatenate([getattr(course.windows, field) for course in self.courses], axis=1)


def season_weather(plan: Plan, years: int, seed: int) -> Weather:
    """Weather of `years` stochastic years over the days of the plan, with `BEFORE_DAYS` in front."""
    start = plan.date(-BEFORE_DAYS)
    return weather_years(plan.place, start, plan.days + BEFORE_DAYS, years, seed)


def weather_between(weather: Weather, first: int, last: int) -> Weather:
    """The days of a weather from index `first` up to but not including `last`."""
    days = slice(first, last)
    cut = {name: getattr(weather, name)[:, days] for name in YEARLY}
    return replace(weather, dates=weather.dates[days], daylength_h=weather.daylength_h[days], **cut)


def settle(plan: Plan, weather: Weather, keep: Shelf | None = None, light: float = 1.0) -> Setting:
    """Lay weather (Y, W) over the plan; it has to hold the plan's days, and days before them that the soil remembers.

    What lies on the shelf `keep` must be of the same weather.  `light` is the share of the open sky's light on the bed.  Raises
    `ValueError` for weather of other days.
    """
    offset = weather.day(plan.start)
    if offset < 0 or offset + plan.days > weather.days:
        raise ValueError(f"weather from {weather.dates[0]} on {weather.days} days does not hold the plan's {plan.days} days")
    keep = Shelf() if keep is None else keep
    return Setting(plan, weather, offset, tuple(course(p, plan, weather, offset, keep, light) for p in plan.plantings), light)


def course(planned: Planned, plan: Plan, weather: Weather, offset: int, keep: Shelf, light: float = 1.0) -> Course:
    """The course of a planting on the days of the plan."""
    life = (life_key(planned, offset), light, plan.bed.slope)
    harvests = tuple(
        (h.part.name, h.method, h.interval_days, h.take, h.cuts, h.counted, h.start, h.until) for h in planned.harvests
    )
    cleared = planned.planting.end.kind != "harvested"
    key = (
        life,
        offset,
        plan.days,
        harvests,
        planned.planting.years,
        planned.end if cleared else None,
        planned.thin_day,
        planned.sown_factor > 1.0,
    )

    def made() -> Course:
        clock, daily, grown = keep(("life", life), lambda: lived(planned, plan, weather, offset, keep, light))
        here = clock.moved(offset, plan.days)
        opens, closes, latest, full = windows(planned, here, plan.days)
        days = slice(offset, offset + plan.days)
        thin = thinning_days(planned, opens)
        end = last_day(planned, here, opens, latest)
        found = Windows(opens, closes, latest, full, thin)
        return Course(here, daily[:, days], grown[:, days], found, pick_rows(planned), end, key)

    found: Course = keep(("course", key), made)
    return found


def life_key(planned: Planned, offset: int) -> tuple[Hashable, ...]:
    """What the life of a planting depends on in given weather: crop, way, start, depth, covers, support."""
    covers = tuple((c.kind, c.on + offset, c.off + offset) for c in planned.covers)
    planting = planned.planting
    return Same(planting.crop), planting.comes, planned.start + offset, planned.depth_m, covers, reached_m(planned)


def lived(
    planned: Planned, plan: Plan, weather: Weather, offset: int, keep: Shelf, light: float = 1.0
) -> tuple[Clock, Table, Floats]:
    """Clock, drivers and share of its spread of a planting on all days of the weather."""
    crop = planned.planting.crop
    clock, mean, over = clock_under(planned, plan, weather, offset, keep)
    wide = height_share(crop, clock.thermal)
    high = np.minimum(wide, young_height(planned, clock))
    shut = over.pollinators_out if needs_pollinators(crop) else None
    lies = keep(("slope", plan.bed.slope), lambda: slope_light(plan.bed, weather, plan.place.latitude_deg))
    par = weather.radiation_mj * constant("par_share") * over.light * light * lies
    return clock, drivers(planned, clock, par, mean, high, shut, weather, over.light * light), high if set_out(planned) else wide


def clock_under(planned: Planned, plan: Plan, weather: Weather, offset: int, keep: Shelf) -> tuple[Clock, Floats, Shelter]:
    """Clock of a planting on all days of the weather, the air's mean under its covers (Y, W) [C], and what they do."""
    planting = planned.planting
    spans = tuple(replace(c, on=c.on + offset, off=c.off + offset, owner="") for c in planned.covers)
    over: Shelter = keep(("shelter", spans), lambda: shelter(spans, weather.days))
    mean, low = keep(("air", spans), lambda: (over.mean_c(weather.tmean_c), over.min_c(weather.tmin_c)))
    soil = mean if planting.comes in (*PLANTED, STANDING) else soil_under(plan, weather, spans, mean, planned.depth_m, keep)
    snow = keep("snow", lambda: snow_depth(weather.tmean_c, weather.rain_mm))
    clock = run_clock(
        planting.crop, planting.comes, planned.start + offset, mean, low, soil, weather.daylength_h, snow, weather.tmean_c,
        over.sky, standing_from(planting, planned.start + plan.offset, plan.almanac),
    )  # fmt: skip
    return clock, mean, over


def soil_under(plan: Plan, weather: Weather, spans: tuple[CoverSpan, ...], mean_c: Floats, depth_m: float, keep: Shelf) -> Floats:
    """Soil temperature (Y, W) at a depth under covers, where the air's mean is `mean_c` [C]."""
    past = keep("past", lambda: _soil_past(plan))
    return keep(  # type: ignore[no-any-return]
        ("soil", depth_m, spans),
        lambda: soil_temperature(bare_soil(weather, mean_c), depth_m, dates=weather.dates, annual=past),
    )


def _soil_past(plan: Plan) -> AnnualWave:
    """The annual wave of the bare soil's surface in the normal year, which the soil remembers before the season's weather."""
    sky = plan.almanac
    surface = bare_soil(sky.weather, sky.weather.tmean_c)[0, :YEAR]
    return fit_annual_wave(surface, day_of_year(sky.weather.dates[:YEAR]))
