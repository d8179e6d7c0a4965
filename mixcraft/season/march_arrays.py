"""What the march of rays through a bed of voxels works on, and the march with the arrays of NumPy.

A bed is a grid of columns; a planting fills some of them with leaves of even density from the ground to its height.  For each
direction of light one ray starts above every column and is followed down in steps no longer than a cell.  On each step the
light left is absorbed after Beer and Lambert and shared between the plantings present in proportion to projected leaf area.
A ray that leaves the bed makes room for fresh light on the other side, which is what an open surrounding sends in; in a
`cyclic` bed it comes back itself, which makes the bed one of endless equals (used to check the model against published
canopies).

All rays of a direction start at the same point of their cells and move alike, so that on each step the whole field of rays
lies over the field of columns, moved by as many cells as they have gone: no ray needs a place worked out for it.  Where in its
cell a ray meets the ground does not depend on how high it starts, so that what a planting gets alone is the same whoever else
is asked for.  The light that a planting would absorb alone follows from the optical depth of its own leaves along each ray.
Who takes whose light follows from a sum by column of what each had caught of the rays before: every planting's leaves are the
same from its top to the ground, so that the sum below its top is all that counts.  Neither asks for an exponential, or for a
table of plantings by plantings, on each step.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.shelf import Same, Shelf

from .directions import Directions

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Window = tuple[slice, slice]

UX, UY, TAN, PATH, STEP_X, STEP_Y, SHIFT_X, SHIFT_Y, SHARE = range(9)
"""Columns of `Scene.beams`."""
NEVER = 1e-9
"""Light that gains less ground than this towards a wall does not meet it."""


_beams = Shelf(256)
"""Beams of the days that were last asked for; a bed is asked for on the same days again and again."""


@dataclass(frozen=True)
class Scene:
    """One state of a bed for a march.

    `nx`, `ny`, `dx`, `dy` [m] are the grid; where the bed was longer along x it is `turned`, x for y, so that the long side
    comes last and runs of columns are long.  `layers` layers of `layer_m` [m] reach over the tallest planting.  `dense`
    (K, nx * ny) is projected leaf area per volume [1/m] of the K plantings that have leaves, tallest first, `above`
    (K + 1, nx * ny) the sum of the first 0, 1, .. K.  `beams` (R, 9) holds by direction the unit vector of travel over the
    ground, the tangent of the elevation, the path on a step [m], the cells travelled along x and y on a step, where in its cell
    a ray starts and the open sky that a ray stands for [m2]; `steps` (R,) the steps a layer.  `entry` and `part` (R, K) tell
    the step that a planting's top lies in and the share of that step below the top.  `walls` (7, W): side, distance [m],
    height [m], opacity, where along the side it begins and ends [m], and how deep it is [m].  Where a scene is not `mixed`,
    every planting is taken by itself: only `alone` is added up.
    """

    nx: int
    ny: int
    dx: float
    dy: float
    layers: int
    layer_m: float
    cyclic: bool
    mixed: bool
    turned: bool
    dense: Floats
    above: Floats
    beams: Floats
    steps: Ints
    entry: Ints
    part: Floats
    walls: Floats


@dataclass(frozen=True)
class Sums:
    """What a march adds up [m2 of open sky]: `absorbed` (K,); `alone` (K,), what each would absorb without the others; `lost`
    (K, K), how much each column's planting counts in the row's loss [arbitrary]; `ground` (nx, ny); `balance` (3,), light in,
    absorbed and out."""

    absorbed: Floats
    alone: Floats
    lost: Floats
    ground: Floats
    balance: Floats


def no_sums(scene: Scene) -> Sums:
    """Sums of a scene at nought."""
    count = len(scene.dense)
    return Sums(np.zeros(count), np.zeros(count), np.zeros((count, count)), np.zeros((scene.nx, scene.ny)), np.zeros(3))


def scene_of(
    size: tuple[int, int, float, float],
    dense: Floats,
    height: Floats,
    directions: Directions,
    walls: Floats,
    layer_m: float,
    cyclic: bool,
    mixed: bool = True,
) -> Scene:
    """A scene on a grid of `size` (nx, ny, dx, dy) from plantings tallest first: `dense` and `height` (K,) [m]; see `Scene`."""
    nx, ny, dx, dy = size
    turned = nx > ny
    if turned:
        dense = dense.reshape(-1, nx, ny).swapaxes(1, 2).reshape(len(dense), nx * ny)
        nx, ny, dx, dy = ny, nx, dy, dx
        walls = np.concatenate([(walls[:1] + 2) % 4, walls[1:]])
    layers = max(1, int(np.ceil(height.max(initial=0.0) / layer_m - 1e-9)))
    key = (Same(directions), dx, dy, layer_m, turned)
    on_ground, steps = _beams(key, lambda: _from_ground(directions, dx, dy, layer_m, turned))
    down, beams = layers * steps, on_ground.copy()
    gone = down[:, None] * on_ground[:, STEP_X : STEP_Y + 1]
    beams[:, SHIFT_X : SHIFT_Y + 1] = (on_ground[:, SHIFT_X : SHIFT_Y + 1] - gone) % 1.0
    deep = (layers - height / layer_m) * steps[:, None]
    entry = np.minimum(np.maximum(np.floor(deep), 0.0), (down - 1)[:, None]).astype(np.int64)
    above = np.zeros((len(dense) + 1, nx * ny))
    np.cumsum(dense, axis=0, out=above[1:])
    part = np.minimum(np.maximum(entry + 1 - deep, 0.0), 1.0)
    return Scene(nx, ny, dx, dy, layers, layer_m, cyclic, mixed, turned, dense, above, beams, steps, entry, part, walls)


def _from_ground(d: Directions, dx: float, dy: float, layer_m: float, turned: bool) -> tuple[Floats, Ints]:
    """Beams of a scene as if they started on the ground, and the steps a layer."""
    ux, uy, shift_x, shift_y = (d.uy, d.ux, d.shift_y, d.shift_x) if turned else (d.ux, d.uy, d.shift_x, d.shift_y)
    reach = layer_m / d.tan
    steps = np.maximum(1, np.ceil(reach / min(dx, dy))).astype(np.int64)
    step_x, step_y = ux * reach / steps / dx, uy * reach / steps / dy
    return np.stack([ux, uy, d.tan, layer_m / d.sin / steps, step_x, step_y, shift_x, shift_y, d.weight * dx * dy], axis=1), steps


def march_numpy(scene: Scene) -> Sums:
    """March all rays with arrays over the bed, one direction after the other.

    For machines without a compiler, and for a first season: a compiler takes longer to load than one season takes to march.
    """
    sums = no_sums(scene)
    for r in range(len(scene.steps)):
        _march_direction(scene, r, sums)
    return sums


@dataclass(frozen=True)
class _Course:
    """Where the rays of one direction are, at their start, on each of `last` steps and on the ground, (last + 2) places.

    Rays have a field of their own, (nx, ny) and as much more as they come in from the sides; at place m the part `rays[m]` of
    it lies over the part `cells[m]` of the bed.  In a cyclic bed the rays stay and the bed, laid out twice each way, moves.
    `went` (2, last + 2) counts the cells gone along x and y, `over` the share of a cell gone besides, `z` is height [m].
    Runs of steps through the same plantings begin at `bounds` but for its last item.
    """

    last: int
    field: tuple[int, int]
    rays: list[Window]
    cells: list[Window]
    went: Ints
    over: Floats
    z: Floats
    bounds: list[int]


def _course(scene: Scene, r: int) -> _Course:
    nx, ny = scene.nx, scene.ny
    last = scene.layers * int(scene.steps[r])
    steps = np.arange(last)
    beam = scene.beams[r]
    gone = beam[[SHIFT_X, SHIFT_Y], None] + beam[[STEP_X, STEP_Y], None] * np.concatenate([[0.0], steps + 0.5, [last]])
    went = np.floor(gone).astype(np.int64)
    z = scene.layers * scene.layer_m * (1.0 - np.concatenate([[0.0], steps + 0.5, [last]]) / last)
    bounds = np.unique(np.concatenate([[0, last], scene.entry[r], scene.entry[r] + 1])).tolist()
    still = [(slice(0, nx), slice(0, ny))] * (last + 2)
    end = went[:, -1:]
    first = went % [[nx], [ny]] if scene.cyclic else np.maximum(end, 0) - went
    moved = [(slice(i, i + nx), slice(j, j + ny)) for i, j in zip(*first.tolist(), strict=True)]
    if scene.cyclic:
        return _Course(last, (nx, ny), still, moved, went, gone - went, z, bounds)
    field = nx + abs(int(end[0, 0])), ny + abs(int(end[1, 0]))
    return _Course(last, field, moved, still, went, gone - went, z, bounds)


def _wall_factor(scene: Scene, r: int, over: Floats, z: float) -> Floats:
    """Share of light, (nx, ny), that the walls let through to a point in each column, `over` of a cell from its corner."""
    ux, uy, tan = scene.beams[r, [UX, UY, TAN]]
    x, y = (np.arange(scene.nx)[:, None] + over[0]) * scene.dx, (np.arange(scene.ny) + over[1]) * scene.dy
    factor = np.ones((scene.nx, scene.ny))
    for side, gap, high, opacity, low, top, deep in scene.walls.T:
        away = (ux, -ux, uy, -uy)[int(side)]
        clear = (x, scene.nx * scene.dx - x, y, scene.ny * scene.dy - y)[int(side)] + gap
        at, back = (y, -uy) if side < 2 else (x, -ux)
        if away > NEVER:
            first, last = clear / away, (clear + deep) / away
            if abs(back) > NEVER:
                ends = (low - at) / back, (top - at) / back
                first, last = np.maximum(first, np.minimum(*ends)), np.minimum(last, np.maximum(*ends))
            else:
                last = np.where((at >= low) & (at <= top), last, -1.0)
            factor *= np.where((first <= last) & (z + first * tan < high), 1.0 - opacity, 1.0)
    return factor


def _fresh(scene: Scene, r: int, course: _Course) -> Floats:
    """Light that each ray of the field comes in with; 0 for those that never come over the bed."""
    fresh = np.full(course.field, -1.0)
    moved = np.nonzero((course.went[:, 1:] != course.went[:, :-1]).any(axis=0))[0] + 1
    for m in (0, *(() if scene.cyclic else moved.tolist())):
        window = fresh[course.rays[m]]
        if scene.walls.size:
            window[...] = np.where(window < 0.0, _wall_factor(scene, r, course.over[:, m], course.z[m]), window)
        else:
            window[...] = 1.0
    return np.asarray(np.maximum(fresh, 0.0))


def _bed(scene: Scene, values: Floats) -> Floats:
    """Values by column (.., nx * ny) as (.., nx, ny), laid out twice each way in a cyclic bed."""
    shaped = values.reshape(*values.shape[:-1], scene.nx, scene.ny)
    return np.tile(shaped, (2, 2)) if scene.cyclic else shaped


def _dimmed(scene: Scene, r: int, course: _Course, fresh: Floats) -> tuple[Floats, Floats]:
    """Light caught per projected leaf area and volume [m] on each step, (last, nx, ny), and light left in each ray at last."""
    entry, part, path = scene.entry[r], scene.part[r], scene.beams[r, PATH]
    depth = np.zeros(course.field)
    per = np.empty((course.last, scene.nx, scene.ny))
    rates = []
    for first, end in pairwise(course.bounds):
        new = entry == first
        tau = _bed(scene, path * (scene.above[np.count_nonzero(entry < first)] + part[new] @ scene.dense[new]))
        rates.append(path * np.divide(-np.expm1(-tau), tau, out=np.ones_like(tau), where=tau > 0.0))
        for n in range(first, end):
            view = depth[course.rays[n + 1]]
            per[n] = view
            view += tau[course.cells[n + 1]]
    np.exp(np.negative(per, out=per), out=per)
    for (first, end), rate in zip(pairwise(course.bounds), rates, strict=True):
        if not scene.cyclic:
            per[first:end] *= rate
        for n in range(first, end) if scene.cyclic or scene.walls.size else ():
            per[n] *= fresh[course.rays[n + 1]] * (rate[course.cells[n + 1]] if scene.cyclic else 1.0)
    return per, fresh * np.exp(-depth)


def _caught(scene: Scene, r: int, course: _Course, per: Floats, lost: Floats) -> Floats:
    """Light caught by each planting, (K,), in light of one ray; books `lost`."""
    entry, part = scene.entry[r], scene.part[r]
    dense = _bed(scene, scene.dense)
    caught, seen = np.zeros((len(dense), *course.field)), np.zeros_like(dense)
    weight = scene.beams[r, PATH] * scene.beams[r, SHARE]

    def book(which: slice, scale: Floats | float) -> None:
        shares = np.tensordot(dense[which], seen, ((1, 2), (1, 2)))
        lost[which] += weight * (shares.T * scale).T

    for first, end in pairwise(course.bounds):
        old, met = np.searchsorted(entry, [first, first + 1]).tolist()
        new, here, so_far, seen_here = slice(old, met), dense[:met], caught[:met], seen[:met]
        if met > old:
            book(new, -part[new])
            here = here * np.where(np.arange(met) < old, 1.0, part[:met])[:, None, None]
        for n in range(first, end):
            rays, cells = (slice(None), *course.rays[n + 1]), (slice(None), *course.cells[n + 1])
            now, seen_now = so_far[rays], seen_here[cells]
            now += per[n] * here[cells]
            seen_now += now
        seen_here -= 0.5 * here * _by_column(scene, course, per, first, end)
        if met > old:
            book(new, part[new] - 1.0)
    book(slice(None), 1.0)
    return np.asarray(caught.sum(axis=(1, 2)))


def _by_column(scene: Scene, course: _Course, per: Floats, first: int, end: int) -> Floats:
    """Sum of `per` over steps by column of the bed."""
    if not scene.cyclic:
        return np.asarray(per[first:end].sum(axis=0))
    total = np.zeros((2 * scene.nx, 2 * scene.ny))
    for n in range(first, end):
        total[course.cells[n + 1]] += per[n]
    return total


def _alone(scene: Scene, r: int, course: _Course, fresh: Floats) -> Floats:
    """Light that each planting would absorb by itself, (K,), in light of one ray."""
    entry, path = scene.entry[r], scene.beams[r, PATH]
    tau = _bed(scene, path * scene.dense)
    depth = np.zeros((len(tau), *course.field))
    for first, end in pairwise(course.bounds):
        met = int(np.count_nonzero(entry <= first))
        share = np.where(entry[:met] == first, scene.part[r, :met], 1.0)[:, None, None]
        here = tau[:met] * share
        for n in range(first, end):
            view = depth[(slice(0, met), *course.rays[n + 1])]
            view += here[(slice(None), *course.cells[n + 1])]
    came = fresh > 0.0
    return np.asarray(fresh.sum() - np.exp(-depth[:, came]) @ fresh[came])


def _march_direction(scene: Scene, r: int, sums: Sums) -> None:
    """March the rays of one direction and add what they say to the sums."""
    course, share = _course(scene, r), scene.beams[r, SHARE]
    fresh = _fresh(scene, r, course)
    sums.alone[:] += share * _alone(scene, r, course, fresh)
    if not scene.mixed:
        return
    per, left = _dimmed(scene, r, course, fresh)
    gain = share * _caught(scene, r, course, per, sums.lost)
    sums.absorbed[:] += gain
    back = course.went[:, -1] if scene.cyclic else (0, 0)
    sums.ground[:] += share * np.roll(left[course.rays[-1]], back, axis=(0, 1))
    sums.balance[:] += share * fresh.sum(), gain.sum(), share * left.sum()
