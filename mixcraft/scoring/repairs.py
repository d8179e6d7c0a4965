"""Repairs: changes to the recipe that the engine has tried and re-scored before it offers them.

Every reason with a known kind of remedy is turned into a few candidate recipes (`candidates`).  They are compared over a few
weather years; the best is then grown and scored as the score itself was, with the same years and the same light, and is offered
if it gains by that and does not lose in what the reason complains of.  What it promises is what it gives.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from functools import partial
from heapq import heappop, heappush
from itertools import islice
from threading import Condition, Lock
from typing import Any

import numpy as np

from mixcraft.recipe.edits import document_of, recipe_text
from mixcraft.recipe.model import Recipe
from mixcraft.season.evaluator import Evaluator
from mixcraft.season.grow import SEED
from mixcraft.season.result import Season

from .build import Points
from .constants import constants
from .double import Do, doubled, processors
from .kept_repairs import Pick, Picks, keep_picks, kept_picks, mark_of
from .model import Reason, Repair, Score
from .remedies import Candidate
from .trials import AT_MOST, MENDED, POINTS, Regrow, Task, Trial, candidates_of, wanted_of

THREADS = 3
"""So many threads wait for tasks, or do them: the day loop and the march through voxels run beside Python."""


def with_repairs(result: Score, regrow: Regrow | None = None, most: int | None = None, *, grown: object = None) -> Score:
    """The score with tried repairs at the first `most` reasons (`repaired_reasons`) for which the engine knows any; the scores
    are unchanged.

    `regrow` grows a changed plan as the season was: with its seed or its own weather.  If it is not given, the season is taken
    to be grown with the usual seed.  `grown` says by its text all about how it grows, such as years and seed; then what was found
    is kept on disk, and repairs of the same recipe are not tried again.
    """
    todo = candidates_of(result, int(constants()["repaired_reasons"]) if most is None else most)
    mark = "" if grown is None else mark_of(result.season.plan, result.overall, grown, [len(found) for _, found in todo])
    picks = kept_picks(mark) if mark else None
    if picks is None:
        picks = _picked(result, todo, regrow or grown_as(result.season))
        if mark:
            keep_picks(mark, picks)
    repairs = [pick and _repair(found[pick[0]], result, pick[1]) for (_, found), pick in zip(todo, picks, strict=True)]
    repaired = {reason: replace(reason, repair=repair) for (reason, _), repair in zip(todo, repairs, strict=True) if repair}
    reasons = [repaired.get(reason, reason) for reason in result.reasons]
    parts = tuple(replace(p, reasons=tuple(repaired.get(r, r) for r in p.reasons)) for p in result.parts)
    return replace(result, reasons=tuple(reasons), parts=parts)


def _picked(result: Score, todo: Sequence[tuple[Reason, list[Candidate]]], regrow: Regrow) -> Picks:
    """What mends each reason, found by trying."""
    trial = Trial(result.season, regrow)
    trial.prepare([candidate for _, found in todo for candidate in found])
    with doubled(trial.do) as double, ThreadPoolExecutor(len(todo) + THREADS) as threads:
        hands = _Hands(trial, double, threads)
        return list(threads.map(lambda one: _best(one[1], one[0], result, trial, hands), todo))


def _repair(found: Candidate, result: Score, after: float) -> Repair:
    return Repair(found.kind, found.plantings, found.numbers, found.names, found.recipe, result.overall, after, found.bed)


def grown_as(season: Season, seed: int | None = None) -> Regrow:
    """How a season over stochastic years was grown: with as many years, the seed (the usual one if not given) and its light."""

    known = Evaluator(season.plan.garden, season.plan.bed.name, season.years, SEED if seed is None else seed)
    return partial(known.grow, voxels=season.light_model == "voxels")


class _Workers:
    """Who does tasks: this process and its double, or threads of this process alone; each one task at a time."""

    def __init__(self, workers: Sequence[Do]) -> None:
        self.workers = workers
        self._busy = [False] * len(workers)
        self._wanted: list[int | None] = []
        self._changed = Condition()

    def do(self, task: Task, by: int | None = None, *, first: bool = False) -> tuple[int, Any]:
        """What a worker gives for a task, and its number: `by` this one, or whichever is free.  What is to be done `first` does
        not wait for other tasks than those under way."""
        with self._changed:
            if first:
                self._wanted.append(by)
            self._changed.wait_for(lambda: self._free(by, first=first) is not None)
            number = self._free(by, first=first)
            assert number is not None
            self._busy[number] = True
            if first:
                self._wanted.remove(by)
        try:
            return number, self.workers[number](task)
        finally:
            with self._changed:
                self._busy[number] = False
                self._changed.notify_all()

    def _free(self, by: int | None, *, first: bool) -> int | None:
        """A worker that is free for a task."""
        for number, busy in enumerate(self._busy):
            held = not first and any(wanted in (None, number) for wanted in self._wanted)
            if not busy and not held and by in (None, number):
                return number
        return None


class _Hands:
    """Has the tasks done.

    All changed recipes are grown over the few years, one after the other; a reason whose own have been grown does not wait for
    those of the others.
    """

    def __init__(self, trial: Trial, double: Do | None, threads: ThreadPoolExecutor) -> None:
        self._workers = _Workers([trial.do] * min(THREADS, processors()) if double is None else [trial.do, double])
        self._mended: dict[int, Points | None] = {}
        self._locks: dict[int, Lock] = {}
        self._todo = iter(range(len(trial.wanted)))
        self._grown: list[Future[tuple[int, float | None]]] = [Future() for _ in trial.wanted]
        for _ in self._workers.workers:
            threads.submit(self._grow_on)

    def _grow_on(self) -> None:
        """Grow changed recipes over the few years until none is left."""
        for number in self._todo:
            try:
                self._grown[number].set_result(self._workers.do((AT_MOST, number)))
            except BaseException as error:
                self._grown[number].set_exception(error)

    def most(self, number: int) -> float | None:
        """Points over the few years that a changed recipe does not exceed; None if it does not fit."""
        return self._grown[number].result()[1]

    def points(self, number: int) -> float:
        """Points over the few years, which whoever has grown it knows."""
        return float(self._workers.do((POINTS, number), self._grown[number].result()[0], first=True)[1])

    def mended(self, number: int) -> Points | None:
        """Points of a changed recipe grown as the season was, once for all reasons that ask; None if it does not fit."""
        with self._locks.setdefault(number, Lock()):
            if number not in self._mended:
                self._mended[number] = self._workers.do((MENDED, number), first=True)[1]
            return self._mended[number]


def _best(found: Sequence[Candidate], reason: Reason, result: Score, trial: Trial, hands: _Hands) -> Pick | None:
    """The candidate that gains most over the few years and keeps it when it is grown as the score was.

    What it gains in the few years, which are others, must be most of what it then promises: a change that begins before the first
    sowing is grown in other weather than the score was, and may owe its gain to that.
    """
    least, numbers = constants()["repair_least"], [trial.wanted.index(wanted_of(c)) for c in found]
    for elsewhere, n in islice(_gains(numbers, trial, hands, least), int(constants()["repairs_taken_most"])):
        mended = hands.mended(numbers[n])
        gain = 0.0 if mended is None else mended.overall - result.overall
        if mended is not None and least < gain <= elsewhere / constants()["repair_keeps"] and _mends(reason, result, mended):
            return n, mended.overall
    return None


def _gains(numbers: Sequence[int], trial: Trial, hands: _Hands, least: float) -> Iterator[tuple[float, int]]:
    """Gains over the few years above the `least` of the changed recipes with these numbers, the greatest first, each with its
    place among them.

    Only of those that could be next is it asked what they gain: of the others it is enough that they gain no more than so much.
    """
    heap: list[tuple[float, int, bool]] = []

    def put(n: int, points: float | None, exact: bool) -> None:
        gain = -np.inf if points is None else points - trial.before[trial.wanted[numbers[n]][2]]
        if gain > least:
            heappush(heap, (-gain, n, exact))

    for n, number in enumerate(numbers):
        put(n, hands.most(number), False)
    while heap:
        loss, n, exact = heappop(heap)
        if exact:
            yield -loss, n
        else:
            put(n, hands.points(numbers[n]), True)


def _mends(reason: Reason, before: Score, after: Points) -> bool:
    """Whether a repair takes nothing from what the reason complains of."""
    return after.parts[reason.part] >= before.part(reason.part).score


@dataclass(frozen=True)
class TextEdit:
    """An edit of a recipe file: from its line `line` (from 1) the lines `removed` go and `added` come in their place."""

    line: int
    removed: tuple[str, ...]
    added: tuple[str, ...]


def text_edits(old: Recipe, new: Recipe) -> tuple[TextEdit, ...]:
    """The lines by which the file of `new` differs from that of `old`, in order."""
    before, after = document_of(old).text.splitlines(), recipe_text(new).splitlines()
    found = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    return tuple(TextEdit(a + 1, tuple(before[a:b]), tuple(after[c:d])) for tag, a, b, c, d in found if tag != "equal")
