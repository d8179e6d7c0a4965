"""Who stands on whose ground."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.remembered import remembered
from mixcraft.recipe.layout import DISC_OVER_SQUARE
from mixcraft.recipe.plan import Plan

Floats = NDArray[np.float64]


def overlaps(cells: Floats, taken: Floats | None = None) -> Floats:
    """Share of planting i's ground that planting j stands on, (P, P), from cell shares (P, nx, ny).

    `taken` (P,) is how much of its place a planting's plants take (`Stand.taken`), 1 if not given.  Plants keep apart as far as
    there is room.  Where those of a place take no more than all of it, their discs cover it F times and each stands under F - 1
    of the others if F is above 1 and under none if not, so that the mixture lies on its place in an even depth: a crop mixed
    with itself is then the crop alone.  Plants for which the others leave no place stand among them wherever they are, so that
    few in a full stand see all of it.
    """
    flat = cells.reshape(len(cells), -1)
    shared = np.minimum(flat[:, None, :], flat[None, :, :]).sum(axis=-1) / flat.sum(axis=1)[:, None]
    if taken is None:
        return np.asarray(shared)
    own = np.eye(len(cells), dtype=bool)
    beside = np.where(own, 0.0, shared)
    fill = np.minimum(DISC_OVER_SQUARE * taken, 1.0)
    others = beside @ taken
    discs = DISC_OVER_SQUARE * others
    under = np.divide(fill + discs - 1.0, discs, out=np.zeros_like(fill), where=discs > 0.0)
    without_place = (taken + others - 1.0) / taken
    among = np.clip(np.maximum(under, without_place), 0.0, 1.0)
    return np.asarray(np.where(own, 1.0, beside * fill * among[:, None]))


@remembered
def bed_overlaps(plan: Plan) -> Floats:
    """`overlaps` of the plantings of a plan, (P, P); nobody else stands on ground outside the bed over which vines run."""
    stands = [p.stand for p in plan.plantings]
    found = overlaps(np.stack([s.cells for s in stands]), np.array([s.taken for s in stands]))
    inside = np.array([s.area_m2 / (s.area_m2 + s.beyond_m2) for s in stands])
    return np.asarray(np.where(np.eye(len(stands), dtype=bool), found, found * inside[:, None]))
