"""Rays marched through a bed of voxels: the kernel of the light model, compiled when numba is there.

A bed is a grid of columns; a planting fills some of them with leaves of even density from the ground to its height.  For each
direction of light one ray starts above every column and is followed down in steps no longer than a cell.  On each step the
light left is absorbed after Beer and Lambert and shared between the plantings present in proportion to projected leaf area.
A ray that leaves the bed comes back on the other side as fresh light, which is what an open surrounding sends in; with
`cyclic` it keeps its loss, which makes the bed one of endless equals (used to check the model against published canopies).

The same function runs as plain Python when numba is missing, much slower; `march_arrays.march_numpy` is the array version,
which is taken then, and for the first season of a process.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from .march_arrays import march_numpy

__all__ = ["COMPILED", "march", "march_numpy"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
F = TypeVar("F", bound=Callable[..., Any])

try:
    import numba

    COMPILED = True

    def _compiled(function: F) -> F:
        made: Any = numba.njit(cache=True, fastmath=True, nogil=True)(function)
        return cast("F", made)
except ImportError:  # pragma: no cover - exercised by a test that hides numba
    COMPILED = False

    def _compiled(function: F) -> F:
        return function


@_compiled
def _caught(tau):  # type: ignore[no-untyped-def]
    """1 - exp(-tau); for thin steps by the (2, 2) Pade approximant of the exponential, relative error below 1e-5."""
    if tau < 0.3:
        square = tau * tau / 12.0
        return tau / (1.0 + 0.5 * tau + square)
    return -np.expm1(-tau)


@_compiled
def _wall_factor(  # type: ignore[no-untyped-def]
    x, y, z, ux, uy, tan, length, width, wall_side, wall_distance, wall_height, wall_opacity
):
    """Share of light that the walls beside the bed let through to the point (x, y, z) from the direction it comes from."""
    factor = 1.0
    for w in range(wall_side.shape[0]):
        side = wall_side[w]
        if side == 0:
            away, gap = ux, x + wall_distance[w]
        elif side == 1:
            away, gap = -ux, length - x + wall_distance[w]
        elif side == 2:
            away, gap = uy, y + wall_distance[w]
        else:
            away, gap = -uy, width - y + wall_distance[w]
        if away > 1e-9 and z + gap / away * tan < wall_height[w]:
            factor *= 1.0 - wall_opacity[w]
    return factor


@_compiled
def march(  # type: ignore[no-untyped-def]
    ux, uy, tan, sin, weight, shift_x, shift_y, nx, ny, dx, dy, dz, layers, start, plant, density, height, cyclic,
    wall_side, wall_distance, wall_height, wall_opacity, absorbed, alone, taken, ground, balance,
):  # fmt: skip
    """March all rays; results are added to `absorbed` (P,), `alone` (P,), `taken` (P, P), `ground` (nx, ny) and `balance` (3,).

    Directions (R,): `ux`, `uy` unit vector of travel over the ground, `tan` and `sin` of elevation, `weight` summing to 1,
    `shift_x`, `shift_y` where in its cell a ray starts (0..1).  Columns in compressed rows: entries `start[c]:start[c+1]` of
    `plant` (index) and `density` (projected leaf area per volume [1/m]); `height` (P,) [m].  Units of the results: square
    metres of open sky; `balance` holds light in, absorbed and out.
    """
    plants = height.shape[0]
    length, width = nx * dx, ny * dy
    area = dx * dy
    alive = np.ones(plants)
    caught = np.zeros(plants)
    tau = np.zeros(plants)
    for r in range(ux.shape[0]):
        reach = dz / tan[r]
        steps = max(1, int(np.ceil(reach / min(dx, dy))))
        path = dz / sin[r] / steps
        step_x, step_y, step_z = ux[r] * reach / steps, uy[r] * reach / steps, dz / steps
        share = weight[r] * area
        for ray in range(nx * ny):
            x = (ray // ny + shift_x[r]) * dx
            y = (ray % ny + shift_y[r]) * dy
            z = layers * dz
            turn_x, turn_y = 0, 0
            light = _wall_factor(
                x, y, z, ux[r], uy[r], tan[r], length, width, wall_side, wall_distance, wall_height, wall_opacity
            )
            balance[0] += light * share
            fresh = light
            for p in range(plants):
                alive[p] = light
                caught[p] = 0.0
            x += 0.5 * step_x
            y += 0.5 * step_y
            for _ in range(layers * steps):
                now_x, now_y = int(np.floor(x / length)), int(np.floor(y / width))
                if not cyclic and (now_x != turn_x or now_y != turn_y):
                    balance[2] += light * share
                    turn_x, turn_y = now_x, now_y
                    light = _wall_factor(
                        x - now_x * length, y - now_y * width, z, ux[r], uy[r], tan[r], length, width, wall_side,
                        wall_distance, wall_height, wall_opacity,
                    )  # fmt: skip
                    balance[0] += light * share
                    fresh = light
                    for p in range(plants):
                        alive[p] = light
                        caught[p] = 0.0
                ix = min(nx - 1, max(0, int((x - now_x * length) / dx)))
                iy = min(ny - 1, max(0, int((y - now_y * width) / dy)))
                column = ix * ny + iy
                low = z - step_z
                total = 0.0
                for m in range(start[column], start[column + 1]):
                    p = plant[m]
                    inside = (height[p] - low) / step_z
                    if inside <= 0.0:
                        tau[p] = 0.0
                        continue
                    tau[p] = density[m] * path * min(1.0, inside)
                    total += tau[p]
                if total > 0.0:
                    lost = light * _caught(total)
                    for m in range(start[column], start[column + 1]):
                        p = plant[m]
                        if tau[p] <= 0.0:
                            continue
                        mine = lost * tau[p] / total
                        absorbed[p] += mine * share
                        solo = alive[p] * _caught(tau[p])
                        alone[p] += solo * share
                        alive[p] -= solo
                        if fresh > 0.0:
                            part = tau[p] * share
                            for q in range(plants):
                                if q != p and caught[q] > 0.0:
                                    taken[p, q] += part * caught[q]
                            for n in range(start[column], start[column + 1]):
                                q = plant[n]
                                if q != p:
                                    taken[p, q] += part * 0.5 * lost * tau[q] / total
                    for m in range(start[column], start[column + 1]):
                        caught[plant[m]] += lost * tau[plant[m]] / total
                    balance[1] += lost * share
                    light -= lost
                x += step_x
                y += step_y
                z = low
            back = 0.5 if cyclic else 1.0
            now_x, now_y = int(np.floor((x - back * step_x) / length)), int(np.floor((y - back * step_y) / width))
            ix = min(nx - 1, max(0, int((x - 0.5 * step_x - now_x * length) / dx)))
            iy = min(ny - 1, max(0, int((y - 0.5 * step_y - now_y * width) / dy)))
            ground[ix, iy] += light * share
            balance[2] += light * share
