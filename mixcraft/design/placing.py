"""Where the chosen plantings stand: neighbouring pieces of a lane for each, tall ones behind low ones as seen from the sun."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mixcraft.scoring.sunny_side import stands_before

from .choice import Placed, least_pieces, meet
from .constants import constant
from .curves import Option
from .ground import Ground
from .rotation import years_apart
from .solving import solve

WORK = 2.0
"""The solver's own measure of work, about seconds on an idle machine."""


def placed(taken: Sequence[tuple[Option, int]], ground: Ground, seed: int) -> tuple[Placed, ...]:
    """Pieces of ground for options of which each wants a number of them (0 = the trellis).

    As much as can be placed is: a planting that finds no room behind the low ones, or no neighbouring pieces, gets fewer, and one
    that finds none is left out.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    cells, smallest = range(ground.count), min(ground.area_m2(c) for c in range(ground.count))
    at = [[model.new_bool_var("") for _ in cells] for _ in taken]
    goal: list[Any] = []
    for (option, wants), row in zip(taken, at, strict=True):
        there = model.new_bool_var("")
        model.add(sum(row) <= wants * there)
        model.add(sum(row) >= min(wants, least_pieces(option.crop, smallest)) * there)
        begins = []
        for c, here in enumerate(row):
            begin = model.new_bool_var("")
            model.add(begin >= here - (0 if c % ground.cells == 0 else row[c - 1]))
            begins.append(begin)
        model.add(sum(begins) <= there)
        goal.append(100 * sum(row) + 300 * there)
        goal += [_rank(c, ground) * round(10.0 * option.height_m) * here for c, here in enumerate(row)]
    _apart(model, taken, at, ground)
    model.maximize(sum(goal))
    solver: Any = cp_model.CpSolver()
    solver.parameters.random_seed, solver.parameters.num_workers, solver.parameters.max_deterministic_time = seed, 1, WORK
    solve(solver, model)
    found = []
    for (option, wants), row in zip(taken, at, strict=True):
        mine = tuple(c for c, here in enumerate(row) if solver.boolean_value(here))
        if mine or not wants:
            found.append(Placed(option, mine))
    return tuple(found)


def _apart(model: Any, taken: Sequence[tuple[Option, int]], at: Sequence[Sequence[Any]], ground: Ground) -> None:
    """Nobody on another's ground in its weeks, nor on that of its own family, nor on a lower one's sunny side."""
    turnover = int(constant("turnover_weeks"))
    for i, (one, _) in enumerate(taken):
        for j, (other, _) in enumerate(taken):
            mine, theirs = (range(o.week, o.last + 1 + turnover) for o in (one, other))
            if i < j and (meet(mine, theirs) or years_apart(one.crop, other.crop)):
                for a, b in zip(at[i], at[j], strict=True):
                    model.add_at_most_one([a, b])
            taller = one.height_m - other.height_m
            later = other.week > one.week + 1
            if i != j and not taken[j][1] and meet(one.tall_weeks, other.weeks):
                for c, here in enumerate(at[i]):
                    if stands_before(taller, one.height_m, ground.to_trellis_m(c), later=later):
                        model.add(here == 0)
            if i != j and meet(one.tall_weeks, other.weeks):
                together = one.date(max(one.tall_weeks[0], other.week)), one.date(min(one.last, other.last))
                for front, behind in ground.shaded(*together):
                    if stands_before(taller, one.height_m, ground.apart_m(front, behind), later=later):
                        model.add_at_most_one([at[i][front], at[j][behind]])


def _rank(cell: int, ground: Ground) -> int:
    """How many pieces lie between a piece and the sun."""
    behind = {b: a for a, b in ground.beyond}
    rank = 0
    while cell in behind and rank < ground.count:
        cell, rank = behind[cell], rank + 1
    return rank
