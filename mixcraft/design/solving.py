"""Solving a constraint model so that Ctrl-C ends it at once.

The solver's own way with an interrupt takes the handler of the process away for good, and the next interrupt would then end
the program with all that was found.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from .constants import constant
from .relaxing import relaxed

if TYPE_CHECKING:
    from .choice import Model

LEVEL = 2
"""How much of the model the solver also relaxes to linear rules: as much as it can."""


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


def solved(made: Model, seed: int, work: float) -> tuple[Any, Any, float]:
    """The solver with the best solution, its status and the least bound that is known.

    Where there is work enough, the model begins with what its programme gives (`relaxing`) and has done with it if that is good.
    """
    bound = math.inf
    if work >= constant("relax_from_work"):
        begun = relaxed(made)
        bound, work = begun.bound, work * constant("relaxed_share")
        if begun.none:
            work = constant("none_work")
        elif begun.values:
            _begin_with(made, begun.values, seed, work)
    solver = solver_for(made, seed, work)
    if math.isfinite(bound):
        made.model.add(made.total <= math.ceil(bound))
    status = solve(solver, made.model)
    if status in (made.cp.OPTIMAL, made.cp.FEASIBLE):
        bound = min(bound, solver.best_objective_bound)
    return solver, status, bound


def _begin_with(made: Model, values: tuple[int, ...], seed: int, work: float) -> None:
    """Hint a choice, with all that follows from its places; its places alone if that cannot be told."""
    _forget(made)
    for variable in (*made.pieces, *made.used, *(c for c in made.climbs if c is not None)):
        made.model.add_hint(variable, values[variable.index])
    solver = solver_for(made, seed, work)
    solver.parameters.fix_variables_to_their_hinted_value = True
    if solve(solver, made.model) not in (made.cp.OPTIMAL, made.cp.FEASIBLE):
        return
    _forget(made)
    for index in range(len(made.model.proto.variables)):
        variable = made.model.get_int_var_from_proto_index(index)
        made.model.add_hint(variable, solver.value(variable))


def _forget(made: Model) -> None:
    """No hints any more."""
    model: Any = made.model
    model.clear_hints()


def solver_for(made: Model, seed: int, work: float) -> Any:
    """A solver with so much `work`."""
    solver = made.cp.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.relative_gap_limit = constant("stop_gap")
    solver.parameters.num_workers = 1  # the same answer on any number of cores; many strategies in turn find less in as much work
    solver.parameters.linearization_level = LEVEL
    return solver
