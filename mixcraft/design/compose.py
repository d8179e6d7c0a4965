"""From a brief to recipes: candidates, choice, drawing, improvement, and the real score of what came out."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixcraft.recipe.model import Count, Recipe, Serves
from mixcraft.recipe.plan import plan
from mixcraft.scoring import Score, score
from mixcraft.scoring.build import overall_of
from mixcraft.scoring.evidence import Evidence
from mixcraft.season.grow import grow
from mixcraft.season.result import Season
from mixcraft.tasks import Here, Scheduler

from .brief import SOWN_ONCE, Brief
from .choice import Choice, Clash, Demand, Placed, Task, choose
from .climbing import Climbed, climb_all, standing
from .completing import completed, with_early_picking
from .constants import constant
from .curves import Option
from .drawing import crops_of, drawn, mixed, start_dates
from .greedy import greedy, greedy_mixed
from .naming import named_in_order
from .practice import ANY, MARGIN_DAYS, Objection, weight
from .search import Budget, Climb, Step, Told, Trial, silent
from .task import task_of
from .wider import Wider

TIME_S = 30.0
PATIENCE = 2.0
"""Times the seconds asked for after which the clock ends a search, on a machine that is slow or busy."""
DIFFERENT = 2
"""Choices that are made and improved, at least; the best of them is the design."""

Begun = tuple[Climb, Choice | None]
"""A climb and the best choice of the constraint model, if it began with one."""
MENDS = {
    "kinds": ("AddPlanting", "SwapCrop"),
    "first picking": ("AddPlanting", "SwapCrop", "SetStart"),
    "lost": ("SetStart", "ShiftStart", "SwapCrop", "AddCover"),
    "sunny side": ("Exchange", "SwapCrop"),
}
"""Kinds of moves that may mend what a grower objects to."""
LOT_CROPS, LOT_PIECES = (3, 8), (1, 4)
"""Fewest and most crops of a mixture by lot, and pieces of the ground of each.  Common practice, no source."""
LIKELY = 5
"""Times that they count as having helped before any was tried."""


@dataclass(frozen=True)
class Design:
    """A designed recipe with its score, the best choice of the constraint model (None if it began with a recipe; it may have
    begun with another choice, of other crops), the steps that improved it, by the names that plantings had then, the crops that
    were considered and gave nothing here, whether the time, or the user, ended the search, the overall score for the garden's own
    plate, which is that of the command `score`, and what a grower could say against it."""

    recipe: Recipe
    score: Score
    choice: Choice | None
    steps: tuple[Step, ...]
    considered: int
    unsuited: tuple[str, ...]
    stopped: str = ""
    plain: float = 0.0
    objections: tuple[Objection, ...] = ()


def compose(
    brief: Brief,
    *,
    seed: int = 1,
    seconds: float = TIME_S,
    alternatives: int = 1,
    told: Told = silent,
    years: int = 30,
    patience: float = PATIENCE,
    runner: Scheduler | None = None,
) -> tuple[Design, ...]:
    """Designs for a brief, the best first, `alternatives` of them if there are so many; their crops differ.

    Same brief, same seed and same `seconds`: same recipes, unless the clock ended the search (`Design.stopped`); seconds buy a
    number of trials, and `patience` times as many seconds by the clock end it.  A KeyboardInterrupt ends the search, and the best
    so far is given.  `runner` grows the crops alone and climbs, this process itself if it is None.  Raises `Clash`.
    """
    running = runner or Here()
    garden, bed = brief.asked()
    unsuited: tuple[str, ...] = ()
    count = max(alternatives, DIFFERENT)
    until, stopped = time.monotonic() + patience * seconds, False
    climbs: list[Begun] = []
    try:
        task, unsuited = task_of(brief, garden, bed, told, running)
        trial = Trial(garden, bed.name, practice=task.practice)
        _begin(climbs, brief, task, trial, seed, seconds, count, told)
    except KeyboardInterrupt:
        if not climbs:
            raise
        stopped = True
    if not climbs:
        raise Clash((Demand("nothing grows"),))
    trials = seconds * constant("moves_a_second") * (constant("more_once") if brief.style == SOWN_ONCE else 1.0)
    best, ended, stopped = _raced(climbs, count, Budget(round(trials), until), told, running, stopped)
    found = sorted(zip(ended, best, strict=True), key=lambda pair: -pair[0].points)
    said = "user" if stopped else "time" if any(climbed.out_of_time for climbed in ended) else ""
    made: list[tuple[Design, Climb]] = []
    for climbed, (climb, choice) in found:
        told("scoring", len(made), len(found), 0.0)
        made.append((_designed(climbed, climb, choice, unsuited, said, brief, years), climb))
    designs = [design for design, _ in made]
    if not said:
        most = max(4, round(seconds * constant("moves_a_second") * constant("put_right")))
        designs = [_put_right(*pair, Budget(most, until), brief, years, told, running) for pair in made]
    return tuple(sorted(designs, key=_order)[:alternatives])


def _raced(
    climbs: Sequence[Begun], count: int, budget: Budget, told: Told, runner: Scheduler, stopped: bool
) -> tuple[list[Begun], list[Climbed], bool]:  # fmt: skip
    """The `count` best of the climbs, where they ended, and whether an interrupt ended them; `stopped` if it has.

    Where there are many, all of them have a share of the trials and the best by then have the rest.
    """
    trials = float(budget.trials)
    if len(climbs) > count + 1 and not stopped:
        heat = constant("heat")
        first = Budget(max(4, round(heat * trials / len(climbs))), budget.until)
        _, stopped = climb_all([climb for climb, _ in climbs], first, told, runner)
        trials *= 1.0 - heat
    best = sorted(climbs, key=lambda pair: pair[0].standing, reverse=True)[:count]
    each = [climb for climb, _ in best]
    if stopped:
        return best, standing(each), True
    ended, stopped = climb_all(each, Budget(max(4, round(trials / len(each))), budget.until), told, runner)
    return best, ended, stopped


def _order(design: Design) -> tuple[float, float]:
    """Designs to which less can be objected come first, of those the ones with the higher score."""
    return weight(design.objections), -design.score.overall


def _designed(
    climbed: Climbed, climb: Climb, choice: Choice | None, unsuited: tuple[str, ...], said: str, brief: Brief, years: int
) -> Design:  # fmt: skip
    """What a climb came to, grown over `years`."""
    garden, bed = brief.asked()
    settled = plan(climbed.recipe, garden, bed.name)
    given = () if brief.start_from is None else tuple(p.name for p in brief.start_from.plantings)
    starts = [p.start for p in settled.plantings[: len(climbed.recipe.plantings)]]
    recipe = named_in_order(climbed.recipe, starts, given)
    season = grow(plan(recipe, garden, bed.name), years)
    considered = len({o.crop.id for o in climb.options})
    against = tuple(climb.trial.practice.planned(season.plan) + climb.trial.practice.grown(Evidence(season)))
    return Design(recipe, score(season), choice, climbed.steps, considered, unsuited, said, _plain(season, brief), against)


def _put_right(
    design: Design, climb: Climb, budget: Budget, brief: Brief, years: int, told: Told, runner: Scheduler
) -> Design:  # fmt: skip
    """The design climbed on with over all its years, where a grower could object to what came of it over them and could not over
    few; as it was if that does not help."""
    if not design.objections or climb.trial.practice == ANY:
        return design
    garden, bed = brief.asked()
    many = Trial(garden, bed.name, years, climb.trial.practice)
    begun, soon = design.recipe, climb.trial.practice.soon_days
    if soon is not None and any(o.kind == "first picking" for o in design.objections):
        begun = with_early_picking(begun, climb.options, many, climb.allowed, soon - MARGIN_DAYS)
    helpful = {kind: (0, LIKELY) for objection in design.objections for kind in MENDS.get(objection.kind, ())}
    on = Climb(begun, many, climb.options, climb.covers, climb.allowed, climb.rng, climb.wider, luck=helpful)
    (ended,), _ = climb_all([on], budget, told, runner)
    if ended.recipe == design.recipe:
        return design
    whole = replace(ended, steps=(*design.steps, *ended.steps))
    better = _designed(whole, climb, design.choice, design.unsuited, design.stopped, brief, years)
    return min(design, better, key=_order)


def _plain(season: Season, brief: Brief) -> float:
    """Overall score for the garden's own plate, as the command `score` reckons it."""
    bed = brief.garden.bed(brief.bed)
    return overall_of(replace(season, plan=replace(season.plan, garden=brief.garden, bed=bed)))


