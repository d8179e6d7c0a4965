"""Completing a recipe: what fills its gaps best, gap after gap."""

from __future__ import annotations

from collections.abc import Sequence

from mixcraft.files import FileFaults
from mixcraft.recipe.model import Recipe
from mixcraft.recipe.moves import AddPlanting
from mixcraft.recipe.plan import Plan

from .constants import constant
from .curves import Option
from .drawing import planting_of
from .fill import Gap, largest_gap
from .search import Allowed, Trial

MOST = 4
"""Gaps that are filled, at most.  Common practice, no source."""
TRIED = 8
"""Crops that are tried in a gap, at most.  Common practice, no source."""


def completed(recipe: Recipe, options: Sequence[Option], trial: Trial, allowed: Allowed) -> Recipe:
    """The recipe with its gaps filled by options that fit them, as long as that raises its score."""
    for _ in range(MOST):
        try:
            settled = trial.evaluator.plan(recipe, draw=False)
        except FileFaults:
            return recipe
        gap = largest_gap(settled)
        if gap is None:
            return recipe
        new = [planting_of(o, gap.where, gap.area_m2, o.crop.name) for o in fitting(gap, settled, options)]
        tried = [AddPlanting(planting).changed(recipe) for planting in new]
        tried = [t for t in tried if allowed(t)]
        best = max(tried, key=trial.score, default=recipe)
        if trial.score(best) <= trial.score(recipe) + constant("gain_least"):
            return recipe
        recipe = best
    return recipe


def fitting(gap: Gap, settled: Plan, options: Sequence[Option]) -> list[Option]:
    """Options that begin and end while a gap is open, each crop once, those that give most for the published yield first."""
    sky = settled.almanac
    first = -(-int((gap.start - sky.start).astype(int)) // 7)
    last = first + 60 if gap.until is None else int((gap.until - sky.start).astype(int)) // 7
    inside = [o for o in options if first <= o.week and o.last <= last and o.crop.form != "climber"]
    inside.sort(key=lambda o: -o.total_kg_m2 / o.crop["harvest.yield_sole"])
    found: dict[str, Option] = {}
    for option in inside:
        found.setdefault(option.crop.id, option)
    return list(found.values())[:TRIED]


