"""Measuring time in benches."""

from __future__ import annotations

import time
from collections.abc import Callable


def own_seconds(run: Callable[[], object], times: int = 5) -> float:
    """Least processor time of several runs after one to warm up [s]."""
    run()
    found = []
    for _ in range(times):
        began = time.process_time()
        run()
        found.append(time.process_time() - began)
    return min(found)
