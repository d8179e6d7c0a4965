"""Light in three dimensions: the canopy as voxels, marched by `march`, for one state of a bed.

A planting's leaves stand where its plants stand: over their whole place for broadcast stands, in discs that grow with the
plant for drawn positions, in strips along rows, and on the trellis for climbers; they are spread evenly from the ground to the
plant's height.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.shelf import Shelf
from mixcraft.recipe.layout import Grid, edge_of_side, reach_m
from mixcraft.recipe.model import AtTrellis, Bed, Border, Obstacle
from mixcraft.recipe.plan import Planned

from .directions import Directions, leaf_projection
from .march import COMPILED, march, march_is_kept
from .march_arrays import Scene, Sums, march_numpy, scene_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LAYER_M = 0.1
LEAST_LEAF_M2 = 1e-9
LEAST_RADIUS_M = 0.05
BALANCE_TOLERANCE = 1e-9
"""Relative error allowed between light in and light absorbed and out: rounding only."""
COMPILE_AFTER = 100
"""Askings (about two seasons) after which compiling the march pays where that has not been done before: some seconds, against
half a second that the arrays take longer for a season of ten plantings."""
KEPT = 64
"""So many spreads of a planting are kept: a scouting season asks on some forty days, and its neighbours on the same."""
SIDES = ("foot", "head", "right", "left")


@dataclass(frozen=True)
class VoxelLight:
    """Light of one state: absorbed, alone (P,), taken (P, P) in m2 of open sky, and `ground` (nx, ny) as a share of the sky's
    light that reaches the soil."""

    absorbed: Floats
    alone: Floats
    taken: Floats
    ground: Floats


@dataclass(frozen=True)
class Walls:
    """Obstacles in bed axes: side index (foot, head, right, left), distance [m], height [m], opacity, where along the side they
    begin and end, and how deep they are [m]."""

    side: Ints
    distance: Floats
    height: Floats
    opacity: Floats
    low: Floats | None = None
    top: Floats | None = None
    deep: Floats | None = None

    @cached_property
    def rows(self) -> Floats:
        """As a scene has them, (7, W); what has no ends is endless."""
        count = len(self.side)
        low, top = (np.full(count, end) if a is None else a for a, end in ((self.low, -np.inf), (self.top, np.inf)))
        deep = np.zeros(count) if self.deep is None else self.deep
        return np.stack([self.side, self.distance, self.height, self.opacity, low, top, deep])


def walls_of(bed: Bed) -> Walls:
    """The obstacles of a bed; those without ends are taken to be long."""
    facing = {edge_of_side(side, bed.heading_deg): i for i, side in enumerate(SIDES)}
    found = [
        (facing[o.side], o.distance_m, o.height_m, o.opacity, *_ends(o, SIDES[facing[o.side]], bed), o.depth_m)
        for o in bed.obstacles
    ]
    columns = list(zip(*found, strict=True)) if found else [()] * WALL_ROWS
    return Walls(
        np.array(columns[0], dtype=np.int64), *(np.array(column, dtype=float) for column in columns[1:])
    )  # fmt: skip


def _ends(obstacle: Obstacle, side: str, bed: Bed) -> tuple[float, float]:
    """Where along its side an obstacle begins and ends [m], in the bed's own axes: garden files count from the west or south."""
    first = -np.inf if obstacle.first_m is None else obstacle.first_m
    last = np.inf if obstacle.last_m is None else obstacle.last_m
    along_y = side in ("foot", "head")
    counted = 90.0 if obstacle.side in ("north", "south") else 0.0
    turn = np.cos(np.radians(counted - bed.heading_deg + (90.0 if along_y else 0.0)))
    long = bed.width_m if along_y else bed.length_m
    return (first, last) if turn >= 0.0 else (long - last, long - first)


WALL_ROWS = 7
NO_WALLS = Walls(np.zeros(0, dtype=np.int64), *np.zeros((WALL_ROWS - 1, 0)))


class Spreader:
    """Where the leaves of one planting stand, as shares of its leaf area over the cells (nx * ny,), by how far it is grown."""

    def __init__(self, planned: Planned, grid: Grid) -> None:
        self.fixed: Floats = (planned.stand.cells / planned.stand.cells.sum()).ravel()
        self.distance: Floats | None = None
        self._known = Shelf(KEPT)
        self.edge_m = 0.5 * max(grid.dx_m, grid.dy_m)
        crop = planned.planting.crop
        self.radius = reach_m(crop) if planned.stand.edge == "" else crop["canopy.spread"] / 2.0
        self.radius = planned.stand.reach_m or self.radius
        x, y = (a.ravel() for a in grid.centres())
        stand = planned.stand
        self.mask = np.ones_like(x)
        if stand.positions is not None and len(stand.positions) <= 200:
            px, py = stand.positions[:, 0], stand.positions[:, 1]
            self.distance = np.hypot(px[:, None] - x, py[:, None] - y)
        elif stand.rows:
            self.distance = _row_distance(x, y, np.array(stand.rows))
        if isinstance(planned.planting.where, AtTrellis | Border):
            self.mask = (stand.cells.ravel() > 0.0).astype(float)

    def shares(self, grown: float) -> Floats:
        """Shares of the leaf area by cell, summing to 1, when the plant has `grown` (0..1) of its spread."""
        distance = self.distance
        if distance is None:
            return self.fixed
        found: Floats = self._known(grown, lambda: self._spread(distance, grown))
        return found

    def _spread(self, distance: Floats, grown: float) -> Floats:
        radius = max(LEAST_RADIUS_M, self.radius * grown)
        discs = np.minimum(np.maximum((radius + self.edge_m - distance) / (2.0 * self.edge_m), 0.0), 1.0)
        whole = discs.sum(axis=1, keepdims=True)
        if not whole.all():
            near = (distance == distance.min(axis=1, keepdims=True)).astype(float)
            discs = np.where(whole > 0.0, discs, near)
            whole = discs.sum(axis=1, keepdims=True)
        cells = (discs / whole).sum(axis=0) * self.mask
        total = cells.sum()
        return np.asarray(cells / total) if total > 0.0 else self.fixed


