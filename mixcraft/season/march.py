"""Rays marched through a bed of voxels, compiled: the same march as `march_arrays.march_numpy`, which see for the model.

Without numba `march` is the array version.

Rays are held by the column that they are over: the ray over column c is item `place + c` of a row of `state`, so that the
whole field moves along by a change of `place`; only rays that leave the bed are copied out, or over to the other side where
the bed is cyclic.
"""

from __future__ import annotations

import math

import numpy as np

from .compiled import COMPILED, fast, is_kept, kept
from .march_arrays import NEVER, PATH, SHARE, SHIFT_X, SHIFT_Y, STEP_X, STEP_Y, TAN, UX, UY, Scene, Sums, march_numpy, no_sums

__all__ = ["COMPILED", "march", "march_is_kept", "march_numpy"]

TERMS, HALVINGS = 7, 5
"""Terms of the Taylor series of an exponential and how often its argument is halved first: exp(-t) to 4e-12, as measured."""
DARK = 60.0
"""Optical depth that nothing passes (1e-26); deeper is cut off there, so that the exponential stays finite."""
NONE = 1e-30
"""Added to optical depths, so that no leaves need no branch."""
SCALE = 0.5**HALVINGS
IN, KEPT, OUT = range(3)
"""What a direction's light comes to, as in `Sums.balance`."""
PLACE, WENT_X, WENT_Y, MET, GONE = range(5)
"""How far a march is: item of the ray over the first column, cells gone along x and y, plantings met, rays that have left."""
SPARE, PER, PASSED, RATE = range(4)
"""Rows of room by column: leaves of a step with tops in it, light caught on it per projected leaf area and volume [m], and of
light that comes into it the share that passes and what is caught of it."""
FACES, GAP, HIGH, OPACITY, BEGINS, ENDS, DEEP = range(7)
"""Rows of what stands beside the bed, as in `Scene.walls`."""
LIGHT, FRESH, DEPTH = range(3)
"""Rows of a field of rays: light left, light it came in with, then optical depth of each planting, then what each caught."""


@fast
def _growth(t):  # type: ignore[no-untyped-def]
    """exp(t) for t >= 0, without a branch."""
    part = min(t, DARK) * SCALE
    value = 1.0
    for m in range(TERMS):
        value = 1.0 + value * part / (TERMS - m)
    for _ in range(HALVINGS):
        value *= value
    return value


@fast
def _wall_factor(x, y, z, ux, uy, tan, length, width, walls):  # type: ignore[no-untyped-def]
    """Share of light that the walls beside the bed let through to the point (x, y, z) from the direction it comes from."""
    factor = 1.0
    for w in range(walls.shape[1]):
        side, gap = walls[FACES, w], walls[GAP, w]
        at, back = y, -uy
        if side == 0:
            away, gap = ux, gap + x
        elif side == 1:
            away, gap = -ux, gap + length - x
        elif side == 2:
            away, gap, at, back = uy, gap + y, x, -ux
        else:
            away, gap, at, back = -uy, gap + width - y, x, -ux
        if away <= NEVER:
            continue
        first, last = gap / away, (gap + walls[DEEP, w]) / away
        if abs(back) > NEVER:
            one, other = (walls[BEGINS, w] - at) / back, (walls[ENDS, w] - at) / back
            first, last = max(first, min(one, other)), min(last, max(one, other))
        elif at < walls[BEGINS, w] or at > walls[ENDS, w]:
            continue
        if first <= last and z + first * tan < walls[HIGH, w]:
            factor *= 1.0 - walls[OPACITY, w]
    return factor


@fast
def _enter(state, met, mixed, to, stride, n, x, y, along_x, along_y, z, beam, length, width, walls):  # type: ignore[no-untyped-def]
    """Start `n` rays, the first at (x, y, z), with fresh light; the light that they bring."""
    brought = 0.0
    first, by, count = np.uint64(to), np.uint64(stride), np.uint64(n)
    for j in range(count):
        factor = 1.0
        if walls.shape[1] > 0:
            factor = _wall_factor(x + j * along_x, y + j * along_y, z, beam[UX], beam[UY], beam[TAN], length, width, walls)
        state[LIGHT, first + j * by] = factor
        state[FRESH, first + j * by] = factor
        brought += factor
    plants = (state.shape[0] - DEPTH) // 2
    for k in range(met):
        for j in range(count):
            state[DEPTH + k, first + j * by] = 0.0
        if mixed:
            for j in range(count):
                state[DEPTH + plants + k, first + j * by] = 0.0
    return brought


