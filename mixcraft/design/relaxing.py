"""The constraint model as a mixed integer programme: its relaxation, cut down at the root, has a nearer bound than the solver of
constraints finds in as much time, and gives that solver a good choice to begin with."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from .constants import constant

if TYPE_CHECKING:
    from .choice import Model

FREE = 2**62
"""A limit of the constraint model from which on it is none."""

INFEASIBLE = 2
"""Status of a programme that has no solution."""
Terms = list[tuple[int, float]]
Row = tuple[Terms, float, float]
"""Factors by variable, and the least and the most that they may come to."""


@dataclass(frozen=True)
class Relaxed:
    """What the programme gives: the bound on the points of the model, and values by variable of a good choice, nothing if none
    was found; `none` if there can be no choice."""

    bound: float = math.inf
    values: tuple[int, ...] = ()
    none: bool = False


def relaxed(made: Model) -> Relaxed:
    """The bound of a model and a choice to begin with, from the root of its programme: the same at every run, unless it takes
    more than `relax_seconds` by the clock."""
    _let_in("scipy")
    from scipy.optimize import Bounds, LinearConstraint, milp

    proto = made.model.proto
    low, high = _limits(proto)
    cost, whole = np.zeros(len(low)), [bool(v.name) or most == 1.0 for v, most in zip(proto.variables, high, strict=True)]
    cost[list(proto.objective.vars)] = proto.objective.coeffs  # the points' negative, which is to be least
    rows = [row for rule in proto.constraints for row in _rows(rule, low, high)]
    found = milp(
        cost, integrality=np.array(whole, dtype=np.int64), bounds=Bounds(low, high),
        constraints=LinearConstraint(_matrix(rows, len(low)), [row[1] for row in rows], [row[2] for row in rows]),
        options={"node_limit": 1, "mip_rel_gap": constant("stop_gap"), "time_limit": constant("relax_seconds")},
    )  # fmt: skip
    bound = math.inf if found.mip_dual_bound is None else -float(found.mip_dual_bound)
    return Relaxed(bound, () if found.x is None else tuple(round(v) for v in found.x), found.status == INFEASIBLE)


def _let_in(package: str) -> None:
    """A package that the installed command keeps out of its start (`cli.main.entry`) may be imported from now on."""
    if package in sys.modules and sys.modules[package] is None:
        del sys.modules[package]


def _matrix(rows: Sequence[Row], width: int) -> Any:
    """Factors of all rows by row and variable."""
    from scipy.sparse import csr_array

    starts = np.cumsum([0, *(len(terms) for terms, _, _ in rows)])
    pairs = [pair for terms, _, _ in rows for pair in terms]
    return csr_array(([factor for _, factor in pairs], [variable for variable, _ in pairs], starts), shape=(len(rows), width))


def _limits(proto: Any) -> tuple[list[float], list[float]]:
    """Least and most of every variable."""
    domains = [v.domain for v in proto.variables]
    return [float(d[0]) for d in domains], [float(d[len(d) - 1]) for d in domains]


def _rows(rule: Any, low: Sequence[float], high: Sequence[float]) -> Iterator[Row]:
    """The rows that say a rule: sums, of literals too, and the greatest of several truths."""
    if rule.has_linear():
        yield from _sum_rows(rule, low, high)
    elif rule.has_bool_or():
        terms, spare = _literals(rule.bool_or.literals)
        yield terms, 1.0 - spare, math.inf
    elif rule.has_at_most_one():
        terms, spare = _literals(rule.at_most_one.literals)
        yield terms, -math.inf, 1.0 - spare
    elif rule.has_lin_max():
        greatest, members = rule.lin_max.target.vars[0], [e.vars[0] for e in rule.lin_max.exprs]
        yield from (([(member, 1.0), (greatest, -1.0)], -math.inf, 0.0) for member in members)
        yield [(greatest, -1.0), *((member, 1.0) for member in members)], 0.0, math.inf
    else:
        raise NotImplementedError(str(rule))


def _sum_rows(rule: Any, low: Sequence[float], high: Sequence[float]) -> Iterator[Row]:
    """A sum between two limits; where literals have to be true for it, as far out of them as the sum can be if one is not."""
    domain, terms = rule.linear.domain, _summed(zip(rule.linear.vars, rule.linear.coeffs, strict=True))
    least, most = float(domain[0]), float(domain[len(domain) - 1])
    if not len(rule.enforcement_literal):
        yield terms, -math.inf if least <= -FREE else least, math.inf if most >= FREE else most
        return
    on, spare = _literals(rule.enforcement_literal)
    held = len(rule.enforcement_literal) - spare  # on - held is 0 where all are true, below it else
    for limit, reach, sign in ((most, _reach(terms, low, high, max), 1.0), (least, _reach(terms, low, high, min), -1.0)):
        room = sign * (reach - limit)
        if room > 0.0:
            moved = _summed([*terms, *((variable, sign * room * factor) for variable, factor in on)])
            end = limit + sign * room * held
            yield (moved, -math.inf, end) if sign > 0.0 else (moved, end, math.inf)


def _reach(terms: Terms, low: Sequence[float], high: Sequence[float], most: Callable[[float, float], float]) -> float:
    """The least or the most that a sum can be."""
    return sum(most(factor * low[variable], factor * high[variable]) for variable, factor in terms)


def _summed(terms: Any) -> Terms:
    """Terms with each variable once."""
    found: dict[int, float] = {}
    for variable, factor in terms:
        found[variable] = found.get(variable, 0.0) + float(factor)
    return list(found.items())


def _literals(literals: Sequence[int]) -> tuple[Terms, float]:
    """A sum of literals: factors by variable, and what is added for those that are negated."""
    negated = [literal for literal in literals if literal < 0]
    return _summed((literal, 1.0) if literal >= 0 else (-literal - 1, -1.0) for literal in literals), float(len(negated))
