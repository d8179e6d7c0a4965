"""The bed drawn to scale: outline with lengths, trellises, what shades it, and every planting where it stands.

Lengths are in points; a metre of the bed is `points_per_metre` of them, a whole scale such as 1:20.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.words.amounts import Units

from .marks import draw_marks, draw_number, draw_plant
from .plan_frame import Frame, frame_of
from .plan_rim import draw_rim
from .scatter import free_spot, plants_per_mark, scatter
from .svg import GREY, PAPER, Drawing, Point, between

Floats = NDArray[np.float64]

LEAST_RADIUS = 5.2
"""Smallest circle that holds a legible number [pt]; closer plants are drawn as marks."""
MARK_RADIUS = 1.9
MARK_ROOM = 52.0
"""Least area of the drawing for each mark of a sown planting [pt2]."""
BADGE = 5.6
NUMBER = 4.2
"""Half the width of a number in a circle [pt]."""
NUDGE = 5.0
"""A circle is moved by so much at most for the sake of its neighbours' numbers [pt]."""


@dataclass(frozen=True)
class DrawnPlan:
    """A drawn plan; `kinds` says how each planting is drawn (plants, lines, sown), `circles` are (planting, x, y, r) [pt].

    `per_mark` is the number of plants that a mark of a sown planting stands for.
    """

    svg: str
    frame: Frame
    kinds: tuple[str, ...]
    circles: tuple[tuple[int, float, float, float], ...]
    per_mark: tuple[int, ...]
    width: float
    height: float


def draw_plan(plan: Plan, width: float, height: float, units: Units = "metric") -> DrawnPlan:
    """Draw the bed of `plan` with its plantings on at most `width` x `height` points (the scale bar included)."""
    frame, margins = frame_of(plan, width, height - 22.0)
    bed_w, bed_h = frame.size
    total_h = margins["up"] + bed_h + margins["down"] + 22.0
    total_w = max(margins["left"] + bed_w + margins["right"], min(width, 210.0))
    frame = Frame(
        frame.x_points, margins["left"] + (total_w - margins["left"] - bed_w - margins["right"]) / 2, frame.top,
        frame.length_m, frame.width_m, frame.scale,
    )  # fmt: skip
    drawing = Drawing(total_w, total_h, f"Plan of the bed, scale 1:{frame.scale}")
    drawing.rectangle(frame.left, frame.top, bed_w, bed_h, 0.0, PAPER)
    kinds, circles, per_mark = _draw_plantings(drawing, plan, frame)
    drawing.rectangle(frame.left, frame.top, bed_w, bed_h, 1.6)
    draw_rim(drawing, plan, frame, units)
    return DrawnPlan(drawing.svg(), frame, kinds, circles, per_mark, total_w, total_h)


def drawn_as(planned: Planned, frame: Frame) -> str:
    """How a planting is drawn: plants (a circle each), lines (rows with marks) or sown (marks over its place)."""
    stand = planned.stand
    if stand.positions is not None and len(stand.positions):
        gap = _own_gap(stand.positions) * frame.points_per_metre
        return "plants" if gap >= 2 * LEAST_RADIUS * 0.92 else "lines" if stand.rows else "sown"
    return "lines" if stand.rows else "sown"


def _own_gap(positions: Floats) -> float:
    """Middle distance of a plant to the next of its kind [m]."""
    return float(np.median(_nearest(positions, positions, True))) if len(positions) > 1 else math.inf


