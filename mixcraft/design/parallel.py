"""Climbs side by side, each in a process of its own; what comes of them does not depend on how many run at a time.

Where processes cannot be forked they run one after the other.  An interrupt ends them all, and each gives its best so far.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import Any

from mixcraft.recipe.model import Recipe
from mixcraft.tasks import processors

from .search import Budget, Climb, Step, Told

EVERY = 5
"""Progress is told after so many trials."""


@dataclass(frozen=True)
class Climbed:
    """Where a climb ended: its recipe and score over few years, the steps to it, whether the clock ended it."""

    recipe: Recipe
    points: float
    steps: tuple[Step, ...]
    out_of_time: bool


def climb_all(climbs: Sequence[Climb], budget: Budget, told: Told) -> tuple[list[Climbed], bool]:
    """All climbs, each with `budget`, and whether an interrupt ended them."""
    for climb in climbs:
        climb.best  # noqa: B018 -- scored before any process parts, so that what is compiled and kept is there for all of them
    count = min(len(climbs), processors())
    if count < 2 or "fork" not in multiprocessing.get_all_start_methods() or multiprocessing.current_process().daemon:
        return _in_turn(climbs, budget, told)
    return _Side(climbs, budget, told).run(count)


def _in_turn(climbs: Sequence[Climb], budget: Budget, told: Told) -> tuple[list[Climbed], bool]:
    stopped, found = False, []
    for climb in climbs:
        mine = Budget(budget.trials, budget.until)
        if not stopped:
            try:
                climb.run(mine, told)
            except KeyboardInterrupt:
                stopped = True
        found.append(_ended(climb, mine))
    return found, stopped


def _ended(climb: Climb, budget: Budget) -> Climbed:
    return Climbed(climb.recipe, climb.best, tuple(climb.steps), budget.out_of_time)


class _Side:
    """Climbs in processes of their own."""

    def __init__(self, climbs: Sequence[Climb], budget: Budget, told: Told) -> None:
        self.climbs, self.budget, self.told = climbs, budget, told
        self.found: list[Climbed | None] = [None] * len(climbs)
        self.used, self.best = [0] * len(climbs), [0.0] * len(climbs)
        self.context: Any = multiprocessing.get_context("fork")
        self.running: dict[Connection, tuple[int, Any]] = {}
        self.stopped = False

    def run(self, count: int) -> tuple[list[Climbed], bool]:
        waiting = list(range(len(self.climbs)))
        try:
            while waiting or self.running:
                try:
                    while waiting and len(self.running) < count and not self.stopped:
                        self._start(waiting.pop(0))
                    if self.stopped and not self.running:
                        break
                    self._listen()
                except KeyboardInterrupt:
                    self._interrupt()
        finally:
            for _, process in self.running.values():
                process.kill()
        ended = [c or _ended(self.climbs[n], self.budget) for n, c in enumerate(self.found)]
        return ended, self.stopped

    def _start(self, n: int) -> None:
        mine, theirs = self.context.Pipe(duplex=False)
        process = self.context.Process(target=_work, args=(self.climbs[n], self.budget, theirs), daemon=True)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside threads, which none of ours is by now
            process.start()
        theirs.close()
        self.running[mine] = n, process

    def _listen(self) -> None:
        for source in wait(list(self.running), timeout=0.5):
            assert isinstance(source, Connection)
            n, process = self.running[source]
            try:
                said = source.recv()
            except EOFError:
                process.join()
                del self.running[source]
                continue
            if isinstance(said, Climbed):
                self.found[n] = said
            else:
                self.used[n], self.best[n] = said
                self.told("improving", sum(self.used), self.budget.trials * len(self.climbs), max(self.best))

    def _interrupt(self) -> None:
        """Ask all to end with what they have; a terminal has asked them already."""
        self.stopped = True
        for _, process in self.running.values():
            with contextlib.suppress(OSError):
                os.kill(process.pid, signal.SIGINT)


def _work(climb: Climb, budget: Budget, out: Connection) -> None:
    """Climb and send where it ended; an interrupt ends it."""
    mine = Budget(budget.trials, budget.until)

    def told(_what: str, done: int, _of: int, best: float) -> None:
        if done % EVERY == 0:
            out.send((done, best))

    def once(_number: int, _frame: object) -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, once)
    with contextlib.suppress(KeyboardInterrupt):
        climb.run(mine, told)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out.send(_ended(climb, mine))
    out.close()
