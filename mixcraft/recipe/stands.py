"""Where the plantings of a recipe stand in a bed: places, areas, numbers, rows and positions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.model import Crop
from mixcraft.files import Fault
from mixcraft.files.shelf import Shelf

from .constants import constant
from .density import surely_usual
from .drills import drills
from .layout import (
    DISC_OVER_SQUARE,
    MOST_POINTS,
    TRELLIS_DEPTH_M,
    Grid,
    LayoutError,
    Stand,
    beyond_m2,
    check_fit,
    ground_m2,
    place_cells,
    plants_of,
    points_of,
    row_ends,
    row_offsets,
    row_reach_m,
    rows_reach_m,
    side_of_edge,
    spread_points,
    trellis_row_m,
)
from .model import AtTrellis, Bed, Border, Planting, Points, Recipe, Rows, Strip, WholeBed, Zone
from .rules import Breach, fault_at

Floats = NDArray[np.float64]


def stands_of(
    recipe: Recipe,
    bed: Bed,
    grid: Grid,
    faults: list[Fault],
    *,
    draw: bool = True,
    spread: bool = True,
    keep: Shelf | None = None,
) -> list[Stand]:
    """Where each planting stands; plants that do not fit are added to `faults`.  Without `draw`, plants have positions only where
    the recipe says where they stand; without `spread`, those of plants that are put where there is room are sought only where
    they may stand too thick.  `keep` holds those that were sought before."""
    stands: list[Stand] = []
    for index, planting in enumerate(recipe.plantings):
        try:
            cells, edge = place_cells(planting, recipe, bed, grid)
            area = max(float(cells.sum()) * grid.cell_m2, 1e-4)
            if isinstance(planting.where, AtTrellis):
                area *= max(1.0, trellis_row_m(planting) / TRELLIS_DEPTH_M)
            stand = Stand(cells, area, plants_of(planting, recipe, bed, area), edge=edge)
            check_fit(planting, stand)
            stand = _over_the_edge(planting, _on_its_ground(planting, stand), bed, grid)
        except LayoutError as error:
            breach = Breach(("plantings", index, *error.where), "layout.fit", str(error), repair=error.repair)
            faults.append(fault_at(recipe, breach))
            stand = Stand(np.ones((grid.nx, grid.ny)), bed.area_m2, 1.0)
        stands.append(stand)
    if faults:
        return stands
    if not draw:
        return _where_said(recipe, bed, stands)
    spread = spread or _may_be_thick(recipe, stands)
    return _with_positions(recipe, bed, grid, stands, Shelf() if keep is None else keep, spread)


def _may_be_thick(recipe: Recipe, stands: Sequence[Stand]) -> bool:
    """Whether the plantings of a crop, all taken together, stand denser than is usual for it."""
    density: dict[str, float] = {}
    for planting, stand in zip(recipe.plantings, stands, strict=True):
        density[planting.crop.id] = density.get(planting.crop.id, 0.0) + stand.plants / stand.area_m2
    return any(density[p.crop.id] > surely_usual(p.crop) for p in recipe.plantings)


def _where_said(recipe: Recipe, bed: Bed, stands: Sequence[Stand]) -> list[Stand]:
    """Stands with the positions of plants whose places the recipe says: drawn points, rows, edges and trellises."""
    result = list(stands)
    for i, planting in enumerate(recipe.plantings):
        stand, where = stands[i], planting.where
        if isinstance(where, Points):
            result[i] = replace(stand, positions=points_of(planting, where, recipe, bed))
        elif isinstance(where, Rows):
            offsets = row_offsets(planting, where, recipe, bed)
            along_length = where.along == "length"
            a, b = row_ends(planting, where, recipe, bed)
            rows = tuple(((a, o), (b, o)) if along_length else ((o, a), (o, b)) for o in offsets)
            ahead = rows_reach_m(planting, where, recipe, bed)
            result[i] = replace(stand, rows=rows, positions=_along(rows, stand.plants), reach_m=ahead)
        elif isinstance(where, AtTrellis | Border):
            inset = constant("trellis_inset") if isinstance(where, AtTrellis) else where.depth_m / 2.0
            rows = (_edge_line(side_of_edge(stand.edge, bed.heading_deg), bed, inset),)
            result[i] = replace(stand, rows=rows, positions=_along(rows, stand.plants))
    return result


def _with_positions(recipe: Recipe, bed: Bed, grid: Grid, stands: list[Stand], keep: Shelf, spread: bool) -> list[Stand]:
    result = _where_said(recipe, bed, stands)
    free = [
        i for i, planting in enumerate(recipe.plantings)
        if isinstance(planting.where, WholeBed | Strip | Zone) and planting.establish not in ("broadcast", "drills")
        and stands[i].plants <= MOST_POINTS / 2
    ]  # fmt: skip
    if free and spread:
        asked = [(round(stands[i].plants), recipe.plantings[i].crop["canopy.spread"] / 2.0, stands[i].cells) for i in free]
        key = "spread", grid, tuple((count, radius, cells.tobytes()) for count, radius, cells in asked)
        for i, points in zip(free, keep(key, lambda: spread_points(asked, grid)), strict=True):
            result[i] = replace(result[i], positions=points)
    for i, planting in enumerate(recipe.plantings):
        if planting.establish == "drills" and isinstance(planting.where, WholeBed | Strip | Zone):
            result[i] = _drilled(planting.crop, stands[i], grid)
    return result


def even_stand(crop: Crop, establish: str, density_per_m2: float, grid: Grid) -> Stand:
    """One crop on the whole of a grid at a density: spread evenly if broadcast, in drills, else at the points of a lattice."""
    length, width = grid.nx * grid.dx_m, grid.ny * grid.dy_m
    stand = Stand(np.ones((grid.nx, grid.ny)), length * width, density_per_m2 * length * width)
    if establish == "broadcast":
        return stand
    if establish == "drills":
        return _drilled(crop, stand, grid)
    along = max(1, round(length * density_per_m2**0.5))
    across = max(1, round(stand.plants / along))
    x, y = np.meshgrid((np.arange(along) + 0.5) * length / along, (np.arange(across) + 0.5) * width / across, indexing="ij")
    return replace(stand, positions=np.column_stack([x.ravel(), y.ravel()]))


def _on_its_ground(planting: Planting, stand: Stand) -> Stand:
    """The stand with its area cut down to the ground that its plants can fill, where they are few for their place."""
    if planting.establish in ("broadcast", "drills"):
        return stand
    room = stand.plants * ground_m2(planting.crop)
    return replace(stand, area_m2=min(room, stand.area_m2), taken=room / DISC_OVER_SQUARE / stand.area_m2)


def _over_the_edge(planting: Planting, stand: Stand, bed: Bed, grid: Grid) -> Stand:
    """The stand with the ground beyond the bed over which its vines run, of which few plants take a part only."""
    if not bed.beside:
        return stand
    part = stand.area_m2 / (float(stand.cells.sum()) * grid.cell_m2)
    alone = beyond_m2(planting, bed, np.ones_like(stand.cells), grid)
    return replace(stand, beyond_m2=min(part, 1.0) * beyond_m2(planting, bed, stand.cells, grid), beyond_alone_m2=alone)


def _edge_line(side: str, bed: Bed, inset: float) -> tuple[tuple[float, float], tuple[float, float]]:
    length, width = bed.length_m, bed.width_m
    inset = min(inset, constant("inset_most") * min(length, width))
    return {
        "foot": ((inset, 0.0), (inset, width)), "head": ((length - inset, 0.0), (length - inset, width)),
        "right": ((0.0, inset), (length, inset)), "left": ((0.0, width - inset), (length, width - inset)),
    }[side]  # fmt: skip


def _along(rows: Sequence[tuple[tuple[float, float], tuple[float, float]]], plants: float) -> Floats | None:
    """Plants at even distances along rows, half a distance from the ends; None when there are too many to draw."""
    count = round(plants)
    if count > MOST_POINTS or count < 1:
        return None
    share = np.array_split(np.arange(count), len(rows))
    points = []
    for (a, b), members in zip(rows, share, strict=True):
        t = (np.arange(len(members)) + 0.5) / max(len(members), 1)
        points.append(np.column_stack([a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]))
    return np.concatenate(points)


def _drilled(crop: Crop, stand: Stand, grid: Grid) -> Stand:
    """The stand with its drills, whose leaves reach as far to the sides as there is room."""
    return replace(stand, rows=drills(crop, stand, grid), reach_m=row_reach_m(crop))