@fast
def _leave(state, met, mixed, at, stride, n, ended, over, gain):  # type: ignore[no-untyped-def]
    """Book `n` rays that leave the bed as items `over` and on of `ended`; the light that they take along."""
    light = 0.0
    first, by, count, end = np.uint64(at), np.uint64(stride), np.uint64(n), np.uint64(over)
    for j in range(count):
        light += state[LIGHT, first + j * by]
        ended[0, end + j] = state[FRESH, first + j * by]
    plants = gain.shape[0]
    for k in range(met):
        for j in range(count):
            ended[1 + k, end + j] = state[DEPTH + k, first + j * by]
        if mixed:
            caught = 0.0
            for j in range(count):
                caught += state[DEPTH + plants + k, first + j * by]
            gain[k] += caught
    return light


@fast
def _turn(state, at, to, stride, n, last_first):  # type: ignore[no-untyped-def]
    """Carry `n` rays over to the other side of a cyclic bed."""
    for row in range(state.shape[0]):
        for j in range(n):
            m = (n - 1 - j if last_first else j) * stride
            state[row, to + m] = state[row, at + m]


@fast
def _fade(dense, path, passed, rate):  # type: ignore[no-untyped-def]
    """What becomes of light that comes into a step, by column: the share `passed`, and the `rate` at which leaves catch it."""
    for i in range(dense.shape[0]):
        tau = dense[i] * path + NONE
        grown = _growth(tau)
        inverse = 1.0 / (grown * tau)
        passed[i] = inverse * tau
        rate[i] = (1.0 - passed[i]) * (inverse * grown) * path


@fast
def _dim(light, passed, rate, per):  # type: ignore[no-untyped-def]
    """Absorb one step's light; `per` becomes what is caught per projected leaf area and volume [m]."""
    for i in range(light.shape[0]):
        before = light[i]
        light[i] = before * passed[i]
        per[i] = before * rate[i]


@fast
def _catch(depth, caught, dense, part, path, per, seen):  # type: ignore[no-untyped-def]
    """Book one planting's part of a step."""
    for i in range(dense.shape[0]):
        here = dense[i] * part
        half = 0.5 * per[i] * here
        middle = caught[i] + half
        seen[i] += middle
        caught[i] = middle + half
        depth[i] += here * path


@fast
def _deepen(depth, dense, path):  # type: ignore[no-untyped-def]
    """Add one planting's leaves on a step to the optical depth along each ray."""
    for i in range(dense.shape[0]):
        depth[i] += dense[i] * path


@fast
def _book(lost, met, dense, seen, scale):  # type: ignore[no-untyped-def]
    """Add what one planting sees of the catch of the first `met` to its row of losses."""
    for q in range(met):
        row, total = seen[q], 0.0
        for i in range(dense.shape[0]):
            total += dense[i] * row[i]
        lost[q] += scale * total


@fast
def _stopped(depth, fresh):  # type: ignore[no-untyped-def]
    """Light of rays that would stop at these optical depths."""
    total = 0.0
    for i in range(depth.shape[0]):
        total += fresh[i] * (1.0 - 1.0 / _growth(depth[i]))
    return total


