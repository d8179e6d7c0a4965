"""Small scenes for the outside checks of the voxel light model: directions, even stands, strips and panels."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixcraft.recipe.layout import Grid
from mixcraft.season.directions import LOWEST_DEG, Directions, bed_directions

Floats = NDArray[np.float64]

G_SPHERICAL = 0.5
"""Projected over real leaf area for leaves that face all ways alike, whatever the direction (Ross 1981)."""
OPAQUE_M2 = 1e6
"""So much leaf area in a scene of a few square metres that nothing passes."""


def rays(
    azimuth_deg: ArrayLike, elevation_deg: ArrayLike, weight: ArrayLike | None = None, heading_deg: float = 0.0
) -> Directions:
    """Directions that light comes from; equal weights unless given."""
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=float))
    elevation = np.atleast_1d(np.asarray(elevation_deg, dtype=float))
    share = np.full(azimuth.shape, 1.0 / azimuth.size) if weight is None else np.atleast_1d(np.asarray(weight, dtype=float))
    return bed_directions(azimuth, elevation, share, heading_deg)


def raised(elevation_deg: Floats) -> Floats:
    """Elevations [deg] as the model takes them: nothing comes from lower than `LOWEST_DEG`."""
    return np.maximum(elevation_deg, LOWEST_DEG)


def even(grid: Grid) -> Floats:
    """Shares (nx * ny,) of a stand that fills the bed evenly."""
    return np.full(grid.nx * grid.ny, 1.0 / (grid.nx * grid.ny))


def spread(cells: Floats) -> Floats:
    """Shares (nx * ny,) of a stand from how much of each cell it fills (nx, ny)."""
    return np.asarray((cells / cells.sum()).ravel())


def strip_cells(strip_m: float, path_m: float, cell_m: float, along_x: bool = True, periods: int = 1) -> tuple[Grid, Floats]:
    """A grid of `periods` strips with paths between them and how much of each cell the strips fill."""
    across = round(periods * (strip_m + path_m) / cell_m)
    edges = np.arange(across + 1) * cell_m
    filled = np.zeros(across)
    for n in range(periods):
        low = n * (strip_m + path_m)
        filled += np.clip(np.minimum(edges[1:], low + strip_m) - np.maximum(edges[:-1], low), 0.0, None) / cell_m
    if along_x:
        return Grid(4, across, cell_m, cell_m), np.tile(filled, (4, 1))
    return Grid(across, 4, cell_m, cell_m), np.tile(filled[:, None], (1, 4))
