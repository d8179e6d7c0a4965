"""Climbs side by side as tasks of a scheduler, stretch by stretch; what comes of them does not depend on what runs them.

A climb goes on where it was, so stretches are only how often it is heard of it: after each the best so far is here, and an
interrupt, the clock or the death of a process costs a stretch at most.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from mixcraft.recipe.model import Recipe
from mixcraft.tasks import Done, Scheduler

from .search import Budget, Climb, Step, Told, silent

STRETCH = 10
"""Trials of a stretch."""
KEPT = ("trial", "options", "covers", "allowed", "wider")
"""What a climb was given, and does not change."""


@dataclass(frozen=True)
class Climbed:
    """Where a climb ended: its recipe and score over few years, the steps to it, whether the clock ended it."""

    recipe: Recipe
    points: float
    steps: tuple[Step, ...]
    out_of_time: bool


@dataclass(frozen=True)
class Stretch:
    """A climb that goes on for so many trials, and so many seconds at most (None = whatever it takes)."""

    climb: Climb
    trials: int
    seconds: float | None


@dataclass(frozen=True)
class Reached:
    """Where a climb stands after a stretch: its changed fields, its score, the trials used, whether the clock ended it."""

    state: dict[str, Any]
    points: float
    used: int
    out_of_time: bool


def climb_on(task: Stretch) -> Reached:
    """Climb for a stretch."""
    budget = Budget(task.trials, None if task.seconds is None else time.monotonic() + task.seconds)
    points = task.climb.run(budget, silent)
    state = {field.name: getattr(task.climb, field.name) for field in fields(Climb) if field.name not in KEPT}
    return Reached(state, points, budget.used, budget.out_of_time)


class _Side:
    """Climbs under way."""

    def __init__(self, climbs: Sequence[Climb], budget: Budget, told: Told) -> None:
        self.climbs, self.budget, self.told = climbs, budget, told
        self.used, self.out_of_time = [0] * len(climbs), [False] * len(climbs)
        self.best = [climb.best for climb in climbs]

    def stretch(self, number: int) -> Stretch:
        """The next stretch of a climb."""
        seconds = None if self.budget.until is None else self.budget.until - time.monotonic()
        return Stretch(self.climbs[number], min(STRETCH, self.budget.trials - self.used[number]), seconds)

    def take(self, number: int, reached: Reached) -> None:
        """Keep where a climb stands."""
        for name, value in reached.state.items():
            setattr(self.climbs[number], name, value)
        self.used[number] += reached.used
        self.best[number], self.out_of_time[number] = reached.points, reached.out_of_time
        self.told("improving", sum(self.used), self.budget.trials * len(self.climbs), max(self.best))

    def then(self, done: Done[Reached]) -> Stretch | None:
        """What follows a stretch; nothing where no move or trial is left, and after the clock."""
        n = done.number
        spent = self.used[n] >= self.budget.trials or self.out_of_time[n] or self.climbs[n].ended
        return None if spent or done.result is None else self.stretch(n)

    def ended(self) -> list[Climbed]:
        """All climbs as they stand."""
        each = zip(self.climbs, self.best, self.out_of_time, strict=True)
        return [Climbed(climb.recipe, best, tuple(climb.steps), late) for climb, best, late in each]


def standing(climbs: Sequence[Climb]) -> list[Climbed]:
    """Climbs as they stand, before a step."""
    return [Climbed(climb.recipe, climb.best, tuple(climb.steps), False) for climb in climbs]


def climb_all(climbs: Sequence[Climb], budget: Budget, told: Told, runner: Scheduler) -> tuple[list[Climbed], bool]:
    """All climbs, each with `budget`, and whether an interrupt ended them."""
    side, stopped = _Side(climbs, budget, told), False
    try:
        for done in runner.run(climb_on, (side.stretch(n) for n in range(len(climbs))), side.then):
            if done.result is not None:
                side.take(done.number, done.result)
    except KeyboardInterrupt:
        stopped = True
    return side.ended(), stopped