_asked, _before = [0], [False]


def _kernel() -> Callable[[Scene], Sums]:
    """The march to use: the compiled one where it has been compiled before; else arrays for the first seasons of a process, since
    a compiler takes longer than they do, and the compiled one from then on; arrays always where there is no numba."""
    _asked[0] += 1
    if _asked[0] == 1:
        _before[0] = march_is_kept()
    return march if COMPILED and (_before[0] or _asked[0] > COMPILE_AFTER) else march_numpy


def _row_distance(x: Floats, y: Floats, rows: Floats) -> Floats:
    """Distance [m] of points (n,) from rows (R, 2, 2), lines from one end to the other, (R, n)."""
    start, along = rows[:, 0, :, None], rows[:, 1, :, None] - rows[:, 0, :, None]
    length = np.maximum((along**2).sum(axis=1), 1e-12)
    from_x, from_y = x - start[:, 0], y - start[:, 1]
    t = np.minimum(np.maximum((from_x * along[:, 0] + from_y * along[:, 1]) / length, 0.0), 1.0)
    return np.asarray(np.hypot(from_x - t * along[:, 0], from_y - t * along[:, 1]))


def voxel_light(
    grid: Grid,
    shares: Floats,
    leaf_m2: Floats,
    height_m: Floats,
    k: Floats,
    directions: Directions,
    walls: Walls = NO_WALLS,
    *,
    cyclic: bool = False,
    layer_m: float = LAYER_M,
    kernel: Callable[[Scene], Sums] | None = None,
    solid: Floats | None = None,
) -> VoxelLight:
    """Light absorbed by each planting of a bed in one state.

    Parameters: `shares` (P, nx * ny) of each planting's leaf area by cell, `leaf_m2` (P,), `height_m` (P,), `k` (P,) extinction
    coefficients, `directions` of light with weights.  `cyclic` repeats the bed without end; `kernel` overrides the march;
    `solid` (P,) gives projected leaf area per leaf area directly instead of by `leaf_projection`.

    Raises `ValueError` if light in differs from light absorbed and out by more than rounding.
    """
    scene, present = _scene(grid, shares, leaf_m2, height_m, _projection(k, solid), directions, walls, layer_m, cyclic, True)
    sums = (kernel or _kernel())(scene)
    came, caught, out = sums.balance
    if abs(came - caught - out) > BALANCE_TOLERANCE * max(came, 1.0):
        raise ValueError(f"light in {came} is not light absorbed {caught} and out {out}")
    lost = np.clip(sums.lost, 0.0, None)
    np.fill_diagonal(lost, 0.0)
    total = lost.sum(axis=1, keepdims=True)
    lost *= np.divide(np.clip(sums.alone - sums.absorbed, 0.0, None)[:, None], total, out=np.zeros_like(total), where=total > 0.0)
    plants = len(leaf_m2)
    absorbed, alone, taken = np.zeros(plants), np.zeros(plants), np.zeros((plants, plants))
    absorbed[present], alone[present], taken[np.ix_(present, present)] = sums.absorbed, sums.alone, lost
    return VoxelLight(absorbed, alone, taken, (sums.ground.T if scene.turned else sums.ground) / grid.cell_m2)


def voxel_alone(
    grid: Grid,
    shares: Floats,
    leaf_m2: Floats,
    height_m: Floats,
    k: Floats,
    directions: Directions,
    walls: Walls = NO_WALLS,
    *,
    cyclic: bool = False,
    layer_m: float = LAYER_M,
    kernel: Callable[[Scene], Sums] | None = None,
) -> Floats:
    """Light [m2 of open sky], (P,), that each planting of a bed would absorb without the others: `voxel_light(..).alone` at a
    fraction of the cost.  Parameters as there."""
    scene, present = _scene(grid, shares, leaf_m2, height_m, _projection(k, None), directions, walls, layer_m, cyclic, False)
    alone = np.zeros(len(leaf_m2))
    alone[present] = (kernel or _kernel())(scene).alone
    return alone


def _projection(k: Floats, solid: Floats | None) -> Floats:
    return np.array([leaf_projection(float(v)) for v in k]) if solid is None else solid


def _scene(
    grid: Grid,
    shares: Floats,
    leaf_m2: Floats,
    height_m: Floats,
    projection: Floats,
    directions: Directions,
    walls: Walls,
    layer_m: float,
    cyclic: bool,
    mixed: bool,
) -> tuple[Scene, Ints]:
    """The scene of the plantings that have leaves, tallest first, and which they are."""
    height = np.maximum(height_m, 0.01)
    present = np.nonzero(np.asarray(leaf_m2) > LEAST_LEAF_M2)[0]
    present = present[np.argsort(-height[present], kind="stable")]
    density = leaf_m2[present] * projection[present] / (grid.cell_m2 * height[present])
    scene = scene_of(
        (grid.nx, grid.ny, grid.dx_m, grid.dy_m), shares[present] * density[:, None], height[present], directions,
        walls.rows, layer_m, cyclic, mixed,
    )  # fmt: skip
    return scene, present
