"""The marks that stand for plantings: one small black shape each, told apart without colour and in a poor copy.

A planting is drawn by its mark wherever its plants are small or many, and by circles with its number where each plant has
its own place.  All marks of one planting on a drawing are one path.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from .svg import INK, PAPER, Drawing, Point, number

LINE = 0.75
"""Line of a mark [pt]."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A shape in a unit circle: polylines (closed when `closed`) and circles (centre, radius); black, open or lines only."""

    name: str
    lines: tuple[tuple[Point, ...], ...] = ()
    circles: tuple[tuple[float, float, float], ...] = ()
    closed: bool = False
    black: bool = False


def _polygon(corners: int, turn_deg: float, radius: float = 1.0) -> tuple[Point, ...]:
    angles = [math.radians(turn_deg + 360.0 * i / corners) for i in range(corners)]
    return tuple((radius * math.sin(a), -radius * math.cos(a)) for a in angles)


def _spokes(count: int, turn_deg: float = 0.0) -> tuple[tuple[Point, ...], ...]:
    ends = _polygon(2 * count, turn_deg)
    return tuple((ends[i], ends[i + count]) for i in range(count))


_SQUARE = _polygon(4, 45.0, 1.1)
_ARCH = tuple((math.cos(math.pi * i / 8), 0.6 - 1.3 * math.sin(math.pi * i / 8)) for i in range(9))
MARKS = (
    Mark("dot", circles=((0, 0, 0.85),), closed=True, black=True),
    Mark("ring", circles=((0, 0, 0.9),), closed=True),
    Mark("cross", lines=_spokes(2, 45.0)),
    Mark("black triangle", lines=(_polygon(3, 0.0, 1.15),), closed=True, black=True),
    Mark("square", lines=(_SQUARE,), closed=True),
    Mark("plus", lines=_spokes(2)),
    Mark("bar", lines=(((-1.1, -0.3), (1.1, -0.3), (1.1, 0.3), (-1.1, 0.3)),), closed=True, black=True),
    Mark("open triangle", lines=(_polygon(3, 180.0, 1.2),), closed=True),
    Mark("black square", lines=(_SQUARE,), closed=True, black=True),
    Mark("slash", lines=(((0.7, -1.1), (-0.7, 1.1)),)),
    Mark("diamond", lines=(((0, -1.25), (0.8, 0), (0, 1.25), (-0.8, 0)),), closed=True),
    Mark("vee", lines=(((-0.9, -0.8), (0, 0.9), (0.9, -0.8)),)),
    Mark("black diamond", lines=(((0, -1.3), (0.85, 0), (0, 1.3), (-0.85, 0)),), closed=True, black=True),
    Mark("post", lines=(((-0.3, -1.15), (0.3, -1.15), (0.3, 1.15), (-0.3, 1.15)),), closed=True, black=True),
    Mark("star", lines=_spokes(3)),
    Mark("target", circles=((0, 0, 1.05), (0, 0, 0.3)), closed=True),
    Mark("rungs", lines=(((-1, -0.5), (1, -0.5)), ((-1, 0.5), (1, 0.5)))),
    Mark("glass", lines=(((-0.9, -1), (0.9, -1), (-0.9, 1), (0.9, 1)),), closed=True, black=True),
    Mark("arch", lines=(_ARCH,)),
    Mark("flag", lines=(((-0.7, 1.2), (-0.7, -1.1), (0.9, -0.5), (-0.7, 0.1)),)),
)


def mark_of(index: int) -> Mark:
    """The mark of the planting at `index` (from 0); after twenty they begin again."""
    return MARKS[index % len(MARKS)]


def _data(mark: Mark, centre: Point, radius: float) -> str:
    x, y = centre
    parts = []
    for line in mark.lines:
        points = "L".join(f"{number(x + radius * a)} {number(y + radius * b)}" for a, b in line)
        parts.append(f"M{points}{'Z' if mark.closed else ''}")
    for a, b, r in mark.circles:
        left, size = x + radius * (a - r), number(radius * r)
        arc = f"a{size} {size} 0 1 0"
        across = number(2 * radius * r)
        parts.append(f"M{number(left)} {number(y + radius * b)}{arc} {across} 0{arc} -{across} 0Z")
    return "".join(parts)


def draw_marks(drawing: Drawing, index: int, centres: Iterable[Point], radius: float) -> None:
    """Draw the marks of planting `index` at `centres`, each of about `radius` [pt]."""
    mark = mark_of(index)
    data = "".join(_data(mark, centre, radius) for centre in centres)
    if not data:
        return
    fill = INK if mark.black else PAPER if mark.closed else "none"
    drawing.path(data, 0.2 if mark.black else LINE, fill)


def quincunx(x: float, y: float, width: float, height: float, pitch: float) -> list[Point]:
    """Centres of a staggered lattice inside a rectangle, centred in it."""
    rows = max(1, int(height / (0.8 * pitch)))
    found = []
    for row in range(rows):
        columns = max(1, int(width / pitch)) - row % 2
        start = x + width / 2 - (columns - 1) * pitch / 2
        at = y + height / 2 + (row - (rows - 1) / 2) * 0.8 * pitch
        found += [(start + i * pitch, at) for i in range(columns)]
    return found


def swatch(index: int, kind: str, width: float = 30.0, height: float = 13.0, least: float = 0.0) -> Drawing:
    """The sample of planting `index` for a legend; `kind` is plants, lines or sown, as the plan draws it."""
    drawing = Drawing(width, height, f"Sample of planting {index + 1}: {mark_of(index).name}", least=least)
    if kind == "sown":
        drawing.rectangle(0.4, 0.4, width - 0.8, height - 0.8, 0.5)
        draw_marks(drawing, index, quincunx(1.5, 1.0, width - 3, height - 2, 6.6), 1.9)
    elif kind == "lines":
        for y in (0.28 * height, 0.72 * height):
            drawing.line((0.5, y), (width - 0.5, y), 0.5)
            draw_marks(drawing, index, [(x, y) for x in (4.0, width / 2, width - 4.0)], 1.9)
    else:
        drawing.circle((0.5 * width, height / 2), height / 2 - 0.5, 0.9, PAPER)
        label = str(index + 1)
        size = 9.0 if len(label) < 2 else 8.0
        drawing.text((0.5 * width, height / 2 + 0.36 * size), label, size, anchor="middle", bold=True)
        for x in (3.2, width - 3.2):
            draw_marks(drawing, index, [(x, height / 2)], 1.9)
    return drawing
