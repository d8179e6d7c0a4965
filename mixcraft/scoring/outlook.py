"""What the weather of many years does to each planting, whatever stands beside it.

A season is grown over as many years as there is time for; a loss in one year of five shows in them or not, as it happens, and a
search would find the recipes that were lucky.  Frost, cold soil, bolting and a season too short depend on the weather alone, and
so chances are taken from more years, the same for every recipe at a place: each planting lives in weather that begins with
the month of its own start.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from mixcraft.crops.clock import Clock
from mixcraft.crops.development import NEVER
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import Place, Weather, weather_years
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.season.course import windows
from mixcraft.season.setting import BEFORE_DAYS, HORIZON_DAYS, clock_under, life_key

from .constants import constants
from .fates import Fate, Fates, fate, main_harvests, main_of, moved, together

SEED = 20260815
MONTH_DAYS = 31
SKIES, SOILS, LIVES, CLOCKS = 14, 16, 2000, 60
"""Weathers that are kept, what is made from each of them, and fates of plantings in it; clocks of them all, a megabyte each, from
which fates are told for plans of other lengths."""


class Sky:
    """Weather from one day on, with what was made from it and what became of plantings in it."""

    def __init__(self, place: Place, first: np.datetime64) -> None:
        days = HORIZON_DAYS + MONTH_DAYS
        self.weather: Weather = weather_years(place, first, days, int(constants()["chance_years"]), SEED)
        self.keep, self.lives = Shelf(SOILS), Shelf(LIVES)


_skies, _clocks = Shelf(SKIES), Shelf(CLOCKS)


def outlook(plan: Plan, *, known: bool = False) -> Fates:
    """The fates of all plantings of a plan over many stochastic years of its place; of those that are `known` alone, if nothing
    is to be found out: the others count as safe."""
    found = []
    for planned in plan.plantings:
        found.append(moved(_lived(planned, plan, known=known), planned.start))
    return together(main_harvests(plan), found)


def _lived(planned: Planned, plan: Plan, *, known: bool) -> Fate:
    """The fate of a planting, its days counted from its own start; one that is safe if it is not known and is not to be found."""
    start, days = plan.date(planned.start), plan.days - planned.start
    first = start.astype("datetime64[M]").astype("datetime64[D]") - np.timedelta64(BEFORE_DAYS, "D")
    at = Same(plan.place), first
    if known and _skies.get(at) is None:
        return safe()
    sky: Sky = _skies(at, lambda: Sky(plan.place, first))
    offset, use, cleared = sky.weather.day(start), planned.harvests[main_of(planned)], _cleared(planned)
    life = life_key(planned, offset - planned.start)
    until = (None if day is None else day - planned.start for day in (use.start, use.until, cleared))
    key = (life, use.part.name, use.method, *until, planned.planting.too_young(use.part), days)

    def lives() -> Fate:
        own = _from_its_start(planned)
        whole: Clock = _clocks((Same(sky), life), lambda: clock_under(own, plan, sky.weather, offset, sky.keep)[0])
        clock = whole.moved(offset, days)
        return fate(own, clock, windows(own, clock, days)[0][:, 0], days, sky.weather, offset)

    found: Fate = sky.lives.get(key) or safe() if known else sky.lives(key, lives)
    return found


@lru_cache(maxsize=1)
def safe() -> Fate:
    """The fate of a planting that nothing undoes."""
    years = int(constants()["chance_years"])
    never = np.full(years, NEVER, dtype=np.int64)
    killed, lost, bolted, unready = np.zeros((4, years), dtype=bool)
    return Fate(killed, lost, bolted, unready, never, never, np.zeros(()))


def _from_its_start(planned: Planned) -> Planned:
    """A planting with its main harvest alone, all its days counted from its own start."""
    by, use = planned.start, planned.harvests[main_of(planned)]
    start, until = (None if day is None else day - by for day in (use.start, use.until))
    covers = tuple(replace(c, on=c.on - by, off=c.off - by) for c in planned.covers)
    return replace(planned, start=0, end=planned.end - by, covers=covers, harvests=(replace(use, start=start, until=until),))


def _cleared(planned: Planned) -> int | None:
    """The day on which a planting is cleared, if its recipe says when."""
    return planned.end if planned.planting.end.kind != "harvested" else None
