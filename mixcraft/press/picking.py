"""How each part is harvested, when and how much: one line for every harvest of the plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.recipe.plan import HarvestPlan
from mixcraft.scoring.model import CropYield, Score
from mixcraft.season.result import Band, Season
from mixcraft.words.amounts import Units, band_words, days_words, length_words, short_day

NEVER_WORDS = "nothing in most years"
UNDERGROUND = ("root", "bulb", "tuber", "beet", "onion", "garlic", "carrot", "nuts")


@dataclass(frozen=True)
class Picking:
    """One harvest: planting number, its name, the part, how it is taken, when and how much, in words."""

    number: int
    name: str
    part: str
    how: str
    when: str
    amount: str


def yields_of(season: Season, score: Score | None) -> tuple[CropYield, ...]:
    """Amounts and days of every harvest: the score's, else the same from the season."""
    if score is not None and len(score.yields) == len(season.harvests):
        return score.yields
    found = []
    for h, harvest in enumerate(season.harvests):
        kg = season.picked_kg[:, :, h]
        picked = kg > 0.0
        years = picked.any(axis=0)
        first = last = None
        if years.mean() >= 0.5:
            first = season.plan.date(int(np.median(picked[:, years].argmax(axis=0))))
            last = season.plan.date(int(np.median(season.days - 1 - picked[::-1][:, years].argmax(axis=0))))
        name = season.plan.plantings[harvest.planting].name
        found.append(CropYield(name, harvest.part.name, harvest.method, Band.of(kg.sum(axis=0)), first, last))
    return tuple(found)


def how_words(harvest: HarvestPlan, units: Units) -> str:
    """The way of picking in plain words."""
    every = days_words(harvest.interval_days)
    if harvest.method == "once":
        below = harvest.part.pool == "organ" and any(word in harvest.part.name for word in UNDERGROUND)
        return "lift the whole crop at once" if below else "cut or pick it all at once"
    if harvest.method == "pull":
        return f"pull the largest whole plants every {every}"
    if harvest.method == "leaf":
        return f"outer leaves every {every}; the heart stays"
    if harvest.method == "cut":
        height = harvest.part.number("cut_height", 0.0)
        at = f"at {length_words(height / 100.0, units)} " if height > 0 else "above the growing point "
        if harvest.cuts <= 1:
            return f"cut {at}once"
        return f"cut {at}when regrown, up to {harvest.cuts} cuts"
    if harvest.method == "thin":
        return "take what is thinned out"
    return f"pick every {every}"


def pickings(season: Season, score: Score | None, units: Units) -> tuple[Picking, ...]:
    """One line for every harvest, in the order of the plantings."""
    plan = season.plan
    rows = []
    for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True):
        planned = plan.plantings[harvest.planting]
        when, kg = NEVER_WORDS, "–"
        if amount.first is not None and amount.last is not None:
            when = short_day(amount.first)
            if amount.last > amount.first:
                when += f" to {short_day(amount.last)}"
            kg = band_words(amount.kg.low, amount.kg.middle, amount.kg.high, units)
        rows.append(
            Picking(planned.index + 1, planned.name, harvest.part.name, how_words(harvest, units), when, kg)
        )
    return tuple(rows)


__all__ = ["Picking", "how_words", "pickings", "yields_of"]
