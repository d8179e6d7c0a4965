"""Mending a recipe: moves tried, each grown and scored, and the best sequence of them."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.files.frozen import FrozenMap
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import AtTrellis, Bed, Garden, Planting, Recipe, Span, Strip, Zone
from mixcraft.recipe.moves import (
    DropPlanting,
    Move,
    Moves,
    RemoveCover,
    SetAmount,
    SetHarvest,
    SetPlace,
    SetStart,
    ShiftStart,
)
from mixcraft.recipe.plan import plan
from mixcraft.scoring import Score, score
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.model import Reason
from mixcraft.season.grow import SEED, grow

from .completing import completing
from .compose import PATIENCE
from .constants import constant
from .curves import Option, starts_of, window_of
from .practice import Practice
from .rotation import rested
from .search import Budget, Climb, Step, Told, Trial, attempt, moves, scaled, silent
from .task import days_of, kept
from .wider import Wider

BRIDGES = (
    "radish", "lettuce-loose-leaf", "spinach", "rocket", "beetroot", "chard", "bean-bush", "carrot-early", "onion-salad",
    "kohlrabi", "courgette", "corn-salad", "pea-mangetout",
)  # fmt: skip
"""Crops that are tried beside those of the recipe: quick ones, and some of each family.  Common practice, no source."""
GOOD = 80.0
"""Overall score from which a recipe is not asked any more what holds it back."""
HELD_BACK = 3
"""So many reasons are told.  Common practice, no source."""
COVERS, WINTER_COVERS = ("fleece",), ("fleece", "low-tunnel")
"""Covers that a mended recipe may use besides its own, over the winter hoops with film too.  Common practice, no source."""


@dataclass(frozen=True)
class Mended:
    """What would mend a recipe: single moves by gain (over few years), the best sequence of moves with the recipe it gives, and
    the scores before and after it, grown as `mixcraft score` grows."""

    before: Score
    moves: tuple[Step, ...]
    sequence: tuple[Step, ...]
    recipe: Recipe
    after: Score
    tried: int
    stopped: str = ""

    @property
    def held_back(self) -> tuple[Reason, ...]:
        """What keeps the mended recipe from being good: the weightiest reasons of its score; nothing if it is."""
        return weightiest(self.after)


def weightiest(result: Score) -> tuple[Reason, ...]:
    """The reasons that weigh most in a score that is not good; nothing in one that is."""
    if result.overall >= GOOD:
        return ()
    weights = {part.name: part.weight for part in result.parts}
    return tuple(sorted(result.reasons, key=lambda r: -r.points * weights.get(r.part, 0.0))[:HELD_BACK])


def mend(
    recipe: Recipe,
    garden: Garden,
    bed: str,
    *,
    seconds: float = 30.0,
    seed: int = 1,
    years: int = 30,
    told: Told = silent,
    patience: float = PATIENCE,
) -> Mended:
    """Moves that mend `recipe` in the bed called `bed`, listed by gain, and the best sequence to the top.

    Same recipe, bed, `seed` and `seconds`: same answer, unless the clock ended the search (`stopped`).  Raises
    `mixcraft.files.FileFaults` for a recipe that does not fit the bed, KeyError for an unknown bed.
    """
    before = score(grow(plan(recipe, garden, bed), years, SEED))
    clock, trials = time.monotonic() + patience * seconds, max(8, round(seconds * constant("moves_a_second")))
    good = {crop: _options(crop, garden, bed) for crop in _crops(recipe)}
    known = tuple(o for found in good.values() for o in kept(found) if rested(o.crop, garden.bed(bed)))
    suited = {crop: days_of(found, almanac(garden.place)) for crop, found in good.items() if found}
    trial = Trial(garden, bed, practice=Practice(FrozenMap(suited)))
    budget = Budget(trials, clock)
    singles = _singles(recipe, known, trial, budget, garden.bed(bed), told)
    wider = Wider(trial, known, WINTER_COVERS)
    climb = Climb(recipe, trial, known, COVERS, lambda _: True, np.random.default_rng(seed), wider)
    for step in singles:
        changed = attempt(step.move, climb.recipe, climb.allowed)
        if changed is None:
            continue
        now, then = trial.standing(climb.recipe), trial.standing(changed)
        if then.beats(now):
            climb.steps.append(Step(step.move, now.points, then.points))
            climb.recipe = changed
    for _ in range(2):
        for changed, step in completing(climb.recipe, known, trial, lambda _: True):
            climb.recipe = changed
            climb.steps.append(step)
        climb.run(budget, told)
    after = score(grow(plan(climb.recipe, garden, bed), years, SEED)) if climb.steps else before
    if after.overall <= before.overall:
        climb.recipe, climb.steps, after = recipe, [], before
    return Mended(
        before, tuple(singles), gathered(climb.steps), climb.recipe, after, budget.used, "time" if budget.out_of_time else ""
    )


def rescored(recipe: Recipe, garden: Garden, bed: str, years: int) -> float:
    """Overall score of a recipe, grown as `mixcraft score` grows it."""
    return score(grow(plan(recipe, garden, bed), years, SEED)).overall


def gathered(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Steps with several shifts of one start told as one, of several starts or amounts of a planting the last, and of a planting
    that is left out in the end nothing else."""
    result: list[Step] = []
    for step in steps:
        if isinstance(step.move, DropPlanting):
            gone = [old for old in result if getattr(old.move, "planting", None) == step.move.planting]
            result = [old for old in result if old not in gone]
            step = Step(step.move, step.before, step.after + sum(old.gain for old in gone))
        same = [i for i, old in enumerate(result) if _follows(old.move, step.move)]
        if not same:
            result.append(step)
            continue
        old, move = result[same[0]], step.move
        if isinstance(move, ShiftStart) and isinstance(old.move, ShiftStart):
            move = ShiftStart(move.planting, old.move.weeks + move.weeks)
        result[same[0]] = Step(move, old.before, old.after + step.gain)
    return tuple(s for s in result if not (isinstance(s.move, ShiftStart) and s.move.weeks == 0.0))


