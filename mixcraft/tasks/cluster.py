"""Tasks on an existing Dask cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from mixcraft.files import UsageError

from .model import AHEAD, TRIES, Done, Result

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

    def run(self, function: Callable[[Any], Result], tasks: Iterable[Any]) -> Iterator[Done[Result]]:
        """Each task as it ends."""
        from distributed import as_completed
        from distributed.scheduler import KilledWorker

        waiting, numbers, ended = iter(enumerate(tasks)), {}, as_completed(loop=self.client.loop)

        def give() -> None:
            number, task = next(waiting, (-1, None))
            if number >= 0:
                future = self.client.submit(function, task, pure=False, retries=TRIES - 1)
                numbers[future.key] = number
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
                give()
                yield done
        finally:
            self.client.close()
