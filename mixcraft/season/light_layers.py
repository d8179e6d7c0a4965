"""The layered canopy as seen from outside the day loop: who stands on whose ground, and the light of given leaves.

The model itself stands in `kernel_light`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.layout import DISC_OVER_SQUARE

from .kernel_light import AREA, HEIGHT, LEAVES, K, canopy_light

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LightShares:
    """Light absorbed in square metres of open sky: multiply by PAR [MJ m-2] for MJ.

    `absorbed` (Y, P) in the mixture, `alone` (Y, P) by the same leaves without the others, `taken` (Y, P, P): what the
    first planting lost to the second; its rows sum to ``alone - absorbed`` where others shade.
    """

    absorbed: Floats
    alone: Floats
    taken: Floats | None


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


def absorb_layers(
    lai: Floats, height_m: Floats, k: Floats, area_m2: Floats, overlap: Floats, *, attribute: bool = False
) -> LightShares:
    """Share the light between plantings.

    Parameters: `lai` (Y, P) on each planting's own area [m2/m2], `height_m` (Y, P), `k` (P,) extinction coefficients,
    `area_m2` (P,) own areas, `overlap` (P, P) from `overlaps`.  Result: `LightShares` [m2 of open sky].
    """
    years, plants = lai.shape
    room = np.zeros((years, 11, plants))
    for row, values in ((LEAVES, lai * area_m2), (HEIGHT, height_m), (K, k), (AREA, area_m2)):
        room[:, row] = values
    absorbed, alone, taken = np.empty((years, plants)), np.empty((years, plants)), np.zeros((years, plants, plants))
    canopy_light(room, np.array(overlap, order="C", dtype=float), alone, absorbed, taken, attribute)
    return LightShares(absorbed, alone, taken if attribute else None)
