"""The interaction graph of a season: who takes light, shares roots or families, relays, feeds, covers or supports whom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.files.constants import load_numbers
from mixcraft.season.overlaps import bed_overlaps
from mixcraft.season.result import Season, weekly
from mixcraft.season.roots import roots_grown
from mixcraft.season.setting import days_shut, needs_pollinators

from .traits import (
    flowering_days,
    ground_cover,
    growing,
    height_layer,
    root_class,
    root_profile,
    schoener_overlaps,
)

if TYPE_CHECKING:
    import networkx as nx

Floats = NDArray[np.float64]

KINDS = (
    "takes light", "shares root space", "shares family", "leaves room in time", "supports", "fixes nitrogen for",
    "covers ground for", "attracts pollinators for",
)  # fmt: skip
CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")
EVIDENCE = ("computed", "published trial", "common practice")


def _constants() -> Mapping[str, float]:
    return load_numbers(CONSTANTS_FILE)


@dataclass(frozen=True)
class Edge:
    """A directed interaction between plantings `source` and `target` (indices).

    `strength` 0..1; `days` first and last day index of the season; `peak` the greatest weekly strength; `detail` a few
    words for a reader; `evidence` one of `EVIDENCE`.
    """

    source: int
    target: int
    kind: str
    strength: float
    days: tuple[int, int]
    evidence: str
    peak: float = 0.0
    detail: str = ""


def interactions(season: Season) -> nx.MultiDiGraph:
    """The interaction graph as a `networkx.MultiDiGraph`: a node per planting (by name), edges as in `Edge`.

    Edge attributes: kind, strength, peak, first and last day (ISO dates), weeks (number), evidence, detail.
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
            evidence=edge.evidence, detail=edge.detail,
        )  # fmt: skip
    return graph


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


def edges(season: Season) -> list[Edge]:
    """All edges of the season, strongest first within each kind, kinds in the order of `KINDS`."""
    share = bed_overlaps(season.plan)
    alive = growing(season)
    found = [
        *_light(season), *_roots(season, share, alive), *_families(season, alive), *_relays(season, share, alive),
        *_supports(season, share), *_nitrogen(season, share), *_covers(season, share, alive), *_pollinators(season),
    ]  # fmt: skip
    return sorted(found, key=lambda e: (KINDS.index(e.kind), -e.strength, e.source, e.target))


def _light(season: Season) -> list[Edge]:
    c = _constants()
    lost = weekly(season.taken_mj)
    alone = weekly(np.median(season.alone_mj, axis=1))
    found = []
    for i in range(alone.shape[1]):
        total = alone[:, i].sum()
        for j in range(alone.shape[1]):
            strength = lost[:, i, j].sum() / total if total > 0 else 0.0
            if i == j or strength < c["least_light_share"]:
                continue
            by_week = np.divide(lost[:, i, j], alone[:, i], out=np.zeros(len(alone)), where=alone[:, i] > 1e-9)
            heavy = np.nonzero((by_week >= max(c["least_week_share"], 0.5 * by_week.max())) & (alone[:, i] > 0))[0]
            if heavy.size == 0:
                continue
            days = (int(heavy[0]) * 7, min(int(heavy[-1]) * 7 + 6, season.days - 1))
            share = lost[heavy, i, j].sum() / alone[heavy, i].sum()
            found.append(Edge(j, i, "takes light", float(strength), days, "computed", float(share)))
    return found


def root_shares(season: Season, layers: int = 15) -> Floats:
    """Root profiles through the season, (D, P, layers), each summing to 1 while the planting grows, else 0."""
    plan = season.plan
    deepest = max(p.planting.crop["root.depth"] for p in plan.plantings)
    bounds = np.linspace(deepest / layers, deepest, layers)
    result = np.zeros((season.days, len(plan.plantings), layers))
    alive = growing(season)
    for index, planned in enumerate(plan.plantings):
        crop = planned.planting.crop
        thermal = np.median(season.clocks[index].thermal, axis=0)
        grown = roots_grown(thermal, crop["development.ready"])
        days = np.nonzero(alive[:, index])[0]
        result[days, index] = root_profile(planned, grown[days], bounds)
    return result


def _roots(season: Season, share: Floats, alive: NDArray[np.bool_]) -> list[Edge]:
    profiles = root_shares(season)
    found = []
    count = profiles.shape[1]
    for i in range(count):
        for j in range(count):
            both = alive[:, i] & alive[:, j]
            if i == j or share[i, j] <= 0.0 or not both.any():
                continue
            days = np.nonzero(both)[0]
            overlap = schoener_overlaps(profiles[days, i], profiles[days, j])
            together = both.sum() / max(alive[:, i].sum(), 1)
            strength = float(overlap.mean() * share[i, j] * together)
            if strength >= _constants()["least_overlap"]:
                span = (int(days[0]), int(days[-1]))
                found.append(
                    Edge(j, i, "shares root space", strength, span, "computed", float(overlap.max()),
                         f"niche overlap {overlap.mean():.2f}")
                )  # fmt: skip
    return found


