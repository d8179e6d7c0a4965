"""Timing: frost, cold soil, days left, bolting, heat, starts out of season, and covers over flowers or too low."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PIECES, PLANTED
from mixcraft.crops.development import NEVER
from mixcraft.crops.resting import rests_in_winter
from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.graph.traits import flowering_days
from mixcraft.place import cover
from mixcraft.recipe.model import Harvested
from mixcraft.recipe.plan import SEASON_DAYS_MAX
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.fates import Fates, main_harvests, usual_days
from mixcraft.scoring.measures import geometric, middles, told_losses, worst_powers
from mixcraft.scoring.model import Reason
from mixcraft.scoring.reference import best_start
from mixcraft.scoring.registry import Judged, Part
from mixcraft.scoring.shortfall import picked_own_way, start_share
from mixcraft.season.result import Season
from mixcraft.season.setting import days_shut, needs_pollinators

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Risk = tuple[int, float, Reason]
"""Planting, chance of its loss, and the reason."""
Days = tuple[np.datetime64, np.datetime64]
NOTHING: Numbers = Facts()
NOBODY: Names = Facts()


def timing(evidence: Evidence) -> Judged:
    """Chances that a planting is lost to frost, cold soil, too short a season, bolting or its own cover.

    A planting's points are the product of what each risk leaves, to the power of `loss_aversion`; the part is their geometric
    mean, weighed by the ground that each planting takes and in part alike, so that what is lost counts by what it is worth.  The
    one most at risk weighs `timing_worst_share` more, so that a gamble cannot hide among many safe plantings.
    """
    found = _risks(evidence, evidence.fates)
    found += out_of_season(evidence, found)
    points, power, score = _weighed(evidence, found)
    told = told_losses([safety(risk) ** float(power[index]) for index, risk, _ in found], score)
    reasons = (replace(reason, points=float(p)) for (_, _, reason), p in zip(found, told, strict=True))
    worst = evidence.names[int(np.argmin(points))]
    return Judged(score, Facts(least=float(np.min(points))), Facts(worst=(worst,)), tuple(reasons))


def timing_at_most(evidence: Evidence) -> float:
    """The points if no planting of which nothing is known yet is ever lost; what is out of season cannot be told before that."""
    return _weighed(evidence, _risks(evidence, evidence.known_fates))[2]


def _risks(evidence: Evidence, known: Fates) -> list[Risk]:
    """What threatens the plantings, rule after rule."""
    return [risk for rule in RULES for risk in rule(evidence.season, known)]


def _weighed(evidence: Evidence, found: Iterable[Risk]) -> tuple[Floats, Floats, float]:
    """Points that the risks leave of each planting, the powers to which they count, (P,) each, and the score."""
    points = np.full(len(evidence.names), 100.0)
    for index, risk, _ in found:
        points[index] *= safety(risk)
    power = worst_powers(points, constants()["timing_worst_share"], evidence.weight)
    return points, power, geometric(points, list(power))


def safety(risk: float) -> float:
    """What a chance of a loss leaves of a planting's points, 0..1: 1 up to the chance that nobody minds, falling ever faster."""
    return float(_left(risk) ** constants()["loss_aversion"])


def _left(risk: float) -> float:
    """Chance that a planting is safe over that which nobody minds, 0..1."""
    return min((1.0 - min(max(risk, 0.0), 1.0)) / (1.0 - constants()["frost_tolerated"]), 1.0)


def _risk(
    season: Season, index: int, cause: str, risk: float, days: Days | None, numbers: Numbers = NOTHING, names: Names = NOBODY
) -> Risk:
    """A risk to a planting; what it costs is reckoned when all are known."""
    return index, risk, Reason("timing", cause, 0.0, (season.plan.plantings[index].name,), days, numbers, names)


def _day(season: Season, day: float) -> Days:
    """A day index as the first and last day of a reason."""
    date = season.plan.date(int(day))
    return date, date


def minded(years: Bools) -> list[tuple[int, float]]:
    """Plantings with a share of years (Y, P) that somebody minds, and the share."""
    share = years.mean(axis=0)
    return [(int(i), float(share[i])) for i in np.nonzero(share > constants()["frost_tolerated"])[0]]


