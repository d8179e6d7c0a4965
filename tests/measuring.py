"""Measuring time in benches."""

from __future__ import annotations

import os
import time
from collections.abc import Callable


def children_seconds() -> float:
    """Processor time of all processes that this one has started and waited for [s]."""
    spent = os.times()
    return spent.children_user + spent.children_system


def own_seconds(run: Callable[[], object], times: int = 5, clock: Callable[[], float] = time.process_time) -> float:
    """Least time of several runs after one to warm up [s]: of this process's own, or by another clock."""
    run()
    found = []
    for _ in range(times):
        began = clock()
        run()
        found.append(clock() - began)
    return min(found)