def _begin(
    found: list[Begun], brief: Brief, task: Task, trial: Trial, seed: int, seconds: float, count: int,
    told: Told,
) -> None:  # fmt: skip
    """Add climbs that have not begun to `found`: from the recipe of the brief, or from different choices."""

    every = task.spare or task.options

    def climb(recipe: Recipe, n: int) -> Climb:
        rng, most = np.random.default_rng([seed, n]), breaches(recipe, brief)
        kicks = int(constant("kicks"))
        wider = Wider(trial, every, brief.effort.covers, brief.style == SOWN_ONCE)
        return Climb(recipe, trial, every, brief.effort.covers, Keeps(brief, most), rng, wider, kicks)

    if brief.start_from is not None:
        begun = brief.start_from
        if brief.style != SOWN_ONCE:
            begun = completed(begun, every, trial, lambda r: breaches(r, brief) <= breaches(begun, brief))
        found += [(climb(_serving(begun, brief), n), None) for n in range(count)]
        return
    choices: list[Choice] = []
    name = brief.name or f"Designed for {task.ground.bed.name}"
    draw = mixed if brief.style == SOWN_ONCE else drawn
    share_of_time = constant("model_time_once" if brief.style == SOWN_ONCE else "model_time")
    work = seconds * share_of_time * constant("work_a_second")
    shares = [constant("first_share"), *[(1.0 - constant("first_share")) / max(count - 1, 1)] * (count - 1)]
    for n, share in enumerate(shares):
        told("choosing", n, count, max((climb.best for climb, _ in found), default=0.0))
        try:
            choices.append(choose(task, seed + n, max(0.5, work * share), apart_from=choices))
        except (Clash, TimeoutError):
            if not choices:
                raise
            break
        if choices[-1].placed:
            begun = _serving(draw(choices[-1].placed, task.ground, name), brief)
            begun = with_early_picking(begun, every, trial, lambda r: allowed(r, brief))
            if brief.style != SOWN_ONCE and trial.standing(begun).sound < 0.0:
                begun = completed(begun, every, trial, lambda r: allowed(r, brief))
            found.append((climb(begun, n), choices[0]))
    simple = greedy_mixed(task) if brief.style == SOWN_ONCE else greedy(task)
    if simple:
        found.append((climb(_serving(draw(simple, task.ground, name), brief), count), choices[0]))
    if brief.style == SOWN_ONCE:
        lots = _best_lots(brief, task, trial, np.random.default_rng([seed, count + 1]), name)
        found += [(climb(lot, n), choices[0]) for n, lot in enumerate(lots, count + 1)]


