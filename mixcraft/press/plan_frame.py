"""How a bed lies on a drawing: its quarter turn, its scale, and where north is.

The bed lies in the quarter turn that gives the larger scale, north towards the top where there is a choice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixcraft.recipe.layout import side_of_edge
from mixcraft.recipe.plan import Plan

from .svg import Point

METRE_PT = 72.0 / 0.0254
"""Points in a metre at full size: 72 to the inch of 25.4 mm, by definition."""
SCALES = (2, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000)
WALL_GAP = 26.0
BAND = 6.5
"""Depth of the lattice that stands for a trellis [pt]."""
QUARTERS = ("right", "down", "left", "up")


@dataclass(frozen=True)
class Frame:
    """How the bed lies on the drawing: where its x axis points (a quarter), its corner and its scale."""

    x_points: str
    left: float
    top: float
    length_m: float
    width_m: float
    scale: int
    x0_m: float = 0.0
    """Where along the whole bed the drawing begins [m]."""

    @property
    def points_per_metre(self) -> float:
        """Points on paper for a metre of the bed."""
        return METRE_PT / self.scale

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the bed on the drawing [pt]."""
        long, wide = self.length_m * self.points_per_metre, self.width_m * self.points_per_metre
        return (long, wide) if self.x_points in ("right", "left") else (wide, long)

    def at(self, x_m: float, y_m: float) -> Point:
        """A place of the bed on the drawing [pt]."""
        k = self.points_per_metre
        x, y, length, width = x_m * k, y_m * k, self.length_m * k, self.width_m * k
        u, v = {
            "right": (x, width - y), "left": (length - x, y), "down": (y, x), "up": (width - y, length - x),
        }[self.x_points]  # fmt: skip
        return self.left + u, self.top + v

    def side(self, side: str) -> str:
        """Where a side of the bed (head, right, foot, left) lies on the drawing: right, down, left or up."""
        turn = QUARTERS.index(self.x_points) + ("head", "right", "foot", "left").index(side)
        return QUARTERS[turn % 4]


def north_bearing(x_points: str, heading_deg: float) -> float:
    """Direction of north on the drawing, clockwise from the top of the page [deg]."""
    x_on_page = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}[x_points]
    return (x_on_page - heading_deg) % 360.0 % 360.0  # twice: the rest of a hair below zero is 360 itself


def _margins(plan: Plan, x_points: str) -> dict[str, float]:
    margins = {"left": 17.0, "down": 15.0, "up": 10.0, "right": 12.0}
    probe = Frame(x_points, 0, 0, 1, 1, 1)
    for trellis in plan.bed.trellises:
        margins[probe.side(side_of_edge(trellis.edge, plan.bed.heading_deg))] += BAND + 10.0
    for side in {o.side for o in plan.bed.obstacles}:
        margins[probe.side(side_of_edge(side, plan.bed.heading_deg))] += WALL_GAP
    return margins


def frame_of(plan: Plan, width: float, height: float) -> tuple[Frame, dict[str, float]]:
    """The frame for a drawing of at most `width` x `height` points, and the margins around the bed [pt]."""
    bed = plan.bed
    best: tuple[tuple[float, ...], Frame, dict[str, float]] | None = None
    for order, x_points in enumerate(("right", "left", "up", "down")):
        margins = _margins(plan, x_points)
        room = width - margins["left"] - margins["right"], height - margins["up"] - margins["down"]
        long, wide = (bed.length_m, bed.width_m) if x_points in ("right", "left") else (bed.width_m, bed.length_m)
        need = max(long * METRE_PT / max(room[0], 1.0), wide * METRE_PT / max(room[1], 1.0))
        scale = next((s for s in SCALES if s >= need), math.ceil(need))
        north_up = math.cos(math.radians(north_bearing(x_points, bed.heading_deg))) >= -1e-6
        rank = (scale, not north_up, order)
        if best is None or rank < best[0]:
            frame = Frame(x_points, margins["left"], margins["up"], bed.length_m, bed.width_m, scale)
            best = rank, frame, margins
    assert best is not None
    return best[1], best[2]
