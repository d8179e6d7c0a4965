"""The interaction graph as a networkx graph, and as node-link data and GraphML."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.crops.layers import height_layer, root_class
from mixcraft.files.markup import without_controls
from mixcraft.season.result import Season

from .edges import Edge, edges

if TYPE_CHECKING:
    import networkx as nx


def interactions(season: Season) -> nx.MultiDiGraph:
    """The interaction graph as a `networkx.MultiDiGraph`: a node per planting (by name), edges as in `Edge`.

    Edge attributes: kind, strength, peak, first and last day (ISO dates), weeks (number), evidence, and by kind overlap, family,
    and the lists pests and diseases.
    """
    import networkx as nx

    graph = nx.MultiDiGraph(recipe=season.plan.recipe.name, bed=season.plan.bed.name, place=season.plan.place.name)
    for index, planned in enumerate(season.plan.plantings):
        graph.add_node(planned.name, **_node(season, index))
    names = [p.name for p in season.plan.plantings]
    for edge in edges(season):
        first, last = (season.plan.date(d) for d in edge.days)
        graph.add_edge(
            names[edge.source], names[edge.target], kind=edge.kind, strength=round(edge.strength, 4),
            peak=round(edge.peak, 4), first=str(first), last=str(last), weeks=(edge.days[1] - edge.days[0]) // 7 + 1,
            evidence=edge.evidence, **_known(edge),
        )  # fmt: skip
    return graph


def _known(edge: Edge) -> dict[str, Any]:
    """What else an edge knows, as plain data: numbers, one name, lists of names."""
    names: dict[str, Any] = {name: list(found) for name, found in edge.names.items()}
    if "family" in names:
        names["family"] = names["family"][0]
    return {**{name: round(value, 4) for name, value in edge.numbers.items()}, **names}


def _node(season: Season, index: int) -> dict[str, Any]:
    planned = season.plan.plantings[index]
    crop = planned.planting.crop
    height = float(np.median(season.height_m[:, :, index].max(axis=0)))
    first, last = season.first_picking()[:, index], season.last_picking()[:, index]
    ready = int(np.median(season.opens[:, next(i for i, h in enumerate(season.harvests) if h.planting == index)]))
    return {
        "crop": crop.id, "botanical": crop.botanical, "family": crop.family, "height_m": round(height, 2),
        "layer": height_layer(height), "root_depth_m": crop["root.depth"], "root_class": root_class(crop["root.depth"]),
        "nitrogen": crop.nitrogen, "start": str(season.plan.date(planned.start)),
        "days_to_maturity": None if ready >= NEVER else ready - planned.start,
        "first_picking": _day(season, first), "last_picking": _day(season, last),
        "plants": round(planned.stand.plants, 1),
    }  # fmt: skip


def _day(season: Season, days: NDArray[np.int64]) -> str | None:
    middle = int(np.median(days))
    return str(season.plan.date(middle)) if 0 <= middle < NEVER else None


def link_data(graph: nx.MultiDiGraph) -> dict[str, Any]:
    """The graph as node-link JSON data."""
    import networkx as nx

    data: dict[str, Any] = nx.node_link_data(graph, edges="edges")
    return data


def graphml(graph: nx.MultiDiGraph) -> str:
    """The graph as GraphML text; missing values are left out and lists are written as one text, as GraphML has neither."""
    import networkx as nx

    plain = nx.MultiDiGraph()
    for node, data in graph.nodes(data=True):
        plain.add_node(_plain(node), **_flat(data))
    for a, b, data in graph.edges(data=True):
        plain.add_edge(_plain(a), _plain(b), **_flat(data))
    return "\n".join(nx.generate_graphml(plain))


def _flat(data: Mapping[str, Any]) -> dict[str, Any]:
    return {k: _plain("; ".join(v) if isinstance(v, list) else v) for k, v in data.items() if v is not None}


def _plain(value: Any) -> Any:
    return without_controls(value) if isinstance(value, str) else value
