"""The garden at a glance: its beds to one scale, and what each gives week by week."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from mixcraft.recipe.model import Bed, Garden
from mixcraft.words.amounts import length_words
from mixcraft.words.dates import short_month

from .dates import real_date
from .options import Options
from .plan_frame import METRE_PT, SCALES
from .plan_words import Words
from .svg import INK, PALE, PAPER, Drawing, Point
from .type import shortened, text_width

if TYPE_CHECKING:
    from .sides import Content

GAP = 16.0
LABEL = 26.0
"""Room under a bed for its name and size [pt]."""
ROW, HEAD = 26.0, 14.0
"""Height of a bed's row in the calendar, and of its head [pt]."""


@dataclass(frozen=True)
class BedWeeks:
    """What a bed gives: the day on which its first week begins and fresh kilograms by week, the middle of the years."""

    bed: str
    first: date
    kg: tuple[float, ...]

    @classmethod
    def of(cls, content: Content) -> BedWeeks:
        """The weeks of a card's bed."""
        assert content.options.year is not None
        kg = np.median(content.season.weekly_kg().sum(axis=2), axis=1)
        return cls(content.plan.bed.name, real_date(content.plan, 0, content.options.year), tuple(float(v) for v in kg))


def corners(bed: Bed, k: float) -> list[Point]:
    """Corners of a bed [pt] as it lies under the sky, north at the top, from its foot's right corner, `k` points to the metre."""
    turn = math.radians(bed.heading_deg)
    along, left = (math.sin(turn), -math.cos(turn)), (-math.cos(turn), -math.sin(turn))
    length, width = bed.length_m * k, bed.width_m * k
    spots = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    points = [(a * along[0] + b * left[0], a * along[1] + b * left[1]) for a, b in spots]
    x0, y0 = min(x for x, _ in points), min(y for _, y in points)
    return [(x - x0, y - y0) for x, y in points]


def _laid(garden: Garden, k: float, width: float) -> tuple[list[tuple[Bed, Point, list[Point]]], float]:
    """Beds in lines from left to right with their upper left corners, and the height of all."""
    found: list[tuple[Bed, Point, list[Point]]] = []
    x = y = tall = 0.0
    for bed in garden.beds:
        points = corners(bed, k)
        wide, high = max(max(p[0] for p in points), 60.0), max(p[1] for p in points)
        if x > 0.0 and x + wide > width:
            x, y, tall = 0.0, y + tall + LABEL + GAP, 0.0
        found.append((bed, (x, y), points))
        x, tall = x + wide + GAP, max(tall, high)
    return found, y + tall + LABEL


def draw_garden(garden: Garden, recipes: Mapping[str, str], width: float, height: float, options: Options) -> Drawing:
    """All beds of a garden at the largest whole scale that fits, each with its number, name and size."""
    fits = (s for s in SCALES if _fits(garden, METRE_PT / s, width, height - 20.0))
    scale = next(fits, SCALES[-1])
    k = METRE_PT / scale
    laid, tall = _laid(garden, k, width)
    words = Words(options.t, options.comma)
    drawing = Drawing(width, tall + 20.0, words.plan_label(scale, garden.name), least=options.least, comma=options.comma)
    for number, (bed, (x, y), points) in enumerate(laid, 1):
        moved = [(x + a, y + b) for a, b in points]
        drawing.polyline(moved, 1.2, True, PAPER)
        middle = sum(p[0] for p in moved) / 4, sum(p[1] for p in moved) / 4
        drawing.badge(middle, str(number), 7.0)
        bottom, room = y + max(b for _, b in points), max(max(a for a, _ in points), 60.0) + GAP - 2.0
        drawing.text((x, bottom + 10.0), shortened(bed.name, 8.5, room, True), 8.5, bold=True)
        size = f"{length_words(bed.length_m, options.units)} × {length_words(bed.width_m, options.units)}"
        said = recipes.get(bed.name) or size
        drawing.text((x, bottom + 20.0), shortened(said, 8.0, room), 8.0)
    drawing.text((0.0, drawing.height - 4.0), words.scale(scale), 8.5, bold=True)
    return drawing


def _fits(garden: Garden, k: float, width: float, height: float) -> bool:
    laid, tall = _laid(garden, k, width)
    return tall <= height and all(max(p[0] for p in points) <= width for _, _, points in laid)


def draw_weeks(beds: Sequence[BedWeeks], width: float, options: Options) -> Drawing:
    """A line for every bed with a column for every week, all to one scale of kilograms."""
    first = min(b.first for b in beds).replace(day=1)
    last = max(b.first + timedelta(days=7 * len(b.kg)) for b in beds)
    days, left = (last - first).days + 1, min(0.25 * width, 130.0)
    most = max((kg for b in beds for kg in b.kg), default=0.0)
    drawing = Drawing(width, HEAD + ROW * len(beds) + 4.0, "", least=options.least, comma=options.comma)

    def x(day: date) -> float:
        return left + (width - left) * (day - first).days / days

    month = first
    while month <= last:
        after = (month + timedelta(days=32)).replace(day=1)
        name = short_month(month, options.t)
        drawing.line((x(month), 2.0), (x(month), HEAD + ROW * len(beds)), 0.5, PALE)
        wide = min(x(after), width) - x(month)
        if wide > text_width(name[:1], 8.5, True):
            shown = name if wide > text_width(name, 8.5, True) else name[:1]
            drawing.text((x(month) + wide / 2, 10.0), shown, 8.5, anchor="middle", bold=True)
        month = after
    for i, bed in enumerate(beds):
        base = HEAD + ROW * (i + 1)
        drawing.text((0.0, base - 6.0), shortened(bed.bed, 9.0, left - 4.0), 9.0)
        drawing.line((0.0, base), (width, base), 0.4, PALE)
        for week, kg in enumerate(bed.kg):
            if most > 0.0 and kg > 0.0:
                a = x(bed.first + timedelta(days=7 * week))
                b = x(bed.first + timedelta(days=7 * week + 7))
                high = max((ROW - 5.0) * kg / most, 0.8)
                drawing.rectangle(a + 0.3, base - high, max(b - a - 0.6, 0.5), high, 0.0, INK)
    return drawing