def _follows(old: Move, new: Move) -> bool:
    """Whether a move takes the place of an older one."""
    alike = isinstance(new, ShiftStart | SetAmount | SetStart) and type(old) is type(new)
    return alike and getattr(old, "planting", None) == getattr(new, "planting", "")


def _singles(recipe: Recipe, known: tuple[Option, ...], trial: Trial, budget: Budget, bed: Bed, told: Told) -> list[Step]:
    """Single moves that gain, by gain: first those of place, cover and number, then all others, up to half of the budget."""
    before, found = trial.score(recipe), []
    for move in (*placings(recipe, bed), *moves(recipe, known, COVERS)):
        changed = attempt(move, recipe, lambda _: True)
        if changed is None or changed in trial.known:
            continue
        if budget.used >= budget.trials * 2 // 3 or not budget.take():
            break
        told("trying moves", budget.used, budget.trials, before)
        after = trial.score(changed)
        if after - before >= constant("mend_least"):
            found.append(Step(move, before, after))
    return sorted(found, key=lambda step: -step.gain)


def placings(recipe: Recipe, bed: Bed) -> Iterator[Move]:
    """Moves that mend a plan at large: the bed turned end for end, other trellises, covers off, half the plants, pulled over
    time."""
    turned = tuple(
        SetPlace(p.name, other) for p in recipe.plantings if (other := turned_end_for_end(p, recipe)) is not None
    )  # fmt: skip
    if turned:
        yield Moves(turned)
    for planting in recipe.plantings:
        if isinstance(planting.where, AtTrellis):
            yield from (SetPlace(planting.name, AtTrellis(t.edge)) for t in bed.trellises if t.edge != planting.where.edge)
        for n, _ in enumerate(planting.covers):
            yield RemoveCover(planting.name, n)
        half = scaled(planting, 0.5)
        if half is not None:
            yield SetAmount(planting.name, half)
        for use in planting.harvest:
            part = planting.crop.part(use.part)
            if part is not None and (use.method or part.methods[0]) == "once" and "pull" in part.methods:
                yield SetHarvest(planting.name, type(use)(use.part, "pull"))


def turned_end_for_end(planting: Planting, recipe: Recipe) -> Strip | Zone | None:
    """The same strip or zone measured from the other end; None for other places."""
    where = planting.where
    if not isinstance(where, Strip | Zone):
        return None
    a, b = (_from_other_end(span, recipe.length_m) for span in where.x)
    return Strip((b, a)) if isinstance(where, Strip) else Zone((b, a), where.y)


def _from_other_end(span: Span, side_m: float) -> Span:
    return Span(round((1.0 if span.share else side_m) - span.value, 4), span.share)


def _crops(recipe: Recipe) -> tuple[str, ...]:
    """Crops of the library that a mended recipe may use."""
    own = [p.crop.id for p in recipe.plantings if p.crop.origin == "library"]
    return tuple(dict.fromkeys([*own, *BRIDGES]))


def _options(crop: str, garden: Garden, bed: str) -> tuple[Option, ...]:
    window = window_of(garden, garden.bed(bed), almanac(garden.place), scoring_constants()["window_after_weeks"])
    return starts_of(load_crop(crop), garden, window, trellis=bool(garden.bed(bed).trellises))
