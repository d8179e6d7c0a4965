"""The march of rays through a bed of voxels with arrays over rays; see `march` for the model and the arguments."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def march_numpy(  # type: ignore[no-untyped-def]
    ux, uy, tan, sin, weight, shift_x, shift_y, nx, ny, dx, dy, dz, layers, start, plant, density, height, cyclic,
    wall_side, wall_distance, wall_height, wall_opacity, absorbed, alone, taken, ground, balance,
):  # fmt: skip
    """The same march with arrays over rays, all directions of one step count at a time.

    For machines without a compiler, for a first season (a compiler takes longer to load than one season takes to march), and to
    measure what the compiler gains.  Arguments as in `march`.
    """
    dense = np.zeros((len(height), nx * ny))
    column = np.repeat(np.arange(nx * ny), np.diff(start))
    dense[plant, column] = density
    present = np.unique(plant)
    if present.size == 0:
        present = np.zeros(1, dtype=np.int64)
    steps = np.maximum(1, np.ceil(dz / tan / min(dx, dy)).astype(int))
    for count in np.unique(steps):
        chosen = np.nonzero(steps == count)[0]
        _march_group(
            ux[chosen], uy[chosen], tan[chosen], sin[chosen], weight[chosen], shift_x[chosen], shift_y[chosen], nx, ny, dx, dy,
            dz, layers, int(count), present, dense[present], height[present], cyclic,
            (wall_side, wall_distance, wall_height, wall_opacity), absorbed, alone, taken, ground, balance,
        )  # fmt: skip


def _walls(x: Floats, y: Floats, z: float, ux: Floats, uy: Floats, tan: Floats, size: tuple[float, float], walls: Any) -> Floats:
    """Share of light that the walls let through to points, by ray; as `_wall_factor`."""
    factor = np.ones_like(x)
    for side, gap, high, opaque in zip(*walls, strict=True):
        away = (ux, -ux, uy, -uy)[side]
        clear = (x, size[0] - x, y, size[1] - y)[side] + gap
        blocked = (away > 1e-9) & (z + clear / np.where(away > 1e-9, away, 1.0) * tan < high)
        factor = np.where(blocked, factor * (1.0 - opaque), factor)
    return factor


def _march_group(  # type: ignore[no-untyped-def]
    ux, uy, tan, sin, weight, shift_x, shift_y, nx, ny, dx, dy, dz, layers, steps, present, dense, height, cyclic, walls,
    absorbed, alone, taken, ground, balance,
):  # fmt: skip
    """March the rays of directions that take the same number of steps a layer; rays of all directions in one axis."""
    rays = nx * ny
    size = (nx * dx, ny * dy)
    gx, gy = (np.tile(a.ravel(), len(ux)) for a in np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"))
    ux, uy, tan, sin, weight, shift_x, shift_y = (np.repeat(a, rays) for a in (ux, uy, tan, sin, weight, shift_x, shift_y))
    share, path, step_z = weight * dx * dy, dz / sin / steps, dz / steps
    step_x, step_y = ux * dz / tan / steps, uy * dz / tan / steps
    x, y, z = (gx + shift_x) * dx, (gy + shift_y) * dy, layers * dz
    light = _walls(x, y, z, ux, uy, tan, size, walls)
    balance[0] += (light * share).sum()
    alive, caught = np.tile(light, (len(dense), 1)), np.zeros((len(dense), light.size))
    turn_x, turn_y = np.zeros(light.size), np.zeros(light.size)
    x, y = x + 0.5 * step_x, y + 0.5 * step_y
    lost_to = np.zeros((len(dense), len(dense)))
    for _ in range(layers * steps):
        now_x, now_y = np.floor(x / size[0]), np.floor(y / size[1])
        inner_x, inner_y = x - now_x * size[0], y - now_y * size[1]
        new = np.nonzero((now_x != turn_x) | (now_y != turn_y))[0] if not cyclic else ()
        if len(new):
            balance[2] += (light[new] * share[new]).sum()
            fresh = _walls(inner_x[new], inner_y[new], z, ux[new], uy[new], tan[new], size, walls)
            light[new] = fresh
            balance[0] += (fresh * share[new]).sum()
            alive[:, new], caught[:, new] = fresh, 0.0
            turn_x[new], turn_y[new] = now_x[new], now_y[new]
        cell = np.minimum((inner_x / dx).astype(np.intp), nx - 1) * ny + np.minimum((inner_y / dy).astype(np.intp), ny - 1)
        inside = np.clip((height - (z - step_z)) / step_z, 0.0, 1.0)
        standing = np.nonzero(inside > 0.0)[0]
        if standing.size:
            tau = dense[np.ix_(standing, cell)] * (path * inside[standing, None])
            total = tau.sum(axis=0)
            lost = light * -np.expm1(-total)
            part = tau * np.divide(lost, total, out=np.zeros_like(total), where=total > 0.0)
            solo = alive[standing] * -np.expm1(-tau)
            absorbed[present[standing]] += part @ share
            alone[present[standing]] += solo @ share
            before = caught.copy()
            before[standing] += 0.5 * part
            lost_to[standing] += (tau * share) @ before.T
            alive[standing] -= solo
            caught[standing] += part
            light = light - lost
            balance[1] += (lost * share).sum()
        x, y, z = x + step_x, y + step_y, z - step_z
    np.fill_diagonal(lost_to, 0.0)
    taken[np.ix_(present, present)] += lost_to
    x, y = x - 0.5 * step_x, y - 0.5 * step_y
    if cyclic:
        now_x, now_y = np.floor(x / size[0]), np.floor(y / size[1])
    inner_x, inner_y = x - now_x * size[0], y - now_y * size[1]
    cell = np.clip((inner_x / dx).astype(np.intp), 0, nx - 1) * ny + np.clip((inner_y / dy).astype(np.intp), 0, ny - 1)
    ground += np.bincount(cell, light * share, minlength=rays).reshape(nx, ny)
    balance[2] += (light * share).sum()
