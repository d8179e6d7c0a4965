"""Canopy: the growth that each planting keeps beside what it would make without its neighbours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.recipe.model import AtTrellis
from mixcraft.recipe.plan import Plan
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import geometric, geometric_means, middles
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.overlaps import bed_overlaps

Floats = NDArray[np.float64]


def kept_full(plan: Plan, overlap: Floats | None = None) -> Floats:
    """Growth kept that earns full points, (P,): less is asked of plantings by the share of their ground and of their days that
    they share with others.  `overlap` (P, P) is `bed_overlaps(plan)`, if it is at hand."""
    c = constants()
    start, end = (np.array([getattr(p, name) for p in plan.plantings], dtype=float) for name in ("start", "end"))
    together = np.minimum(end[:, None], end) - np.maximum(start[:, None], start)
    days = np.clip(together / np.maximum(end - start, 1.0)[:, None], 0.0, 1.0)
    others = np.where(np.eye(len(start), dtype=bool), 0.0, (bed_overlaps(plan) if overlap is None else overlap) * days)
    return np.asarray(c["kept_apart"] - (c["kept_apart"] - c["kept_full"]) * np.minimum(others.sum(axis=1), 1.0))


def canopy_points(kept: Floats, full: Floats) -> Floats:
    """Points of each planting, (..., P), for the growth it keeps, full at `full`."""
    return np.asarray(100.0 * np.clip(kept / full, 0.0, 1.0))


def canopy(evidence: Evidence) -> Judged:
    """A geometric mean over plantings, so that one that is smothered cannot hide."""
    plan = evidence.season.plan
    middle = middles(evidence.kept)
    points = canopy_points(middle, kept_full(plan, evidence.overlaps))
    score = geometric(points)
    reasons = []
    for i in np.nonzero(points < 100.0 * constants()["kept_named"])[0]:
        mended = points.copy()
        mended[i] = 100.0
        reasons.append(_smothered(evidence, int(i), float(middle[i]), geometric(mended) - score))
    least = int(np.argmin(middle))
    numbers = Facts(middle=float(middles(middle)), least=float(middle[least]))
    return Judged(score, numbers, Facts(least=(evidence.names[least],)), tuple(reasons))


def _smothered(evidence: Evidence, index: int, kept: float, points: float) -> Reason:
    """A planting that loses growth, and whoever takes most of its light, if anybody does."""
    plan, name = evidence.season.plan, evidence.names[index]
    takers = [e for e in evidence.edges if e.target == index and e.kind == "takes light"]
    if not takers:
        return Reason("canopy", "crowding", points, (name,), None, Facts(kept=kept))
    worst, taker = takers[0], plan.plantings[takers[0].source]
    names = {"others": tuple(evidence.names[e.source] for e in takers[1:3])}
    if taker.stand.edge:
        names["edge"] = (taker.stand.edge,)
        names["stand"] = ("trellis" if isinstance(taker.planting.where, AtTrellis) else "edge",)
    numbers = Facts(kept=kept, light=worst.peak)
    return Reason(
        "canopy", "light", points, (name, taker.name), evidence.edge_dates(worst), numbers, Facts(names), evidence.edge_key(worst)
    )


def _by_year(evidence: Evidence) -> Floats:
    return geometric_means(canopy_points(evidence.kept, kept_full(evidence.season.plan, evidence.overlaps)))


PART = Part("canopy", canopy, _by_year)
