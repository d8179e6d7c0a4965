"""Every crop alone in six climates: the start with the best yield, its pickings, and its yield beside the published range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import Clock
from mixcraft.crops.model import Crop
from mixcraft.place import Place, reference_place

from .constants import constant
from .course import warmth_factor
from .result import Season
from .trial import STARTS, Verdict, judge, sole_season, trial_of

CLIMATES = {
    "cool oceanic": "Oxford", "cold continental": "Winnipeg", "Mediterranean": "Rome", "humid subtropical": "Gainesville",
    "southern": "Melbourne", "tropical highland": "Nairobi",
}  # fmt: skip
"""A reference place for each climate."""
YEARS = 9
SMALL = 0.1
"""A loss below this share explains nothing."""
LONG_WEEKS = 26.0
"""Half a year: published yields are those of shorter harvests."""
LATE = 1.25
"""Days to the first picking over the published ones from which more is no wonder."""
BRIGHT = 1.1
"""Light over that of the days in which published light use was measured, from which a yield above what is published is no
wonder."""


@dataclass(frozen=True)
class Why:
    """Why a crop gives less, more or nothing beside what is published: `cause` is cold, heat, set (flowers that fall in the
    heat), dull (light below the usual), hurried (ripe in fewer days), never (no head, bulb or fruit forms in most years), or
    chill, frost or hot if that ends it early, each with the `share` that it costs; or long, a harvest of `share` weeks on end,
    late, picked so much later than the published days, or bright, with so much light over the usual; empty where nothing was
    found."""

    cause: str
    share: float


@dataclass(frozen=True)
class Line:
    """A crop at one place: `verdict`; month-days of the first and last picking from its best start, and the weeks between, in the
    middle year; empty and 0 where nothing is picked; and `why` its yield is not within its published range."""

    climate: str
    verdict: Verdict
    first: str
    last: str
    weeks: float
    why: Why = Why("", 0.0)


def in_six_climates(crop: Crop) -> Iterator[Line]:
    """The lines of a crop, one for each of `CLIMATES`."""
    for climate, name in CLIMATES.items():
        yield at_place(crop, reference_place(name), climate)


def at_place(crop: Crop, place: Place, climate: str = "") -> Line:
    """The line of a crop at a place."""
    season = sole_season(crop, place, YEARS)
    verdict = judge(crop, trial_of(crop, season))
    if verdict.trial.start is None:
        i = int(np.argmax(np.median(season.growth_g.sum(axis=0), axis=0)))
        return Line(climate, verdict, "", "", 0.0, why_less(crop, season, i, None))
    picked = season.sole_kg[:, :, STARTS.index(verdict.trial.start)] > 0.0
    years = picked.any(axis=0)
    first = np.median(picked[:, years].argmax(axis=0))
    last = np.median(season.days - 1 - picked[::-1, years].argmax(axis=0))
    days = [season.plan.date(int(day)).astype(object).strftime("%m-%d") for day in (first, last)]
    weeks = float(last - first) / 7.0
    why = Why("", 0.0)
    if not verdict.yield_fits:
        i, low = STARTS.index(verdict.trial.start), verdict.trial.yield_kg_m2 < verdict.yield_range[0]
        wait = float(first) - season.plan.plantings[i].start
        why = why_less(crop, season, i, verdict.trial.days) if low else why_more(crop, season, i, weeks, wait)
    return Line(climate, verdict, days[0], days[1], weeks, why)


def _mean(values: NDArray[np.float64], where: NDArray[np.bool_]) -> float:
    return float(values[where].mean()) if where.any() else 0.0


def _life(clock: Clock, days: int) -> NDArray[np.bool_]:
    """Days of a planting's life, (Y, D)."""
    day = np.arange(days)
    return np.asarray((day >= clock.emergence[:, None]) & (day < np.minimum(clock.death, clock.end)[:, None]))


def _cut_short(crop: Crop, clock: Clock, alive: NDArray[np.bool_]) -> tuple[str, float]:
    """What ends the crop before its time in most years, and the share of its life that it takes."""
    reached = np.where(alive, clock.thermal, 0.0).max(axis=1, initial=0.0)
    early = clock.death < clock.end
    lost = float(np.mean(np.where(early, 1.0 - np.clip(reached / crop["development.end"], 0.0, 1.0), 0.0)))
    kinds = {"chill": clock.chill, "hot": clock.heat}
    found = {name: int((early & (days <= clock.death)).sum()) for name, days in kinds.items()}
    name = max(found, key=found.__getitem__)
    return (name if 2 * found[name] >= max(int(early.sum()), 1) else "frost"), lost


def why_less(crop: Crop, season: Season, i: int, wait_d: float | None) -> Why:
    """What costs planting `i` of a season of one crop most; `wait_d` are the days to its first picking."""
    clock = season.clocks[i]
    mean_c = season.weather.tmean_c[:, season.before :]
    alive = _life(clock, season.days)
    lost = 1.0 - warmth_factor(crop, mean_c)
    cool = mean_c < crop["development.t_optimum"]
    set_ = alive & (np.arange(season.days) >= clock.organ[:, None]) & ("harvest.harvest_index" in crop.records)
    ends, early = _cut_short(crop, clock, alive)
    formed = np.minimum(clock.death, clock.end) > clock.organ
    unformed = 1.0 - float(formed.mean()) if "harvest.harvest_index" in crop.records else 0.0
    if 2.0 * unformed > 1.0:
        return Why("never", unformed)
    costs = {
        "cold": _mean(np.where(cool, lost, 0.0), alive), "heat": _mean(np.where(cool, 0.0, lost), alive),
        "set": _mean(np.where(cool, 0.0, 1.0 - clock.setting), set_), ends: early, "dull": 1.0 - _brightness(season, i),
        "hurried": 0.0 if wait_d is None else 1.0 - wait_d / crop["development.days_to_harvest"],
    }  # fmt: skip
    cause = max(costs, key=costs.__getitem__)
    return Why(cause, costs[cause]) if costs[cause] >= SMALL else Why("", 0.0)


def _brightness(season: Season, i: int) -> float:
    """Light over the life of planting `i` over that of the days in which published light use was measured."""
    radiation = season.weather.radiation_mj[:, season.before :]
    return constant("par_share") * _mean(radiation, _life(season.clocks[i], season.days)) / constant("reference_par")


def why_more(crop: Crop, season: Season, i: int, weeks: float, wait_d: float) -> Why:
    """What lets planting `i` give more than is published: a harvest that goes on and on, one that comes late, or more light;
    `wait_d` are the days from its start to its first picking."""
    if weeks >= LONG_WEEKS:
        return Why("long", weeks)
    late = wait_d / crop["development.days_to_harvest"]
    if late >= LATE:
        return Why("late", late - 1.0)
    bright = _brightness(season, i)
    return Why("bright", bright - 1.0) if bright >= BRIGHT else Why("", 0.0)