@fast
def _step(state, place, met, new, afresh, dense, above, part, path, weight, mixed, work, seen, lost):  # type: ignore[no-untyped-def]
    """One step of all rays through `met` plantings, the last `new` of which have their tops in it; `afresh` where its leaves are
    not those of the step before."""
    plants, cells = dense.shape
    old = met - new
    if not mixed:
        for k in range(met):
            _deepen(state[DEPTH + k, place : place + cells], dense[k], part[k] * path if k >= old else path)
        return
    leaves = above[old]
    if new > 0:
        spare = work[SPARE]
        for i in range(cells):
            spare[i] = leaves[i]
        for k in range(old, met):
            _book(lost[k], old, dense[k], seen, -part[k] * weight)
            for i in range(cells):
                spare[i] += part[k] * dense[k, i]
        leaves = spare
    if afresh:
        _fade(leaves, path, work[PASSED], work[RATE])
    _dim(state[LIGHT, place : place + cells], work[PASSED], work[RATE], work[PER])
    for k in range(met):
        depth, caught = state[DEPTH + k, place : place + cells], state[DEPTH + plants + k, place : place + cells]
        _catch(depth, caught, dense[k], part[k] if k >= old else 1.0, path, work[PER], seen[k])
    for k in range(old, met):
        _book(lost[k], met, dense[k], seen, (part[k] - 1.0) * weight)


@fast
def _move(n, last, beam, size, top, cyclic, mixed, walls, state, ended, at, gain, flow):  # type: ignore[no-untyped-def]
    """Carry the rays to where they are on step `n`, or on the ground when it is the `last`: over one edge after the other."""
    nx, ny, dx, dy = size
    move = min(n + 0.5, float(last))
    gone_x, gone_y = beam[SHIFT_X] + move * beam[STEP_X], beam[SHIFT_Y] + move * beam[STEP_Y]
    while at[WENT_X] != math.floor(gone_x) or at[WENT_Y] != math.floor(gone_y):
        place, by_x, by_y = at[PLACE], 0, 0
        if at[WENT_X] != math.floor(gone_x):
            by_x = 1 if gone_x > at[WENT_X] else -1
            leaving, coming, stride, rays = place, place + nx * ny, 1, ny
            if by_x > 0:
                leaving, coming = place + (nx - 1) * ny, place - ny
        else:
            by_y = 1 if gone_y > at[WENT_Y] else -1
            leaving, coming, stride, rays = place, place + ny, ny, nx
            if by_y > 0:
                leaving, coming = place + ny - 1, place - 1
        at[WENT_X] += by_x
        at[WENT_Y] += by_y
        at[PLACE] -= by_x * ny + by_y
        if cyclic:
            _turn(state, leaving, coming, stride, rays, by_y < 0)
            continue
        flow[OUT] += _leave(state, at[MET], mixed, leaving, stride, rays, ended, at[GONE], gain)
        at[GONE] += rays
        x = (gone_x - at[WENT_X] + (nx - 1 if by_x < 0 else 0)) * dx
        y = (gone_y - at[WENT_Y] + (ny - 1 if by_y < 0 else 0)) * dy
        z = top * (1.0 - move / last)
        flow[IN] += _enter(
            state, at[MET], mixed, coming, stride, rays, x, y, abs(by_y) * dx, abs(by_x) * dy, z, beam, nx * dx, ny * dy, walls
        )


@fast
def _start(last, beam, size, top, mixed, walls, state, seen, at, gain, flow):  # type: ignore[no-untyped-def]
    """Fresh rays over all columns, and everything that is counted by direction at nought."""
    nx, ny, dx, dy = size
    for i in range(at.shape[0]):
        at[i] = 0
    at[PLACE] = max(0, math.floor(beam[SHIFT_X] + last * beam[STEP_X])) * ny
    at[PLACE] += max(0, math.floor(beam[SHIFT_Y] + last * beam[STEP_Y]))
    for i in range(flow.shape[0]):
        flow[i] = 0.0
    for k in range(seen.shape[0]):
        gain[k] = 0.0
        for i in range(seen.shape[1]):
            seen[k, i] = 0.0
    x, y = beam[SHIFT_X] * dx, beam[SHIFT_Y] * dy
    for i in range(nx):
        flow[IN] += _enter(
            state, at[MET], mixed, at[PLACE] + i * ny, 1, ny, x + i * dx, y, 0.0, dy, top, beam, nx * dx, ny * dy, walls
        )


