"""The timing part: frost, cold soil, days left, bolting, and covers over flowers or too low."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import SOWN
from mixcraft.crops.development import NEVER
from mixcraft.graph.traits import flowering_days
from mixcraft.place import cover
from mixcraft.recipe.model import Harvested
from mixcraft.recipe.plan import SEASON_DAYS_MAX, Planned
from mixcraft.season.result import Season
from mixcraft.season.setting import days_shut, needs_pollinators

from .model import Chance, PartScore, Reason
from .parts import _worst_first, constants
from .words import cover_words, date_words, percent, span_words

LATE_EMERGENCE_DAYS = 40
"""A sowing that takes longer than this to come up is counted as lost to cold soil.  Common practice, no source."""

LATE_SPROUTING_DAYS = 240
"""The same for pieces that are planted, which may rest from September until May.  Common practice, no source."""

GROWN_DAYS = 56
"""From this age a plant that frost kills is no seedling.  Common practice, no source."""

Risk = tuple[float, Reason]


def timing(season: Season, weight: float) -> PartScore:
    """Chances that a planting is lost to frost, cold soil, too short a season, bolting or its own cover.

    A planting's points are the product of what each risk leaves; the part is half the mean of the plantings and half the
    worst of them.
    """
    points, reasons = [], []
    for index in range(len(season.plan.plantings)):
        left = 1.0
        for rule in RULES:
            for risk, reason in rule(season, index):
                left *= 1.0 - min(risk, 1.0)
                reasons.append(reason)
        points.append(100.0 * left)
    score = 0.5 * float(np.mean(points)) + 0.5 * float(np.min(points))
    worst = season.plan.plantings[int(np.argmin(points))].name
    summary = "no planting at risk" if min(points) > 95.0 else f"most at risk: {worst}"
    return PartScore("timing", score, weight, summary, _worst_first(reasons))


def _main_harvest(season: Season, index: int) -> int:
    mine = [h for h, harvest in enumerate(season.harvests) if harvest.planting == index]
    return next((h for h in mine if season.harvests[h].part.role == "main"), mine[0])


def _cost(season: Season, risk: float) -> float:
    return 100.0 * risk * (0.5 / len(season.plan.plantings) + 0.5)


def frost_killed(season: Season, index: int) -> NDArray[np.bool_]:
    """Years in which frost kills a planting before its main part can be picked, or within its first ten days, (Y,)."""
    h = _main_harvest(season, index)
    death, opens = season.death[:, index], season.opens[:, h]
    clock = season.clocks[index]
    due = np.minimum(clock.event(season.harvests[h].part.opens), season.days)
    return np.asarray((death < NEVER) & ((opens >= NEVER) | (death < opens + 10)) & (death <= due + 10))


def lost_in_soil(season: Season, index: int) -> NDArray[np.bool_]:
    """Years in which a planting never comes up, or so late that the seed is as good as lost, (Y,)."""
    planned = season.plan.plantings[index]
    came = season.emergence[:, index]
    return np.asarray((came >= NEVER) | (came > planned.start + _usual_days(planned)))


def _usual_days(planned: Planned) -> int:
    return LATE_EMERGENCE_DAYS if planned.planting.establish in SOWN else LATE_SPROUTING_DAYS


def chances(season: Season) -> tuple[Chance, ...]:
    """The chance that frost or cold soil undoes each planting."""
    return tuple(
        Chance(p.name, float(frost_killed(season, i).mean()), float(lost_in_soil(season, i).mean()))
        for i, p in enumerate(season.plan.plantings)
    )


def frost(season: Season, index: int) -> list[Risk]:
    """Killed before the main part can be picked (or within its first ten days)."""
    death, killed = season.death[:, index], frost_killed(season, index)
    risk = float(killed.mean())
    if risk <= constants()["frost_tolerated"]:
        return []
    planned = season.plan.plantings[index]
    when = season.plan.date(int(np.median(death[killed])))
    sentence = f"{planned.name}: frost kills before the harvest in {percent(risk)} of years, most often about {date_words(when)}"
    age = int(np.median(death[killed])) - planned.start
    young = age < GROWN_DAYS
    if young:
        sentence += f" (a young plant dies at {planned.planting.crop['frost.seedling']:g} C)."
    else:
        part = season.harvests[_main_harvest(season, index)].part.name
        limit = planned.planting.crop["frost.grown"]
        sentence += f", when the {part} {_is(part)} not ready yet or only just (it dies at {limit:g} C)."
    cause = "frost" if young else "late frost"
    return [(risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), (when, when), cause=cause))]


def cold_soil(season: Season, index: int) -> list[Risk]:
    """Never comes up, or takes so long that the seed is as good as lost."""
    planned = season.plan.plantings[index]
    usual = _usual_days(planned)
    risk = float(lost_in_soil(season, index).mean())
    if risk <= constants()["frost_tolerated"]:
        return []
    when = season.plan.date(planned.start)
    minimum = planned.planting.crop["emergence.t_min"]
    sentence = (
        f"{planned.name}: started {_on(when)} into soil too cold; in {percent(risk)} of years nothing is up within "
        f"{usual} days (it takes {minimum:g} C at least)."
    )
    return [(risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), (when, when), cause="cold soil"))]


def short_season(season: Season, index: int) -> list[Risk]:
    """The main part never becomes ready though nothing killed it."""
    h = _main_harvest(season, index)
    planned = season.plan.plantings[index]
    unready = (season.opens[:, h] >= NEVER) & (season.emergence[:, index] < NEVER)
    unready &= (season.death[:, index] >= NEVER) & ~_bolted_first(season, index, h)
    risk = float(unready.mean())
    if risk <= constants()["frost_tolerated"]:
        return []
    part = season.harvests[h].part.name
    cut_off = _cut_off(season, index)
    if cut_off:
        last = date_words(season.plan.date(season.days - 1))
        sentence = (
            f"{planned.name}: what is reckoned stops in {last}, {SEASON_DAYS_MAX} days after the first start; in {percent(risk)} "
            f"of years the {part} {_is(part)} not ready by then. Give {planned.name} a recipe of its own."
        )
    else:
        sentence = (
            f"{planned.name}: too few warm days left; in {percent(risk)} of years the {part} {_is(part)} not ready before the "
            "ground is cleared or the season ends."
        )
    cause = "cut off" if cut_off else "short season"
    return [(risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), cause=cause))]


def _cut_off(season: Season, index: int) -> bool:
    """Whether a planting would stand on where the reckoning stops, after `SEASON_DAYS_MAX` days."""
    planned = season.plan.plantings[index]
    return season.days >= SEASON_DAYS_MAX and isinstance(planned.planting.end, Harvested) and planned.start > 0


def _bolted_first(season: Season, index: int, h: int) -> NDArray[np.bool_]:
    clock = season.clocks[index]
    part = season.harvests[h].part
    if part.closes != "bolt":
        return np.zeros(season.years, dtype=bool)
    return np.asarray((clock.bolt < NEVER) & (clock.bolt <= clock.event(part.opens)))


def bolting(season: Season, index: int) -> list[Risk]:
    """Runs to seed before the main part is ready."""
    h = _main_harvest(season, index)
    bolted = _bolted_first(season, index, h)
    risk = float(bolted.mean())
    if risk <= constants()["frost_tolerated"]:
        return []
    planned = season.plan.plantings[index]
    when = season.plan.date(int(np.median(season.clocks[index].bolt[bolted])))
    sentence = (
        f"{planned.name}: runs to seed about {date_words(when)}, before there is anything to pick, in {percent(risk)} of years."
    )
    return [(risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), (when, when), cause="bolting"))]


def shut_out(season: Season, index: int) -> list[Risk]:
    """A cover that keeps pollinators out over an insect-pollinated crop in flower."""
    planned = season.plan.plantings[index]
    crop = planned.planting.crop
    if not needs_pollinators(crop):
        return []
    flowers = flowering_days(season, index)
    both = np.nonzero(flowers & days_shut(planned, season.days, "pollinators_out"))[0]
    if both.size == 0:
        return []
    owner, kind = [(span.owner, span.kind) for span in planned.covers if cover(span.kind).pollinators_out][-1]
    risk = float(both.size / flowers.sum())
    days = (season.plan.date(int(both[0])), season.plan.date(int(both[-1])))
    whose = "" if owner == planned.name else f" of {owner}"
    sentence = (
        f"{planned.name}: the {cover_words(kind)}{whose} keeps pollinating insects off the flowers {span_words(*days)}."
    )
    return [(risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), days, cause="pollinators out"))]


def low_cover(season: Season, index: int) -> list[Risk]:
    """A cover lower than the crop under it."""
    planned = season.plan.plantings[index]
    found = []
    for span in planned.covers:
        kind = cover(span.kind)
        window = season.height_m[max(span.on, 0) : max(span.off, 0), :, index]
        if kind.height_m <= 0.0 or window.size == 0 or not np.isfinite(kind.height_m):
            continue
        tall = np.median(window, axis=1)
        over = np.nonzero(tall > kind.height_m)[0]
        if over.size < 7:
            continue
        risk = 0.3 * float(over.size / tall.size)
        days = (season.plan.date(span.on + int(over[0])), season.plan.date(span.on + int(over[-1])))
        sentence = (
            f"{planned.name}: grows to {tall.max():.1f} m, but the {cover_words(span.kind)} leaves {kind.height_m:.1f} m "
            f"{span_words(*days)}."
        )
        found.append((risk, Reason("timing", _cost(season, risk), sentence, (planned.name,), days, cause="low cover")))
    return found


def _on(date: np.datetime64) -> str:
    return f"in {date_words(date)}"


def _is(part: str) -> str:
    return "are" if part.endswith("s") else "is"


RULES: tuple[Callable[[Season, int], list[Risk]], ...] = (frost, cold_soil, short_season, bolting, shut_out, low_cover)