def _families(season: Season, alive: NDArray[np.bool_]) -> list[Edge]:
    """Plantings of one family at one time; pests do not pass to a planting under a cover that keeps them out, diseases do."""
    found = []
    plantings = season.plan.plantings
    shut = [days_shut(planned, season.days, "pests_out") for planned in plantings]
    for i, a in enumerate(plantings):
        for j, b in enumerate(plantings):
            ca, cb = a.planting.crop, b.planting.crop
            if i == j or ca.family != cb.family:
                continue
            both = np.nonzero(alive[:, i] & alive[:, j])[0]
            if both.size == 0:
                continue
            open_share = float(1.0 - (shut[i] | shut[j])[both].mean())
            pests = sorted(set(ca.pests) & set(cb.pests)) if open_share >= 0.5 else []
            ills = sorted({d.name for d in ca.diseases} & {d.name for d in cb.diseases})
            weight = open_share * len(set(ca.pests) & set(cb.pests)) + len(ills)
            strength = both.size / max(alive[:, i].sum(), 1) * (0.4 + 0.6 * min(1.0, weight / 4.0))
            detail = f"{ca.family}: {', '.join([*pests, *ills]) or 'no shared pest on record'}"
            found.append(
                Edge(j, i, "shares family", float(strength), (int(both[0]), int(both[-1])), "common practice", 0.0, detail)
            )
    return found


def _relays(season: Season, share: Floats, alive: NDArray[np.bool_]) -> list[Edge]:
    found = []
    growth = season.growth_g.mean(axis=1)
    for i in range(alive.shape[1]):
        held = np.nonzero(alive[:, i])[0]
        if held.size == 0:
            continue
        gone = int(held[-1]) + 1
        for j in range(alive.shape[1]):
            total = growth[:, j].sum()
            if i == j or share[j, i] < 0.2 or total <= 0:
                continue
            later = growth[gone:, j].sum() / total
            other = np.nonzero(alive[:, j])[0]
            if later >= _constants()["relay_least"] and other.size and other[-1] > gone:
                days = (gone, int(other[-1]))
                found.append(Edge(i, j, "leaves room in time", float(later * min(1.0, share[j, i])), days, "computed"))
    return found


def _supports(season: Season, share: Floats) -> list[Edge]:
    """Climbers without a trellis or support beside a strong upright plant that is taller than half a climber."""
    found = []
    plantings = season.plan.plantings
    for i, climber in enumerate(plantings):
        if climber.planting.crop.form != "climber" or climber.support_m is not None:
            continue
        for j, pole in enumerate(plantings):
            crop = pole.planting.crop
            if i != j and crop.form == "upright" and crop["canopy.height"] >= 1.5 and share[i, j] > 0.1:
                days = (max(climber.start, pole.start), min(climber.end, pole.end))
                if days[1] > days[0]:
                    found.append(
                        Edge(j, i, "supports", float(share[i, j]), days, "common practice", 0.0, "stems to climb on")
                    )
    return found


def _nitrogen(season: Season, share: Floats) -> list[Edge]:
    found = []
    for i, giver in enumerate(season.plan.plantings):
        crop = giver.planting.crop
        if crop.nitrogen != "fixes":
            continue
        full = min(1.0, crop.number("nutrition.fixation", 5.0) / _constants()["fixation_full"])
        for j, taker in enumerate(season.plan.plantings):
            need = {"high": 1.0, "medium": 0.6, "low": 0.3}.get(taker.planting.crop.nitrogen, 0.0)
            if i != j and need and share[j, i] > 0.05:
                days = (max(giver.start, taker.start), min(season.days - 1, taker.end))
                strength = 0.3 * full * need * share[j, i]
                if days[1] > days[0] and strength >= 0.01:
                    found.append(
                        Edge(i, j, "fixes nitrogen for", float(strength), days, "published trial", 0.0,
                             "mostly spares soil nitrogen; little is handed over in the same season")
                    )  # fmt: skip
    return found


def _covers(season: Season, share: Floats, alive: NDArray[np.bool_]) -> list[Edge]:
    cover = ground_cover(season)
    tall = season.height_m.mean(axis=1)
    least = _constants()["ground_cover_least"]
    found = []
    for i in range(cover.shape[1]):
        for j in range(cover.shape[1]):
            if i == j or share[j, i] < 0.2:
                continue
            under = alive[:, i] & alive[:, j] & (tall[:, i] < tall[:, j]) & (cover[:, i] >= least)
            days = np.nonzero(under)[0]
            if days.size >= 21:
                strength = float(cover[days, i].mean() * share[j, i] * min(1.0, days.size / 60.0))
                found.append(Edge(i, j, "covers ground for", strength, (int(days[0]), int(days[-1])), "computed"))
    return found


def _pollinators(season: Season) -> list[Edge]:
    plantings = season.plan.plantings
    flowers = [flowering_days(season, i) for i in range(len(plantings))]
    found = []
    for i, giver in enumerate(plantings):
        if not giver.planting.crop.visitors or not flowers[i].any():
            continue
        for j, taker in enumerate(plantings):
            if i == j or not needs_pollinators(taker.planting.crop) or not flowers[j].any():
                continue
            both = np.nonzero(flowers[i] & flowers[j])[0]
            if both.size:
                strength = float(both.size / flowers[j].sum())
                found.append(
                    Edge(i, j, "attracts pollinators for", strength, (int(both[0]), int(both[-1])), "published trial")
                )
    return found


def link_data(graph: nx.MultiDiGraph) -> dict[str, Any]:
    """The graph as node-link JSON data."""
    import networkx as nx

    data: dict[str, Any] = nx.node_link_data(graph, edges="edges")
    return data


def graphml(graph: nx.MultiDiGraph) -> str:
    """The graph as GraphML text; missing values are left out, as GraphML has none."""
    import networkx as nx

    plain = nx.MultiDiGraph()
    for node, data in graph.nodes(data=True):
        plain.add_node(node, **{k: v for k, v in data.items() if v is not None})
    for a, b, data in graph.edges(data=True):
        plain.add_edge(a, b, **{k: v for k, v in data.items() if v is not None})
    return "\n".join(nx.generate_graphml(plain))
