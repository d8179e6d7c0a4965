"""What a planting gets without the others does not depend on who else is asked for, walls beside the bed or not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from mixcraft.recipe.layout import Grid
from mixcraft.season.directions import bed_directions, sky
from mixcraft.season.light_voxels import NO_WALLS, Walls, voxel_alone, voxel_light
from mixcraft.season.march import COMPILED, march, march_numpy
from mixcraft.season.march_arrays import Scene, Sums

ROUNDING = 1e-9
GRID = Grid(18, 11, 0.11, 0.1)
WALLS = Walls(
    np.array([0, 1, 2, 3]), np.array([0.4, 1.0, 0.3, 0.7]), np.array([1.2, 2.0, 0.7, 1.5]), np.array([1.0, 0.5, 0.8, 1.0]),
    np.array([-np.inf, 0.2, 0.5, -1.0]), np.array([np.inf, 0.9, 1.5, 4.0]), np.array([0.0, 0.0, 0.4, 0.2]),
)  # fmt: skip
"""A wall on each side of the bed, some with ends and some deep, not all opaque."""
MARCHES = [march_numpy] + ([march] if COMPILED else [])


@pytest.mark.parametrize("kernel", MARCHES)
@pytest.mark.parametrize("walls", [NO_WALLS, WALLS], ids=["open", "walled"])
@pytest.mark.parametrize(("tall_m", "heading_deg"), [(0.35, 0.0), (0.9, 90.0), (2.4, 0.0), (2.4, 25.0)])
def test_light_alone_is_the_same_whoever_is_asked_for(
    tall_m: float, heading_deg: float, walls: Walls, kernel: Callable[[Scene], Sums]
) -> None:
    """Low plants by themselves, beside and among plants up to so tall; rays begin higher then, and come in over the sides."""
    azimuth, elevation, weight = sky()
    directions = bed_directions(azimuth, elevation, weight, heading_deg)
    some = np.random.default_rng(3).uniform(0.0, 1.0, (2, GRID.nx * GRID.ny))
    shares, leaf, height, k = (
        some / some.sum(axis=1, keepdims=True),
        np.array([2.0, 5.0]),
        np.array([0.25, tall_m]),
        np.full(2, 0.6),
    )
    one = voxel_alone(GRID, shares[:1], leaf[:1], height[:1], k[:1], directions, walls, kernel=kernel)
    both = voxel_alone(GRID, shares, leaf, height, k, directions, walls, kernel=kernel)
    mixed = voxel_light(GRID, shares, leaf, height, k, directions, walls, kernel=kernel)
    assert both[0] == pytest.approx(one[0], rel=ROUNDING)
    assert mixed.alone == pytest.approx(both, rel=ROUNDING)