def frost(season: Season, known: Fates) -> Iterable[Risk]:
    """Killed before the main part can be picked (or within its first days): by heat or chill where that is so in most of these
    years."""
    for index, risk in minded(known.killed):
        planned = season.plan.plantings[index]
        killed = known.killed[:, index]
        middle = int(np.median(known.death[:, index][killed]))
        if 2 * known.by_heat[:, index].sum() > killed.sum():
            yield _risk(season, index, "heat", risk, _day(season, middle), Facts(share=risk))
            continue
        if 2 * known.by_chill[:, index].sum() > killed.sum():
            chill = Facts(share=risk, limit_c=planned.planting.crop["frost.chill_below"])
            yield _risk(season, index, "chill", risk, _day(season, middle), chill, _part(season, known, index))
            continue
        young = middle - planned.start < constants()["grown_days"]
        limit = planned.planting.crop["frost.seedling" if young else "frost.grown"]
        day, numbers, part = _day(season, middle), Facts(share=risk, limit_c=limit), _part(season, known, index)
        yield _risk(season, index, "frost" if young else "late frost", risk, day, numbers, part)


def _part(season: Season, known: Fates, index: int) -> Names:
    """The main part of a planting as a fact."""
    return Facts(part=(season.plan.harvests[known.mains[index]].part.name,))


def cold_soil(season: Season, known: Fates) -> Iterable[Risk]:
    """Never comes up, or takes so long that the seed is as good as lost, or cannot be set out, in frozen ground; or a rootstock
    that was set out when none is dormant, and comes up in the next spring."""
    for index, risk in minded(known.lost):
        planned = season.plan.plantings[index]
        if rests_in_winter(planned.planting.crop) and np.median(season.clocks[index].emergence) < NEVER:
            yield _risk(season, index, "not dormant", risk, _day(season, planned.start), Facts(share=risk))
            continue
        planted = planned.planting.establish in PLANTED
        seed = {} if planted else {"days": usual_days(planned), "least_c": planned.planting.crop["emergence.t_min"]}
        yield _risk(season, index, "cold soil", risk, _day(season, planned.start), Facts(share=risk, **seed))


def short_season(season: Season, known: Fates) -> Iterable[Risk]:
    """The main part never becomes ready though nothing killed it: too few warm days, or the reckoning stops."""
    for index, risk in minded(known.unready):
        part = _part(season, known, index)
        if _cut_off(season, index):
            numbers = Facts(share=risk, days=float(SEASON_DAYS_MAX))
            yield _risk(season, index, "cut off", risk, _day(season, season.days - 1), numbers, part)
        else:
            yield _risk(season, index, "short season", risk, None, Facts(share=risk), part)


def _cut_off(season: Season, index: int) -> bool:
    """Whether a planting would stand on where the reckoning stops, after `SEASON_DAYS_MAX` days."""
    planned = season.plan.plantings[index]
    return season.days >= SEASON_DAYS_MAX and isinstance(planned.planting.end, Harvested) and planned.start > 0


def bolting(season: Season, known: Fates) -> Iterable[Risk]:
    """Runs to seed before the main part is ready."""
    for index, risk in minded(known.bolted):
        middle = float(np.median(known.bolt[:, index][known.bolted[:, index]]))
        yield _risk(season, index, "bolting", risk, _day(season, middle), Facts(share=risk))


def standing_still(season: Season, known: Fates) -> Iterable[Risk]:
    """Started into the cold and the short days, in which it stands and rots, or feeds slugs; pieces where they do not root."""
    c = constants()
    for index in np.nonzero(known.still > c["standing_still_named"])[0].tolist():
        share, planned = float(known.still[index]), season.plan.plantings[index]
        risk, day = c["standing_still_risk"] * share, _day(season, planned.start)
        if planned.planting.establish in PIECES:
            yield _risk(season, index, "no roots", risk, day, Facts(share=share, days=c["rooting_days"], least_c=c["rooting_c"]))
        else:
            numbers = Facts(share=share, days=c["settling_days"], hours=c["growing_day_h"])
            yield _risk(season, index, "short days", risk, day, numbers)


def bitter(season: Season, known: Fates) -> Iterable[Risk]:
    """Picked after weeks of heat that make it bitter, tough or run up: the chance is the share of the days of its picking."""
    for index in np.nonzero(known.bitter > constants()["frost_tolerated"])[0].tolist():
        limit, share = season.plan.plantings[index].planting.crop["development.heat_above"], float(known.bitter[index])
        yield _risk(season, index, "bitter", share, None, Facts(share=share, limit_c=limit))


