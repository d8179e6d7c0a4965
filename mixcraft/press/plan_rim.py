"""What is drawn around the bed: ticks with lengths, trellises, walls, the scale bar and the north arrow."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mixcraft.recipe.layout import side_of_edge
from mixcraft.recipe.plan import Plan
from mixcraft.words.amounts import Units, length_words

from .plan_frame import BAND, QUARTERS, WALL_GAP, Frame, north_bearing
from .plan_words import Words
from .svg import INK, PAPER, Drawing, Point, between, on_circle
from .type import text_width


def draw_rim(drawing: Drawing, plan: Plan, frame: Frame, units: Units, words: Words) -> None:
    """Draw ticks, trellises, walls, scale and north around the bed."""
    bands = dict.fromkeys(QUARTERS, 0.0)
    for trellis in plan.bed.trellises:
        bands[frame.side(side_of_edge(trellis.edge, plan.bed.heading_deg))] = BAND
    _draw_ticks(drawing, frame, units, bands)
    _draw_surroundings(drawing, plan, frame, bands, units, words)
    _draw_scale(drawing, plan, frame, units, words)


def _draw_ticks(drawing: Drawing, frame: Frame, units: Units, bands: dict[str, float]) -> None:
    """Ticks along the lower and the left side, every half metre (or foot), numbered from the foot and the right side."""
    step, name = (0.5, "m") if units == "metric" else (0.3048, "ft")
    k, h = frame.points_per_metre, frame.size[1]
    every = 1
    while step * every * k < 18.0:
        every *= 2
    bottom, left = frame.top + h + bands["down"], frame.left - bands["left"]
    flat = frame.x_points in ("right", "left")
    for axis, side_m in (("x", frame.length_m), ("y", frame.width_m)):
        begin = frame.x0_m if axis == "x" else 0.0
        first, count = math.ceil(begin / step - 1e-6), int((begin + side_m) / step + 1e-6)
        lower = (axis == "x") == flat
        for i in range(first, count + 1):
            at = i * step - begin
            u, v = frame.at(at, 0.0) if axis == "x" else frame.at(0.0, at)
            long = 4.0 if i % (2 * every) == 0 or units == "us" else 2.5
            whole = i % every == 0
            value = f"{i * step:g}" if units == "metric" else str(i)
            label = f"{value} {name}" if i == count - count % every else value
            if lower:
                drawing.line((u, bottom), (u, bottom + long), 0.7)
                if whole:
                    drawing.text((u, bottom + 11.5), label, drawing.least, anchor="middle")
            else:
                drawing.line((left - long, v), (left, v), 0.7)
                if whole:
                    drawing.text((left - 5.5, v + 2.6), value, drawing.least, anchor="end")


def _draw_surroundings(drawing: Drawing, plan: Plan, frame: Frame, bands: dict[str, float], units: Units, words: Words) -> None:
    """Trellises on their edges and walls beside the bed, each with its height."""
    bed, (w, h) = plan.bed, frame.size
    box = frame.left, frame.top, frame.left + w, frame.top + h
    far = {"left": 14.0, "down": 13.0, "up": 2.0, "right": 2.0}
    for trellis in bed.trellises:
        side = frame.side(side_of_edge(trellis.edge, bed.heading_deg))
        a, b, out = _edge(side, *box)
        _draw_trellis(drawing, a, b, out)
        texts = words.trellis(trellis.edge, length_words(trellis.height_m, units))
        _beside(drawing, a, b, out, bands[side] + far[side] + 5.0, texts)
        far[side] += bands[side] + 10.0
    for obstacle in bed.obstacles:
        side = frame.side(side_of_edge(obstacle.side, bed.heading_deg))
        a, b, out = _edge(side, *box)
        _draw_wall(drawing, a, b, out, far[side] + 7.0, obstacle.opacity)
        high, off = length_words(obstacle.height_m, units), length_words(obstacle.distance_m, units)
        texts = words.wall(obstacle.opacity, high, off, obstacle.side)
        _beside(drawing, a, b, out, far[side] + 18.0, texts)
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
        c, d = between(a, b, i / count), between(a, b, (i + 1) / count)
        drawing.line(c, _moved(d, out, BAND), 0.6)
        drawing.line(_moved(c, out, BAND), d, 0.6)
    drawing.line(_moved(a, out, BAND), _moved(b, out, BAND), 1.0)
    for end in (a, b):
        drawing.line(end, _moved(end, out, BAND), 1.8)


def _draw_wall(drawing: Drawing, a: Point, b: Point, out: Point, far: float, opacity: float) -> None:
    dash = "" if opacity > 0.94 else "4 2.5"
    drawing.line(_moved(a, out, far), _moved(b, out, far), 4.0, INK, dash)


BESIDE_PT = 8.0
"""Size of the text beside the bed."""
OVERHANG_PT = 12.0
"""How far it may reach past either end of an upright side, before it meets the scale or the head of the page."""


def _beside(drawing: Drawing, a: Point, b: Point, out: Point, far: float, texts: Sequence[str]) -> None:
    """A line of text along a side, in its middle, `far` outwards: the first of `texts` with room, else the last."""
    middle = _moved(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), out, far)
    if out[0] == 0.0:
        room = 2.0 * min(middle[0], drawing.width - middle[0])
        at, turn = (middle[0], middle[1] + 2.6), 0.0
    else:
        room = min(2.0 * middle[1], math.dist(a, b) + 2.0 * OVERHANG_PT)
        at, turn = (middle[0] + 2.6, middle[1]), -90.0
    size = min(BESIDE_PT, max(drawing.least, 7.6))
    text = next((t for t in texts if text_width(t, size) <= room), texts[-1])
    drawing.text(at, text, size, anchor="middle", turn=turn)


def _draw_scale(drawing: Drawing, plan: Plan, frame: Frame, units: Units, words: Words) -> None:
    """Scale bar with its length, the written scale, and the north arrow."""
    y, k = drawing.height - 7.0, frame.points_per_metre
    unit, name = (1.0, "m") if units == "metric" else (0.3048, "ft")
    count = next((c for c in (0.5, 1, 2, 5, 10, 20, 50) if c * unit * k >= 45.0), 100)
    long, x = count * unit * k, 17.0
    for i in range(4):
        fill = INK if i % 2 == 0 else PAPER
        drawing.rectangle(x + i * long / 4, y - 4.0, long / 4, 4.0, 0.7, fill)
    drawing.text((x + long + 5, y), f"{count:g} {name}", 8.5)
    drawing.text((x + long + 42, y), words.scale(frame.scale), 8.5, bold=True)
    centre = (drawing.width - 20.0, drawing.height - 11.0)
    bearing = north_bearing(frame.x_points, plan.bed.heading_deg)
    tip = on_circle(centre, 9.5, bearing)
    notch = on_circle(centre, 3.5, bearing + 180.0)
    for turn, fill in ((145.0, INK), (-145.0, PAPER)):
        drawing.polyline([tip, on_circle(centre, 8.0, bearing + turn), notch], 0.6, True, fill)
    drawing.text((centre[0] - 14.0, centre[1] + 3.0), "N", 10.0, anchor="end", bold=True)
