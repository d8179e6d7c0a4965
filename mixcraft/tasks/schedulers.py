"""Which scheduler runs the tasks."""

from __future__ import annotations

import os

from .cluster import Cluster
from .local import Here, Processes
from .model import Scheduler


def processors() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def scheduler(workers: int | None = None, address: str | None = None) -> Scheduler:
    """What runs tasks: the Dask cluster at `address`, else `workers` local processes (as many as there are processors), or this
    process itself for one worker.  Raises UsageError if no cluster answers at the address."""
    if address is not None:
        return Cluster(address)
    count = processors() if workers is None else workers
    return Here() if count <= 1 else Processes(count)
