"""From a brief to recipes: candidates, choice, drawing, improvement, and the real score of what came out."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.clock import SOWN
from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import Bed, Garden, Recipe
from mixcraft.recipe.plan import plan
from mixcraft.scoring import Score, score
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.season.grow import grow

from .brief import SOWN_ONCE, Brief
from .choice import Choice, Clash, Task, choose
from .constants import constant, usual_crops
from .curves import Option, options, window_of
from .drawing import crops_of, drawn, start_dates
from .greedy import greedy
from .ground import ground_of
from .rotation import rested
from .search import Budget, Climb, Step, Told, Trial

TIME_S = 30.0
PATIENCE = 2.0
"""Times the seconds asked for after which the clock ends a search, on a machine that is slow or busy."""
DIFFERENT = 2
"""Choices that are made and improved, at least; the best of them is the design."""


@dataclass(frozen=True)
class Design:
    """A designed recipe with its score, the choice that it began with (None if it began with a recipe), the steps that improved
    it, the crops that were considered and gave nothing here, and whether the time, or the user, ended the search."""

    recipe: Recipe
    score: Score
    choice: Choice | None
    steps: tuple[Step, ...]
    considered: int
    unsuited: tuple[str, ...]
    stopped: str = ""


def silent(_what: str, _done: int, _of: int, _best: float) -> None:
    """Tells nobody."""


def compose(
    brief: Brief, *, seed: int = 1, seconds: float = TIME_S, alternatives: int = 1, told: Told = silent, years: int = 30,
    patience: float = PATIENCE,
) -> tuple[Design, ...]:
    """Designs for a brief, the best first, `alternatives` of them if there are so many; their crops differ.

    Same brief, same seed and same `seconds`: same recipes, unless the clock ended the search (`Design.stopped`); seconds buy a
    number of trials, and `patience` times as many seconds by the clock end it.  A KeyboardInterrupt ends the search, and the best
    so far is given.  Raises `Clash`.
    """
    garden, bed = brief.asked()
    made: list[Design] = []
    unsuited: tuple[str, ...] = ()
    stopped = ""
    budget = Budget(max(4, round(seconds * constant("moves_a_second"))), time.monotonic() + patience * seconds)
    climbs: list[tuple[Climb, Choice | None]] = []
    try:
        task, unsuited = task_of(brief, garden, bed, told)
        trial = Trial(garden, bed.name)
        for climb, choice in _begun(brief, task, trial, seed, seconds, max(alternatives, DIFFERENT), told):
            climbs.append((climb, choice))
        climbs.sort(key=lambda pair: -trial.score(pair[0].recipe))
        share = budget.trials
        for n, (climb, _) in enumerate(climbs):
            part = replace(budget, trials=max(4, share // (2 if n == 0 else 2 * len(climbs))), used=0)
            climb.run(part, told)
            stopped = "time" if part.out_of_time else stopped
    except KeyboardInterrupt:
        if not climbs:
            raise
        stopped = "user"
    climbs.sort(key=lambda pair: -pair[0].trial.score(pair[0].recipe))
    for climb, choice in climbs[: max(alternatives, 2)]:
        told("scoring", len(made), max(alternatives, 2), 0.0)
        scored = score(grow(plan(climb.recipe, garden, bed.name), years))
        made.append(
            Design(climb.recipe, scored, choice, tuple(climb.steps), len({o.crop.id for o in climb.options}), unsuited, stopped)
        )
    made.sort(key=lambda d: -d.score.overall)
    return tuple(made[:alternatives])


def _begun(
    brief: Brief, task: Task, trial: Trial, seed: int, seconds: float, count: int, told: Told
) -> list[tuple[Climb, Choice | None]]:
    """Climbs that have not begun: from the recipe of the brief, or from different choices."""

    def climb(recipe: Recipe, n: int) -> Climb:
        rng = np.random.default_rng([seed, n])
        return Climb(recipe, trial, task.options, brief.effort.covers, lambda r: allowed(r, brief), rng)

    if brief.start_from is not None:
        return [(climb(brief.start_from, 0), None)]
    found: list[tuple[Climb, Choice | None]] = []
    choices: list[Choice] = []
    name = brief.name or f"Designed for {task.ground.bed.name}"
    for n in range(count):
        told("choosing", n, count, 0.0)
        try:
            choices.append(choose(task, seed + n, max(1.0, seconds * constant("model_time") / count), apart_from=choices))
        except (Clash, TimeoutError):
            if not choices:
                raise
            break
        found.append((climb(drawn(choices[-1].placed, task.ground, name), n), choices[-1]))
    simple = greedy(task)
    if simple:
        found.append((climb(drawn(simple, task.ground, name), count), choices[0]))
    return found


def allowed(recipe: Recipe, brief: Brief) -> bool:
    """Whether a recipe keeps what the brief demands."""
    crops = crops_of(recipe)
    limit = brief.height_limit_m
    return (
        len(start_dates(recipe)) <= brief.sowing_days
        and len(crops) <= max(brief.most_crops, len({c.id for c in brief.musts}))
        and all(crop.id in crops for crop in brief.musts)
        and not any(crop.id in crops for crop in brief.nevers)
        and (limit is None or all(p.crop["canopy.height"] <= limit for p in recipe.plantings))
    )


def task_of(brief: Brief, garden: Garden, bed: Bed, told: Told = silent) -> tuple[Task, tuple[str, ...]]:
    """The task of a brief, and the names of crops that were considered and do not suit the place in this window."""
    sky = almanac(garden.place)
    window = window_of(garden, bed, sky, scoring_constants()["window_after_weeks"])
    ground = ground_of(bed, garden.place.latitude_deg)
    found: list[Option] = []
    unsuited = []
    crops = candidates(brief, bed)
    for n, crop in enumerate(crops):
        told("growing each crop alone", n, len(crops), 0.0)
        starts = options(crop, garden, window, trellis=bool(ground.trellis))
        if brief.style == SOWN_ONCE:
            starts = tuple(o for o in starts if o.establish in SOWN)
        found += starts
        if not starts:
            unsuited.append(crop.name)
    weeks = range(-(-window[0] // 7), max(window[1] // 7, window[0] // 7 + 4))
    plate, c = bed.plate or garden.plate, scoring_constants()
    portions = plate.portions or plate.weekly_kg * 1000.0 / c["portion_usual_g"] or c["portions_usual_m2"] * bed.area_m2
    return Task(brief, tuple(found), ground, weeks, portions, plate.kinds or c["kinds_usual"]), tuple(unsuited)


def candidates(brief: Brief, bed: Bed) -> tuple[Crop, ...]:
    """Crops that are considered: musts, wishes, and of the seed box or the usual crops what may follow the bed's history."""
    nevers = {crop.id for crop in brief.nevers}
    usual = brief.at_hand or tuple(load_crop(key) for key in usual_crops())
    limit = brief.height_limit_m
    free = [c for c in usual if rested(c, bed) and (limit is None or c["canopy.height"] <= limit)]
    found = dict.fromkeys([*brief.musts, *brief.wishes, *free])
    return tuple(crop for crop in found if crop.id not in nevers)
