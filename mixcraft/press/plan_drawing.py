"""The bed drawn to scale: outline with lengths, trellises, what shades it, and every planting where it stands.

The bed lies on the page in the quarter turn that gives the larger scale, north towards the top where there is a choice.
Lengths are in points; a metre of the bed is `points_per_metre` of them, a whole scale such as 1:20.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.layout import side_of_edge
from mixcraft.recipe.plan import Plan, Planned

from .marks import draw_marks, draw_number, draw_plant
from .scatter import free_spot, plants_per_mark, scatter
from .svg import GREY, INK, PAPER, Drawing, Point, on_circle
from .words import Units, length_words

Floats = NDArray[np.float64]

METRE_PT = 72.0 / 0.0254
"""Points in a metre at full size: 72 to the inch of 25.4 mm, by definition."""
SCALES = (2, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000)
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


def north_bearing(x_points: str, heading_deg: float) -> float:
    """Direction of north on the drawing, clockwise from the top of the page [deg]."""
    x_on_page = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}[x_points]
    return (x_on_page - heading_deg) % 360.0


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
    bands = dict.fromkeys(QUARTERS, 0.0)
    for trellis in plan.bed.trellises:
        bands[frame.side(side_of_edge(trellis.edge, plan.bed.heading_deg))] = BAND
    _draw_ticks(drawing, frame, units, bands)
    _draw_surroundings(drawing, plan, frame, bands, units)
    _draw_scale(drawing, plan, frame, units)
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
        points = [_between(start, end, (j + 0.5) / count) for j in range(count)]
        if i in labelled and math.dist(start, end) > 3 * BADGE:
            at = _clear_on_line(start, end, [*taken, *((x, y, BADGE) for x, y in labels)])
            labels.append(at)
            points = [p for p in points if math.dist(p, at) > BADGE + 2.5]
        marks += points
    draw_marks(drawing, planned.index, marks, MARK_RADIUS)
    return labels


def _between(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def _clear_on_line(a: Point, b: Point, taken: Sequence[tuple[float, float, float]]) -> Point:
    """The place on a line that lies clear of what is drawn already, as near to its lower or left end as may be."""
    if (a[1], -a[0]) < (b[1], -b[0]):
        a, b = b, a
    near = (BADGE + 2.0) / math.dist(a, b)
    shares = np.linspace(near, 1.0 - near, 24)
    points = [_between(a, b, float(t)) for t in shares]
    room = [min((math.dist(p, (x, y)) - r - BADGE for x, y, r in taken), default=9.0) for p in points]
    best = max(range(len(points)), key=lambda i: (min(room[i], 1.5), -i))
    return points[best]


def _box(planned: Planned, plan: Plan, frame: Frame) -> tuple[float, float, float, float] | None:
    """The place of a planting on the drawing (x0, y0, x1, y1) [pt]; None for the whole bed."""
    cells, grid = planned.stand.cells, plan.grid
    if planned.planting.where.kind == "whole":
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
    mixed = [p for p in sown if p.planting.where.kind == "whole"]
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
            [c for c in clear if all(math.dist(c, t[:2]) > t[2] + 1.0 for t in taken)], MARK_RADIUS,
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


def _draw_ticks(drawing: Drawing, frame: Frame, units: Units, bands: dict[str, float]) -> None:
    """Ticks along the lower and the left side, every half metre (or foot), numbered from the foot and the right side."""
    step, name = (0.5, "m") if units == "metric" else (0.3048, "ft")
    k, h = frame.points_per_metre, frame.size[1]
    every = 1
    while step * every * k < 15.0:
        every *= 2
    bottom, left = frame.top + h + bands["down"], frame.left - bands["left"]
    flat = frame.x_points in ("right", "left")
    for axis, side_m in (("x", frame.length_m), ("y", frame.width_m)):
        count = int(side_m / step + 1e-6)
        lower = (axis == "x") == flat
        for i in range(count + 1):
            at = i * step
            u, v = frame.at(at, 0.0) if axis == "x" else frame.at(0.0, at)
            long = 4.0 if i % (2 * every) == 0 or units == "us" else 2.5
            whole = i % every == 0
            value = f"{at:g}" if units == "metric" else str(i)
            label = f"{value} {name}" if i == count - count % every else value
            if lower:
                drawing.line((u, bottom), (u, bottom + long), 0.7)
                if whole:
                    drawing.text((u, bottom + 11.5), label, 7.2, anchor="middle")
            else:
                drawing.line((left - long, v), (left, v), 0.7)
                if whole:
                    drawing.text((left - 5.5, v + 2.6), value, 7.2, anchor="end")


def _draw_surroundings(
    drawing: Drawing, plan: Plan, frame: Frame, bands: dict[str, float], units: Units
) -> None:
    """Trellises on their edges and walls beside the bed, each with its height."""
    bed, (w, h) = plan.bed, frame.size
    box = frame.left, frame.top, frame.left + w, frame.top + h
    far = {"left": 14.0, "down": 13.0, "up": 2.0, "right": 2.0}
    for trellis in bed.trellises:
        side = frame.side(side_of_edge(trellis.edge, bed.heading_deg))
        a, b, out = _edge(side, *box)
        _draw_trellis(drawing, a, b, out)
        text = f"{trellis.edge} trellis, {length_words(trellis.height_m, units)} high"
        _beside(drawing, a, b, out, bands[side] + far[side] + 5.0, text)
        far[side] += bands[side] + 10.0
    for obstacle in bed.obstacles:
        side = frame.side(side_of_edge(obstacle.side, bed.heading_deg))
        a, b, out = _edge(side, *box)
        _draw_wall(drawing, a, b, out, far[side] + 7.0, obstacle.opacity)
        what = "wall" if obstacle.opacity > 0.94 else f"screen, {100 * obstacle.opacity:.0f} % dense,"
        high, off = length_words(obstacle.height_m, units), length_words(obstacle.distance_m, units)
        text = f"{what} {high} high, {off} from the {obstacle.side} side"
        _beside(drawing, a, b, out, far[side] + 18.0, text)
        far[side] += WALL_GAP


def _edge(side: str, x0: float, y0: float, x1: float, y1: float) -> tuple[Point, Point, Point]:
    """Ends of a side of the bed on the drawing, from left or top, and the outward direction."""
    return {
        "up": ((x0, y0), (x1, y0), (0.0, -1.0)), "down": ((x0, y1), (x1, y1), (0.0, 1.0)),
        "left": ((x0, y0), (x0, y1), (-1.0, 0.0)), "right": ((x1, y0), (x1, y1), (1.0, 0.0)),
    }[side]  # fmt: skip


def _moved(point: Point, out: Point, by: float) -> Point:
    return point[0] + out[0] * by, point[1] + out[1] * by


def _draw_trellis(drawing: Drawing, a: Point, b: Point, out: Point) -> None:
    """A lattice along the edge."""
    count = max(3, round(math.dist(a, b) / BAND))
    for i in range(count):
        c, d = _between(a, b, i / count), _between(a, b, (i + 1) / count)
        drawing.line(c, _moved(d, out, BAND), 0.6)
        drawing.line(_moved(c, out, BAND), d, 0.6)
    drawing.line(_moved(a, out, BAND), _moved(b, out, BAND), 1.0)
    for end in (a, b):
        drawing.line(end, _moved(end, out, BAND), 1.8)


def _draw_wall(drawing: Drawing, a: Point, b: Point, out: Point, far: float, opacity: float) -> None:
    dash = "" if opacity > 0.94 else "4 2.5"
    drawing.line(_moved(a, out, far), _moved(b, out, far), 4.0, INK, dash)


def _beside(drawing: Drawing, a: Point, b: Point, out: Point, far: float, text: str) -> None:
    """A line of text along a side, in its middle, `far` outwards."""
    middle = _moved(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), out, far)
    if out[0] == 0.0:
        drawing.text((middle[0], middle[1] + 2.6), text, 7.6, anchor="middle")
    else:
        drawing.text((middle[0] + 2.6, middle[1]), text, 7.6, anchor="middle", turn=-90.0)


def _draw_scale(drawing: Drawing, plan: Plan, frame: Frame, units: Units) -> None:
    """Scale bar with its length, the written scale, and the north arrow."""
    y, k = drawing.height - 7.0, frame.points_per_metre
    unit, name = (1.0, "m") if units == "metric" else (0.3048, "ft")
    count = next((c for c in (0.5, 1, 2, 5, 10, 20, 50) if c * unit * k >= 45.0), 100)
    long, x = count * unit * k, 17.0
    for i in range(4):
        fill = INK if i % 2 == 0 else PAPER
        drawing.rectangle(x + i * long / 4, y - 4.0, long / 4, 4.0, 0.7, fill)
    drawing.text((x + long + 5, y), f"{count:g} {name}", 8.5)
    drawing.text((x + long + 42, y), f"scale 1:{frame.scale}", 8.5, bold=True)
    centre = (drawing.width - 20.0, drawing.height - 11.0)
    bearing = north_bearing(frame.x_points, plan.bed.heading_deg)
    tip = on_circle(centre, 9.5, bearing)
    notch = on_circle(centre, 3.5, bearing + 180.0)
    for turn, fill in ((145.0, INK), (-145.0, PAPER)):
        drawing.polyline([tip, on_circle(centre, 8.0, bearing + turn), notch], 0.6, True, fill)
    drawing.text((centre[0] - 14.0, centre[1] + 3.0), "N", 10.0, anchor="end", bold=True)