def out_of_season(evidence: Evidence, found: Iterable[Risk]) -> Iterable[Risk]:
    """Started at a time of the year from which it gives little of what it gives there in its season: heat, long days or cold
    leave something to pick and yet it is a failure.  The less the crop alone gives from the start, covered and raised as it is,
    of what it gives from the best one (`best_start`), the surer; where it is picked in an odd way, the crop in its usual way
    counts too.  Years that another risk of those `found` takes are not counted against it again, and where others take most of
    them nothing is said of those few that are left."""
    season, c = evidence.season, constants()
    alone = season.sole_kg.sum(axis=0)[:, main_harvests(season.plan)].mean(axis=0) / season.plan.bed.area_m2
    for index, planned in enumerate(season.plan.plantings):
        crop = planned.planting.crop
        if crop.life == "perennial" or not planned.harvests or _cut_off(season, index):
            continue
        spared = float(np.prod([_left(risk) for i, risk, _ in found if i == index]))
        if spared < c["out_of_season_spared"]:
            continue
        best = best_start(crop, planned.planting.establish, season.plan.place)
        if best <= 0.0:
            continue
        usual = start_share(evidence, planned) if picked_own_way(planned) else 0.0
        share = max(usual, float(alone[index]) / (best * spared))
        failed = (c["out_of_season_share"] - share) / (c["out_of_season_share"] - c["failed_share"])
        risk = 1.0 - (1.0 - c["frost_tolerated"]) * _left(failed)
        if risk > c["frost_tolerated"]:
            yield _risk(season, index, "out of season", risk, _day(season, planned.start), Facts(share=share))


def shut_out(season: Season, known: Fates) -> Iterable[Risk]:
    """A cover that keeps pollinators out over an insect-pollinated crop in flower."""
    for index, planned in enumerate(season.plan.plantings):
        shutting = [span for span in planned.covers if cover(span.kind).pollinators_out]
        if not shutting or not needs_pollinators(planned.planting.crop):
            continue
        flowers = flowering_days(season, index)
        both = np.nonzero(flowers & days_shut(planned, season.days, "pollinators_out"))[0]
        if both.size == 0:
            continue
        risk = float(both.size / flowers.sum())
        days = (season.plan.date(int(both[0])), season.plan.date(int(both[-1])))
        names: Names = Facts(cover=(shutting[-1].kind,), owner=(shutting[-1].owner,))
        yield _risk(season, index, "pollinators out", risk, days, Facts(share=risk), names)


def low_cover(season: Season, known: Fates) -> Iterable[Risk]:
    """A cover lower than the crop under it: the chance is the share of its height that is pressed down, mean of its days."""
    c = constants()
    for index, planned in enumerate(season.plan.plantings):
        for span in planned.covers:
            room_m, first = cover(span.kind).height_m, max(span.on, 0)
            window = season.height_m[first : max(span.off, 0), :, index]
            if room_m <= 0.0 or window.size == 0 or not np.isfinite(room_m):
                continue
            tall = middles(window, axis=1)
            over = np.nonzero(tall > room_m)[0]
            if over.size < c["low_cover_least_days"]:
                continue
            pressed = float((1.0 - room_m / tall[over]).sum())
            risk = c["low_cover_risk"] * min(pressed / max(_grown_days(season, index), 1.0), 1.0)
            days = (season.plan.date(first + int(over[0])), season.plan.date(first + int(over[-1])))
            numbers = Facts(height_m=float(tall.max()), room_m=room_m)
            names: Names = Facts(cover=(span.kind,))
            yield _risk(season, index, "low cover", risk, days, numbers, names)


def _grown_days(season: Season, index: int) -> float:
    """Days on which a planting has leaf, mean of the years."""
    return float((season.leaf_m2[:, :, index] > 0.0).sum(axis=0).mean())


RULES: tuple[Callable[[Season, Fates], Iterable[Risk]], ...] = (
    frost, cold_soil, short_season, bolting, bitter, standing_still, shut_out, low_cover,
)  # fmt: skip
PART = Part("timing", timing, most=timing_at_most)
