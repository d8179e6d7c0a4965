"""What obstacles beside a bed leave of the open sky's light: of a grown plant and of a young one."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, planned, planting

from mixcraft.recipe.model import Obstacle, Points, Span
from mixcraft.season.columns import reached_m
from mixcraft.season.light_voxels import NO_WALLS, Spreader, voxel_alone, walls_of
from mixcraft.season.open_sky import kept_of_open_sky
from mixcraft.season.sharing import plan_directions

DAY, DIFFUSE = 60, 0.4
LEAF_M2 = np.array([0.5])


@pytest.mark.parametrize("share", [0.2, 0.5, 1.0, 1.5])
def test_a_plant_is_shaded_on_the_ground_that_it_fills_at_its_height(share: float) -> None:
    """A courgette that grows towards a wall: at a share of its full height it has that share of its spread, and no more than all
    of it however tall it is."""
    one = bed(3.0, 1.5, heading_deg=0.0, obstacles=(Obstacle("south", 0.2, 2.0),))
    settled = planned(planting("courgette", where=Points(((Span(0.9), Span(0.75)),)), establish="module"), one=one)
    (plant,) = settled.plantings
    height = np.array([share * reached_m(plant)])
    assert not 0.9 < reached_m(plant) < 1.1, "a height near a metre would not tell a product from a quotient"
    shares = np.asarray(Spreader(plant, settled.grid).shares(min(share, 1.0))).reshape(1, -1)
    k = np.array([plant.planting.crop["canopy.k"]])
    behind, free = (
        voxel_alone(settled.grid, shares, LEAF_M2, height, k, plan_directions(settled, DAY, DIFFUSE), walls)[0]
        for walls in (walls_of(one), NO_WALLS)
    )
    assert kept_of_open_sky(settled, DAY, DIFFUSE, LEAF_M2, height)[0] == pytest.approx(behind / free)
    assert behind < 0.95 * free
