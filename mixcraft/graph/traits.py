"""Traits of plantings that the graph writes on its nodes: height layer, root depth class, windows, ground cover."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.plan import Planned
from mixcraft.season.result import Season
from mixcraft.season.roots import root_layers

Floats = NDArray[np.float64]

HEIGHT_LAYERS_M = ((0.2, "ground"), (0.5, "low"), (1.0, "middle"), (1.8, "tall"))
"""Upper bounds [m] of the height layers; above the last is "climbing or very tall".  Common practice, no source."""
ROOT_CLASSES_M = ((0.45, "shallow"), (0.9, "medium"))
"""Upper bounds [m] of root depth classes, after the 18-24(36) in, 36-48 in classes used by University of California."""


LEAST_GROWN = 0.05
"""A root system is at least this share of its depth while its plant lives.  Common practice, no source."""


def height_layer(height_m: float) -> str:
    """Name of the layer a planting of this greatest height stands in."""
    return next((name for bound, name in HEIGHT_LAYERS_M if height_m <= bound), "climbing or very tall")


def root_class(depth_m: float) -> str:
    """Name of the root depth class."""
    return next((name for bound, name in ROOT_CLASSES_M if depth_m <= bound), "deep")


def growing(season: Season) -> NDArray[np.bool_]:
    """Whether each planting has leaves in at least half of the years, (D, P)."""
    return np.asarray((season.leaf_m2 > 0.0).mean(axis=1) >= 0.5)


def ground_cover(season: Season) -> Floats:
    """Share of its own ground that each planting's leaves cover, mean over years, (D, P): 1 - exp(-k L)."""
    k = np.array([p.planting.crop["canopy.k"] for p in season.plan.plantings])
    area = np.array([p.stand.area_m2 for p in season.plan.plantings])
    return np.asarray(-np.expm1(-k * season.leaf_m2 / area).mean(axis=1))


def flowering_days(season: Season, index: int) -> NDArray[np.bool_]:
    """Whether planting `index` is in flower, middle year, (D,): from flowering, or bolting for crops that run to seed."""
    planned = season.plan.plantings[index]
    clock = season.clocks[index]
    start = int(np.median(clock.flower))
    if "development.flower" not in planned.planting.crop.records or start >= NEVER:
        return np.zeros(season.days, dtype=bool)
    days = np.arange(season.days)
    return np.asarray((days >= start) & growing(season)[:, index])


def root_profile(planned: Planned, grown: Floats, layers_m: Floats) -> Floats:
    """Root length density over soil layers, summing to 1: falling in a straight line from the surface to rooting depth.

    `grown` (D,) 0..1 is how far the root system is grown, `layers_m` (L,) are lower bounds of the layers [m]; result (D, L).
    """
    return root_layers(planned.planting.crop["root.depth"] * np.maximum(grown, LEAST_GROWN), layers_m)


def schoener_overlaps(a: Floats, b: Floats) -> Floats:
    """Niche overlap of profiles (..., L) that sum to 1: 1 - half the sum of their differences (Schoener 1970, eq. 1)."""
    return np.asarray(1.0 - 0.5 * np.abs(a - b).sum(axis=-1))


def schoener_overlap(a: Floats, b: Floats) -> float:
    """`schoener_overlaps` of two profiles (L,)."""
    return float(schoener_overlaps(a, b))
