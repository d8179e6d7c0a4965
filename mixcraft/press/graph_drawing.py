"""The interactions of a bed, drawn: plantings by their height and their time in the ground, and what goes on between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from mixcraft.graph.telling import strongest, told_once
from mixcraft.recipe.calendar import MONTHS
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units, length_words
from mixcraft.words.graph import HEADINGS

from .palette import colour_of, ink_on
from .svg import GREY, PALE, PAPER, Drawing, number
from .type import shortened

if TYPE_CHECKING:
    import networkx as nx

WIDTH, LEFT, MARGIN, LANE, BAR = 900.0, 70.0, 24.0, 44.0, 16.0
TEXT, SMALL = 11.0, 9.0
THICKEST = 5.0
"""Line of an interaction of full strength [pt]."""
LINES = {
    "takes light": ("#8e3b46", ""), "shares root space": ("#8a6a3a", ""), "shares family": ("#6d4b7c", "6 3"),
    "leaves room in time": ("#2f6b3c", "2 3"), "supports": ("#3f5f8f", ""), "fixes nitrogen for": ("#2f6b3c", ""),
    "covers ground for": ("#4f9a94", "6 3"), "attracts pollinators for": ("#e8b04a", ""),
}  # fmt: skip
"""Colour and dashes of each kind of interaction."""


def graph_svg(season: Season, made: nx.MultiDiGraph[str], units: Units = "metric") -> str:
    """An SVG: a bar for each planting, the tallest at the top, along the months; a line for each strong interaction."""
    plan = season.plan
    order = sorted(range(len(plan.plantings)), key=lambda i: (-made.nodes[plan.plantings[i].name]["height_m"], i))
    edges = strongest(told_once(made))
    kinds = [kind for kind in HEADINGS if any(data["kind"] == kind for _, _, data in edges)]
    top = MARGIN + 58.0
    foot = top + LANE * len(order)
    drawing = Drawing(WIDTH, foot + 40.0 + 16.0 * -(-len(kinds) // 3), f"Interactions of {plan.recipe.name}")
    drawing.rectangle(0, 0, WIDTH, drawing.height, 0.0, PAPER)
    drawing.text((MARGIN, MARGIN + 4), shortened(f"{plan.recipe.name}: who meets whom", 16, WIDTH - 60), 16, bold=True)
    said = f"plantings by height (left) and time; the {len(edges)} strongest interactions, thick = strong"
    drawing.text((MARGIN, MARGIN + 20), said, TEXT, colour=GREY)
    _months(drawing, season, top, foot)
    lanes = {plan.plantings[i].name: top + LANE * (n + 0.5) for n, i in enumerate(order)}
    names = [p.name for p in plan.plantings]
    for n, (a, b, data) in enumerate(edges):
        day = _meeting_day(season, names.index(a), names.index(b), data)
        _line(drawing, _x(season, day) + 7.0 * (n % 5 - 2), lanes[a], lanes[b], data)
    for i in order:
        _bar(drawing, season, i, lanes[plan.plantings[i].name], made.nodes[plan.plantings[i].name]["height_m"], units)
    _legend(drawing, kinds, foot + 26.0)
    return drawing.alone()


def _x(season: Season, day: float) -> float:
    return LEFT + (WIDTH - LEFT - MARGIN) * min(max(day / season.days, 0.0), 1.0)


def _day(season: Season, date: str) -> int:
    return season.plan.day(np.datetime64(date))


def _months(drawing: Drawing, season: Season, top: float, foot: float) -> None:
    days = season.dates()
    for day in np.nonzero(np.char.endswith(np.datetime_as_string(days), "-01"))[0]:
        x = _x(season, float(day))
        drawing.line((x, top - 4), (x, foot), 0.4, PALE)
        drawing.text((x + 2, top - 6), MONTHS[int(str(days[day])[5:7]) - 1][:3], SMALL, colour=GREY)


def _bar(drawing: Drawing, season: Season, i: int, y: float, height_m: float, units: Units) -> None:
    """One planting from its start to the day it leaves the ground, named on its bar or behind it."""
    planned = season.plan.plantings[i]
    a, b = (_x(season, day) for day in _life(season, i))
    drawing.rectangle(a, y - BAR / 2, max(b - a, 4.0), BAR, 0.5, colour_of(i), round_=4.0)
    name = f"{i + 1} {planned.name}"
    room = b - a - 8.0
    inside = shortened(name, TEXT, room) == name
    if inside:
        drawing.text((a + 4, y + 4), name, TEXT, colour=ink_on(i))
    else:
        right = WIDTH - MARGIN - b
        at, anchor = ((b + 4, y + 4), "start") if right > 110 else ((a - 4, y + 4), "end")
        drawing.text(at, shortened(name, TEXT, 110.0), TEXT, anchor=anchor)
    drawing.text((LEFT - 8, y + 4), length_words(height_m, units), SMALL, anchor="end", colour=GREY)


def _life(season: Season, i: int) -> tuple[float, float]:
    """First and last day of a planting in the ground."""
    start = season.plan.plantings[i].start
    return start, start + float(np.median(season.field_days()[:, i]))


def _meeting_day(season: Season, a: int, b: int, data: dict[str, Any]) -> float:
    """The day at which an interaction is drawn: the middle of its time, where both stand; the day that the room is left."""
    (start_a, end_a), (start_b, end_b) = _life(season, a), _life(season, b)
    if data["kind"] == "leaves room in time":
        return min(end_a, end_b)
    middle = (_day(season, data["first"]) + _day(season, data["last"])) / 2.0
    return min(max(middle, start_a, start_b), end_a, end_b)


def _line(drawing: Drawing, x: float, from_y: float, to_y: float, data: dict[str, Any]) -> None:
    """An interaction as a bow between two bars, with a point at the end that it acts on."""
    colour, dash = LINES[data["kind"]]
    bow = x + min(0.25 * abs(to_y - from_y), 60.0) + 6.0
    width = max(0.6, THICKEST * float(data["strength"]))
    way = 1.0 if to_y >= from_y else -1.0
    start, end = from_y + way * BAR / 2, to_y - way * (BAR / 2 + 3.0)
    path = f"M{number(x)} {number(start)}Q{number(bow)} {number((start + end) / 2)} {number(x)} {number(end)}"
    drawing.path(path, width, "none", colour, dash)
    back, tip = number(end - way * 2), number(end + way * 3)
    drawing.path(f"M{number(x - 3)} {back}L{number(x)} {tip}L{number(x + 3)} {back}Z", 0.6, colour, colour)


def _legend(drawing: Drawing, kinds: list[str], y: float) -> None:
    width = (WIDTH - 2 * MARGIN) / 3
    for n, kind in enumerate(kinds):
        x, at = MARGIN + (n % 3) * width, y + 16.0 * (n // 3)
        colour, dash = LINES[kind]
        drawing.line((x, at), (x + 26, at), 2.0, colour, dash)
        drawing.text((x + 32, at + 4), HEADINGS[kind], TEXT)
