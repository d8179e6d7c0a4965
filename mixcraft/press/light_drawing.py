"""The light on a bed month by month, drawn: one small plan per month, dark where little light reaches the soil."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.markup import escape
from mixcraft.recipe.calendar import MONTHS
from mixcraft.season.daylight import MonthLight
from mixcraft.season.result import Season

TILE_PX, GAP_PX, MARGIN_PX, TEXT_PX = 220.0, 28.0, 24.0, 13
COLUMNS = 4
NEAREST_POINT = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
"""Names of the bearings 0, 45, 90 ... 315 degrees."""


def month_name(month: np.datetime64) -> str:
    """Name of the month of a datetime64[M]."""
    return MONTHS[int(str(month)[5:7]) - 1]


def light_svg(season: Season, months: tuple[MonthLight, ...]) -> str:
    """An SVG with a plan of the bed for every month; grey runs from black (no light) to white (open sky)."""
    plan, grid = season.plan, season.plan.grid
    head = NEAREST_POINT[round(plan.bed.heading_deg / 45.0) % 8]
    cell = TILE_PX / max(grid.nx, grid.ny * 2)
    width, height = grid.nx * cell, grid.ny * cell
    shown = [m for m in months if m.ground is not None]
    rows = -(-len(shown) // COLUMNS) if shown else 0
    total_w = 2 * MARGIN_PX + COLUMNS * (width + GAP_PX)
    top = MARGIN_PX + 64
    total_h = top + rows * (height + 54) + 60
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {total_w:.0f} {total_h:.0f}" width="{total_w:.0f}" '
        f'height="{total_h:.0f}" font-family="sans-serif" font-size="{TEXT_PX}">',
        f'<rect width="{total_w:.0f}" height="{total_h:.0f}" fill="white"/>',
        f'<text x="{MARGIN_PX}" y="{MARGIN_PX + 10}" font-size="18" font-weight="bold">{escape(plan.recipe.name)}</text>',
        f'<text x="{MARGIN_PX}" y="{MARGIN_PX + 32}">Light that reaches the soil of {escape(plan.bed.name)}, share of the open '
        f"sky and mol of light on a square metre a day; on the right the {head} end</text>",
    ]
    for i, month in enumerate(shown):
        x = MARGIN_PX + (i % COLUMNS) * (width + GAP_PX)
        y = top + (i // COLUMNS) * (height + 54)
        assert month.ground is not None
        mean = float(month.ground.mean())
        parts.append(
            f'<text x="{x:.1f}" y="{y - 6:.1f}">{month_name(month.month)}: {100 * mean:.0f} % of {month.open_mol:.0f} mol</text>'
        )
        parts += _tile(month.ground, x, y, cell)
    parts += _key(total_h - 36)
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


def _tile(ground: NDArray[np.float64], x: float, y: float, cell: float) -> list[str]:
    """Cells of one plan, foot on the left, the bed's left side at the top."""
    nx, ny = ground.shape
    parts = []
    for i in range(nx):
        for j in range(ny):
            grey = round(255 * float(np.clip(ground[i, j], 0.0, 1.0)) ** 0.8)
            parts.append(
                f'<rect x="{x + i * cell:.1f}" y="{y + (ny - 1 - j) * cell:.1f}" width="{cell + 0.2:.1f}" '
                f'height="{cell + 0.2:.1f}" fill="rgb({grey},{grey},{grey})"/>'
            )
    parts.append(f'<rect x="{x:.1f}" y="{y:.1f}" width="{nx * cell:.1f}" height="{ny * cell:.1f}" fill="none" stroke="black"/>')
    return parts


def _key(y: float) -> list[str]:
    parts = []
    for i, share in enumerate((0.0, 0.25, 0.5, 0.75, 1.0)):
        grey = round(255 * share**0.8)
        x = MARGIN_PX + i * 90
        parts.append(f'<rect x="{x}" y="{y}" width="24" height="16" fill="rgb({grey},{grey},{grey})" stroke="black"/>')
        parts.append(f'<text x="{x + 30}" y="{y + 13}">{100 * share:.0f} %</text>')
    return parts
