"""A double of this process: a fork of it that does tasks beside it, with all that it knows, so that two processors are used.

A fork costs milliseconds where a new process costs half a second; it is made where that is safe: on Linux, in a process of one
thread that may use several processors.
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Lock
from typing import IO, Any

Do = Callable[[Any], Any]
"""Does a task; task and result can be pickled."""


def processors() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def may_double() -> bool:
    """Whether a double is safe and of use."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return False
    return processors() > 1


@contextmanager
def doubled(do: Do) -> Iterator[Do | None]:
    """What does a task in a double of this process as it is now, one after the other; None where there can be no double.

    What a task raises there is raised here; if the double is gone, the task is done here.
    """
    double = Double.made(do) if may_double() else None
    try:
        yield double
    finally:
        if double is not None:
            double.close()


class Double:
    """A forked process, `number`, with a pipe to it and one from it."""

    def __init__(self, do: Do, number: int, to: IO[bytes], back: IO[bytes]) -> None:
        self._do, self._number, self._to, self._back = do, number, to, back
        self._lock, self._lives = Lock(), True

    @classmethod
    def made(cls, do: Do) -> Double | None:
        """A double that waits for tasks; None if the system gives no process."""
        (asked, asks), (told, tells) = os.pipe(), os.pipe()
        try:
            number = os.fork()
        except OSError:
            for end in (asked, asks, told, tells):
                os.close(end)
            return None
        if number == 0:
            try:
                os.close(asks)
                os.close(told)
                _serve(do, os.fdopen(asked, "rb"), os.fdopen(tells, "wb"))
            finally:
                os._exit(0)
        os.close(asked)
        os.close(tells)
        return cls(do, number, os.fdopen(asks, "wb"), os.fdopen(told, "rb"))

    def __call__(self, task: Any) -> Any:
        """What a task gives."""
        with self._lock:
            try:
                if self._lives:
                    _send(task, self._to)
                    done, found = pickle.load(self._back)
            except (OSError, EOFError, pickle.UnpicklingError):
                self._lives = False
            lives = self._lives
        if not lives:
            return self._do(task)
        if not done:
            raise found
        return found

    def close(self) -> None:
        """Let it go."""
        for pipe in (self._to, self._back):
            with suppress(OSError):
                pipe.close()
        with suppress(ChildProcessError):
            os.waitpid(self._number, 0)


def _send(thing: Any, pipe: IO[bytes]) -> None:
    pickle.dump(thing, pipe)
    pipe.flush()


def _serve(do: Do, asked: IO[bytes], tells: IO[bytes]) -> None:
    """Do what is asked until nobody asks any more."""
    with suppress(OSError, EOFError, KeyboardInterrupt):
        while True:
            task = pickle.load(asked)
            try:
                answer = True, do(task)
            except Exception as error:
                answer = False, error
            _send(answer, tells)
