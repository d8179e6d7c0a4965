"""Tasks on an existing Dask cluster."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Self

from mixcraft.files import UsageError

from .model import AHEAD, TRIES, Done, Result, Then

PATIENCE_S = 10
"""How long to wait for the scheduler to answer."""


class Cluster:
    """Tasks on the Dask cluster whose scheduler listens at `address`, such as ``tcp://10.0.0.5:8786``.

    mixcraft of the same version is installed at its workers.  Raises UsageError where ``distributed`` is not installed or nobody
    answers.
    """

    def __init__(self, address: str) -> None:
        try:
            from distributed import Client
        except ImportError:
            raise UsageError("--scheduler needs the Dask library: pip install 'mixcraft[cluster]'") from None
        try:
            self.client = Client(address, timeout=PATIENCE_S, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            raise UsageError(
                f"no Dask scheduler answers at {address}: start one (dask scheduler) and give the address that it prints"
            ) from error
        self._kept = False

    def __enter__(self) -> Self:
        """Keep the connection from one run to the next."""
        self._kept = True
        return self

    def __exit__(self, *_: object) -> None:
        """End the connection; what is out is given up."""
        self.client.close()

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any], then: Then | None = None) -> Iterator[Done[Result]]:
        """Each task as it ends."""
        from distributed import as_completed
        from distributed.scheduler import KilledWorker

        waiting, ended = iter(enumerate(tasks)), as_completed(loop=self.client.loop)
        numbers: dict[Any, int] = {}
        following: deque[tuple[int, Any]] = deque()

        def give() -> None:
            given = next(waiting, None) or (following.popleft() if following else None)
            if given is not None:
                future = self.client.submit(function, given[1], pure=False, retries=TRIES - 1)
                numbers[future.key] = given[0]
                ended.add(future)

        try:
            for _ in range(AHEAD * max(1, sum(self.client.ncores().values()))):
                give()
            for future in ended:
                number = numbers.pop(future.key)
                try:
                    done: Done[Result] = Done(number, future.result())
                except KilledWorker:
                    done = Done(number, None, "the worker ended several times over it")
                yield done
                if then is not None and (after := then(done)) is not None:
                    following.append((number, after))
                give()
        finally:
            if not self._kept:
                self.client.close()
