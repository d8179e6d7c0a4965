"""Canopy: what each plant keeps of the growth and picking that it would make at its own good spacing without its neighbours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.recipe.collisions import Collision
from mixcraft.recipe.density import densest, usual_range
from mixcraft.recipe.model import AtTrellis
from mixcraft.recipe.plan import Plan
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.losses import GROWTH_CAUSES, takers
from mixcraft.scoring.measures import mean_with_worst, middles, must_share, told_losses, worst_powers
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.overlaps import bed_overlaps

Floats = NDArray[np.float64]


def kept_full(plan: Plan, overlap: Floats | None = None) -> Floats:
    """Growth or picking kept that earns full points, (P,): less is asked of plantings by the share of their ground and of their
    days that they must share with others, since the bed has no more room (`must_share`).  `overlap` (P, P) is
    `bed_overlaps(plan)`, if it is at hand."""
    c = constants()
    shared = must_share(plan, bed_overlaps(plan) if overlap is None else overlap)
    return np.asarray(c["kept_apart"] - (c["kept_apart"] - c["kept_full"]) * shared)


def canopy_points(kept: Floats, full: Floats) -> Floats:
    """Points of each planting, (..., P), for what it keeps, full at `full`."""
    return np.asarray(100.0 * np.clip(kept / full, 0.0, 1.0))


def _by_planting(evidence: Evidence, kept: Floats) -> Floats:
    """Points of each planting, (..., P), for what it has `kept` (..., P), its room, its number, spots of its own, no fork, and
    something to climb."""
    points = canopy_points(kept, kept_full(evidence.season.plan, evidence.overlaps))
    return points * evidence.crowded * evidence.there * evidence.unspoilt * evidence.undisturbed * evidence.held


def canopy_score(evidence: Evidence) -> float:
    """A geometric mean over plantings, of which the worst counts more than the others, so that one that is smothered or far too
    thick cannot hide among many, less what stands on the sunny side costs."""
    return _whole(evidence, _by_planting(evidence, middles(evidence.fares)))


def _whole(evidence: Evidence, points: Floats) -> float:
    return float(mean_with_worst(points, constants()["canopy_worst_share"])) * evidence.placing


def canopy(evidence: Evidence) -> Judged:
    """The score, with a reason for every planting that loses more than a little."""
    middle = middles(evidence.kept)
    fares = middles(evidence.fares)
    points = _by_planting(evidence, fares)
    score = _whole(evidence, points)
    each = (np.maximum(points, constants()["floor"]) / 100.0) ** worst_powers(points, constants()["canopy_worst_share"])
    told = told_losses([*each, evidence.placing], score)
    reasons = [*_sunny_side(evidence, float(told[-1]))]
    for i in np.nonzero(points < 100.0 * constants()["kept_named"])[0]:
        lost, whole = float(told[i]), np.log(max(points[i], 1e-6) / 100.0)
        thick, thin, hit, dug, loose = (
            float(np.log(max(a[i], 1e-6)) / whole)
            for a in (evidence.crowded, evidence.there, evidence.unspoilt, evidence.undisturbed, evidence.held)
        )
        if thick > 0.0:
            reasons.append(_thick(evidence, int(i), thick * lost))
        if thin > 0.0:
            reasons.append(_thin(evidence, int(i), thin * lost))
        reasons += [_collision(evidence, c, hit * lost) for c in evidence.collisions if c.second == i]
        if dug > 0.0:
            reasons.append(_dug(evidence, int(i), dug * lost))
        if loose > 0.0:
            reasons.append(Reason("canopy", "no support", loose * lost, (evidence.names[i],)))
        rest = 1.0 - thick - thin - hit - dug - loose
        if rest > 1e-9:
            reasons.append(_smothered(evidence, int(i), float(middle[i]), float(fares[i]), rest * lost))
    least = int(np.argmin(middle))
    numbers = Facts(middle=float(middles(middle)), least=float(middle[least]))
    return Judged(score, numbers, Facts(least=(evidence.names[least],)), tuple(reasons))


def _thick(evidence: Evidence, index: int, points: float) -> Reason:
    """A stand that is denser than is usual for the crop."""
    planned = evidence.season.plan.plantings[index]
    numbers = Facts(density=float(evidence.density[index]), usual=densest(planned), size=float(evidence.crowded[index]))
    return Reason("canopy", "too thick", points, (planned.name,), None, numbers)


def _thin(evidence: Evidence, index: int, points: float) -> Reason:
    """A stand so thin that it is hardly a planting."""
    planned = evidence.season.plan.plantings[index]
    numbers = Facts(density=float(evidence.density[index]), usual=usual_range(planned)[0])
    return Reason("canopy", "too thin", points, (planned.name,), None, numbers)


def _dug(evidence: Evidence, index: int, points: float) -> Reason:
    """A planting among which another is lifted."""
    by = int(np.argmax(evidence.lifted[index]))
    numbers = Facts(share=float(1.0 - evidence.undisturbed[index]))
    return Reason("canopy", "lifting", points, (evidence.names[index], evidence.names[by]), None, numbers)


def _sunny_side(evidence: Evidence, points: float) -> list[Reason]:
    """Tall plantings on the sunny side of low ones: each pair with its part of the points lost."""
    plan, shadows = evidence.season.plan, evidence.shadows
    if points < constants()["sunny_side_named"]:
        return []
    total, reasons = float(shadows.share.sum()), []
    for j, i in zip(*np.nonzero(shadows.share > constants()["sunny_side_least"]), strict=True):
        days = (plan.date(int(shadows.days[j, i, 0])), plan.date(int(shadows.days[j, i, 1])))
        numbers, names = Facts(share=float(shadows.share[j, i])), (evidence.names[j], evidence.names[i])
        reasons.append(Reason("canopy", "sunny side", points * float(shadows.share[j, i]) / total, names, days, numbers))
    return reasons


def _collision(evidence: Evidence, hit: Collision, points: float) -> Reason:
    """Plants that stand on the spots of others."""
    plan = evidence.season.plan
    days = (plan.date(hit.days[0]), plan.date(hit.days[1]))
    (x, y), names = hit.spots[0], (evidence.names[hit.second], evidence.names[hit.first])
    return Reason("canopy", "one spot", points, names, days, Facts(plants=float(len(hit.spots)), x_m=x, y_m=y))


def _smothered(evidence: Evidence, index: int, kept: float, fares: float, points: float) -> Reason:
    """A planting that loses growth, what takes how much of it, and who takes its light and its room, if anybody does; what it
    keeps of its picking where that is less."""
    plan, name = evidence.season.plan, evidence.names[index]
    losses = dict(zip(GROWTH_CAUSES, evidence.growth_losses[index].tolist(), strict=True))
    taken, names = takers(evidence.season, evidence.overlaps, index, losses)
    numbers = {"kept": kept, **losses, **taken}
    if fares < kept - constants()["picked_told"]:
        numbers["picked"] = fares
    edges = [e for e in evidence.edges_of("takes light") if e.target == index]
    if not edges:
        return Reason("canopy", "crowding", points, (name,), None, Facts(numbers), Facts(names))
    worst, taker = edges[0], plan.plantings[edges[0].source]
    if taker.stand.edge:
        names["edge"] = (taker.stand.edge,)
        names["stand"] = ("trellis" if isinstance(taker.planting.where, AtTrellis) else "edge",)
    return Reason(
        "canopy", "light", points, (name, taker.name), evidence.edge_dates(worst), Facts(numbers), Facts(names),
        evidence.edge_key(worst),
    )  # fmt: skip


def _by_year(evidence: Evidence) -> Floats:
    return mean_with_worst(_by_planting(evidence, evidence.fares), constants()["canopy_worst_share"]) * evidence.placing


PART = Part("canopy", canopy, _by_year, canopy_score)
