"""Traits of plantings through a season that the graph rests on: growth, ground cover, flowering, root profiles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.plan import Planned
from mixcraft.season.result import Season
from mixcraft.season.roots import root_layers, roots_grown

from .constants import constants

Floats = NDArray[np.float64]


def growing(season: Season) -> NDArray[np.bool_]:
    """Whether each planting has leaves in at least half of the years, (D, P)."""
    return np.asarray(2 * np.count_nonzero(season.leaf_m2, axis=1) >= season.years)


def ground_cover(season: Season, index: int) -> Floats:
    """Share of its own ground that the leaves of planting `index` cover, mean over years, (D,): 1 - exp(-k L)."""
    planned = season.plan.plantings[index]
    k, area = planned.planting.crop["canopy.k"], planned.stand.area_m2
    return np.asarray(-np.expm1(-k * season.leaf_m2[:, :, index] / area).mean(axis=1))


def flowering_days(season: Season, index: int, alive: NDArray[np.bool_] | None = None) -> NDArray[np.bool_]:
    """Whether planting `index` is in flower, middle year, (D,): from flowering, or bolting for crops that run to seed.

    `alive` (D, P) is `growing(season)`, if it is at hand.
    """
    planned = season.plan.plantings[index]
    clock = season.clocks[index]
    start = int(np.median(clock.flower))
    if "development.flower" not in planned.planting.crop.records or start >= NEVER:
        return np.zeros(season.days, dtype=bool)
    days = np.arange(season.days)
    return np.asarray((days >= start) & (growing(season) if alive is None else alive)[:, index])


def root_profile(planned: Planned, grown: Floats, layers_m: Floats) -> Floats:
    """Root length density over soil layers, summing to 1: falling in a straight line from the surface to rooting depth.

    `grown` (D,) 0..1 is how far the root system is grown, `layers_m` (L,) are lower bounds of the layers [m]; result (D, L).
    """
    return root_layers(planned.planting.crop["root.depth"] * np.maximum(grown, constants()["least_grown"]), layers_m)


def root_shares(season: Season, alive: NDArray[np.bool_] | None = None) -> Floats:
    """Root profiles through the season, (D, P, layers), each summing to 1 while the planting grows, else 0.

    `alive` (D, P) is `growing(season)`, if it is at hand.
    """
    plan, alive = season.plan, growing(season) if alive is None else alive
    depth = np.array([p.planting.crop["root.depth"] for p in plan.plantings])
    ready = np.array([p.planting.crop["development.ready"] for p in plan.plantings])
    layers = int(constants()["root_layers"])
    bounds = np.linspace(depth.max() / layers, depth.max(), layers)
    thermal = np.stack([clock.middle_thermal for clock in season.clocks])
    grown = np.maximum(roots_grown(thermal, ready[:, None]), constants()["least_grown"])
    profiles = np.zeros((*alive.shape, layers))
    profiles[alive] = root_layers((depth[:, None] * grown).T[alive], bounds)
    return profiles


def schoener_overlaps(a: Floats, b: Floats) -> Floats:
    """Niche overlap of profiles (..., L) that sum to 1: 1 - half the sum of their differences (Schoener 1970, eq. 1),
    which is the sum of what both have."""
    return np.asarray(np.minimum(a, b) @ np.ones(a.shape[-1]))


def schoener_overlap(a: Floats, b: Floats) -> float:
    """`schoener_overlaps` of two profiles (L,)."""
    return float(schoener_overlaps(a, b))
