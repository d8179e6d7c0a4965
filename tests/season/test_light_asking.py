"""When the voxel model is asked in a season, and what it says of a bed without leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, planned, planting, trellis_bed

from mixcraft.recipe.layout import Grid
from mixcraft.recipe.model import AtTrellis, OnDate
from mixcraft.season.directions import day_directions
from mixcraft.season.grow import scout
from mixcraft.season.light_voxels import voxel_alone, voxel_light
from mixcraft.season.march import march
from mixcraft.season.march_arrays import march_numpy
from mixcraft.season.sharing import SHORTEST_DAYS

MIDSUMMER = 172


@pytest.mark.parametrize("plantings", [0, 2])
@pytest.mark.parametrize("kernel", [march, march_numpy])
def test_a_bed_without_leaves_lets_all_light_through(kernel: object, plantings: int) -> None:
    grid = Grid(8, 5, 0.1, 0.1)
    shares = np.full((plantings, 40), 1.0 / 40.0)
    nothing = np.zeros(plantings)
    state = (grid, shares, nothing, nothing, np.full(plantings, 0.6), day_directions(50.0, MIDSUMMER, 0.4, bed(0.8, 0.5)))
    found = voxel_light(*state, kernel=kernel)  # type: ignore[arg-type]
    assert found.ground == pytest.approx(np.ones((8, 5)))
    assert not found.absorbed.any()
    assert not found.taken.any()
    assert not voxel_alone(*state, kernel=kernel).any()  # type: ignore[arg-type]


@pytest.mark.parametrize("day", range(1, 22, 4))
def test_seedlings_are_asked_for_soon_after_they_come_up(day: int) -> None:
    """Carrots that come up behind tall peas, between two askings, do not wait for the longest time between them."""
    one = replace(trellis_bed(heading_deg=90.0, edge="south"), name="bed")
    peas = planting(
        "pea-tall", "peas", AtTrellis(edge="south"), OnDate("03-20"), establish="module",
        density_per_m2=60.0,
    )  # fmt: skip
    carrots = planting("carrot-maincrop", "carrots", start=OnDate(f"06-{day:02d}"))
    plan = planned(peas, carrots, one=one)
    up = int(plan.plantings[1].clock.emergence[0])
    waited = np.nonzero(scout(plan).factor[up:, 1] != 1.0)[0][0]
    assert waited <= SHORTEST_DAYS
