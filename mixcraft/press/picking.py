"""How each part is harvested, when and how much: one line for every harvest of the plan."""

from __future__ import annotations

from dataclasses import dataclass

from mixcraft.recipe.plan import HarvestPlan
from mixcraft.scoring.model import CropYield, Score
from mixcraft.scoring.strip import crop_yields
from mixcraft.season.harvest import clears_stand
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units, band_words, days_words, length_words
from mixcraft.words.catalogue import ENGLISH, Catalogue
from mixcraft.words.dates import ends_next_year, short_day
from mixcraft.words.parts_of_crops import part_words
from mixcraft.words.plain import N_

NEVER_WORDS = N_("nothing in most years")
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
    return crop_yields(season)


def how_words(harvest: HarvestPlan, units: Units, t: Catalogue = ENGLISH, clears: bool = False) -> str:
    """The way of picking in plain words; whether the last picking of leaves takes all (`harvest.clears_stand`)."""
    every = days_words(harvest.interval_days, t)
    if harvest.method == "once":
        below = harvest.part.pool == "organ" and any(word in harvest.part.name for word in UNDERGROUND)
        return t.gettext("lift the whole crop at once") if below else t.gettext("cut or pick it all at once")
    if harvest.method == "pull":
        return t.gettext("pull the largest whole plants every {time}").format(time=every)
    if harvest.method == "leaf" and clears:
        return t.gettext("outer leaves every {time}; all at the last picking").format(time=every)
    if harvest.method == "leaf":
        return t.gettext("outer leaves every {time}; the heart stays").format(time=every)
    if harvest.method == "cut" and "cut" not in harvest.part.methods:
        return t.gettext("cut or pick it all at once")
    if harvest.method == "cut":
        return _cut_words(harvest, units, t)
    if harvest.method == "thin":
        return t.gettext("take what is thinned out")
    return t.gettext("pick every {time}").format(time=every)


def _cut_words(harvest: HarvestPlan, units: Units, t: Catalogue) -> str:
    height = harvest.part.number("cut_height", 0.0) / 100.0 if harvest.stub_m is None else harvest.stub_m
    if height > 0.0:
        at = t.gettext("at {height}").format(height=length_words(height, units))
    else:
        at = t.gettext("above the growing point")
    if harvest.cuts <= 1:
        return t.gettext("cut {where} once").format(where=at)
    if harvest.counted:
        return t.gettext("cut {where} when regrown, up to {number} cuts").format(where=at, number=harvest.cuts)
    return t.gettext("cut {where} when regrown, about {number} cuts").format(where=at, number=harvest.cuts)


def pickings(season: Season, score: Score | None, units: Units, t: Catalogue = ENGLISH) -> tuple[Picking, ...]:
    """One line for every harvest, in the order of the plantings."""
    plan = season.plan
    rows = []
    for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True):
        planned = plan.plantings[harvest.planting]
        when, kg = t.gettext(NEVER_WORDS), "–"
        if amount.first is not None and amount.last is not None:
            when = short_day(amount.first, t)
            if amount.last > amount.first:
                later = ends_next_year(amount.first, amount.last)
                span = t.gettext("{first} to {last} next year") if later else t.gettext("{first} to {last}")
                when = span.format(first=when, last=short_day(amount.last, t))
            kg = band_words(amount.kg.low, amount.kg.middle, amount.kg.high, units, t)
        part, clears = part_words(harvest.part.name, t), clears_stand(planned, harvest)
        how = how_words(harvest, units, t, clears)
        if clears and amount.first is not None and amount.first == amount.last:
            how = t.gettext("cut or pick it all at once")
        rows.append(Picking(planned.index + 1, planned.name, part, how, when, kg))
    return tuple(rows)


__all__ = ["Picking", "how_words", "pickings", "yields_of"]
