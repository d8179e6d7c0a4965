"""Few plants in the stand of another crop: the layered canopy against voxels in a bed without end, and the light there is."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, planned, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import Planting
from mixcraft.recipe.plan import Plan
from mixcraft.season.directions import bed_directions, sky
from mixcraft.season.light_layers import LightShares, absorb_layers
from mixcraft.season.light_voxels import Spreader, voxel_light
from mixcraft.season.sharing import bed_overlaps

CORN = load_crop("sweet-corn")["spacing.density"]
BED = bed(3.0, 2.0)
ONE_TENTH = 0.1
"""The layered canopy knows neither discs nor slant of light; its answers are meant to be this near."""


def corn(share: float, name: str = "corn", establish: str = "module") -> Planting:
    return planting("sweet-corn", name, establish=establish, density_per_m2=share * CORN)


def layered(plan: Plan, lai: np.ndarray, height: np.ndarray) -> LightShares:
    """Light of leaf area indices over the whole bed."""
    area = np.array([p.stand.area_m2 for p in plan.plantings])
    k = np.array([p.planting.crop["canopy.k"] for p in plan.plantings])
    return absorb_layers((lai * BED.area_m2 / area)[None], height[None], k, area, bed_overlaps(plan))


def voxels(plan: Plan, lai: np.ndarray, height: np.ndarray) -> np.ndarray:
    """Share of its light alone that each planting keeps, in a bed without end under an overcast sky."""
    azimuth, elevation, weight = sky()
    k = np.array([p.planting.crop["canopy.k"] for p in plan.plantings])
    shares = np.stack([Spreader(p, plan.grid).shares(1.0) for p in plan.plantings])
    directions = bed_directions(azimuth, elevation, weight, 0.0)
    found = voxel_light(plan.grid, shares, lai * BED.area_m2, height, k, directions, cyclic=True)
    return np.asarray(found.absorbed / found.alone)


@pytest.mark.parametrize("count", [1, 12, 40, 90])
@pytest.mark.parametrize("establish", ["module", "broadcast"])
def test_lettuces_under_a_full_stand_see_all_of_it_however_few_they_are(establish: str, count: int) -> None:
    lettuce = planting("lettuce-loose-leaf", "lettuce", establish="module", count=count)
    plan = planned(lettuce, corn(1.0, establish=establish), one=BED)
    lai, height = np.array([0.1 * count / BED.area_m2, 4.0]), np.array([0.25, 1.8])
    found = layered(plan, lai, height)
    assert found.absorbed[0] / found.alone[0] == pytest.approx(voxels(plan, lai, height), abs=ONE_TENTH)


@pytest.mark.parametrize("total", [0.6, 1.0, 1.3, 2.0])
@pytest.mark.parametrize("share", [0.05, 0.1, 0.3, 0.5])
def test_a_stand_split_unevenly_takes_no_more_than_the_light_of_its_bed(share: float, total: float) -> None:
    plan = planned(corn(share * total, "few"), corn((1.0 - share) * total, "many"), one=BED)
    lai = 10.0 * total * np.array([share, 1.0 - share])
    assert layered(plan, lai, np.full(2, 1.8)).absorbed.sum() <= BED.area_m2
