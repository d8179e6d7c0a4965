"""Light in a layered canopy: who absorbs what when several plantings share the ground.

Each planting's leaf area is spread evenly over its own area and from the ground to its height.  In a layer the light falls off
after Beer and Lambert with the sum of k x leaf area of all plantings in it, and what the layer absorbs is split in that
proportion; this is exact for a horizontally uniform mixture (Sinoquet & Bonhomme 1992; Keating & Carberry 1993).  Where plantings
overlap in part, each sees the others thinned to the share of its own ground they stand on.
"""

from __future__ import annotations

import math

from .compiled import compiled, kept
from .constants import constant
from .tables import Canopy, Floats, Ground, Ints, Table

TINY = 1e-12
YOUNG_LAI = constant("young_lai")
LEAST_M = 1e-3
"""Lowest height of a canopy [m], so that a seedling's leaves have somewhere to be."""
LEAVES, HEIGHT, K, AREA, DENSE, LIGHT, LIT, USE, TOP = range(9)
"""Rows of `Canopy.room`: leaf area [m2], height [m], extinction coefficient and ground [m2] of plantings; k x leaf area index
by height of each [1/m], and its light [m2 of open sky]; light of a leaf under open sky over that which half saturates it, light
used [m2 of open sky], and light at its top."""
SMALL = 1e-3
"""Below this the first terms of a series are as exact as the function, and sooner found; above it exp and log are, but for some
1e-13, and take half of the time of expm1 and log1p."""


@compiled
def lost(depth: float) -> float:
    """Share of light that is lost on its way through a depth: 1 - exp(-depth)."""
    if depth < SMALL:
        return depth * (1.0 - depth / 2.0 * (1.0 - depth / 3.0 * (1.0 - depth / 4.0)))
    return 1.0 - math.exp(-depth)


@compiled
def log_above_one(more: float) -> float:
    """log(1 + more), for more of 0 and above."""
    if more < SMALL:
        return more * (1.0 - more * (1.0 / 2.0 - more * (1.0 / 3.0 - more / 4.0)))
    return math.log(1.0 + more)


@compiled
def cover(k: float, leaf_m2: float, area_m2: float) -> float:
    """Share of the ground that leaves cover, in light of Beer's law."""
    return lost(k * leaf_m2 / area_m2)


@compiled
def use_in_layer(lit: float, passed: float, absorbs: float) -> float:
    """Light used as well as weak light is in a layer that `absorbs` a share of the light that has `passed` to it.

    A leaf in light I uses I / (1 + I / I_half) of it (a rectangular hyperbola; Thornley 1976), integrated over the layer (Monsi &
    Saeki 1953); `lit` is the light of a leaf under open sky over I_half.
    """
    if lit <= TINY:
        return passed * absorbs
    return log_above_one(lit * passed * absorbs / (1.0 + lit * passed * (1.0 - absorbs))) / lit


@compiled
def share_light(
    attribute: bool, day: int, year: int, daily: Table, now: Table, state: Table, traits: Table, ground: Ground, canopy: Canopy
) -> None:
    """Light of all columns and of the mixture's leaves alone [m2 of open sky], uncorrected; what of it is used, with the day's
    corrections; the light at their tops; with `attribute`, who takes whose."""
    for c in range(len(state)):
        now[c].light = now[c].use = now[c].free_use = 0.0
        now[c].top = 1.0
        if state[c].leaf > 0.0:
            covered, factor = cover(traits[c].k, state[c].leaf, traits[c].area), ground.factor[day, c]
            now[c].light = covered * traits[c].area
            if c >= ground.mixed or ground.mixed == 1:
                lit = daily[traits[c].planting, year, day].bright * factor
                now[c].use = use_in_layer(lit, 1.0, covered) * traits[c].area * factor
            elif state[c].leaf < YOUNG_LAI * traits[c].young_ground:
                factor = ground.factor[day, len(state) + c]
                lit = daily[traits[c].planting, year, day].bright * factor
                now[c].free_use = use_in_layer(lit, 1.0, covered) * traits[c].area * factor
    room = canopy.room
    for i in range(ground.mixed):
        canopy.alone[i] = now[i].light
        room[LEAVES, i], room[HEIGHT, i] = state[i].leaf, now[i].height
        room[K, i], room[AREA, i] = traits[i].k, traits[i].area
        room[LIT, i] = daily[traits[i].planting, year, day].bright * ground.factor[day, i]
    if ground.mixed > 1:
        layers(room, canopy.rank, ground.overlap, canopy.above, canopy.weight, attribute)
        for i in range(ground.mixed):
            now[i].light = room[LIGHT, i]
            now[i].use, now[i].top = room[USE, i] * ground.factor[day, i], room[TOP, i]
        if attribute:
            find_takers(canopy.weight, canopy.alone, room[LIGHT], canopy.takers)


@compiled
def correct_light(day: int, now: Table, ground: Ground, canopy: Canopy) -> None:
    """Light as the voxel model has it; no planting absorbs more among others than its leaves would alone."""
    for c in range(len(now)):
        now[c].light *= ground.factor[day, c]
    for i in range(ground.mixed):
        canopy.alone[i] *= ground.factor[day, len(now) + i]
        now[i].light = min(now[i].light, canopy.alone[i])


@compiled
def _by_height(room: Floats, rank: Ints, everybody: bool) -> int:
    """Put plantings that have leaves (or `everybody`) first in `rank`, the tallest first; how many there are."""
    count = 0
    for i in range(len(rank)):
        if room[LEAVES, i] > 0.0 or everybody:
            n = count
            while n > 0 and room[HEIGHT, rank[n - 1]] < room[HEIGHT, i]:
                rank[n] = rank[n - 1]
                n -= 1
            rank[n] = i
            count += 1
    return count