@fast
def _finish(  # type: ignore[no-untyped-def]
    beam, dense, mixed, state, ended, seen, at, first, gain, flow, absorbed, alone, lost, ground, balance
):  # fmt: skip
    """Add up what the rays of one direction brought, left and kept, once they are on the ground."""
    cells, share = dense.shape[1], beam[SHARE]
    for i in range(cells):
        ground[i] += state[LIGHT, at[PLACE] + i] * share
    flow[OUT] += _leave(state, at[MET], mixed, at[PLACE], 1, cells, ended, at[GONE], gain)
    end = at[GONE] + cells
    for k in range(at[MET]):
        if mixed:
            _book(lost[k], at[MET], dense[k], seen, beam[PATH] * share)
        absorbed[k] += gain[k] * share
        alone[k] += _stopped(ended[1 + k, first[k] : end], ended[0, first[k] : end]) * share
        flow[KEPT] += gain[k]
    for i in range(balance.shape[0]):
        balance[i] += flow[i] * share


@kept("march", "march_arrays", fastmath=True)
def _rays(  # type: ignore[no-untyped-def]
    beams, steps, dense, above, entry, part, size, layers, top, cyclic, mixed, walls, state, ended, work, seen, at, first, gain,
    flow, absorbed, alone, lost, ground, balance,
):  # fmt: skip
    """March the rays of all directions; `state` to `flow` are room to work in, the rest the fields of `Sums`."""
    plants, cells = dense.shape[0], np.uint64(dense.shape[1])
    for r in range(beams.shape[0]):
        beam, last = beams[r], layers * steps[r]
        _start(last, beam, size, top, mixed, walls, state, seen, at, gain, flow)
        before = 1
        for n in range(last + 1):
            _move(n, last, beam, size, top, cyclic, mixed, walls, state, ended, at, gain, flow)
            if n == last:
                break
            new = 0
            while at[MET] < plants and entry[r, at[MET]] <= n:
                for i in range(cells):
                    state[DEPTH + at[MET], np.uint64(at[PLACE]) + i] = 0.0
                    state[DEPTH + plants + at[MET], np.uint64(at[PLACE]) + i] = 0.0
                first[at[MET]] = at[GONE]
                at[MET] += 1
                new += 1
            if at[MET] > 0:
                _step(
                    state, at[PLACE], at[MET], new, new + before > 0, dense, above, part[r], beam[PATH], beam[PATH] * beam[SHARE],
                    mixed, work, seen, lost,
                )  # fmt: skip
            before = new
        _finish(beam, dense, mixed, state, ended, seen, at, first, gain, flow, absorbed, alone, lost, ground, balance)


def march_is_kept() -> bool:
    """Whether the march has been compiled before."""
    return is_kept(_rays)


def march(scene: Scene) -> Sums:
    """March all rays of a scene."""
    if not COMPILED:
        return march_numpy(scene)
    s, sums = scene, no_sums(scene)
    plants, cells = s.dense.shape
    far_x, far_y = (np.ceil(np.abs(s.beams[:, [STEP_X, STEP_Y]]) * (s.layers * s.steps[:, None])).astype(int) + 1).T
    slots = cells + int((far_x * s.ny + far_y).max(initial=0))
    leaving = cells + int((far_x * s.ny + far_y * s.nx).max(initial=0))
    state, ended = np.empty((DEPTH + 2 * plants, slots)), np.empty((1 + plants, leaving))
    work, seen, gain, flow = np.empty((RATE + 1, cells)), np.empty((plants, cells)), np.empty(plants), np.empty(OUT + 1)
    at, first = np.empty(GONE + 1, dtype=np.int64), np.empty(plants, dtype=np.int64)
    _rays(
        s.beams, s.steps, s.dense, s.above, s.entry, s.part, (s.nx, s.ny, s.dx, s.dy), s.layers, s.layers * s.layer_m, s.cyclic,
        s.mixed, s.walls, state, ended, work, seen, at, first, gain, flow, sums.absorbed, sums.alone, sums.lost,
        sums.ground.ravel(), sums.balance,
    )  # fmt: skip
    return sums
