"""Light in a layered canopy: who absorbs what when several crops share the ground.

Each planting's leaf area is spread evenly over its own area and from the ground to its height.  In a layer the light
falls off after Beer and Lambert with the sum of k x leaf area of all plantings in it, and what the layer absorbs is
split in that proportion; this is exact for a horizontally uniform mixture (Sinoquet & Bonhomme 1992; Keating & Carberry
1993).  Where plantings overlap in part, each sees the others thinned to the share of its own ground they stand on.

Shapes: years, plantings, layers (Y, P, L); layers run from the top down, one between each two neighbouring heights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TINY = 1e-12
LEAST_M = 1e-3
"""Lowest height of a canopy [m], so that a seedling's leaves have somewhere to be."""


@dataclass(frozen=True)
class LightShares:
    """Light absorbed in square metres of open sky: multiply by PAR [MJ m-2] for MJ.

    `absorbed` (Y, P) in the mixture, `alone` (Y, P) by the same leaves without the others, `taken` (Y, P, P): what the
    first planting lost to the second; its rows sum to ``alone - absorbed`` where others shade; `used` (Y, P) what of it is used
    as well as weak light is; `top` (Y, P) share of open sky at a planting's top.
    """

    absorbed: Floats
    alone: Floats
    taken: Floats | None
    used: Floats
    top: Floats


def absorb_layers(
    lai: Floats, height_m: Floats, k: Floats, area_m2: Floats, overlap: Floats, bright: Floats, *, attribute: bool = False
) -> LightShares:
    """Share the light between plantings.

    Parameters: `lai` (Y, P) on each planting's own area [m2/m2], `height_m` (Y, P), `k` (P,) extinction coefficients,
    `area_m2` (P,) own areas, `overlap` (P, P) from `overlaps`.  Result: `LightShares` [m2 of open sky].
    """
    height = np.maximum(height_m, LEAST_M)
    tops = -np.sort(-height, axis=-1)
    bottoms = np.zeros_like(tops)
    bottoms[..., :-1] = tops[..., 1:]
    reach = np.maximum(np.minimum(height[..., :, None], tops[..., None, :]) - bottoms[..., None, :], 0.0)
    depth = (k * lai / height)[..., None] * reach
    seen = np.maximum(overlap @ depth, TINY)
    passed = np.exp(seen - np.cumsum(seen, axis=-1))
    caught = passed * -np.expm1(-seen) * (depth / seen)
    alone = -np.expm1(-k * lai) * area_m2
    absorbed = caught.sum(axis=-1) * area_m2
    taken = _attributed(depth, overlap, passed, seen, alone, absorbed) if attribute else None
    used = (use_of_layer(bright[..., None], passed, seen) * (depth / seen)).sum(axis=-1) * area_m2
    over = np.where(tops[..., None, :] > height[..., :, None], seen, 0.0).sum(axis=-1)
    return LightShares(absorbed, alone, taken, used, np.exp(-over))


def use_of_layer(bright: Floats, passed: Floats, depth: Floats) -> Floats:
    """Light used in a layer of optical depth `depth`, of what has `passed` to it (see `kernel_light.use_in_layer`)."""
    lit = np.maximum(bright, TINY)
    return np.asarray(np.log1p(lit * passed * -np.expm1(-depth) / (1.0 + lit * passed * np.exp(-depth))) / lit)


def _attributed(depth: Floats, overlap: Floats, passed: Floats, seen: Floats, alone: Floats, absorbed: Floats) -> Floats:
    """What each planting lost, split over those that absorbed above or beside its leaves, (Y, P, P)."""
    caught_by = passed * -np.expm1(-seen) / np.maximum(seen, TINY)
    per_other = overlap[None, :, :, None] * depth[:, None, :, :] * caught_by[:, :, None, :]
    above = np.cumsum(per_other, axis=-1) - 0.5 * per_other
    weight = (above * depth[:, :, None, :]).sum(axis=-1)
    own = np.eye(depth.shape[1], dtype=bool)
    weight = np.where(own[None], 0.0, weight)
    total = weight.sum(axis=-1, keepdims=True)
    lost = np.clip(alone - absorbed, 0.0, None)[..., None]
    return np.asarray(np.where(total > TINY, lost * weight / np.maximum(total, TINY), 0.0))
