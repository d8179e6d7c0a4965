"""Parts of a plan that are drawn by themselves: sections of a long bed, and parts of the year in which its places are used."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from mixcraft.recipe.layout import Grid, Stand, side_of_edge
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.season.result import Season

from .constants import constant
from .jobs import last_day
from .plan_frame import METRE_PT

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

Segment = tuple[tuple[float, float], tuple[float, float]]
READABLE = {"A4": 30, "Letter": 30, "A5": 40}
"""A bed is cut into sections where its whole would be drawn smaller than one to so many."""
RIM_PT = 40.0
"""Room beside a bed for ticks and names [pt]."""
MOST_SECTIONS = 12
MOST_PHASES = 6


@dataclass(frozen=True)
class Phase:
    """A part of the year with the plantings (indices) that are drawn for it, from day index `day` on."""

    day: int
    plantings: tuple[int, ...]


def phases(season: Season, score: Score | None) -> tuple[Phase, ...]:
    """The year in parts, so that no plan shows two plantings on ground that one leaves to the other.

    What is sown again and again on the same ground is drawn once.
    """
    plan = season.plan
    ends = {p.index: last_day(season, score, p) for p in plan.plantings}
    found: list[Phase] = []
    standing: list[Planned] = []
    for planned in sorted(plan.plantings, key=lambda p: (p.start, p.index)):
        if any(_gives_way(q, planned, ends[q.index]) for q in standing) and len(found) < MOST_PHASES:
            day = found[-1].day if found else min(p.start for p in standing)
            found = [*found[:-1], Phase(day, tuple(sorted(p.index for p in standing)))]
            standing = [q for q in standing if ends[q.index] > planned.start + constant("overlap_drawn")]
            found.append(Phase(planned.start, ()))
        standing.append(planned)
    day = found[-1].day if found else min(p.start for p in standing)
    return (*found[:-1], Phase(day, tuple(sorted(p.index for p in standing))))


def _gives_way(old: Planned, new: Planned, end: int) -> bool:
    """Whether the ground of `old`, which stands to the day `end`, goes to `new` when it is gone."""
    if end > new.start + constant("overlap_drawn"):
        return False
    a, b = old.stand.cells, new.stand.cells
    if old.planting.crop.id == new.planting.crop.id and np.array_equal(a, b):
        return False
    return float(np.minimum(a, b).sum()) > constant("shared_ground") * min(float(a.sum()), float(b.sum()))


def sections(plan: Plan, width_pt: float, paper: str) -> tuple[tuple[float, float], ...]:
    """From where to where [m] along the bed each section reaches, cut between cells; one for a bed that is readable whole."""
    bed, room = plan.bed, max(width_pt - RIM_PT, 50.0)
    scale = max(READABLE[paper], bed.width_m * METRE_PT / room)
    count = min(math.ceil(bed.length_m * METRE_PT / room / scale - 1e-6), MOST_SECTIONS, plan.grid.nx)
    cuts = [round(i * plan.grid.nx / max(count, 1)) * plan.grid.dx_m for i in range(max(count, 1) + 1)]
    return tuple(itertools.pairwise(cuts))


def view(plan: Plan, x0: float, x1: float, plantings: tuple[int, ...]) -> Plan:
    """The plan as a bed of its own from `x0` to `x1` [m], with those of `plantings` (indices) that stand there."""
    grid = plan.grid
    i0, i1 = round(x0 / grid.dx_m), round(x1 / grid.dx_m)
    whole = i0 == 0 and i1 == grid.nx
    bed = plan.bed
    if not whole:
        ends = {"foot": i0 == 0, "head": i1 == grid.nx}
        heading = bed.heading_deg
        bed = replace(
            bed, length_m=(i1 - i0) * grid.dx_m,
            trellises=tuple(t for t in bed.trellises if ends.get(side_of_edge(t.edge, heading), True)),
            obstacles=tuple(o for o in bed.obstacles if ends.get(side_of_edge(o.side, heading), True)),
        )  # fmt: skip
    drawn = [p for p in plan.plantings if p.index in plantings]
    if not whole:
        cut = [replace(p, stand=_cut(p.stand, i0, i1, grid)) for p in drawn]
        drawn = [p for p in cut if p.stand.cells.size and float(p.stand.cells.sum()) > 0.0 and p.stand.plants > 0.0]
    return replace(plan, bed=bed, grid=replace(grid, nx=i1 - i0), plantings=tuple(drawn))


def _cut(stand: Stand, i0: int, i1: int, grid: Grid) -> Stand:
    """The part of a stand between two columns of cells, moved to the beginning of the bed."""
    x0, x1 = i0 * grid.dx_m, i1 * grid.dx_m
    cells = stand.cells[i0:i1]
    share = float(cells.sum()) / max(float(stand.cells.sum()), 1e-12)
    positions, plants = stand.positions, stand.plants * share
    if positions is not None:
        inside = (positions[:, 0] >= x0) & (positions[:, 0] < x1)
        positions = positions[inside] - np.array([x0, 0.0])
        plants = float(len(positions))
        positions = positions if len(positions) else None
    rows = tuple(row for old in stand.rows if (row := _cut_row(old, x0, x1)) is not None)
    return replace(stand, cells=cells, area_m2=stand.area_m2 * share, plants=plants, rows=rows, positions=positions)


def _cut_row(row: Segment, x0: float, x1: float) -> Segment | None:
    """The part of a row, along or across the bed, between two places along it."""
    (ax, ay), (bx, by) = row
    low, high = max(min(ax, bx), x0), min(max(ax, bx), x1)
    if abs(ax - bx) < 1e-9:
        return ((ax - x0, ay), (bx - x0, by)) if x0 <= ax < x1 else None
    return ((low - x0, ay), (high - x0, by)) if high - low > 1e-6 else None
