"""Where things go on a plan: marks of sown plantings at their density, and room for the numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.layout import Grid

Floats = NDArray[np.float64]

_STEPS = (1, 2, 5)
_PLASTIC = 1.324717957244746
"""Root of x^3 = x + 1; its powers give the evenly scattered points used here (additive recurrence in the plane, from memory)."""


def plants_per_mark(plants: float, room: float) -> int:
    """For how many plants one mark stands, of 1, 2, 5, 10, 20 ..., so that at most `room` marks are drawn."""
    ten = 1
    while True:
        for step in _STEPS:
            if plants <= step * ten * max(room, 1.0):
                return step * ten
        ten *= 10


def candidates(cells: Floats, grid: Grid, count: int, seed: int) -> Floats:
    """Evenly scattered points (n, 2) [m] of the cells that are at least half filled; the same for the same seed."""
    a = np.array([1.0 / _PLASTIC, 1.0 / _PLASTIC**2])
    share = max(float((cells > 0.5).mean()), 1.0 / cells.size)
    steps = np.arange(1, int(count / share) + 40)[:, None]
    unit = (0.37 + 0.113 * seed + steps * a) % 1.0
    ix = np.minimum((unit[:, 0] * grid.nx).astype(int), grid.nx - 1)
    iy = np.minimum((unit[:, 1] * grid.ny).astype(int), grid.ny - 1)
    inside = unit[cells[ix, iy] > 0.5]
    return np.asarray(inside * np.array([grid.nx * grid.dx_m, grid.ny * grid.dy_m]))


def scatter(
    counts: Sequence[int], cells: Sequence[Floats], grid: Grid, taken: Floats, margin_m: float, tries: int = 9
) -> list[Floats]:
    """Points (n, 2) [m] of several sown plantings on one bed, mixed evenly and clear of one another and of `taken`.

    `taken` (n, 3) holds x, y and radius [m] of what is drawn already.  Plantings take turns in proportion to their
    counts; each point is the best of a few evenly scattered ones.
    """
    length, width = grid.nx * grid.dx_m, grid.ny * grid.dy_m
    pools = [candidates(c, grid, n * tries, i) for i, (n, c) in enumerate(zip(counts, cells, strict=True))]
    order = sorted(((k + 0.5) / n, i) for i, n in enumerate(counts) for k in range(n))
    x, y, r = np.zeros((3, len(taken) + len(order)))
    x[: len(taken)], y[: len(taken)], r[: len(taken)] = taken.T
    used = [0] * len(counts)
    found: list[list[tuple[float, float]]] = [[] for _ in counts]
    filled = len(taken)
    for _, i in order:
        pool = pools[i][used[i] : used[i] + tries]
        used[i] += tries
        if not len(pool):
            continue
        px = np.clip(pool[:, 0], margin_m, length - margin_m)
        py = np.clip(pool[:, 1], margin_m, width - margin_m)
        if filled:
            gap = np.hypot(px[:, None] - x[None, :filled], py[:, None] - y[None, :filled]) - r[None, :filled]
            best = int(np.argmax(gap.min(axis=1)))
        else:
            best = 0
        x[filled], y[filled] = px[best], py[best]
        filled += 1
        found[i].append((float(px[best]), float(py[best])))
    return [np.array(points).reshape(-1, 2) for points in found]


def free_spot(
    box: tuple[float, float, float, float], taken: Sequence[tuple[float, float, float]], radius: float
) -> tuple[float, float]:
    """The point of a box (x0, y0, x1, y1) that lies clearest of `taken` circles (x, y, r), the middle before the rim."""
    x0, y0, x1, y1 = box
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    best, best_worth = middle, -math.inf
    for i in range(9):
        for j in range(9):
            x = x0 + radius + (x1 - x0 - 2 * radius) * i / 8 if x1 - x0 > 2 * radius else middle[0]
            y = y0 + radius + (y1 - y0 - 2 * radius) * j / 8 if y1 - y0 > 2 * radius else middle[1]
            clear = min((math.hypot(x - a, y - b) - r - radius for a, b, r in taken), default=99.0)
            worth = min(clear, 3.0) - 0.02 * math.hypot(x - middle[0], y - middle[1])
            if worth > best_worth:
                best, best_worth = (x, y), worth
    return best
