"""Trials of changed recipes: over the same few weather years, which says which is best, and as the season itself was grown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from mixcraft.files import FileFaults
from mixcraft.recipe.model import Bed, Recipe
from mixcraft.recipe.plan import Plan
from mixcraft.season.evaluator import Evaluator
from mixcraft.season.result import Season
from mixcraft.season.setting import BEFORE_DAYS

from .build import Points
from .candidates import candidates
from .constants import constants
from .evidence import Evidence
from .model import Reason, Score
from .remedies import Candidate

TRIAL_SEED = 20260401
AT_MOST, POINTS, MENDED = "at most", "points", "mended"
Task = tuple[str, int]
"""What is wanted of a changed recipe, and its number."""
Wanted = tuple[Recipe, Bed | None, bool]
"""A changed recipe, the bed if it is watered or fed otherwise, and whether it matters where plants stand."""
Regrow = Callable[[Plan], Season]
"""Grows a changed plan as the season of the score was grown; called from several threads."""


def candidates_of(result: Score, most: int) -> list[tuple[Reason, list[Candidate]]]:
    """The first `most` reasons of a score for which the engine knows changes to try, each with those."""
    found: list[tuple[Reason, list[Candidate]]] = []
    for reason in result.reasons if most > 0 else ():
        tried = list(candidates(reason, result.season))
        found += [(reason, tried)] if tried else []
        if len(found) == most:
            break
    return found


def wanted_of(candidate: Candidate) -> Wanted:
    """What is to be grown for a candidate."""
    return candidate.recipe, candidate.bed, candidate.moves


class Few:
    """A recipe grown over the few years: points that it does not exceed, found first, and its points, which take longer."""

    def __init__(self, season: Season) -> None:
        self._evidence: Evidence | None = Evidence(season)
        self.most = Points.at_most(self._evidence).overall
        self._points = self.most

    @property
    def points(self) -> float:
        """The overall score."""
        evidence = self._evidence
        if evidence is not None:
            self._points = Points.of(evidence).overall
            self._evidence = None
        return self._points


class Trial:
    """Grows changed recipes over the same few weather years, or as the season was grown, and remembers what came out.

    Over the few years recipe and change are grown with the same light model: in three dimensions where something is moved, else
    in layers.  `wanted` are the changed recipes, each with whether it moves something; tasks name them by number.
    """

    def __init__(self, season: Season, regrow: Regrow) -> None:
        self.recipe, self.regrow = season.plan.recipe, regrow
        self.since = season.plan.date(-int(constants()["trial_before_days"]))
        garden, bed = season.plan.garden, season.plan.bed.name
        years = int(constants()["trial_years"])
        self.few = Evaluator(garden, bed, years, TRIAL_SEED, since=self.since)
        self.earlier = Evaluator(garden, bed, years, TRIAL_SEED)
        self.before: dict[bool, float] = {}
        self.wanted: list[Wanted] = []
        self.known: dict[int, Few | None] = {}

    def prepare(self, found: Sequence[Candidate]) -> None:
        """Grow the recipe itself as the candidates will be, over the few years."""
        self.wanted = list(dict.fromkeys(wanted_of(candidate) for candidate in found))
        for voxels in {moves for _, _, moves in self.wanted}:
            few = self._over_few(self.recipe, None, voxels)
            self.before[voxels] = np.inf if few is None else few.points

    def do(self, task: Task) -> Any:
        """Do a task: grow a changed recipe over the few years, which gives points that it does not exceed, find its points there,
        or its `Points` when it is grown as the season was; None for one that does not fit."""
        what, number = task
        recipe, bed, moves = self.wanted[number]
        if what == MENDED:
            settled = self._settled(recipe, bed)
            return Points.of(Evidence(self.regrow(settled))) if settled else None
        if number not in self.known:
            self.known[number] = self._over_few(recipe, bed, moves)
        few = self.known[number]
        return None if few is None else few.most if what == AT_MOST else few.points

    def _settled(self, recipe: Recipe, bed: Bed | None, *, spread: bool = True) -> Plan | None:
        """A recipe in the same bed, or in the same `bed` watered or fed otherwise; None if it does not fit."""
        try:
            settled = self.few.plan(recipe, spread=spread)
        except FileFaults:
            return None
        return settled if bed is None else replace(settled, bed=bed)

    def _over_few(self, recipe: Recipe, bed: Bed | None, voxels: bool) -> Few | None:
        """A recipe over the few years, in weather of its own if it begins before that of the others; None if it does not fit."""
        settled = self._settled(recipe, bed, spread=voxels)
        if settled is None:
            return None
        late_enough = settled.day(self.since) <= -BEFORE_DAYS
        return Few((self.few if late_enough else self.earlier).grow(settled, voxels=voxels))
