"""What every scheduler does."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Done(Generic[Result]):
    """A task that has ended: its number in the order given, and its result, or why there is none."""

    number: int
    result: Result | None
    fault: str = ""


class Scheduler(Protocol):
    """Runs a function on many tasks.  The function stands in a module, and it and the tasks can be pickled."""

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any]) -> Iterator[Done[Result]]:
        """Each task as it ends, in no order.  Tasks are taken from the iterable as workers become free, so that few are held at
        a time.  A task whose worker dies is given to another; one that kills `TRIES` workers is done without a result.  What the
        function raises is raised here, and the rest is given up."""
        ...


TRIES = 3
"""Workers that may die over a task before it is given up."""
AHEAD = 2
"""Tasks handed out for each worker, so that none waits for the next."""
