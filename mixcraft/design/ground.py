"""The ground of a bed as the design sees it: pieces in lanes, in order from the sunny side, and the trellises."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixcraft.recipe.layout import TRELLIS_DEPTH_M, side_of_edge
from mixcraft.recipe.model import Bed, Span, Strip, Where, Zone
from mixcraft.scoring.sunny_side import shaded_ways

from .constants import constant


@dataclass(frozen=True)
class Ground:
    """A bed in `lanes` lanes of `cells` pieces each, numbered lane by lane along the length.

    `beyond` lists pairs of pieces of which the second lies behind the first as seen from the noon sun, where something tall
    may shade it.
    `x` and `y` are the distances [m] at which pieces and lanes meet, from the foot and from the right.
    """

    bed: Bed
    x: tuple[float, ...]
    y: tuple[float, ...]
    beyond: tuple[tuple[int, int], ...]
    trellis: str = ""
    latitude_deg: float = 90.0

    def shaded(self, first: np.datetime64, last: np.datetime64) -> tuple[tuple[int, int], ...]:
        """Pairs (piece, piece on which its shadow of noon falls) over the days from `first` to `last`: `beyond`, and between the
        tropics the same turned round where the sun stands on the other side."""
        away = 1 if self.latitude_deg >= 0.0 else -1
        ways = shaded_ways(self.latitude_deg, first, last)
        return tuple(pair if way == away else pair[::-1] for way in ways for pair in self.beyond)

    @property
    def cells(self) -> int:
        """Pieces of a lane."""
        return len(self.x) - 1

    @property
    def lanes(self) -> int:
        """Lanes."""
        return len(self.y) - 1

    @property
    def count(self) -> int:
        """Pieces of the bed."""
        return self.cells * self.lanes

    def area_m2(self, cell: int) -> float:
        """Area of a piece [m2]."""
        lane, i = divmod(cell, self.cells)
        return (self.x[i + 1] - self.x[i]) * (self.y[lane + 1] - self.y[lane])

    def apart_m(self, front: int, behind: int) -> float:
        """Free distance between two pieces of a lane [m]; 0 for neighbours and for pieces of two lanes."""
        (lane, i), (other, j) = divmod(front, self.cells), divmod(behind, self.cells)
        low, high = min(i, j), max(i, j)
        return max(self.x[high] - self.x[low + 1], 0.0) if lane == other and low != high else 0.0

    def to_trellis_m(self, cell: int) -> float:
        """Distance of a piece from a trellis that lies behind it as seen from the noon sun [m]; infinite if none does."""
        if self.trellis not in ("north", "south"):
            return math.inf
        lane, i = divmod(cell, self.cells)
        side, bed = side_of_edge(self.trellis, self.bed.heading_deg), self.bed
        return {
            "foot": self.x[i], "head": bed.length_m - self.x[i + 1],
            "right": self.y[lane], "left": bed.width_m - self.y[lane + 1],
        }[side]  # fmt: skip

    def where(self, cells: tuple[int, ...]) -> Where:
        """The place of neighbouring pieces of one lane."""
        lane, first = divmod(cells[0], self.cells)
        x = Span(self.x[first]), Span(self.x[cells[-1] % self.cells + 1])
        return Strip(x) if self.lanes == 1 else Zone(x, (Span(self.y[lane]), Span(self.y[lane + 1])))


def trellis_edge(bed: Bed, latitude_deg: float) -> str:
    """The edge of the trellis that shades the bed least: away from the noon sun, else on a side; nothing if none is."""
    away = "north" if latitude_deg >= 0.0 else "south"
    edges = [t.edge for t in bed.trellises]
    return next((edge for edge in (away, "east", "west") if edge in edges), "")


def ground_of(bed: Bed, latitude_deg: float) -> Ground:
    """The pieces of a bed.

    A bed that runs north and south is planned in strips across it; one that runs east and west, if it is wide enough, in a front
    and a back lane.  The foot of a trellis that is used is left out.
    """
    trellis = trellis_edge(bed, latitude_deg)
    side = side_of_edge(trellis, bed.heading_deg) if trellis else ""
    ends = {"foot": 0.0, "head": 0.0, "right": 0.0, "left": 0.0}
    if side:
        ends[side] = min(TRELLIS_DEPTH_M, 0.4 * (bed.length_m if side in ("foot", "head") else bed.width_m))
    x = _marks(ends["foot"], bed.length_m - ends["head"], constant("cell_m"), int(constant("most_cells")))
    across = bed.width_m - ends["right"] - ends["left"]
    runs_north = abs(math.cos(math.radians(bed.heading_deg))) >= math.sqrt(0.5)
    two = not runs_north and across >= constant("two_lanes_m")
    if two:
        x = _marks(ends["foot"], bed.length_m - ends["head"], 2.0 * constant("cell_m"), int(constant("most_cells")) // 2)
    few = int(constant("small_cells")) // (2 if two else 1)
    if len(x) - 1 < few:
        length = bed.length_m - ends["head"] - ends["foot"]
        x = _marks(ends["foot"], bed.length_m - ends["head"], max(length / few, constant("cell_least_m")), few)
    y = _marks(ends["right"], bed.width_m - ends["left"], across / 2.0 if two else across, 2 if two else 1)
    return Ground(bed, x, y, _beyond(bed, latitude_deg, len(x) - 1, runs_north, two), trellis, latitude_deg)


def _marks(low: float, high: float, step: float, most: int) -> tuple[float, ...]:
    """Round distances that part a side in pieces of about `step`, the ends kept."""
    count = max(1, min(round((high - low) / step), most))
    unit = constant("round_m")
    inner = [round((low + (high - low) * i / count) / unit) * unit for i in range(1, count)]
    return (round(low, 3), *(round(mark, 3) for mark in inner), round(high, 3))


def _beyond(bed: Bed, latitude_deg: float, cells: int, runs_north: bool, two: bool) -> tuple[tuple[int, int], ...]:
    """Pairs (sunny piece, piece behind it)."""
    sun = 180.0 if latitude_deg >= 0.0 else 0.0
    toward = math.radians(sun - bed.heading_deg)
    if runs_north:
        order = list(range(cells)) if math.cos(toward) < 0.0 else list(reversed(range(cells)))
        return tuple((order[i], order[i + d]) for i in range(cells) for d in range(1, cells - i))
    if not two:
        return ()
    # lane 0 lies to the right of someone who looks from foot to head
    right_is_sunny = math.sin(toward) > 0.0
    pairs = [(i, cells + i) for i in range(cells)]
    return tuple(pairs if right_is_sunny else [(b, a) for a, b in pairs])
