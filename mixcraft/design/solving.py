"""Solving a constraint model so that Ctrl-C ends it at once.

The solver's own way with an interrupt takes the handler of the process away for good, and the next interrupt would then end
the program with all that was found.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from .constants import constant

if TYPE_CHECKING:
    from .choice import Model

LEVELS = (2, 1)
"""How much of the model the solver also relaxes to linear rules, the level that is tried first before the others."""


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


def best_of_levels(made: Model, seed: int, work: float) -> tuple[Any, Any, float]:
    """The solver with the best solution, its status and the least bound of all; a mixture, whose crops all share one ground and
    one day, is looked at with less of the linear relaxation too if much of it has left a gap."""
    solved, levels = (made.cp.OPTIMAL, made.cp.FEASIBLE), LEVELS if made.once else LEVELS[:1]
    best: Any = None
    status, bound = made.cp.UNKNOWN, math.inf
    for level in levels:
        solver = solver_for(made, seed, work / len(levels), level)
        found = solve(solver, made.model)
        if found in solved:
            bound = min(bound, solver.best_objective_bound)
        if status not in solved or (found in solved and solver.objective_value > best.objective_value):
            best, status = solver, found
        near = status in solved and bound - best.objective_value <= constant("stop_gap") * abs(bound)
        if near or status == made.cp.INFEASIBLE:
            break
    return best, status, bound


def solver_for(made: Model, seed: int, work: float, level: int = LEVELS[0]) -> Any:
    """A solver with so much `work`."""
    solver = made.cp.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.relative_gap_limit = constant("stop_gap")
    solver.parameters.num_workers = 1  # the same answer on any number of cores; many strategies in turn find less in as much work
    solver.parameters.linearization_level = level
    return solver
