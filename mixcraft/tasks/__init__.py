"""Work that is spread over processes or machines: the same tasks, run here, in local processes, or on a Dask cluster."""

from .local import Here
from .model import Done, Scheduler
from .schedulers import processors, scheduler

__all__ = ["Done", "Here", "Scheduler", "processors", "scheduler"]
