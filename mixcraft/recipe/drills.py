"""Drills as a hand sows them: across a place or along it, neither very short nor very thin, and not through standing plants."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from mixcraft.crops.model import Crop
from mixcraft.files.facts import Facts

from .constants import constant
from .layout import Grid, Stand
from .notes import Note

if TYPE_CHECKING:
    from .plan import Planned

Line = tuple[tuple[float, float], tuple[float, float]]
WIDER = constant("drill_wider")
"""Drills lie no further apart than this times their usual distance."""


def drills(crop: Crop, stand: Stand, grid: Grid) -> tuple[Line, ...]:
    """Drills of a planting in its place, line segments [m]: across the bed at the crop's row distance, or somewhat nearer where
    that does not fit.

    Where the place is so narrow that they would be shorter than `drill_shortest`, they run along it; where the plants are so few
    that they would stand `drill_thinnest` times further apart than in the crop's usual row, there are fewer drills.
    """
    xs = np.nonzero(stand.cells.max(axis=1) > 0.5)[0]
    ys = np.nonzero(stand.cells.max(axis=0) > 0.5)[0]
    if not (xs.size and ys.size):
        return ()
    x0, x1 = float(xs[0] * grid.dx_m), float((xs[-1] + 1) * grid.dx_m)
    y0, y1 = float(ys[0] * grid.dy_m), float((ys[-1] + 1) * grid.dy_m)
    if y1 - y0 < constant("drill_shortest") - 1e-9 and x1 - x0 > y1 - y0:
        return tuple(((x0, at), (x1, at)) for at in _offsets(crop, stand.plants, y0, y1, x1 - x0))
    return tuple(((at, y0), (at, y1)) for at in _offsets(crop, stand.plants, x0, x1, y1 - y0))


def _offsets(crop: Crop, plants: float, low: float, high: float, run_m: float) -> list[float]:
    """Where drills of length `run_m` lie between `low` and `high` [m]."""
    usual = math.ceil((high - low) / (WIDER * crop["spacing.between_rows"] / 100.0))
    thinnest_m = constant("drill_thinnest") * crop["spacing.in_row"] / 100.0
    number = max(1, min(usual, math.floor(plants * thinnest_m / run_m)))
    return [float(low + (i + 0.5) * (high - low) / number) for i in range(number)]


def through_standing(plantings: Sequence[Planned]) -> list[tuple[str, str, int]]:
    """Sown rows that run through large plants standing there: who is sown, who stands, and how many of them are met."""
    found = []
    for sown in plantings:
        if sown.planting.establish != "drills" or not sown.stand.rows:
            continue
        for other in plantings:
            points = other.stand.positions
            stands = other.start < sown.start < other.end and points is not None
            if other is sown or not stands or other.planting.crop["canopy.spread"] < constant("drill_large_plant"):
                continue
            near = min(constant("drill_hand"), other.planting.crop["canopy.spread"] / 2.0)
            assert points is not None
            met = sum(any(_distance(line, (x, y)) < near for line in sown.stand.rows) for x, y in points.tolist())
            if met:
                found.append((sown.name, other.name, met))
    return found


def drill_notes(plantings: Sequence[Planned]) -> Iterator[Note]:
    """Drills that run through standing plants, those through the same plants together, with how many each meets at most."""
    met: dict[str, list[tuple[str, int]]] = {}
    for sown, standing, number in through_standing(plantings):
        met.setdefault(standing, []).append((sown, number))
    for standing, rows in met.items():
        most = float(max(number for _, number in rows))
        yield Note("drills", tuple(sown for sown, _ in rows), Facts(plants=most), Facts(standing=(standing,)))


def _distance(line: Line, point: tuple[float, float]) -> float:
    """Distance of a point from a line segment along an axis of the bed [m]."""
    (ax, ay), (bx, by) = line
    return math.hypot(max(ax - point[0], 0.0, point[0] - bx), max(ay - point[1], 0.0, point[1] - by))