def _draw_plantings(
    drawing: Drawing, plan: Plan, frame: Frame
) -> tuple[tuple[str, ...], tuple[tuple[int, float, float, float], ...], tuple[int, ...]]:
    kinds = tuple(drawn_as(p, frame) for p in plan.plantings)
    circles = _circles(plan, frame, kinds)
    taken = [(x, y, r) for _, x, y, r in circles]
    badges: list[tuple[int, Point]] = []
    for planned, kind in zip(plan.plantings, kinds, strict=True):
        if kind == "lines":
            spots = _draw_lines(drawing, planned, frame, taken)
            badges += [(planned.index, at) for at in spots]
            taken += [(x, y, BADGE) for x, y in spots]
    for planned, kind in zip(plan.plantings, kinds, strict=True):
        box = _box(planned, plan, frame)
        if kind == "sown" and box is not None:
            drawing.rectangle(box[0], box[1], box[2] - box[0], box[3] - box[1], 0.8, dash="3 2")
            spot = free_spot(box, taken, BADGE)
            badges.append((planned.index, spot))
            taken.append((*spot, BADGE))
    per_mark = _draw_sown(drawing, plan, frame, kinds, taken)
    largest_first = sorted(circles, key=lambda c: -c[3])
    for index, x, y, radius in largest_first:
        draw_plant(drawing, index, (x, y), radius)
    for index, x, y, radius in largest_first:
        draw_number(drawing, index, (x, y), radius)
    for index, at in badges:
        drawing.badge(at, str(index + 1), BADGE)
    return kinds, circles, per_mark


def _circles(
    plan: Plan, frame: Frame, kinds: Sequence[str]
) -> tuple[tuple[int, float, float, float], ...]:
    """Circles of the plants drawn one by one: half a spread, less where they would hide one another.

    All plants of a planting have the same circle, but for those at the rim of the bed.
    """
    places = {
        p.index: np.array([frame.at(float(x), float(y)) for x, y in p.stand.positions])
        for p, kind in zip(plan.plantings, kinds, strict=True)
        if kind == "plants" and p.stand.positions is not None
    }
    result = []
    for index, own in places.items():
        others = np.concatenate([q for i, q in places.items() if i != index] or [np.zeros((0, 2))])
        radius = _radius(plan.plantings[index], plan, frame, own, others)
        for u, v in own:
            result.append((index, *_inside(frame, float(u), float(v), radius)))
    return _apart(frame, result)


def _apart(
    frame: Frame, circles: Sequence[tuple[int, float, float, float]]
) -> tuple[tuple[int, float, float, float], ...]:
    """Circles nudged, by `NUDGE` at most, where a smaller one would hide the number of a larger one."""
    if len(circles) < 2:
        return tuple(circles)
    at = np.array([(u, v) for _, u, v, _ in circles])
    r = np.array([c[3] for c in circles])
    kind = np.array([c[0] for c in circles])
    home = at.copy()
    need = np.minimum(r[:, None], r[None, :]) + NUMBER
    need = np.where(kind[:, None] == kind[None, :], 0.0, need)
    for _ in range(12):
        delta = at[:, None, :] - at[None, :, :]
        distance = np.hypot(delta[..., 0], delta[..., 1])
        np.fill_diagonal(distance, 1e9)
        lack = np.clip(need - distance, 0.0, None)
        if not (lack > 0.05).any():
            break
        away = np.where(distance[..., None] > 1e-3, delta / np.maximum(distance[..., None], 1e-3), (1.0, 0.0))
        moved = at + 0.5 * (away * lack[..., None]).sum(axis=1) - home
        long = np.hypot(moved[:, 0], moved[:, 1])
        at = home + moved * np.minimum(1.0, NUDGE / np.maximum(long, 1e-9))[:, None]
    x0, y0, (w, h) = frame.left, frame.top, frame.size
    return tuple(
        (index, min(max(float(u), x0 + s), x0 + w - s), min(max(float(v), y0 + s), y0 + h - s), s)
        for (index, _, _, s), (u, v) in zip(circles, at, strict=True)
    )


