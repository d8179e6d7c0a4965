"""Tasks in this process, or in processes of this machine."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from typing import Any, Self

from .model import AHEAD, TRIES, Done, Result, Then


class Here:
    """One task after the other, in this process."""

    def __enter__(self) -> Self:
        """There are no workers."""
        return self

    def __exit__(self, *_: object) -> None:
        """There is nothing to end."""

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any], then: Then | None = None) -> Iterator[Done[Result]]:
        """Each task as it ends; what follows waits until all others have had their turn."""
        following: deque[tuple[int, Any]] = deque()
        waiting = enumerate(tasks)
        while (given := next(waiting, None) or (following.popleft() if following else None)) is not None:
            number, task = given
            done = Done(number, function(task))
            yield done
            if then is not None and (after := then(done)) is not None:
                following.append((number, after))


def _quiet() -> None:
    """Ctrl-C is for the process that hands out the work."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@dataclass
class _Given:
    """A task handed out: its number, the task, and the workers that have died over it."""

    number: int
    task: Any
    died: int = 0


@dataclass
class _Round:
    """What is handed out to one pool of processes, and what waits to be handed out again."""

    function: Callable[[Any], Any]
    tasks: Iterator[tuple[int, Any]]
    then: Then | None = None
    again: deque[_Given] = field(default_factory=deque)
    following: deque[_Given] = field(default_factory=deque)
    running: dict[Future[Any], _Given] = field(default_factory=dict)

    def next(self) -> _Given | None:
        """The next task to hand out; one that lost its worker comes first, one that follows another last."""
        if self.again:
            return self.again.popleft()
        number, task = next(self.tasks, (-1, None))
        if number >= 0:
            return _Given(number, task)
        return self.following.popleft() if self.following else None

    def follow(self, done: Done[Any]) -> None:
        """Line up what follows a task that has ended."""
        if self.then is not None and (task := self.then(done)) is not None:
            self.following.append(_Given(done.number, task))

    def fill(self, pool: ProcessPoolExecutor, most: int) -> None:
        """Hand out tasks until so many are out.  After a death they go out one at a time, so that it is known who killed."""
        suspects = any(given.died for given in (*self.again, *self.running.values()))
        while len(self.running) < (1 if suspects else most):
            given = self.next()
            if given is None:
                return
            try:
                self.running[pool.submit(self.function, given.task)] = given
            except BrokenProcessPool:
                self.again.appendleft(given)
                raise

    def give_back(self) -> list[_Given]:
        """After the death of a worker: what was out waits again; those given up."""
        lost = list(self.running.values())
        self.running.clear()
        alone = len(lost) == 1
        for given in lost:
            given.died += 1 if alone else 0
            given.died = max(given.died, 1)
        self.again.extend(given for given in lost if given.died < TRIES)
        return [given for given in lost if given.died >= TRIES]


class Processes:
    """Tasks in processes of this machine, each started afresh, so that no lock or thread of this process is copied."""

    def __init__(self, workers: int) -> None:
        self.workers = workers
        self._kept = False
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Self:
        """Keep the processes from one run to the next."""
        self._kept = True
        return self

    def __exit__(self, *_: object) -> None:
        """End the processes, whatever they do."""
        self._kept = False
        self._end()

    def _end(self) -> None:
        if self._pool is not None:
            _end(self._pool)
            self._pool = None

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any], then: Then | None = None) -> Iterator[Done[Result]]:
        """Each task as it ends."""
        work = _Round(function, iter(enumerate(tasks)), then)
        unfinished = True
        try:
            while unfinished:
                if self._pool is None:
                    self._pool = ProcessPoolExecutor(self.workers, multiprocessing.get_context("spawn"), _quiet)
                try:
                    yield from self._drain(self._pool, work)
                    unfinished = False
                except BrokenProcessPool:
                    self._end()
                    for given in work.give_back():
                        yield Done(given.number, None, f"the process ended {TRIES} times over it")
        finally:
            if unfinished or not self._kept:
                self._end()

    def _drain(self, pool: ProcessPoolExecutor, work: _Round) -> Iterator[Done[Any]]:
        """Run tasks in one pool until none is left; BrokenProcessPool when a worker has died."""
        work.fill(pool, AHEAD * self.workers)
        while work.running:
            ended, _ = wait(work.running, return_when=FIRST_COMPLETED)
            for future in ended:
                result = future.result()
                done = Done(work.running.pop(future).number, result)
                yield done
                work.follow(done)
            work.fill(pool, AHEAD * self.workers)


def _end(pool: ProcessPoolExecutor) -> None:
    """End the processes, whatever they do."""
    processes = list((pool._processes or {}).values())
    pool.shutdown(wait=False, cancel_futures=True)
    for process in processes:
        with contextlib.suppress(OSError, ValueError):
            process.terminate()
    for process in processes:
        with contextlib.suppress(OSError, ValueError, AssertionError):
            process.join(5.0)
