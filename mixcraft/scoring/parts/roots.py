"""Roots: whether plantings that grow together draw on the same soil, and what dry soil costs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts, Names
from mixcraft.graph import Edge
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.result import Season

Floats = NDArray[np.float64]


def roots(evidence: Evidence) -> Judged:
    """Mean root niche overlap between plantings that grow together, weighted by their growth; and drought."""
    c, season = constants(), evidence.season
    shared = evidence.edges_of("shares root space")
    share = evidence.growth_g / max(evidence.growth_g.sum(), 1e-9)
    pair = np.outer(share, share) * (1.0 - np.eye(len(share)))
    weights = {e: float(pair[e.target, e.source] * e.strength) for e in shared}
    mean = sum(weights.values()) / float(pair.sum()) if pair.sum() > 0.0 else 0.0
    loss = c["roots_most_loss"] * float(np.clip((mean - c["roots_free"]) / (1.0 - c["roots_free"]), 0.0, 1.0))
    dry, drought = _drought(season)
    numbers = {"overlap": mean}
    if season.plan.bed.watering.kind != "watered":
        numbers["drought"] = dry
    score = max(0.0, 100.0 - loss - 100.0 * dry)
    return Judged(score, Facts(numbers), Facts(), (*_pairs(evidence, weights, loss), *drought))


def _pairs(evidence: Evidence, weights: dict[Edge, float], loss: float) -> list[Reason]:
    """The pairs that share most root space, each told once."""
    total, least = sum(weights.values()) or 1.0, constants()["roots_named_loss"]
    reasons, told = [], set()
    for edge in sorted(weights, key=lambda e: -weights[e]):
        names = frozenset((edge.source, edge.target))
        if loss * weights[edge] / total < least or names in told:
            continue
        told.add(names)
        both = sum(w for e, w in weights.items() if {e.source, e.target} == names)
        pair = (evidence.names[edge.target], evidence.names[edge.source])
        points = loss * both / total
        numbers = Facts(overlap=edge.numbers["overlap"])
        reasons.append(
            Reason("roots", "shared soil", points, pair, evidence.edge_dates(edge), numbers, Facts(), evidence.edge_key(edge))
        )
    return reasons


def _drought(season: Season) -> tuple[float, list[Reason]]:
    """Share of growth lost to dry soil in the whole mixture, and a reason for each planting that loses a tenth or more."""
    c, plan = constants(), season.plan
    if season.water.min() >= 1.0:
        return 0.0, []
    factor = np.maximum(season.water, c["drought_least_factor"])
    lost = (season.growth_g * (1.0 / factor - 1.0)).clip(0.0).mean(axis=1)
    made = season.growth_g.mean(axis=1)
    could = made.sum(axis=0) + lost.sum(axis=0)
    share = np.divide(lost.sum(axis=0), could, out=np.zeros_like(could), where=could > 0.0)
    whole = float(lost.sum() / max(could.sum(), 1e-9))
    watering: Names = Facts(watering=(plan.bed.watering.kind,))
    reasons = []
    for i in np.nonzero(share >= c["drought_named"])[0]:
        heavy = np.nonzero(lost[:, i] >= c["drought_heavy"] * lost[:, i].max())[0]
        days = (plan.date(int(heavy[0])), plan.date(int(heavy[-1])))
        points = 100.0 * whole * float(lost[:, i].sum() / max(lost.sum(), 1e-9))
        numbers = Facts(share=float(share[i]))
        reasons.append(Reason("roots", "drought", points, (plan.plantings[i].name,), days, numbers, watering))
    return whole, reasons


PART = Part("roots", roots)
