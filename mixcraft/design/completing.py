"""Completing a recipe: what fills its gaps best, gap after gap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mixcraft.files import FileFaults
from mixcraft.recipe.model import OnDate, Recipe
from mixcraft.recipe.moves import AddPlanting
from mixcraft.recipe.plan import Plan

from .constants import constant
from .curves import Option
from .drawing import planting_of
from .fill import Gap, largest_gap
from .search import SAME, Allowed, Standing, Step, Trial, among_share, area_of

MOST = 4
"""Gaps that are filled, at most.  Common practice, no source."""
TRIED = 8
"""Crops that are tried in a gap, at most.  Common practice, no source."""


def completing(recipe: Recipe, options: Sequence[Option], trial: Trial, allowed: Allowed) -> Iterator[tuple[Recipe, Step]]:
    """Recipes with one gap after the other filled by an option that fits it, and the step to each, as long as the score rises."""
    for _ in range(MOST):
        try:
            settled = trial.evaluator.plan(recipe, draw=False)
        except FileFaults:
            return
        gap = largest_gap(settled)
        if gap is None:
            return
        found = []
        for option in fitting(gap, settled, options):
            move = AddPlanting(planting_of(option, gap.where, gap.area_m2, option.crop.name))
            changed = move.changed(recipe)
            if allowed(changed):
                found.append((trial.standing(changed), move, changed))
        before = trial.standing(recipe)
        if not found:
            return
        after, move, changed = max(found, key=lambda three: three[0])
        if not after.beats(before):
            return
        recipe = changed
        yield recipe, Step(move, before.points, after.points)


def completed(recipe: Recipe, options: Sequence[Option], trial: Trial, allowed: Allowed) -> Recipe:
    """The recipe with its gaps filled by options that fit them, as long as that raises its score."""
    for changed, _ in completing(recipe, options, trial, allowed):
        recipe = changed
    return recipe


def fitting(gap: Gap, settled: Plan, options: Sequence[Option]) -> list[Option]:
    """Options that begin and end while a gap is open, each crop once, those that give most for the published yield first."""
    sky = settled.almanac
    first = -(-sky.day(gap.start) // 7)
    last = first + 60 if gap.until is None else sky.day(gap.until) // 7
    inside = [o for o in options if first <= o.week and o.last <= last and o.crop.form != "climber"]
    inside.sort(key=lambda o: -o.total_kg_m2 / o.crop["harvest.yield_sole"])
    found: dict[str, Option] = {}
    for option in inside:
        found.setdefault(option.crop.id, option)
    return list(found.values())[:TRIED]


def with_early_picking(
    recipe: Recipe, options: Sequence[Option], trial: Trial, allowed: Allowed, within_days: float | None = None
) -> Recipe:
    """The recipe with a quick crop sown on its first day among others, picked within so many days of it, if none is there yet and
    it costs next to nothing."""
    first = min((p.start.month_day for p in recipe.plantings if isinstance(p.start, OnDate)), default="")
    early = int(constant("early_weeks"))
    at_once = [o for o in options if o.month_day == first and o.crop.form != "climber"]
    quick = [o for o in at_once if (o.first - o.week <= early if within_days is None else o.wait_days <= within_days)]
    if not quick or any(p.crop.id == o.crop.id and p.start == OnDate(first) for p in recipe.plantings for o in quick):
        return recipe
    found: list[tuple[Standing, int, Recipe]] = []
    for planting in recipe.plantings:
        area = area_of(planting, recipe) if planting.start == OnDate(first) else None
        for option in quick if area is not None else ():
            new = planting_of(option, planting.where, area or 0.0, option.crop.name, share=among_share(option, planting.where))
            changed = AddPlanting(new).changed(recipe)
            if allowed(changed):
                found.append((trial.standing(changed), len(found), changed))
    if not found:
        return recipe
    after, _, best = max(found, key=lambda three: three[:2])
    before = trial.standing(recipe)
    if abs(after.sound - before.sound) > SAME:
        return best if after.sound > before.sound else recipe
    return best if after.points >= before.points - constant("early_costs") else recipe
