"""Timing: frost, cold soil, days left, bolting, and covers over flowers or too low."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import SOWN
from mixcraft.crops.development import NEVER
from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.graph.traits import flowering_days
from mixcraft.place import cover
from mixcraft.recipe.model import Harvested
from mixcraft.recipe.plan import SEASON_DAYS_MAX, Planned
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.model import Chance, Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.result import Season
from mixcraft.season.setting import days_shut, needs_pollinators

Bools = NDArray[np.bool_]
Risk = tuple[float, Reason]
Days = tuple[np.datetime64, np.datetime64]
NOTHING: Numbers = Facts()
NOBODY: Names = Facts()


def timing(evidence: Evidence) -> Judged:
    """Chances that a planting is lost to frost, cold soil, too short a season, bolting or its own cover.

    A planting's points are the product of what each risk leaves; the part is shared between the mean of the plantings and the
    worst of them.
    """
    season, worst_share = evidence.season, constants()["timing_worst_share"]
    points, reasons = [], []
    for index in range(len(season.plan.plantings)):
        left = 1.0
        for rule in RULES:
            for risk, reason in rule(season, index):
                left *= 1.0 - min(risk, 1.0)
                reasons.append(reason)
        points.append(100.0 * left)
    least = float(np.min(points))
    score = (1.0 - worst_share) * float(np.mean(points)) + worst_share * least
    worst = season.plan.plantings[int(np.argmin(points))].name
    return Judged(score, Facts(least=least), Facts(worst=(worst,)), tuple(reasons))


def _risk(
    season: Season, index: int, cause: str, risk: float, days: Days | None, numbers: Numbers = NOTHING, names: Names = NOBODY
) -> Risk:
    """A risk to a planting with the points of the part that it costs, in the mean and as the worst."""
    worst_share = constants()["timing_worst_share"]
    points = 100.0 * risk * ((1.0 - worst_share) / len(season.plan.plantings) + worst_share)
    return risk, Reason("timing", cause, points, (season.plan.plantings[index].name,), days, numbers, names)


def _day(season: Season, day: float) -> Days:
    """A day index as the first and last day of a reason."""
    date = season.plan.date(int(day))
    return date, date


def main_harvest(season: Season, index: int) -> int:
    """Index of the harvest of a planting's main part, else of its first."""
    mine = [h for h, harvest in enumerate(season.harvests) if harvest.planting == index]
    return next((h for h in mine if season.harvests[h].part.role == "main"), mine[0])


def frost_killed(season: Season, index: int) -> Bools:
    """Years in which frost kills a planting before its main part can be picked, or within its first days, (Y,)."""
    h, begun = main_harvest(season, index), constants()["picking_begun_days"]
    death, opens = season.death[:, index], season.opens[:, h]
    clock = season.clocks[index]
    due = np.minimum(clock.event(season.harvests[h].part.opens), season.days)
    return np.asarray((death < NEVER) & ((opens >= NEVER) | (death < opens + begun)) & (death <= due + begun))


def lost_in_soil(season: Season, index: int) -> Bools:
    """Years in which a planting never comes up, or so late that the seed is as good as lost, (Y,)."""
    planned = season.plan.plantings[index]
    came = season.emergence[:, index]
    return np.asarray((came >= NEVER) | (came > planned.start + _usual_days(planned)))


def _usual_days(planned: Planned) -> float:
    return constants()["late_emergence_days" if planned.planting.establish in SOWN else "late_sprouting_days"]


def chances(season: Season) -> tuple[Chance, ...]:
    """The chance that frost or cold soil undoes each planting."""
    return tuple(
        Chance(p.name, float(frost_killed(season, i).mean()), float(lost_in_soil(season, i).mean()))
        for i, p in enumerate(season.plan.plantings)
    )


def _minded(risk: float) -> bool:
    """Whether anybody minds a chance of loss."""
    return risk > constants()["frost_tolerated"]


def frost(season: Season, index: int) -> list[Risk]:
    """Killed before the main part can be picked (or within its first days)."""
    killed = frost_killed(season, index)
    risk = float(killed.mean())
    if not _minded(risk):
        return []
    planned = season.plan.plantings[index]
    middle = int(np.median(season.death[:, index][killed]))
    young = middle - planned.start < constants()["grown_days"]
    limit = planned.planting.crop["frost.seedling" if young else "frost.grown"]
    part: Names = Facts(part=(season.harvests[main_harvest(season, index)].part.name,))
    numbers = Facts(share=risk, limit_c=limit)
    return [_risk(season, index, "frost" if young else "late frost", risk, _day(season, middle), numbers, part)]


