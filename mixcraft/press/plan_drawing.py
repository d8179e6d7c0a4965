"""The bed drawn to scale: outline with lengths, trellises, what shades it, and every planting where it stands.

Lengths are in points; a metre of the bed is `points_per_metre` of them, a whole scale such as 1:20.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.words.amounts import Units

from .marks import draw_marks
from .plan_frame import Frame, frame_of
from .plan_labels import Circle, Labels, mark_spot, numbered
from .plan_rim import draw_rim
from .plan_words import ENGLISH_WORDS, Words
from .scatter import free_spot, plants_per_mark, scatter
from .svg import GREY, PAPER, Drawing, Point, between

Floats = NDArray[np.float64]

LEAST_RADIUS = 5.2
"""Plants that stand closer than twice this are drawn as marks [pt]."""
MARK_RADIUS = 1.9
MARK_ROOM = 52.0
"""Least area of the drawing for each mark of a sown planting [pt2]."""
BADGE = 6.2
CAPTION = 14.0
"""Room for the words above a plan [pt]."""


@dataclass(frozen=True)
class DrawnPlan:
    """A drawn plan; `kinds` says how each planting is drawn (plants, lines, sown; nothing for one that is not on it), `circles`
    are (planting, x, y, r) [pt], `numbers` the discs of their numbers.

    `per_mark` is the number of plants that a mark of a sown planting stands for.
    """

    svg: str
    frame: Frame
    kinds: tuple[str, ...]
    circles: tuple[Circle, ...]
    numbers: tuple[Circle, ...]
    per_mark: tuple[int, ...]
    width: float
    height: float


@dataclass(frozen=True)
class Style:
    """How a plan is drawn: units, least size of its text [pt], what stands above it, where along the bed it begins [m], and the
    language of its words."""

    units: Units = "metric"
    least: float = 8.0
    caption: str = ""
    x0_m: float = 0.0
    words: Words = ENGLISH_WORDS


def draw_plan(plan: Plan, width: float, height: float, style: Style | Units = "metric") -> DrawnPlan:
    """Draw the bed of `plan` with its plantings on at most `width` x `height` points (the scale bar included)."""
    style = style if isinstance(style, Style) else Style(style)
    head = CAPTION if style.caption else 0.0
    frame, margins = frame_of(plan, width, height - 22.0 - head)
    bed_w, bed_h = frame.size
    total_h = head + margins["up"] + bed_h + margins["down"] + 22.0
    total_w = max(margins["left"] + bed_w + margins["right"], min(width, 230.0))
    frame = Frame(
        frame.x_points, margins["left"] + (total_w - margins["left"] - bed_w - margins["right"]) / 2, head + frame.top,
        frame.length_m, frame.width_m, frame.scale, style.x0_m,
    )  # fmt: skip
    label = style.words.plan_label(frame.scale, style.caption)
    drawing = Drawing(total_w, total_h, label, least=style.least, comma=style.words.comma)
    drawing.rectangle(frame.left, frame.top, bed_w, bed_h, 0.0, PAPER)
    kinds, circles, numbers, per_mark = _draw_plantings(drawing, plan, frame)
    drawing.rectangle(frame.left, frame.top, bed_w, bed_h, 1.6)
    if style.caption:
        drawing.text((frame.left, 10.0), style.caption, max(9.0, style.least), bold=True)
    draw_rim(drawing, plan, frame, style.units, style.words)
    size = 1 + max((p.index for p in plan.plantings), default=-1)
    return DrawnPlan(
        drawing.svg(), frame, tuple(kinds.get(i, "") for i in range(size)), circles, numbers,
        tuple(per_mark.get(i, 1) for i in range(size)), total_w, total_h,
    )  # fmt: skip


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
) -> tuple[dict[int, str], tuple[Circle, ...], tuple[Circle, ...], dict[int, int]]:
    kinds = {p.index: drawn_as(p, frame) for p in plan.plantings}
    circles = _circles(plan, frame, kinds)
    (w, h), size = frame.size, max(8.5, drawing.least)
    labels, unnumbered = numbered(circles, size, (frame.left, frame.top, frame.left + w, frame.top + h))
    taken = [(x, y, r) for _, x, y, r in labels.placed]
    with drawing.inside(frame.left, frame.top, w, h):
        for _, x, y, radius in circles:
            drawing.circle((x, y), radius, 0.6, "none", colour=GREY)
    badges: list[tuple[int, Point]] = []
    for planned in (p for p in plan.plantings if kinds[p.index] == "lines"):
        spots = _draw_lines(drawing, planned, frame, taken)
        badges += [(planned.index, at) for at in spots]
        taken += [(x, y, BADGE) for x, y in spots]
    for planned in (p for p in plan.plantings if kinds[p.index] == "sown"):
        box = _box(planned, plan, frame)
        if box is not None:
            drawing.rectangle(box[0], box[1], box[2] - box[0], box[3] - box[1], 0.8, dash="3 2")
            spot = free_spot(box, taken, BADGE)
            badges.append((planned.index, spot))
            taken.append((*spot, BADGE))
    per_mark = _draw_sown(drawing, plan, frame, kinds, taken)
    _draw_marked(drawing, unnumbered, labels, badges)
    for plant, at in labels.leaders:
        drawing.line(plant, at, 0.5)
    for index, x, y, radius in labels.placed:
        drawing.circle((x, y), radius, 0.0, PAPER)
        drawing.text((x, y + 0.36 * size), str(index + 1), size, anchor="middle", bold=True)
    for index, at in badges:
        drawing.badge(at, str(index + 1), BADGE)
    return kinds, circles, tuple(labels.placed), per_mark


def _draw_marked(drawing: Drawing, circles: Sequence[Circle], labels: Labels, badges: Sequence[tuple[int, Point]]) -> None:
    """Marks in the middle of the plants that have no room for a number, where they hide none."""
    by_planting: dict[int, list[Point]] = {}
    for circle in circles:
        at = mark_spot(circle, labels)
        if at is not None and all(math.dist(at, spot) > BADGE + MARK_RADIUS + 1.0 for _, spot in badges):
            by_planting.setdefault(circle[0], []).append(at)
    for index, points in by_planting.items():
        draw_marks(drawing, index, points, MARK_RADIUS)


def _circles(plan: Plan, frame: Frame, kinds: Mapping[int, str]) -> tuple[Circle, ...]:
    """Circles of the plants drawn one by one, each as wide as the plant when it is grown."""
    result = []
    for planned in plan.plantings:
        if kinds[planned.index] == "plants" and planned.stand.positions is not None:
            radius = planned.planting.crop["canopy.spread"] / 2 * frame.points_per_metre
            result += [(planned.index, *frame.at(float(x), float(y)), radius) for x, y in planned.stand.positions]
    return tuple(result)


def _nearest(points: Floats, others: Floats, same: bool = False) -> Floats:
    """Distance from each point to the nearest of the others (to the nearest but itself when they are the same)."""
    delta = points[:, None, :] - others[None, :, :]
    distance = np.hypot(delta[..., 0], delta[..., 1])
    if same:
        np.fill_diagonal(distance, np.inf)
    return np.asarray(distance.min(axis=1))


def _draw_lines(drawing: Drawing, planned: Planned, frame: Frame, taken: Sequence[tuple[float, float, float]]) -> list[Point]:
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
        marks += [p for p in points if all(math.dist(p, (x, y)) > r + MARK_RADIUS for x, y, r in taken)]
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
    drawing: Drawing, plan: Plan, frame: Frame, kinds: Mapping[int, str], taken: Sequence[tuple[float, float, float]]
) -> dict[int, int]:
    sown = [p for p in plan.plantings if kinds[p.index] == "sown"]
    if not sown:
        return {}
    k = frame.points_per_metre
    per_mark = _per_mark(sown, plan, frame)
    counts = [max(1, round(p.stand.plants / per_mark[p.index])) for p in sown]
    points = scatter(counts, [p.stand.cells for p in sown], plan.grid, _metres(frame, taken), (MARK_RADIUS + 1.2) / k)
    for planned, places in zip(sown, points, strict=True):
        clear = [frame.at(float(x), float(y)) for x, y in places]
        box = _box(planned, plan, frame)
        if box is not None:
            clear = [_within(at, box, MARK_RADIUS + 1.4) for at in clear]
        draw_marks(
            drawing, planned.index,
            [c for c in clear if all(math.dist(c, t[:2]) > t[2] + 1.6 for t in taken)], MARK_RADIUS,
        )  # fmt: skip
    return per_mark


def _per_mark(sown: Sequence[Planned], plan: Plan, frame: Frame) -> dict[int, int]:
    """For how many plants a mark of each sown planting stands; those mixed over one place keep their true proportions."""
    k, crowd, found = frame.points_per_metre, sum(p.stand.cells for p in sown), {}
    for planned in sown:
        share = float((planned.stand.cells / np.maximum(crowd, 1e-9)).sum()) * plan.grid.cell_m2 * k * k
        weight = max(share / MARK_ROOM, 4.0)
        found[planned.index] = plants_per_mark(planned.stand.plants, max(weight, planned.stand.plants / 400))
    mixed = [p for p in sown if isinstance(p.planting.where, WholeBed)]
    room = bed_room(frame) / MARK_ROOM
    for planned in mixed:
        found[planned.index] = plants_per_mark(sum(p.stand.plants for p in mixed), min(room, 1400.0))
    return found


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
