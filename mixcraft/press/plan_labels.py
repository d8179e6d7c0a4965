"""Numbers on the plants of a plan: each in its plant, none over another; plants without room for one carry their mark."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .svg import Point, on_circle

Circle = tuple[int, float, float, float]
"""A plant on the drawing: index of its planting, centre and radius [pt]."""
TRIES = ((0.0, 1), (0.35, 8), (0.7, 8))
"""Places for a number in its circle: share of the room to its rim, and directions."""
CLEAR = 0.6
"""Least gap between numbers [pt]."""
MARK = 2.0
"""Radius that a mark needs [pt]."""


def label_radius(index: int, size: float) -> float:
    """Radius [pt] of the disc around the number of planting `index` in text of `size` [pt]."""
    return (0.52 if index < 9 else 0.66) * size


class Labels:
    """Discs that are taken by numbers, in the order in which they were placed."""

    def __init__(self, size: float, box: tuple[float, float, float, float]) -> None:
        self.size, self.box = size, box
        self.placed: list[tuple[int, float, float, float]] = []
        self.leaders: list[tuple[Point, Point]] = []

    def place_far(self, circle: Circle) -> bool:
        """Give a plant in a crowd its number at the nearest free place, with a line to the plant; whether there was one."""
        index, x, y, _ = circle
        own = label_radius(index, self.size)
        for step in range(2, 30):
            for i in range(16):
                at = on_circle((x, y), 4.0 * step, 22.5 * i)
                if self.is_clear(at, own):
                    self.placed.append((index, *at, own))
                    self.leaders.append(((x, y), at))
                    return True
        return False

    def place(self, circle: Circle) -> bool:
        """Give the plant its number where that is clear of all others and inside the bed; whether there was room."""
        index, x, y, radius = circle
        own = label_radius(index, self.size)
        reach = max(radius - own, 0.0) + 1.5
        for share, count in TRIES:
            for i in range(count):
                at = on_circle((x, y), share * reach, 360.0 * i / count)
                if self.is_clear(at, own):
                    self.placed.append((index, *at, own))
                    return True
        return False

    def is_clear(self, at: Point, radius: float) -> bool:
        """Whether a disc lies inside the bed and clear of every number."""
        x0, y0, x1, y1 = self.box
        if not (x0 + radius <= at[0] <= x1 - radius and y0 + radius <= at[1] <= y1 - radius):
            return False
        return all(math.dist(at, (x, y)) >= r + radius + CLEAR for _, x, y, r in self.placed)


def numbered(circles: Sequence[Circle], size: float, box: tuple[float, float, float, float]) -> tuple[Labels, list[Circle]]:
    """Numbers for plants: first one for each planting, the few before the many, then as many as there is room for.

    Returns the numbers and the plants that carry their mark instead.
    """
    labels = Labels(size, box)
    groups: dict[int, list[Circle]] = {}
    for circle in circles:
        groups.setdefault(circle[0], []).append(circle)
    few_first = sorted(groups.values(), key=lambda g: (len(g), g[0][0]))
    left: list[Circle] = []
    rest: list[Circle] = []
    for group in few_first:
        got = next((c for c in group if labels.place(c)), None) or next((c for c in group if labels.place_far(c)), None)
        rest += [c for c in group if c is not got]
    for circle in rest:
        if not labels.place(circle):
            left.append(circle)
    return labels, left


def mark_spot(circle: Circle, labels: Labels) -> Point | None:
    """Where the mark of a plant without a number goes: its middle, or near it, clear of numbers."""
    _, x, y, radius = circle
    for share, count in TRIES:
        for i in range(count):
            at = on_circle((x, y), share * max(radius, 3.0), 360.0 * i / count)
            if labels.is_clear(at, MARK):
                return at
    return None