def _best_lots(brief: Brief, task: Task, trial: Trial, rng: np.random.Generator, name: str) -> list[Recipe]:
    """The best mixture by lot of each of the days of which it is best."""
    lots = [_serving(mixed(lot, task.ground, name), brief) for lot in mixtures_by_lot(task.options, rng)]
    by_day: dict[tuple[str, ...], Recipe] = {}
    for lot in sorted((lot for lot in lots if allowed(lot, brief)), key=trial.standing, reverse=True):
        by_day.setdefault(start_dates(lot), lot)
    return list(by_day.values())[: int(constant("lot_days"))]


def mixtures_by_lot(options: Sequence[Option], rng: np.random.Generator) -> Iterator[tuple[Placed, ...]]:
    """Mixtures of some crops of one day, each on some pieces of the ground: what chance finds is not to be better."""
    days = sorted({o.month_day for o in options})
    for _ in range(int(constant("lots_once"))):
        day = days[int(rng.integers(len(days)))]
        mine = [o for o in options if o.month_day == day]
        chosen = rng.choice(len(mine), min(len(mine), int(rng.integers(*LOT_CROPS, endpoint=True))), replace=False)
        yield tuple(Placed(mine[n], tuple(range(int(rng.integers(*LOT_PIECES, endpoint=True))))) for n in chosen)


def _serving(recipe: Recipe, brief: Brief) -> Recipe:
    """The recipe, which says for which part of the year it is there if the brief does."""
    plate = brief.plate
    return replace(recipe, serves=Serves(plate.start, plate.until)) if plate.start and plate.until else recipe


def breaches(recipe: Recipe, brief: Brief) -> int:
    """How far a recipe is from what the brief demands: sowing days and crops too many, musts that lack, nevers, too tall ones."""
    crops, limit = crops_of(recipe), brief.height_limit_m
    most = max(brief.most_crops, len({c.id for c in brief.musts}))
    raised = sum(p.amount.plants for p in recipe.plantings if p.establish == "module" and isinstance(p.amount, Count))
    return (
        max(0, len(start_dates(recipe)) - brief.sowing_days) + max(0, len(crops) - most)
        + sum(crop.id not in crops for crop in brief.musts) + sum(crop.id in crops for crop in brief.nevers)
        + (0 if limit is None else sum(p.crop["canopy.height"] > limit for p in recipe.plantings))
        + (0 if brief.effort.transplants is None else max(0, raised - brief.effort.transplants))
    )  # fmt: skip


@dataclass(frozen=True)
class Keeps:
    """Whether a recipe is no further from what the brief demands than `most`."""

    brief: Brief
    most: int

    def __call__(self, recipe: Recipe) -> bool:
        return breaches(recipe, self.brief) <= self.most


def allowed(recipe: Recipe, brief: Brief) -> bool:
    """Whether a recipe keeps what the brief demands."""
    return breaches(recipe, brief) == 0
