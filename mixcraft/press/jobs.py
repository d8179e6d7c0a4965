"""The whole job list of a bed: what the plan says is done, what the crops ask for while they stand, and what the season gives.

Facts only: the card, the calendar, the table and the book say them in the words of `mixcraft.words.steps`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.files.facts import Facts, Names
from mixcraft.recipe.care import Care, cares_of
from mixcraft.recipe.model import AtEvent
from mixcraft.recipe.plan import Plan, Planned, moment_day
from mixcraft.recipe.steps import Step, in_order, sowing_steps
from mixcraft.season.nitrogen import compost_litres, given_g_m2
from mixcraft.season.result import Season

from .constants import constant
from .picking import yields_of

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

Floats = NDArray[np.float64]
WEEK = 7


def jobs(season: Season, score: Score | None = None) -> tuple[Step, ...]:
    """All jobs of `season` in order.  A job that is done again and again has `every_days` and `until`, a day index."""
    plan = season.plan
    ends = {p.index: last_day(season, score, p) for p in plan.plantings}
    failed = set(failing(season, score))
    thirsty = [end for index, end in ends.items() if index not in failed] or list(ends.values())
    steps = [*sowing_steps(plan), *_feeding(plan), *_watering(season, max(thirsty))]
    for planned in plan.plantings:
        steps += _cared(plan, planned, ends[planned.index])
    steps += _picking(season, score)
    steps += _clearing(season, failed, ends, {n for s in steps if s.kind == "clear" for n in s.numbers})
    cleared = {n: s.day for s in steps if s.kind == "clear" for n in s.numbers}
    steps = [_from_what_stands(s, cleared) if s.kind == "uncover" else s for s in steps]
    return in_order(plan, [_followed(plan, s) if s.kind == "clear" else s for s in steps])


def failing(season: Season, score: Score | None = None) -> tuple[int, ...]:
    """Indices of plantings that are to be picked and give nothing in most years."""
    given: dict[int, bool] = {}
    for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True):
        given[harvest.planting] = given.get(harvest.planting, False) or amount.first is not None
    return tuple(index for index, any_ in sorted(given.items()) if not any_)


def last_day(season: Season, score: Score | None, planned: Planned) -> int:
    """Day index of the last picking of a planting in the middle year; its end in the plan where nothing is picked."""
    days = [
        season.plan.day(amount.last)
        for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True)
        if harvest.planting == planned.index and amount.last is not None
    ]
    return max(days) if days else planned.end


def _feeding(plan: Plan) -> Iterable[Step]:
    """What the bed is given before the first sowing."""
    given = given_g_m2(plan.bed.feeding)
    if given > 0.0:
        numbers = tuple(p.index + 1 for p in plan.plantings)
        litres = compost_litres(given) * plan.bed.area_m2 if plan.bed.feeding.kind == "compost" else 0.0
        yield Step(
            min(p.start for p in plan.plantings) - WEEK, "feed", numbers, Facts(litres=litres, nitrogen_g_m2=given), Facts(),
            "", len(numbers) > 1,
        )  # fmt: skip


def _cared(plan: Plan, planned: Planned, end: int) -> Iterable[Step]:
    """Earthing up, pinching, tying, nets and liquid feed of a planting."""
    for care in cares_of(planned.planting.crop.id):
        if (care.supported and planned.support_m is None) or (care.bare and planned.covers):
            continue
        day = moment_day(AtEvent(care.event, care.days), planned.clock, plan.almanac, planned.last_harvest)
        if day < NEVER and planned.start <= day < end:
            yield Step(day, care.kind, (planned.index + 1,), _repeats(care, day, end))


def _repeats(care: Care, day: int, end: int) -> Facts[str, float]:
    until = min(day + (care.times - 1) * care.again_days, float(end)) if care.again_days else float(day)
    return Facts(every_days=care.again_days, until=until) if until > day else Facts()


def _picking(season: Season, score: Score | None) -> Iterable[Step]:
    """First picking of each harvest, repeated to the last; what is thinned for the kitchen is a job of its own."""
    for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True):
        by_rounds = harvest.method == "thin" and season.plan.plantings[harvest.planting].thins_in_rounds
        if amount.first is None or amount.last is None or by_rounds:
            continue
        first, last = (season.plan.day(d) for d in (amount.first, amount.last))
        again = harvest.method != "once" and last > first
        repeats = Facts(every_days=harvest.interval_days, until=float(last)) if again else Facts[str, float]()
        names: Names = Facts(part=(harvest.part.name,), method=(harvest.method,))
        yield Step(first, "pick", (harvest.planting + 1,), Facts(repeats, kg=amount.kg.middle), names)


def _clearing(season: Season, failed: set[int], ends: dict[int, int], said: set[int]) -> Iterable[Step]:
    """Annual plantings are cleared when they have been picked for the last time, all of one day at once."""
    days: dict[int, list[int]] = {}
    picked = {h.planting for h in season.harvests} - failed
    for planned in season.plan.plantings:
        if planned.index in picked and planned.index + 1 not in said and planned.planting.crop.life != "perennial":
            days.setdefault(ends[planned.index] + 1, []).append(planned.index + 1)
    for day, numbers in days.items():
        yield Step(day, "clear", tuple(numbers))


def _from_what_stands(step: Step, cleared: dict[int, int]) -> Step:
    """A cover that comes off, of what is not `cleared` yet; of all that it lay over if everything is."""
    left = tuple(n for n in step.numbers if cleared.get(n, NEVER) >= step.day)
    return replace(step, numbers=left, whole_bed=False) if left and left != step.numbers else step


def _followed(plan: Plan, step: Step) -> Step:
    """A clearing with what follows on the ground, or that the ground is free until the frost."""
    gone = [plan.plantings[n - 1] for n in step.numbers]
    ground = np.max([p.stand.cells for p in gone], axis=0)
    others = [p for p in plan.plantings if p not in gone]
    soon = [p for p in others if step.day - WEEK <= p.start <= step.day + constant("follows_within") and _shared(p, ground)]
    names: dict[str, tuple[str, ...]] = {"follows": tuple(p.name for p in soon)} if soon else {}
    stay = step.day + constant("free_from")
    standing = [p for p in others if p.start < stay and p.end > step.day]
    taken = np.max([p.stand.cells for p in standing], axis=0) if standing else np.zeros_like(ground)
    free = float((ground * (taken < constant("shared_ground"))).sum() / max(ground.sum(), 1e-9))
    if not soon and free > constant("free_share") and not _late(plan, step.day):
        names["free"] = ("ground",)
    return Step(step.day, step.kind, step.numbers, step.amounts, Facts(step.names, **names), step.note, step.whole_bed)


def _late(plan: Plan, day: int) -> bool:
    """Whether nothing is sown any more from a day on: too near before, or not long after, the first autumn frost."""
    if plan.almanac.first_autumn_frost is None:
        return False
    offset = plan.almanac.day(plan.start)
    frost = plan.almanac.first_autumn_frost_after(day + offset) - offset
    return frost - day < constant("free_from") or frost - 365 + constant("winter_rest") > day


def _shared(planned: Planned, ground: Floats) -> bool:
    cells = planned.stand.cells
    return float(np.minimum(cells, ground).sum()) > constant("shared_ground") * min(float(cells.sum()), float(ground.sum()))


def _watering(season: Season, end: int) -> Iterable[Step]:
    """Litres a week by month up to the day `end`: what the crops use in dry weather, and what the usual rain brings (FAO-56,
    single coefficient)."""
    plan, bed = season.plan, season.plan.bed
    numbers = tuple(p.index + 1 for p in plan.plantings)
    if bed.watering.kind == "rain":
        return
    first, last = min(p.start for p in plan.plantings), min(end, season.days - 1)
    if bed.watering.kind == "weekly":
        litres = bed.watering.mm_per_week * bed.area_m2
        yield Step(first, "water", numbers, Facts(litres=litres, every_days=7.0, until=float(last)), Facts(), "", True)
        return
    need, rain = weekly_water_l(season)
    months = plan.start + np.arange(first, last + 1)
    for month in np.unique(months.astype("datetime64[M]")):
        days = np.nonzero(months.astype("datetime64[M]") == month)[0] + first
        amounts = Facts(
            litres=float(need[days].mean()), rain_litres=float(rain[days].mean()), every_days=7.0, until=float(days[-1])
        )
        if amounts["litres"] < constant("rain_suffices") * amounts["rain_litres"]:
            continue
        yield Step(int(days[0]), "water", numbers, amounts, Facts(), "", True)


def weekly_water_l(season: Season) -> tuple[Floats, Floats]:
    """Water that the bed uses in a week, and rain on it [l], by day of the season (D,), in the middle of the years.

    FAO-56 eq. 58: crop coefficient between that of small plants and the crops' own, by the ground that leaves cover.
    """
    plan = season.plan
    shape = [(p.planting.crop["canopy.k"], p.planting.crop["root.kc_mid"]) for p in plan.plantings]
    leaf = season.leaf_m2.mean(axis=1)
    k, kc = (np.array(column) for column in zip(*shape, strict=True))
    optical = leaf @ k / plan.bed.area_m2
    weight = leaf.sum(axis=1)
    full = np.divide(leaf @ kc, weight, out=np.full_like(weight, constant("kc_small")), where=weight > 0.0)
    coefficient = constant("kc_small") + (full - constant("kc_small")) * (1.0 - np.exp(-optical))
    offset = plan.almanac.day(plan.start)
    weather, window = plan.almanac.weather, slice(offset, offset + season.days)
    area = WEEK * plan.bed.area_m2
    return coefficient * weather.et0_mm[0, window] * area, weather.rain_mm[0, window] * area


__all__ = ["failing", "jobs", "last_day", "weekly_water_l"]
