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
from mixcraft.place.series import days_between
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.season.course import windows
from mixcraft.season.setting import BEFORE_DAYS, HORIZON_DAYS, clock_under, life_key

from .constants import constants
from .fates import Fate, Fates, fate, main_harvests, main_of, moved, together
from .kept_fates import keep_fates, kept_fate, mark
from .reference import crop_key, place_key

SEED = 20260815
MONTH_DAYS = 31
SKIES, SOILS, LIVES, CLOCKS, PLANS = 14, 16, 2000, 24, 100
"""Weathers that are kept, what is made from each of them, and fates of plantings for each; clocks of them all, three megabytes
each, from which fates are told for plans of other lengths; and fates of whole plans, which are those of their neighbours."""


class Sky:
    """Weather from one day on, with what was made from it."""

    def __init__(self, place: Place, first: np.datetime64) -> None:
        days = HORIZON_DAYS + MONTH_DAYS
        self.weather: Weather = weather_years(place, first, days, int(constants()["chance_years"]), SEED)
        self.keep = Shelf(SOILS)


_skies, _clocks, _fates, _plans = Shelf(SKIES), Shelf(CLOCKS), Shelf(SKIES * LIVES), Shelf(PLANS)


def outlook(plan: Plan, *, known: bool = False) -> Fates:
    """The fates of all plantings of a plan over many stochastic years of its place; of those that are `known` alone, if nothing
    is to be found out: the others count as safe."""
    new: dict[str, Fate] = {}
    found = [(_lived(planned, plan, new, known=known), planned.start) for planned in plan.plantings]
    keep_fates(new)
    mains = main_harvests(plan)
    key = mains, tuple((Same(one), start) for one, start in found)
    whole: Fates = _plans(key, lambda: together(mains, [moved(one, start) for one, start in found]))
    return whole


def _lived(planned: Planned, plan: Plan, new: dict[str, Fate], *, known: bool) -> Fate:
    """The fate of a planting, its days counted from its own start; one that is safe if it is not known and is not to be found.
    What is found out is put to the `new`."""
    start, days = plan.date(planned.start), plan.days - planned.start
    if days <= 0:
        return never_begun()
    first = start.astype("datetime64[M]").astype("datetime64[D]") - np.timedelta64(BEFORE_DAYS, "D")
    offset, use, cleared = days_between(first, start), planned.harvests[main_of(planned)], _cleared(planned)
    crop, *life = life_key(planned, offset - planned.start)
    until = (None if day is None else day - planned.start for day in (use.start, use.until, cleared))
    own = (first, *life, use.part.name, use.method, *until, planned.planting.too_young(use.part), planned.planting.stands, days)
    here = (Same(plan.place), crop, *own)
    found: Fate | None = _fates.get(here)
    if found is None:
        key = mark(place_key(plan.place), crop_key(planned.planting.crop), str(first), own[1:])
        found = kept_fate(key, int(constants()["chance_years"]))
        if found is None:
            if known:
                return safe()
            new[key] = found = _live(planned, plan, first, offset, days)
        _fates.put(here, found)
    return found


def _live(planned: Planned, plan: Plan, first: np.datetime64, offset: int, days: int) -> Fate:
    """The fate of a planting that starts so many days after the `first` of its weather and is followed for so many `days`."""
    sky: Sky = _skies((Same(plan.place), first), lambda: Sky(plan.place, first))
    own, life = _from_its_start(planned), life_key(planned, offset - planned.start)
    whole: Clock = _clocks((Same(sky), life), lambda: clock_under(own, plan, sky.weather, offset, sky.keep)[0])
    clock = whole.moved(offset, days)
    opens, closes = (found[:, 0] for found in windows(own, clock, days)[:2])
    return fate(own, clock, (opens, closes), days, sky.weather, offset)


@lru_cache(maxsize=1)
def safe() -> Fate:
    """The fate of a planting that nothing undoes."""
    years = int(constants()["chance_years"])
    never = np.full(years, NEVER, dtype=np.int64)
    none = np.zeros(years, dtype=bool)
    return Fate(none, none, none, none, none, none, never, never, np.zeros(()), np.zeros(()))


@lru_cache(maxsize=1)
def never_begun() -> Fate:
    """The fate of a planting that would begin after the last day that is followed: it is not ready by then in any year."""
    return replace(safe(), unready=np.ones(int(constants()["chance_years"]), dtype=bool))


def _from_its_start(planned: Planned) -> Planned:
    """A planting with its main harvest alone, all its days counted from its own start."""
    by, use = planned.start, planned.harvests[main_of(planned)]
    start, until = (None if day is None else day - by for day in (use.start, use.until))
    covers = tuple(replace(c, on=c.on - by, off=c.off - by) for c in planned.covers)
    return replace(planned, start=0, end=planned.end - by, covers=covers, harvests=(replace(use, start=start, until=until),))


def _cleared(planned: Planned) -> int | None:
    """The day on which a planting is cleared, if its recipe says when."""
    return planned.end if planned.planting.end.kind != "harvested" else None
