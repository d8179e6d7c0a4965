"""Portions: what a picking is on the plate, and which things count as different ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import Plate
from mixcraft.recipe.plan import HarvestPlan, Plan

from .constants import constants
from .plate import Wanted

Floats = NDArray[np.float64]
KEEP_DRY = {"bulb", "fruit", "grain", "tuber"}
"""Kinds of crops whose main part keeps dry at the warmth of a room, or does not keep anyhow; others keep in the cold."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing to eat: the crops of one species whose parts are eaten alike, such as all lettuces.

    `harvests` are indices of the season's harvests with the weight of one portion each [g]; `herb` whether it is eaten a few
    grams at a time; `keeps_weeks` whole weeks that it keeps, where `cool` says so in a cold store.
    """

    name: str
    harvests: tuple[int, ...]
    portion_g: tuple[float, ...]
    keeps_weeks: int
    herb: bool
    cool: bool = False


def kinds_of(harvests: Sequence[HarvestPlan], plan: Plan) -> tuple[Kind, ...]:
    """The kinds of a plan in the order of its harvests; parts that are no food are left out."""
    c = constants()
    groups: dict[tuple[str, str], list[int]] = {}
    for h, harvest in enumerate(harvests):
        if harvest.part.food:
            crop = plan.plantings[harvest.planting].planting.crop
            groups.setdefault((crop.botanical, harvest.part.pool), []).append(h)
    kinds = []
    for members in groups.values():
        parts = [harvests[h].part for h in members]
        grams = tuple(part.number("portion", c["portion_usual_g"]) for part in parts)
        keeps = min(part.number("keeps", c["keeps_usual_days"]) for part in parts)
        weeks = int(min(keeps, c["keeps_most_days"]) // 7)
        crop = plan.plantings[harvests[members[0]].planting].planting.crop
        dry = KEEP_DRY & set(crop.kinds) or all(part.name.startswith("seed") for part in parts)
        kinds.append(Kind(crop.name, tuple(members), grams, weeks, max(grams) <= c["herb_portion_g"], not dry))
    return tuple(kinds)


def portions_of(weekly_kg: Floats, kinds: Sequence[Kind]) -> Floats:
    """Portions (W, Y, K) of fresh kilograms by week and harvest (W, Y, H)."""
    result = np.zeros((*weekly_kg.shape[:2], len(kinds)))
    for k, kind in enumerate(kinds):
        for h, grams in zip(kind.harvests, kind.portion_g, strict=True):
            result[:, :, k] += weekly_kg[:, :, h] * 1000.0 / grams
    return result


def wanted_of(plate: Plate, area_m2: float, kinds: Sequence[Kind]) -> Wanted:
    """What a plate asks for a week: its portions, else its kilograms in usual portions, else what a bed of this size may give."""
    c = constants()
    portions = plate.portions or plate.weekly_kg * 1000.0 / c["portion_usual_g"] or c["portions_usual_m2"] * area_m2
    several = plate.kinds or c["kinds_usual"]
    most, herbs = max(c["most_of_one"], 1.0 / several), np.array([kind.herb for kind in kinds], dtype=bool)
    herb = min(c["most_of_herb"], c["most_of_herbs"] / max(int(herbs.sum()), 1))
    used = c["herb_used"] * max(plate.people, 1.0)
    return Wanted(portions, several, np.where(herbs, herb, most), np.where(herbs, used, 0.0))
