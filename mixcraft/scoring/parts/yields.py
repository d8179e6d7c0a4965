"""Yield: what the ground gives over the time that it is used, beside the same crops grown alone by good practice."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.result import BAND

Floats = NDArray[np.float64]


def yield_points(efficiency: Floats | float) -> Floats:
    """Points for efficiencies of the use of land, of the same shape."""
    c = constants()
    return np.asarray(100.0 * np.clip(np.asarray(efficiency) / c["land_use_full"], 0.0, 1.0))


def yields(evidence: Evidence) -> Judged:
    """Points for the efficiency of the use of land in the middle year; plantings that give little or nothing are named."""
    c = constants()
    share, efficiency = evidence.land_use
    middle, low, high = (float(q) for q in np.quantile(efficiency, (0.5, BAND[0], BAND[2])))
    score = float(yield_points(middle))
    gives = np.median(share, axis=0)
    reasons = []
    for i, planned in enumerate(evidence.season.plan.plantings):
        food = any(h.part.food for h in planned.harvests)
        ground = planned.stand.area_m2 / evidence.season.plan.bed.area_m2
        due = min(ground, 1.0) * c["partial_due"]
        points = (100.0 - score) * max(due - float(gives[i]), 0.0) / max(1.0 - middle, due, 1e-9)
        numbers = Facts(share=float(gives[i]), ground=min(ground, 1.0))
        if not food:
            reasons.append(Reason("yield", "no food", points, (planned.name,), None, numbers))
        elif gives[i] <= 0.0:
            reasons.append(Reason("yield", "nothing", points, (planned.name,), None, numbers))
        elif gives[i] < due * c["partial_named"]:
            reasons.append(Reason("yield", "little", points, (planned.name,), None, numbers))
    numbers = Facts(land_use=middle, low=low, high=high, ler=float(np.median(share.sum(axis=1))))
    if middle < c["land_use_named"]:
        told = sum(reason.points for reason in reasons)
        reasons.append(Reason("yield", "ground half used", max(100.0 - score - told, 0.0), (), None, numbers))
    return Judged(score, numbers, Facts(), tuple(reasons))


def _by_year(evidence: Evidence) -> Floats:
    return yield_points(evidence.land_use[1])


PART = Part("yield", yields, _by_year)
