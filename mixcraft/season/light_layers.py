"""The layered canopy as seen from outside the day loop: the light of given leaves.

The model itself stands in `kernel_light`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .kernel_light import AREA, HEIGHT, LEAVES, K, canopy_light
from .overlaps import overlaps
from .tables import CANOPY_ROWS, new_canopy

__all__ = ["LightShares", "absorb_layers", "overlaps"]

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


def absorb_layers(
    lai: Floats, height_m: Floats, k: Floats, area_m2: Floats, overlap: Floats, *, attribute: bool = False
) -> LightShares:
    """Share the light between plantings.

    Parameters: `lai` (Y, P) on each planting's own area [m2/m2], `height_m` (Y, P), `k` (P,) extinction coefficients,
    `area_m2` (P,) own areas, `overlap` (P, P) from `overlaps`.  Result: `LightShares` [m2 of open sky].
    """
    years, plants = lai.shape
    room = np.zeros((years, CANOPY_ROWS, plants))
    for row, values in ((LEAVES, lai * area_m2), (HEIGHT, height_m), (K, k), (AREA, area_m2)):
        room[:, row] = values
    absorbed, alone, taken = np.empty((years, plants)), np.empty((years, plants)), np.zeros((years, plants, plants))
    canopy_light(room, np.array(overlap, order="C", dtype=float), new_canopy(plants), alone, absorbed, taken, attribute)
    return LightShares(absorbed, alone, taken if attribute else None)
