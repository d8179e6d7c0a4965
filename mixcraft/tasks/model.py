"""What every scheduler does."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Generic, Protocol, Self, TypeVar

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Done(Generic[Result]):
    """A task that has ended: its number in the order given, and its result, or why there is none."""

    number: int
    result: Result | None
    fault: str = ""


Then = Callable[[Done[Any]], Any]
"""The task that follows one that has ended, None if none does."""


class Scheduler(Protocol):
    """Runs a function on many tasks.  The function stands in a module, and it and the tasks can be pickled.

    Used in a ``with`` it keeps its workers from one run to the next, and ends them when the block ends.
    """

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any], then: Then | None = None) -> Iterator[Done[Result]]:
        """Each task as it ends, in no order.  Tasks are taken from the iterable as workers become free, so that few are held at
        a time.  `then` is asked what follows a task once its result has been taken; what follows bears the same number.  A task
        whose worker dies is given to another; one that kills `TRIES` workers is done without a result.  What the function raises
        is raised here, and the rest is given up."""
        ...

    def __enter__(self) -> Self:
        """Keep the workers."""
        ...

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        """End the workers."""
        ...


TRIES = 3
"""Workers that may die over a task before it is given up."""
AHEAD = 2
"""Tasks handed out for each worker, so that none waits for the next."""
