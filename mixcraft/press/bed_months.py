"""The bed month by month, drawn: a plan from above and an elevation from the side for every month in which something stands."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.calendar import MONTHS
from mixcraft.recipe.layout import edge_of_side
from mixcraft.recipe.plan import Planned
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units, length_words

from .palette import colour_of, ink_on
from .svg import GREY, INK, PALE, PAPER, Drawing, number
from .type import shortened

Floats = NDArray[np.float64]

TILE, GAP, MARGIN, HEAD = 360.0, 26.0, 24.0, 46.0
COLUMNS = 2
TEXT, SMALL = 11.0, 9.0
LEAST_LEAF_M2 = 1e-4
"""Less leaf than this on the whole bed is nothing to draw."""
MOST_HEIGHT = 0.6
"""An elevation is at most this much of a tile high."""
STEP_M = {"metric": 0.5, "us": 0.6096}
"""Heights are marked at such steps [m]: half a metre, two feet."""
RIGHT = 34.0
"""Room for the heights beside an elevation [pt]."""
LOWEST_M = 0.4
"""Elevations have room for plants of this height at the least [m]."""
LEAST_MARK = 2.0
"""Smallest plant drawn [pt]."""


@dataclass(frozen=True, slots=True)
class Scene:
    """The bed in the middle of a month: leaf area [m2] and height [m] of each planting (P,), middle of the years."""

    title: str
    leaf: Floats
    height: Floats


def scenes(season: Season) -> list[Scene]:
    """A scene for every month of the season in which leaves stand, as they are in its middle."""
    months = season.dates().astype("datetime64[M]")
    found = []
    for month in np.unique(months):
        days = np.nonzero(months == month)[0]
        day = int(days[len(days) // 2])
        leaf, height = (np.median(values[day], axis=0) for values in (season.leaf_m2, season.height_m))
        if leaf.max() >= LEAST_LEAF_M2:
            later = "" if str(month)[:4] == str(months[0])[:4] else ", next year"
            found.append(Scene(f"{MONTHS[int(str(month)[5:7]) - 1]}{later}", leaf, height))
    return found


def bed_svg(season: Season, units: Units = "metric") -> str:
    """An SVG with plan and elevation of the bed for every month in which something stands."""
    plan = season.plan
    drawn = scenes(season)
    scale = TILE / plan.bed.length_m
    rows = [drawn[n : n + COLUMNS] for n in range(0, len(drawn), COLUMNS)]
    rise = min(scale, MOST_HEIGHT * TILE / max(_tallest(drawn), LOWEST_M))
    heights = [rise * max(_tallest(row), LOWEST_M) + plan.bed.width_m * scale + 2.5 * GAP for row in rows]
    legend_h = 16.0 * -(-len(plan.plantings) // 3) + 20.0
    drawing = Drawing(
        2 * MARGIN + COLUMNS * (TILE + RIGHT) + (COLUMNS - 1) * GAP, HEAD + MARGIN + sum(heights) + legend_h,
        f"{plan.recipe.name} in {plan.bed.name}, month by month",
    )  # fmt: skip
    drawing.rectangle(0, 0, drawing.width, drawing.height, 0.0, PAPER)
    _title(drawing, season, units)
    y = HEAD + MARGIN
    for row, height in zip(rows, heights, strict=True):
        ground = y + rise * max(_tallest(row), LOWEST_M) + GAP / 2
        for i, scene in enumerate(row):
            x = MARGIN + i * (TILE + RIGHT + GAP)
            drawing.text((x, y), scene.title, TEXT + 2, bold=True)
            _elevation(drawing, season, scene, x, ground, scale, rise, units)
            _plan(drawing, season, scene, x, ground + GAP / 2, scale)
        y += height
    _legend(drawing, season, y)
    return drawing.alone()


def _tallest(drawn: list[Scene]) -> float:
    return max((float(s.height[s.leaf >= LEAST_LEAF_M2].max()) for s in drawn), default=LOWEST_M)


def _title(drawing: Drawing, season: Season, units: Units) -> None:
    plan = season.plan
    foot, head = (edge_of_side(side, plan.bed.heading_deg) for side in ("foot", "head"))
    right = edge_of_side("right", plan.bed.heading_deg)
    size = f"{length_words(plan.bed.length_m, units)} x {length_words(plan.bed.width_m, units)}"
    title = shortened(f"{plan.recipe.name}: {plan.bed.name}, {plan.garden.name}", 16, 700)
    drawing.text((MARGIN, MARGIN + 4), title, 16, bold=True)
    said = f"{size}; above seen from the {right} side, below from above; {foot} end on the left, {head} end on the right"
    drawing.text((MARGIN, MARGIN + 20), said, TEXT, colour=GREY)


def _standing(scene: Scene) -> list[int]:
    return [int(i) for i in np.argsort(-scene.height) if scene.leaf[i] >= LEAST_LEAF_M2]


def _reach(season: Season, scene: Scene, i: int) -> float:
    """Radius of a plant in the middle of the month [m]: half its spread, as its height is of its full one."""
    planned = season.plan.plantings[i]
    full = max(float(np.median(season.height_m[:, :, i].max(axis=0))), 1e-3)
    return 0.5 * planned.planting.crop["canopy.spread"] * math.sqrt(min(float(scene.height[i]) / full, 1.0))


def _plan(drawing: Drawing, season: Season, scene: Scene, x: float, y: float, scale: float) -> None:
    """The bed from above: the low below the tall."""
    bed = season.plan.bed
    depth = bed.width_m * scale
    drawing.rectangle(x, y, bed.length_m * scale, depth, 0.8, "#f4efe6")
    for i in reversed(_standing(scene)):
        planned, colour = season.plan.plantings[i], colour_of(i)
        radius = max(LEAST_MARK, _reach(season, scene, i) * scale)
        points = planned.stand.positions
        if points is not None:
            for px, py in points.tolist():
                at = (_kept(x + px * scale, radius, x, bed.length_m * scale), _kept(y + depth - py * scale, radius, y, depth))
                _disc(drawing, at, radius, colour)
                if radius >= 5.0:
                    _label(drawing, at, i, min(radius * 1.2, TEXT))
        elif planned.stand.rows:
            for (ax, ay), (bx, by) in planned.stand.rows:
                drawing.line((x + ax * scale, y + depth - ay * scale), (x + bx * scale, y + depth - by * scale),
                             max(LEAST_MARK, radius), colour, cap="round")  # fmt: skip
            _label_row(drawing, planned, x, y + depth, scale, i)
        else:
            _area(drawing, season, planned, x, y, scale, i)
    drawing.rectangle(x, y, bed.length_m * scale, depth, 0.8)


def _kept(at: float, radius: float, low: float, size: float) -> float:
    """A centre such that a disc stays inside."""
    return min(max(at, low + min(radius, size / 2)), low + size - min(radius, size / 2))


def _disc(drawing: Drawing, at: tuple[float, float], radius: float, colour: str) -> None:
    drawing.circle(at, radius, 0.5, colour)


def _label(drawing: Drawing, at: tuple[float, float], i: int, size: float) -> None:
    drawing.text((at[0], at[1] + 0.36 * size), str(i + 1), size, anchor="middle", bold=True, colour=ink_on(i))


def _label_row(drawing: Drawing, planned: Planned, x: float, foot: float, scale: float, i: int) -> None:
    (ax, ay), (bx, by) = planned.stand.rows[0]
    share = 0.1 + 0.8 * ((i * 0.37) % 1.0)
    at = (x + (ax + (bx - ax) * share) * scale, foot - (ay + (by - ay) * share) * scale)
    drawing.circle(at, 6.0, 0.4, colour_of(i))
    _label(drawing, at, i, SMALL)


def _area(drawing: Drawing, season: Season, planned: Planned, x: float, y: float, scale: float, i: int) -> None:
    """Small plants spread over a place, as dots on a lattice with a number now and then."""
    grid, cells = season.plan.grid, planned.stand.cells
    depth = season.plan.bed.width_m * scale
    centre_x, centre_y = grid.centres()
    chosen = [(a, b) for a in range(grid.nx) for b in range(grid.ny) if cells[a, b] > 0.5 and (a + 2 * b + i) % 3 == 0]
    for n, (a, b) in enumerate(chosen):
        at = (x + float(centre_x[a, b]) * scale, y + depth - float(centre_y[a, b]) * scale)
        if n % 9 == 4:
            drawing.circle(at, 5.5, 0.4, colour_of(i))
            _label(drawing, at, i, SMALL - 1)
        else:
            drawing.circle(at, LEAST_MARK + 0.4, 0.3, colour_of(i))


def _elevation(
    drawing: Drawing, season: Season, scene: Scene, x: float, ground: float, scale: float, rise: float, units: Units
) -> None:  # fmt: skip
    """The bed from its right-hand side: the far behind the near, each as high as it is."""
    length = season.plan.bed.length_m * scale
    step = STEP_M[units] if rise * STEP_M[units] > 16 else 2.0 * STEP_M[units]
    for n in range(1, int(scene.height[scene.leaf >= LEAST_LEAF_M2].max() / step) + 1):
        drawing.line((x, ground - n * step * rise), (x + length, ground - n * step * rise), 0.4, PALE, "2 2")
        drawing.text((x + length + 3, ground - n * step * rise + 3), length_words(n * step, units), SMALL - 1, colour=GREY)
    for i in sorted(_standing(scene), key=lambda i: (-_far(season, i), -scene.height[i])):
        top, colour = float(scene.height[i]) * rise, colour_of(i)
        for left, right in _stretches(season, scene, i):
            a, b = x + max(left, 0.0) * scale, x + min(right, season.plan.bed.length_m) * scale
            _shape(drawing, a, b, ground, max(top, 1.5), colour)
            if top >= SMALL and b - a >= SMALL:
                _label(drawing, ((a + b) / 2, ground - 0.5 * top), i, SMALL)
    drawing.line((x, ground), (x + length, ground), 1.2, INK)


def _far(season: Season, i: int) -> float:
    """How far from the right-hand side a planting stands [m]."""
    grid, cells = season.plan.grid, season.plan.plantings[i].stand.cells
    return float((grid.centres()[1] * cells).sum() / max(cells.sum(), 1e-9))


def _stretches(season: Season, scene: Scene, i: int) -> list[tuple[float, float]]:
    """Stretches of the bed's length that a planting takes, plants that touch joined [m]."""
    planned, grid = season.plan.plantings[i], season.plan.grid
    reach = max(_reach(season, scene, i), 0.02)
    if planned.stand.positions is not None:
        spots = sorted((float(px) - reach, float(px) + reach) for px in planned.stand.positions[:, 0])
    else:
        columns = np.nonzero(planned.stand.cells.max(axis=1) > 0.25)[0]
        spots = [(float(c) * grid.dx_m, float(c + 1) * grid.dx_m) for c in columns]
    joined: list[tuple[float, float]] = []
    for left, right in spots:
        if joined and left <= joined[-1][1] + 1e-6:
            joined[-1] = (joined[-1][0], max(right, joined[-1][1]))
        else:
            joined.append((left, right))
    return joined


def _shape(drawing: Drawing, a: float, b: float, ground: float, top: float, colour: str) -> None:
    """A plant, or plants that touch, from the side: a rounded block on the soil."""
    bend = min(top, 8.0, (b - a) / 2)
    high = ground - top
    drawing.path(
        f"M{number(a)} {number(ground)}V{number(high + bend)}Q{number(a)} {number(high)} {number(a + bend)} {number(high)}"
        f"H{number(b - bend)}Q{number(b)} {number(high)} {number(b)} {number(high + bend)}V{number(ground)}Z", 0.5, colour,
    )  # fmt: skip


def _legend(drawing: Drawing, season: Season, y: float) -> None:
    width = (drawing.width - 2 * MARGIN) / 3
    for i, planned in enumerate(season.plan.plantings):
        at = (MARGIN + (i % 3) * width + 7.0, y + 16.0 * (i // 3))
        drawing.circle(at, 6.5, 0.5, colour_of(i))
        _label(drawing, at, i, SMALL)
        drawing.text((at[0] + 11, at[1] + 4), shortened(planned.name, TEXT, width - 26.0), TEXT)
