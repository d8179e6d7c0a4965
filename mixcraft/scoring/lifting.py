"""What the fork does: roots and tubers that are lifted at once disturb what stands among them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.plan import HarvestPlan, Planned
from mixcraft.season.result import Season

from .constants import constants

Floats = NDArray[np.float64]
DUG = {"tuber"}
"""Kinds of crops that are always dug for; roots and bulbs are pulled one by one, or lifted together."""
LIFTED = {"root", "bulb"}


def lifted(season: Season, overlaps: Floats) -> Floats:
    """Part of each planting i that is lost as planting j is lifted among it, (P, P) as [i, j]: the share of its ground in common
    with j, by how much of a plant the fork costs, in the years in which i still has something to give."""
    plan, lost = season.plan, np.zeros_like(overlaps)
    last = season.last_picking()
    for j, planned in enumerate(plan.plantings):
        uses = [h for h, harvest in enumerate(plan.harvests) if harvest.planting == j and _disturbs(planned, harvest) > 0.0]
        for h in uses:
            day = np.where((season.picked_kg[:, :, h] > 0.0).any(axis=0), season.picked_kg[:, :, h].argmax(axis=0), NEVER)
            for i, other in enumerate(plan.plantings):
                if i != j and overlaps[i, j] > 0.0:
                    stands = (day > other.start) & (day < np.minimum(last[:, i], season.death[:, i]))
                    cost = _disturbs(planned, plan.harvests[h]) * min(float(overlaps[i, j]), 1.0)
                    lost[i, j] = max(lost[i, j], cost * float(stands.mean()))
    return lost


def _disturbs(planned: Planned, harvest: HarvestPlan) -> float:
    """How much of a plant beside it is lost as one of these is lifted, 0..1."""
    c, kinds = constants(), set(planned.planting.crop.kinds)
    if harvest.part.role != "main" or harvest.method not in ("once", "pull"):
        return 0.0
    if kinds & DUG:
        return c["digging_loss"]
    return c["lifting_loss"] if kinds & LIFTED and harvest.method == "once" else 0.0
