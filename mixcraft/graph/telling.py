"""Which interactions are worth telling, and in what order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import networkx as nx

STRONGEST, EACH = 20, 2
"""Interactions that are told unless all are asked for, and how many of each kind are among them."""
BOTH_WAYS = ("shares root space", "shares family")
"""Kinds that mean the same from either side."""
Edge = tuple[str, str, dict[str, Any]]


def told_once(made: nx.MultiDiGraph[str]) -> list[Edge]:
    """The interactions, strongest first; what means the same from either side is told once."""
    seen: set[tuple[str, frozenset[str]]] = set()
    found = []
    for a, b, data in sorted(made.edges(data=True), key=lambda edge: -float(edge[2]["strength"])):
        pair = data["kind"], frozenset((a, b))
        if data["kind"] not in BOTH_WAYS or pair not in seen:
            seen.add(pair)
            found.append((a, b, data))
    return found


def strongest(edges: list[Edge]) -> list[Edge]:
    """The strongest of all, with the strongest two of each kind among them."""
    firsts: list[Edge] = []
    for edge in edges:
        if sum(other[2]["kind"] == edge[2]["kind"] for other in firsts) < EACH:
            firsts.append(edge)
    rest = [edge for edge in edges if not any(edge is other for other in firsts)]
    return [*firsts, *rest[: max(0, STRONGEST - len(firsts))]]
