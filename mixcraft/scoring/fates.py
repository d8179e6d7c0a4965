"""What becomes of each planting in which years: killed by frost or heat, lost in cold soil, run to seed, not ready in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.bulbs import spoilt_by_shooting
from mixcraft.crops.clock import PIECES, SOWN, Clock
from mixcraft.crops.development import NEVER
from mixcraft.crops.model import Part
from mixcraft.crops.windows import cold_opens, food_from
from mixcraft.place import Weather
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.season.result import Season

from .constants import constants
from .model import Chance

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
AUTUMN_SOWN = ("broad-bean", "field-bean", "onion-short-day", "winter-rye", "winter-vetch", "crimson-clover", "oats")
"""Crops that are sown in the short days of autumn and stand as seedlings through winter.  Common practice, no source."""


@dataclass(frozen=True)
class Fate:
    """What undoes a planting in which years, (Y,), or all of a plan, (Y, P): killed before its main part can be picked or within
    its first days, by frost, `by_chill` or `by_heat`; never up, or so late that the seed is as good as lost; run to seed before
    there is anything to pick; alive and not ready when its ground is cleared or the season ends, though it is old enough to be
    picked.  `death` and `bolt` are days, of the same shape; `still`, () or (P,), is the share of a planting's first days in which
    nothing grows for cold and want of daylight, `bitter` that of the days of its picking on which heat has made it bitter, tough
    or run up."""

    killed: Bools
    by_heat: Bools
    by_chill: Bools
    lost: Bools
    bolted: Bools
    unready: Bools
    death: Ints
    bolt: Ints
    still: Floats
    bitter: Floats


@dataclass(frozen=True)
class Fates(Fate):
    """The fates of all plantings of a plan; `mains` are the harvests of their main parts."""

    mains: tuple[int, ...]


def moved(one: Fate, days: int) -> Fate:
    """A fate whose days are counted from so many days earlier."""
    return replace(one, death=one.death + days, bolt=one.bolt + days)


def fates(season: Season) -> Fates:
    """The fates of all plantings of a season, in its own years."""
    plan, mains = season.plan, main_harvests(season.plan)
    return together(mains, [
        fate(planned, season.clocks[i], (season.opens[:, m], season.closes[:, m]), season.days, season.weather, season.before)
        for i, (m, planned) in enumerate(zip(mains, plan.plantings, strict=True))
    ])  # fmt: skip


def together(mains: tuple[int, ...], each: Sequence[Fate]) -> Fates:
    """The fates of plantings as those of a plan, `mains` their main harvests."""
    stacked: dict[str, Any] = {item.name: np.stack([getattr(one, item.name) for one in each], axis=-1) for item in fields(Fate)}
    return Fates(mains=mains, **stacked)


def fate(planned: Planned, clock: Clock, window: tuple[Ints, Ints], days: int, weather: Weather, day_0: int) -> Fate:
    """What becomes of a planting that is followed for so many days: `window` are the first and last days of its main part, (Y,)
    each, `day_0` the day of the weather on which the count of days begins."""
    opens, closes = window
    part = main_part(planned)
    begun = 0.0 if cold_opens(planned.planting.crop, part) else constants()["picking_begun_days"]
    due, death, came = food_from(part, clock), clock.death, clock.emergence
    killed = (death < NEVER) & ((opens >= NEVER) | (death < opens + begun)) & (death <= np.minimum(due, days) + begun)
    by_heat = killed & (clock.heat == death)
    by_chill = killed & (clock.chill == death) & ~by_heat
    lost = (came >= NEVER) | (came > planned.start + usual_days(planned))
    by_stem = part.closes == "bolt" or (part.role == "main" and spoilt_by_shooting(planned.planting.crop))
    bolted = (clock.bolt < NEVER) & (clock.bolt <= np.minimum(due, opens + constants()["picking_begun_days"])) & by_stem
    waits = not planned.planting.too_young(part)
    unready = (opens >= NEVER) & (came < NEVER) & (death >= NEVER) & ~bolted & waits
    still = np.array(standstill(planned, weather, planned.start + day_0))
    bitter = np.array(bitterness(planned, clock, opens, np.minimum(closes, days - 1)))
    return Fate(killed, by_heat, by_chill, lost, bolted, unready, death, clock.bolt, still, bitter)


def bitterness(planned: Planned, clock: Clock, opens: Ints, closes: Ints) -> float:
    """Share of the days from `opens` to `closes` (Y,) on which two weeks of heat have made what is picked unfit, mean of the
    years; of heads that are cut once, of the first.  Above the ground alone, as in `part_days`."""
    crop, there = planned.planting.crop, opens < NEVER
    if crop.in_soil or not there.any():
        return 0.0
    last = opens if planned.harvests[main_of(planned)].method == "once" else closes
    days = np.arange(clock.unfit.shape[1])
    picked = (days >= opens[:, None]) & (days <= last[:, None])
    return float(((clock.unfit & picked).sum(axis=1)[there] / np.maximum(picked.sum(axis=1)[there], 1)).mean())


def standstill(planned: Planned, weather: Weather, start: int) -> float:
    """Share of a planting's first days in which nothing grows, mean of the years: days of less than ten hours in the cold; for
    pieces, which rest but must have roots before the ground freezes, cold days.

    0 for crops that are sown in autumn.  That plants hardly grow in such days is a rule of growers of winter salads, that cloves
    go in four weeks before the ground freezes one of growers of garlic.
    """
    c = constants()
    if start >= len(weather.dates) or planned.planting.stands:
        return 0.0
    if planned.planting.establish in PIECES:
        return float((weather.tmean_c[:, start : start + int(c["rooting_days"])] < c["rooting_c"]).mean())
    if planned.planting.crop.id in AUTUMN_SOWN:
        return 0.0
    first = slice(start, start + int(c["settling_days"]))
    dark = weather.daylength_h[first] < c["growing_day_h"]
    return float((dark & (weather.tmean_c[:, first] < c["growing_day_c"])).mean()) if dark.any() else 0.0


def main_harvests(plan: Plan) -> tuple[int, ...]:
    """Index of the harvest of each planting's main part, else of its first."""
    first = np.cumsum([0, *(len(p.harvests) for p in plan.plantings)]).tolist()
    return tuple(first[i] + main_of(p) for i, p in enumerate(plan.plantings))


def main_of(planned: Planned) -> int:
    """Number of the harvest of a planting's main part among its own, else its first."""
    return next((h for h, harvest in enumerate(planned.harvests) if harvest.part.role == "main"), 0)


def main_part(planned: Planned) -> Part:
    """Main part of a planting, else the first that is picked."""
    return planned.harvests[main_of(planned)].part


def usual_days(planned: Planned) -> float:
    """Days after its start from which a planting that is not up is as good as lost."""
    c = constants()
    if planned.planting.establish in SOWN:
        return c["late_emergence_days"]
    crop = planned.planting.crop
    rests = min(crop["frost.seedling"], crop.number("frost.crown", 0.0)) <= c["rests_from_c"]
    return c["late_sprouting_days" if rests else "late_sprouting_tender_days"]


def chances(season: Season, known: Fates) -> tuple[Chance, ...]:
    """The chance that frost or cold soil undoes each planting."""
    frozen, lost = (known.killed & ~known.by_heat).mean(axis=0).tolist(), known.lost.mean(axis=0).tolist()
    return tuple(Chance(p.name, frozen[i], lost[i]) for i, p in enumerate(season.plan.plantings))
