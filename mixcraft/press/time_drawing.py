"""The season drawn along its months: a bar for every planting, and below it what is picked week by week."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixcraft.crops.development import NEVER
from mixcraft.recipe.steps import indoor_day
from mixcraft.scoring.model import CropYield, Score, StripWeek
from mixcraft.season.result import LEAST_PICKING_KG, Band, Season
from mixcraft.words.amounts import Units, weight_words
from mixcraft.words.card import highest_words, labels
from mixcraft.words.catalogue import COMMA, ENGLISH, Catalogue, language_of
from mixcraft.words.dates import short_month
from mixcraft.words.plain import capital

from .picking import yields_of
from .svg import GREY, INK, PALE, PAPER, Drawing, number
from .type import shortened, text_width

STRIP_HEIGHT = 44.0
HEAD = 13.0


@dataclass(frozen=True)
class Axis:
    """Days of the plan along the drawing: day `first` at `left` [pt], `days` days over `width` [pt]."""

    first: int
    days: int
    left: float
    width: float

    def x(self, day: float) -> float:
        """Place of a day index [pt], kept inside the axis."""
        share = (day - self.first) / self.days
        return self.left + self.width * min(max(share, 0.0), 1.0)


@dataclass(frozen=True)
class Life:
    """One planting in time (day indices): indoors from, in the ground, covers and spans of picking."""

    number: int
    name: str
    indoors: int | None
    start: int
    end: int
    covers: tuple[tuple[int, int], ...]
    pickings: tuple[tuple[int, int], ...]


def lives(season: Season, score: Score | None) -> tuple[Life, ...]:
    """Every planting in time: the ground it holds in the middle year, and its pickings."""
    plan = season.plan
    held = season.field_days()
    found = []
    picks: dict[int, list[tuple[int, int]]] = {}
    for harvest, amount in zip(season.harvests, yields_of(season, score), strict=True):
        if amount.first is not None and amount.last is not None:
            picks.setdefault(harvest.planting, []).append((season.plan.day(amount.first), season.plan.day(amount.last)))
    for planned in plan.plantings:
        spans = tuple(sorted(picks.get(planned.index, ())))
        end = planned.start + int(np.median(held[:, planned.index])) - 1
        end = max([end, *(b for _, b in spans)])
        covers = tuple(sorted({(c.on, min(c.off, season.days)) for c in planned.laid if c.on < NEVER}))
        found.append(Life(planned.index + 1, planned.name, indoor_day(planned), planned.start, end, covers, spans))
    return tuple(found)


def strip_weeks(season: Season, score: Score | None) -> tuple[StripWeek, ...]:
    """The harvest strip: the score's, else the same weeks with no window wanted."""
    if score is not None:
        return score.strip
    total = season.weekly_kg().sum(axis=2)
    return tuple(
        StripWeek(season.plan.date(7 * w), Band.of(row), float((row >= LEAST_PICKING_KG).mean()), (), False)
        for w, row in enumerate(total)
    )


def _axis(season: Season, rows: Sequence[Life], left: float, width: float) -> Axis:
    """Whole months from the first day to the last."""
    plan = season.plan
    first_day = min([0, *(r.indoors for r in rows if r.indoors is not None)])
    first = plan.date(first_day).astype("datetime64[M]")
    last = plan.date(max(r.end for r in rows) + 7).astype("datetime64[M]") + 1
    return Axis(plan.day(first), plan.day(last) - plan.day(first), left, width)


def drawn_height(count: int, row: float) -> float:
    """Height of the drawing for `count` plantings [pt]."""
    return HEAD + row * count + STRIP_HEIGHT + 12.0


def draw_time(
    season: Season, score: Score | None, width: float, row: float, size: float, units: Units = "metric",
    t: Catalogue = ENGLISH, least: float = 8.0,
) -> Drawing:  # fmt: skip
    """Calendar bars and harvest strip, `width` points wide, `row` points to a planting, names in `size` points."""
    rows = lives(season, score)
    left = min(0.27 * width, 150.0)
    axis = _axis(season, rows, left, width - left - 2.0)
    bars = HEAD + row * len(rows)
    drawing = Drawing(width, drawn_height(len(rows), row), labels(t)["calendar"], least=least, comma=language_of(t) in COMMA)
    _months(drawing, season, axis, bars + 4.0 + STRIP_HEIGHT, size, t)
    for i, life in enumerate(rows):
        _bar(drawing, axis, life, HEAD + row * i, row, size)
    _strip(drawing, season, score, axis, bars + 6.0, size, units, t)
    return drawing