def _radius(planned: Planned, plan: Plan, frame: Frame, own: Floats, others: Floats) -> float:
    """Radius of the circles of a planting [pt]."""
    radius = planned.planting.crop["canopy.spread"] / 2 * frame.points_per_metre
    if len(own) > 1:
        radius = min(radius, 0.5 * float(np.quantile(_nearest(own, own, True), 0.1)))
    if len(others):
        radius = min(radius, max(0.62 * float(np.quantile(_nearest(own, others), 0.25)), 8.0))
    if any(p.stand.cells[planned.stand.cells > 0.5].mean() > 0.5 for p in plan.plantings if p.stand.positions is None):
        radius *= 0.72  # what is sown between them must be seen
    return max(LEAST_RADIUS, radius)


def _nearest(points: Floats, others: Floats, same: bool = False) -> Floats:
    """Distance from each point to the nearest of the others (to the nearest but itself when they are the same)."""
    delta = points[:, None, :] - others[None, :, :]
    distance = np.hypot(delta[..., 0], delta[..., 1])
    if same:
        np.fill_diagonal(distance, np.inf)
    return np.asarray(distance.min(axis=1))


def _inside(frame: Frame, u: float, v: float, radius: float) -> tuple[float, float, float]:
    """A circle moved and shrunk a little, so that it lies inside the bed."""
    x0, y0, (w, h) = frame.left, frame.top, frame.size
    rim = max(min(u - x0, x0 + w - u, v - y0, y0 + h - v), 0.0)
    radius = max(LEAST_RADIUS, min(radius, rim + 4.0))
    return min(max(u, x0 + radius), x0 + w - radius), min(max(v, y0 + radius), y0 + h - radius), radius


def _draw_lines(
    drawing: Drawing, planned: Planned, frame: Frame, taken: Sequence[tuple[float, float, float]]
) -> list[Point]:
    """Rows with marks at the distance of the plants, no closer than can be told apart; the places of the numbers."""
    rows = planned.stand.rows
    total = sum(math.dist(a, b) for a, b in rows)
    step = max(total / max(planned.stand.plants, 1.0) * frame.points_per_metre, 7.5)
    labels: list[Point] = []
    marks: list[Point] = []
    most = min(len(rows), 3)
    labelled = {round(i * (len(rows) - 1) / max(most - 1, 1)) for i in range(most)}
    for i, (a, b) in enumerate(rows):
        start, end = frame.at(*a), frame.at(*b)
        drawing.line(start, end, 0.5, GREY)
        count = max(1, int(math.dist(start, end) / step))
        points = [between(start, end, (j + 0.5) / count) for j in range(count)]
        if i in labelled and math.dist(start, end) > 3 * BADGE:
            at = _clear_on_line(start, end, [*taken, *((x, y, BADGE) for x, y in labels)])
            labels.append(at)
            points = [p for p in points if math.dist(p, at) > BADGE + 2.5]
        marks += points
    draw_marks(drawing, planned.index, marks, MARK_RADIUS)
    return labels


def _clear_on_line(a: Point, b: Point, taken: Sequence[tuple[float, float, float]]) -> Point:
    """The place on a line that lies clear of what is drawn already, as near to its lower or left end as may be."""
    if (a[1], -a[0]) < (b[1], -b[0]):
        a, b = b, a
    near = (BADGE + 2.0) / math.dist(a, b)
    shares = np.linspace(near, 1.0 - near, 24)
    points = [between(a, b, float(t)) for t in shares]
    room = [min((math.dist(p, (x, y)) - r - BADGE for x, y, r in taken), default=9.0) for p in points]
    best = max(range(len(points)), key=lambda i: (min(room[i], 1.5), -i))
    return points[best]