@compiled
def layers(room: Floats, rank: Ints, overlap: Floats, above: Floats, weight: Floats, attribute: bool) -> None:
    """Light of plantings that share ground, layer by layer from the top, into `room`; with `attribute`, also the `weight` of
    who stood in whose light.  `rank` and `above` are room to work in."""
    count = _by_height(room, rank, attribute)
    for i in range(len(rank)):
        room[LIGHT, i] = room[USE, i] = 0.0
        room[TOP, i] = 1.0
    for n in range(count):
        i = rank[n]
        room[HEIGHT, i] = max(room[HEIGHT, i], LEAST_M)
        room[DENSE, i] = room[K, i] * room[LEAVES, i] / room[AREA, i] / room[HEIGHT, i]
        for j in range(len(rank) if attribute else 0):
            above[i, j] = weight[i, j] = 0.0
    for n in range(count):
        if attribute:
            _come_down_and_weigh(n, count, room, rank, overlap, above, weight)
        else:
            _come_down(n, count, room, rank, overlap)


@compiled
def _come_down(n: int, count: int, room: Floats, rank: Ints, overlap: Floats) -> None:
    """Light as it comes down on the ground of the planting with rank `n`.  Layers in which it sees the same leaves are one, as
    are those above its top, of which it matters only what they let through."""
    i, seen, over, thick = rank[n], 0.0, 0.0, 0.0
    for m in range(n):
        dense = overlap[i, rank[m]] * room[DENSE, rank[m]]
        seen += dense
        over += dense * (room[HEIGHT, rank[m]] - room[HEIGHT, i])
    passed = math.exp(-over) if over > 0.0 else 1.0
    room[TOP, i] = passed
    for layer in range(n, count):
        new, low = rank[layer], 0.0
        seen += overlap[i, new] * room[DENSE, new]
        if layer + 1 < count:
            low = room[HEIGHT, rank[layer + 1]]
        thick += room[HEIGHT, new] - low
        if layer + 1 == count or overlap[i, rank[layer + 1]] > 0.0:
            passed, _ = _absorb(i, True, seen, thick, passed, room)
            thick = 0.0


@compiled
def _come_down_and_weigh(n: int, count: int, room: Floats, rank: Ints, overlap: Floats, above: Floats, weight: Floats) -> None:
    """The same layer by layer, and who stands in the light of the planting."""
    i, seen, passed = rank[n], 0.0, 1.0
    for layer in range(count):
        new = rank[layer]
        if layer == n:
            room[TOP, i] = passed
        seen += overlap[i, new] * room[DENSE, new]
        if seen == 0.0:
            continue  # nothing of this layer or above it stands on i's ground
        thick = room[HEIGHT, new] - (room[HEIGHT, rank[layer + 1]] if layer + 1 < count else 0.0)
        passed, caught_by = _absorb(i, layer >= n, seen, thick, passed, room)
        _weigh(i, layer >= n, layer, thick, caught_by, room, rank, overlap, above, weight)


@compiled
def _absorb(i: int, present: bool, seen: float, thick: float, passed: float, room: Floats) -> tuple[float, float]:
    """A layer of leaves on the ground of planting i, its own among them where it is `present`: what passes of the light that has
    `passed` to it, and what of it a depth of leaves catches."""
    depth = max(seen * thick, TINY)
    absorbs = lost(depth)
    caught_by = passed * absorbs / depth
    if present:
        mine = room[DENSE, i] * thick * room[AREA, i]
        room[LIGHT, i] += caught_by * mine
        room[USE, i] += use_in_layer(room[LIT, i], passed, absorbs) * mine / depth
    return passed * (1.0 - absorbs), caught_by


@compiled
def _weigh(
    i: int, present: bool, layer: int, thick: float, caught_by: float, room: Floats, rank: Ints, overlap: Floats, above: Floats,
    weight: Floats,
) -> None:  # fmt: skip
    """What absorbs above and beside the leaves of planting i in a layer, weighted by these leaves."""
    for n in range(layer + 1):
        j = rank[n]
        other = overlap[i, j] * room[DENSE, j] * thick * caught_by
        if present:
            weight[i, j] += (above[i, j] + 0.5 * other) * room[DENSE, i] * thick
        above[i, j] += other


@compiled
def find_takers(weight: Floats, alone: Floats, light: Floats, takers: Floats) -> None:
    """Who takes whose light, rows summing to 1 where light is lost."""
    for i in range(len(weight)):
        weight[i, i] = 0.0
        total = 0.0
        for j in range(len(weight)):
            total += weight[i, j]
        for j in range(len(weight)):
            takers[i, j] = weight[i, j] / total if total > TINY and alone[i] > light[i] else 0.0


@kept("kernel_light", "tables")
def canopy_light(
    room: Floats, overlap: Floats, canopy: Canopy, alone: Floats, absorbed: Floats, taken: Floats, attribute: bool
) -> None:
    """Light of canopies `room` (Y, 9, P), whose first four rows are given, written to `alone`, `absorbed` (Y, P) and `taken`
    (Y, P, P)."""
    years, plants = alone.shape
    rank, above, weight, takers = canopy.rank, canopy.above, canopy.weight, canopy.takers
    for year in range(years):
        for i in range(plants):
            alone[year, i] = cover(room[year, K, i], room[year, LEAVES, i], room[year, AREA, i]) * room[year, AREA, i]
        layers(room[year], rank, overlap, above, weight, attribute)
        for i in range(plants):
            absorbed[year, i] = room[year, LIGHT, i]
        if attribute:
            find_takers(weight, alone[year], absorbed[year], takers)
            for i in range(plants):
                for j in range(plants):
                    taken[year, i, j] = takers[i, j] * max(alone[year, i] - absorbed[year, i], 0.0)