def _months(drawing: Drawing, season: Season, axis: Axis, bottom: float, size: float, t: Catalogue) -> None:
    plan = season.plan
    month = plan.date(axis.first).astype("datetime64[M]")
    while True:
        day = plan.day(month)
        if day >= axis.first + axis.days:
            break
        x, after = axis.x(day), axis.x(plan.day(month + 1))
        drawing.line((x, 2.0), (x, bottom), 0.5, PALE)
        name = short_month(month.astype("datetime64[D]"), t)
        name = name if after - x > text_width(name, 9.5, True) else name[:1]
        drawing.text(((x + after) / 2, 9.5), name, min(size, 9.5), anchor="middle", bold=True)
        month = month + 1
    drawing.line((axis.left + axis.width, 2.0), (axis.left + axis.width, bottom), 0.5, PALE)
    drawing.line((0, HEAD), (axis.left + axis.width, HEAD), 0.8)


def _bar(drawing: Drawing, axis: Axis, life: Life, top: float, row: float, size: float) -> None:
    middle = top + row / 2
    radius = min(5.6, 0.44 * row)
    drawing.badge((radius + 0.5, middle), str(life.number), radius)
    text = shortened(capital(life.name), size, axis.left - 2 * radius - 6.0)
    drawing.text((2 * radius + 4.0, middle + 0.35 * size), text, size)
    drawing.line((0, top + row), (axis.left + axis.width, top + row), 0.3, PALE)
    high = 0.52 * row
    y = middle - high / 2
    if life.indoors is not None and life.indoors < life.start:
        drawing.line((axis.x(life.indoors), middle), (axis.x(life.start), middle), 1.0, INK, "1.2 1.8")
        drawing.circle((axis.x(life.indoors), middle), 1.5, 0.7, PAPER)
    x0, x1 = axis.x(life.start), max(axis.x(life.end + 1), axis.x(life.start) + 1.5)
    drawing.rectangle(x0, y, x1 - x0, high, 0.8, PAPER)
    for on, off in life.covers:
        _hatch(drawing, max(axis.x(on), x0), min(axis.x(off), x1), y, high)
    drawing.rectangle(x0, y, x1 - x0, high, 0.8)
    for first, last in life.pickings:
        a, b = axis.x(first), max(axis.x(last + 1), axis.x(first) + 2.2)
        drawing.rectangle(a, y, b - a, high, 0.8, INK)
        for on, off in life.covers:
            _hatch(drawing, max(axis.x(on), a), min(axis.x(off), b), y, high, colour=PAPER)


def _hatch(drawing: Drawing, x0: float, x1: float, y: float, high: float, step: float = 3.2, colour: str = INK) -> None:
    """Slanting lines in a box, each cut at its sides."""
    if x1 - x0 < 0.5:
        return
    data = []
    start = x0 - high
    while start < x1:
        a, b = max(start, x0), min(start + high, x1)
        if b - a > 0.2:
            data.append(f"M{number(a)} {number(y + high - (a - start))}L{number(b)} {number(y + high - (b - start))}")
        start += step
    drawing.path("".join(data), 0.6, "none", colour)


def _strip(
    drawing: Drawing, season: Season, score: Score | None, axis: Axis, top: float, size: float, units: Units, t: Catalogue
) -> None:
    """Columns of kilograms by week, the band as a whisker, gaps of the wanted window crossed out."""
    weeks = strip_weeks(season, score)
    most = max((w.kg.middle for w in weeks if np.isfinite(w.kg.middle)), default=0.0)
    base, tall = top + STRIP_HEIGHT - 2.0, STRIP_HEIGHT - 10.0
    drawing.text((2.0, top + 12.0), labels(t)["picked"], size, bold=True)
    if most > 0:
        drawing.text((2.0, top + 12.0 + 1.2 * size), highest_words(weight_words(most, units, t), t), min(size, 8.5))
    drawing.line((axis.left, base), (axis.left + axis.width, base), 0.8)
    for week in weeks:
        day = season.plan.day(week.start)
        x0, x1 = axis.x(day), axis.x(day + 7)
        if x1 - x0 < 0.5:
            continue
        if week.wanted:
            drawing.line((x0, base + 3.4), (x1, base + 3.4), 1.8)
        if most > 0 and week.picked:
            high = max(tall * week.kg.middle / most, 1.0)
            drawing.rectangle(x0 + 0.5, base - high, max(x1 - x0 - 1.0, 0.6), high, 0.0, GREY if score is None else INK)
        elif week.wanted:
            _hatch(drawing, x0, x1, base - 9.0, 9.0, 2.6)
            drawing.rectangle(x0, base - 9.0, x1 - x0, 9.0, 0.5)


__all__ = ["Axis", "CropYield", "Life", "draw_time", "lives", "strip_weeks"]