def _box(planned: Planned, plan: Plan, frame: Frame) -> tuple[float, float, float, float] | None:
    """The place of a planting on the drawing (x0, y0, x1, y1) [pt]; None for the whole bed."""
    cells, grid = planned.stand.cells, plan.grid
    if isinstance(planned.planting.where, WholeBed):
        return None
    xs, ys = np.nonzero(cells.max(axis=1) > 1e-9)[0], np.nonzero(cells.max(axis=0) > 1e-9)[0]
    along, across = cells.max(axis=1), cells.max(axis=0)
    # a cell that is partly filled is filled from the neighbour's side
    x0 = (xs[0] + (1 - along[xs[0]] if len(xs) > 1 else 0)) * grid.dx_m
    x1 = (xs[-1] + (along[xs[-1]] if len(xs) > 1 else 1)) * grid.dx_m
    y0 = (ys[0] + (1 - across[ys[0]] if len(ys) > 1 else 0)) * grid.dy_m
    y1 = (ys[-1] + (across[ys[-1]] if len(ys) > 1 else 1)) * grid.dy_m
    (u0, v0), (u1, v1) = frame.at(float(x0), float(y0)), frame.at(float(x1), float(y1))
    return min(u0, u1), min(v0, v1), max(u0, u1), max(v0, v1)


def _draw_sown(
    drawing: Drawing, plan: Plan, frame: Frame, kinds: Sequence[str], taken: Sequence[tuple[float, float, float]]
) -> tuple[int, ...]:
    sown = [p for p, kind in zip(plan.plantings, kinds, strict=True) if kind == "sown"]
    per_mark = [1] * len(plan.plantings)
    if not sown:
        return tuple(per_mark)
    k = frame.points_per_metre
    crowd = sum(p.stand.cells for p in sown)
    counts = []
    for planned in sown:
        share = float((planned.stand.cells / np.maximum(crowd, 1e-9)).sum()) * plan.grid.cell_m2 * k * k
        weight = max(share / MARK_ROOM, 4.0)
        per_mark[planned.index] = plants_per_mark(planned.stand.plants, max(weight, planned.stand.plants / 400))
    # plants mixed over the same place keep their true proportions
    mixed = [p for p in sown if isinstance(p.planting.where, WholeBed)]
    room = bed_room(frame) / MARK_ROOM
    for planned in mixed:
        per_mark[planned.index] = plants_per_mark(sum(p.stand.plants for p in mixed), min(room, 1400.0))
    for planned in sown:
        counts.append(max(1, round(planned.stand.plants / per_mark[planned.index])))
    back = _metres(frame, taken)
    points = scatter(counts, [p.stand.cells for p in sown], plan.grid, back, (MARK_RADIUS + 1.2) / k)
    for planned, places in zip(sown, points, strict=True):
        clear = [frame.at(float(x), float(y)) for x, y in places]
        box = _box(planned, plan, frame)
        if box is not None:
            clear = [_within(at, box, MARK_RADIUS + 1.4) for at in clear]
        draw_marks(
            drawing, planned.index,
            [c for c in clear if all(math.dist(c, t[:2]) > t[2] + 1.6 for t in taken)], MARK_RADIUS,
        )  # fmt: skip
    return tuple(per_mark)


def _within(at: Point, box: tuple[float, float, float, float], inset: float) -> Point:
    """A point moved so that it lies inside a box."""
    x0, y0, x1, y1 = box
    dx, dy = min(inset, (x1 - x0) / 2), min(inset, (y1 - y0) / 2)
    return min(max(at[0], x0 + dx), x1 - dx), min(max(at[1], y0 + dy), y1 - dy)


def bed_room(frame: Frame) -> float:
    """Area of the bed on the drawing [pt2]."""
    return frame.size[0] * frame.size[1]


def _metres(frame: Frame, taken: Sequence[tuple[float, float, float]]) -> Floats:
    """Circles of the drawing back on the bed: x, y, r [m]."""
    k, (w, h) = frame.points_per_metre, frame.size
    result = []
    for u, v, r in taken:
        u, v = u - frame.left, v - frame.top
        x, y = {"right": (u, h - v), "left": (w - u, v), "down": (v, u), "up": (h - v, w - u)}[frame.x_points]
        result.append((x / k, y / k, r / k))
    return np.array(result).reshape(-1, 3)


