"""Light in a layered canopy: who absorbs what when several plantings share the ground.

Each planting's leaf area is spread evenly over its own area and from the ground to its height.  In a layer the light falls off
after Beer and Lambert with the sum of k x leaf area of all plantings in it, and what the layer absorbs is split in that
proportion; this is exact for a horizontally uniform mixture (Sinoquet & Bonhomme 1992; Keating & Carberry 1993).  Where plantings
overlap in part, each sees the others thinned to the share of its own ground they stand on.
"""

from __future__ import annotations

import math

import numpy as np

from .compiled import compiled, kept
from .tables import Day, Floats, Ground, Ints, State, Traits

TINY = 1e-12
LEAST_M = 1e-3
"""Lowest height of a canopy [m], so that a seedling's leaves have somewhere to be."""
DENSE, SEEN, PASSED, CAUGHT = range(4)
"""Rows of `Day.canopy`: k x leaf area by height of a planting [1/m], of all that each sees in a layer [1/m], share of light that has
come down to a planting's layer, and light caught per ground."""


@compiled
def cover(k: float, leaf_m2: float, area_m2: float) -> float:
    """Share of the ground that leaves cover, in light of Beer's law."""
    return -math.expm1(-k * leaf_m2 / area_m2)


@compiled
def share_light(day: int, now: Day, state: State, traits: Traits, ground: Ground) -> None:
    """Light of all columns and of the mixture's leaves alone [m2 of open sky], uncorrected."""
    mixed = ground.mixed
    for c in range(len(state.leaf)):
        now.light[c] = 0.0
        if state.leaf[c] > 0.0:
            now.light[c] = cover(traits.k[c], state.leaf[c], traits.area[c]) * traits.area[c]
    for i in range(mixed):
        now.alone[i] = now.light[i]
    if mixed > 1:
        attribute = ground.attribute == 1 and day % 7 == 0
        layers(
            state.leaf, now.height, traits.k, traits.area, ground.overlap, now.canopy, now.rank, now.above, now.weight, now.light,
            attribute,
        )  # fmt: skip
        if attribute:
            find_takers(now.weight, now.alone, now.light, now.takers)


@compiled
def correct_light(day: int, now: Day, ground: Ground) -> None:
    """Light as the voxel model has it; no planting absorbs more among others than its leaves would alone."""
    mixed, columns = ground.mixed, len(now.light)
    for c in range(columns):
        now.light[c] *= ground.factor[day, c]
    for i in range(mixed):
        now.alone[i] *= ground.factor[day, columns + i]
        now.light[i] = min(now.light[i], now.alone[i])


@compiled
def _by_height(leaf_m2: Floats, height_m: Floats, rank: Ints, everybody: bool) -> int:
    """Put plantings that have leaves (or `everybody`) first in `rank`, the tallest first; how many there are."""
    count = 0
    for i in range(len(rank)):
        if leaf_m2[i] > 0.0 or everybody:
            n = count
            while n > 0 and height_m[rank[n - 1]] < height_m[i]:
                rank[n] = rank[n - 1]
                n -= 1
            rank[n] = i
            count += 1
    return count


@compiled
def layers(
    leaf_m2: Floats, height_m: Floats, k: Floats, area_m2: Floats, overlap: Floats, canopy: Floats, rank: Ints, above: Floats,
    weight: Floats, light: Floats, attribute: bool,
) -> None:  # fmt: skip
    """Light of plantings that share ground, layer by layer from the top, into `light`; with `attribute`, also the `weight` of who
    stood in whose light.  `canopy`, `rank` and `above` are room to work in."""
    count = _by_height(leaf_m2, height_m, rank, attribute)
    dense, seen, passed, caught = canopy[DENSE], canopy[SEEN], canopy[PASSED], canopy[CAUGHT]
    for n in range(count):
        i = rank[n]
        dense[i] = k[i] * leaf_m2[i] / area_m2[i] / max(height_m[i], LEAST_M)
        seen[i] = caught[i] = 0.0
        passed[i] = 1.0
    if attribute:
        above[:] = 0.0
        weight[:] = 0.0
    for layer in range(count):
        new = rank[layer]
        below = max(height_m[rank[layer + 1]], LEAST_M) if layer + 1 < count else 0.0
        thick = max(height_m[new], LEAST_M) - below
        for n in range(count):
            i = rank[n]
            seen[i] += overlap[i, new] * dense[new]
            depth = max(seen[i] * thick, TINY)
            absorbs = -math.expm1(-depth)
            caught_by = passed[i] * absorbs / depth
            if n <= layer:
                caught[i] += caught_by * dense[i] * thick
            if attribute:
                _weigh(i, n <= layer, layer, thick, caught_by, dense, rank, overlap, above, weight)
            passed[i] *= 1.0 - absorbs
    for n in range(count):
        i = rank[n]
        light[i] = caught[i] * area_m2[i]


@compiled
def _weigh(
    i: int, present: bool, layer: int, thick: float, caught_by: float, dense: Floats, rank: Ints, overlap: Floats, above: Floats,
    weight: Floats,
) -> None:  # fmt: skip
    """What absorbs above and beside the leaves of planting i in a layer, weighted by these leaves."""
    for n in range(layer + 1):
        j = rank[n]
        other = overlap[i, j] * dense[j] * thick * caught_by
        if present:
            weight[i, j] += (above[i, j] + 0.5 * other) * dense[i] * thick
        above[i, j] += other


@compiled
def find_takers(weight: Floats, alone: Floats, light: Floats, takers: Floats) -> None:
    """Who takes whose light, rows summing to 1 where light is lost."""
    for i in range(len(weight)):
        weight[i, i] = 0.0
        total = weight[i].sum()
        for j in range(len(weight)):
            takers[i, j] = weight[i, j] / total if total > TINY and alone[i] > light[i] else 0.0


@kept("kernel_light", "tables")
def canopy_light(
    leaf_m2: Floats, height_m: Floats, k: Floats, area_m2: Floats, overlap: Floats, absorbed: Floats, alone: Floats, taken: Floats
) -> None:
    """Light of given canopies (Y, P), written to `absorbed` and `alone` (Y, P) and, if it is not empty, `taken` (Y, P, P)."""
    years, plants = leaf_m2.shape
    canopy, above, weight = np.zeros((4, plants)), np.zeros((plants, plants)), np.zeros((plants, plants))
    takers, rank, light = np.zeros((plants, plants)), np.arange(plants), np.zeros(plants)
    attribute = len(taken) > 0
    for year in range(years):
        leaf = leaf_m2[year]
        for i in range(plants):
            alone[year, i] = cover(k[i], leaf[i], area_m2[i]) * area_m2[i]
            light[i] = alone[year, i]
        layers(leaf, height_m[year], k, area_m2, overlap, canopy, rank, above, weight, light, attribute)
        absorbed[year] = light
        if attribute:
            find_takers(weight, alone[year], light, takers)
            for i in range(plants):
                for j in range(plants):
                    taken[year, i, j] = max(alone[year, i] - light[i], 0.0) * takers[i, j]