def cold_soil(season: Season, index: int) -> list[Risk]:
    """Never comes up, or takes so long that the seed is as good as lost."""
    planned = season.plan.plantings[index]
    risk = float(lost_in_soil(season, index).mean())
    if not _minded(risk):
        return []
    numbers = Facts(share=risk, days=_usual_days(planned), least_c=planned.planting.crop["emergence.t_min"])
    return [_risk(season, index, "cold soil", risk, _day(season, planned.start), numbers)]


def short_season(season: Season, index: int) -> list[Risk]:
    """The main part never becomes ready though nothing killed it: too few warm days, or the reckoning stops."""
    h = main_harvest(season, index)
    unready = (season.opens[:, h] >= NEVER) & (season.emergence[:, index] < NEVER)
    unready &= (season.death[:, index] >= NEVER) & ~_bolted_first(season, index, h)
    risk = float(unready.mean())
    if not _minded(risk):
        return []
    part: Names = Facts(part=(season.harvests[h].part.name,))
    if _cut_off(season, index):
        numbers = Facts(share=risk, days=float(SEASON_DAYS_MAX))
        return [_risk(season, index, "cut off", risk, _day(season, season.days - 1), numbers, part)]
    return [_risk(season, index, "short season", risk, None, Facts(share=risk), part)]


def _cut_off(season: Season, index: int) -> bool:
    """Whether a planting would stand on where the reckoning stops, after `SEASON_DAYS_MAX` days."""
    planned = season.plan.plantings[index]
    return season.days >= SEASON_DAYS_MAX and isinstance(planned.planting.end, Harvested) and planned.start > 0


def _bolted_first(season: Season, index: int, h: int) -> Bools:
    clock = season.clocks[index]
    part = season.harvests[h].part
    if part.closes != "bolt":
        return np.zeros(season.years, dtype=bool)
    return np.asarray((clock.bolt < NEVER) & (clock.bolt <= clock.event(part.opens)))


def bolting(season: Season, index: int) -> list[Risk]:
    """Runs to seed before the main part is ready."""
    bolted = _bolted_first(season, index, main_harvest(season, index))
    risk = float(bolted.mean())
    if not _minded(risk):
        return []
    middle = float(np.median(season.clocks[index].bolt[bolted]))
    return [_risk(season, index, "bolting", risk, _day(season, middle), Facts(share=risk))]


def shut_out(season: Season, index: int) -> list[Risk]:
    """A cover that keeps pollinators out over an insect-pollinated crop in flower."""
    planned = season.plan.plantings[index]
    if not planned.covers or not needs_pollinators(planned.planting.crop):
        return []
    flowers = flowering_days(season, index)
    both = np.nonzero(flowers & days_shut(planned, season.days, "pollinators_out"))[0]
    if both.size == 0:
        return []
    owner, kind = [(span.owner, span.kind) for span in planned.covers if cover(span.kind).pollinators_out][-1]
    risk = float(both.size / flowers.sum())
    days = (season.plan.date(int(both[0])), season.plan.date(int(both[-1])))
    names: Names = Facts(cover=(kind,), owner=(owner,))
    return [_risk(season, index, "pollinators out", risk, days, Facts(share=risk), names)]


def low_cover(season: Season, index: int) -> list[Risk]:
    """A cover lower than the crop under it."""
    c, planned = constants(), season.plan.plantings[index]
    found = []
    for span in planned.covers:
        kind = cover(span.kind)
        window = season.height_m[max(span.on, 0) : max(span.off, 0), :, index]
        if kind.height_m <= 0.0 or window.size == 0 or not np.isfinite(kind.height_m):
            continue
        tall = np.median(window, axis=1)
        over = np.nonzero(tall > kind.height_m)[0]
        if over.size < c["low_cover_least_days"]:
            continue
        risk = c["low_cover_risk"] * float(over.size / tall.size)
        days = (season.plan.date(span.on + int(over[0])), season.plan.date(span.on + int(over[-1])))
        numbers = Facts(height_m=float(tall.max()), room_m=kind.height_m)
        found.append(_risk(season, index, "low cover", risk, days, numbers, Facts(cover=(span.kind,))))
    return found


RULES: tuple[Callable[[Season, int], list[Risk]], ...] = (frost, cold_soil, short_season, bolting, shut_out, low_cover)
PART = Part("timing", timing)
