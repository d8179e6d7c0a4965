"""Solving a constraint model so that Ctrl-C ends it at once.

The solver's own way with an interrupt takes the handler of the process away for good, and the next interrupt would then end
the program with all that was found.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any


def solve(solver: Any, model: Any) -> Any:
    """The status of the solver; an interrupt stops it and is raised."""
    solver.parameters.catch_sigint_signal = False
    with ThreadPoolExecutor(1) as beside:
        status = beside.submit(solver.solve, model)
        try:
            return status.result()
        except KeyboardInterrupt:
            solver.stop_search()
            raise
