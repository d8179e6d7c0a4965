"""Vines that run over the edge of a bed where what lies beside it lets them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from season.oracle.season import by_the_oracle
from strategies import bed, grown, planting

from mixcraft.press.provenance import assumptions
from mixcraft.recipe.model import Beside, OnDate, Strip
from mixcraft.recipe.model import Span as At
from mixcraft.season.result import Season

LENGTH_M, WIDTH_M, PATH_M = 3.0, 1.2, 0.6
EAST, WEST = Beside("east", "path", PATH_M), Beside("west", "path", PATH_M)
FEW_PERCENT = 0.03


def squash(*beside: Beside, mixed: bool = False, voxels: bool = False, **more: object) -> Season:
    """Pumpkins on a bed whose long sides face east and west, alone or under sweet corn."""
    plantings = [planting("pumpkin", establish="stations", density_per_m2=0.5, start=OnDate("06-01"), **more)]
    if mixed:
        plantings.append(planting("sweet-corn", establish="stations", density_per_m2=4.0, start=OnDate("06-01")))
    one = replace(bed(LENGTH_M, WIDTH_M), beside=beside)
    return grown(*plantings, one=one, years=2, where="Champion", voxels=voxels)


def kg(season: Season, index: int = 0) -> float:
    return float(np.median(season.planting_kg()[:, index]))


@pytest.mark.parametrize("voxels", [False, True])
def test_squash_with_half_of_its_leaf_over_paths_gives_more_and_keeps_its_light(voxels: bool) -> None:
    """Two paths of 60 cm make the ground of a bed of 1.2 m twice as large; the stronger squash takes little from the corn (8 % by
    layers, which know no edge, 2 % by voxels)."""
    inside, over = squash(mixed=True, voxels=voxels), squash(EAST, WEST, mixed=True, voxels=voxels)
    assert over.plan.plantings[0].stand.beyond_m2 == pytest.approx(2.0 * PATH_M * LENGTH_M)
    assert kg(over) > 1.5 * kg(inside)
    assert kg(over, 1) > (1.0 - FEW_PERCENT if voxels else 0.9) * kg(inside, 1)
    kept = [(s.absorbed_mj.sum(axis=0) / s.alone_mj.sum(axis=0))[:, 0].mean() for s in (inside, over)]
    assert kept[1] > kept[0]


def test_each_side_counts_alike() -> None:
    east, west = squash(EAST), squash(WEST)
    assert kg(east) == pytest.approx(kg(west), rel=1e-9)
    assert squash(EAST, WEST).plan.plantings[0].stand.beyond_m2 == pytest.approx(2.0 * east.plan.plantings[0].stand.beyond_m2)


@pytest.mark.parametrize("kind", ["fence", "wall", "bed"])
def test_what_stops_vines(kind: str) -> None:
    assert kg(squash(Beside("east", kind, PATH_M))) == kg(squash())


def test_vines_on_a_support_and_crops_without_vines_stay_inside() -> None:
    assert squash(EAST, support="trellis", support_height_m=1.8).plan.plantings[0].stand.beyond_m2 == 0.0
    assert squash(EAST, mixed=True).plan.plantings[1].stand.beyond_m2 == 0.0


def test_vines_reach_so_far_and_no_further() -> None:
    """They do not fill a meadow, and from the far half of a bed they come over the path by what is left of their reach."""
    narrow, wide = (squash(Beside("east", "grass", width)).plan.plantings[0].stand.beyond_m2 for width in (3.0, 5.0))
    assert narrow == wide < 1.0 * LENGTH_M
    half = squash(EAST, where=Strip((At(0.0), At(0.5 * LENGTH_M)))).plan.plantings[0].stand.beyond_m2
    assert half == pytest.approx(0.5 * PATH_M * LENGTH_M, rel=FEW_PERCENT)


def test_the_crop_alone_runs_over_the_edge_too() -> None:
    """What vines gain by a path is no gain of the mixture."""
    season = squash(EAST, WEST)
    assert float(np.nanmedian(season.partial_ler())) == pytest.approx(1.0, abs=FEW_PERCENT)


def test_the_card_says_that_vines_run_over_the_edge() -> None:
    said = [line for line in assumptions(squash(EAST), "metric") if "runs over the edge of the bed" in line]
    assert len(said) == 1
    assert "1.8\u00a0m²" in said[0]
    assert not [line for line in assumptions(squash(), "metric") if "edge of the bed" in line]


def test_the_reference_loop_agrees() -> None:
    season = squash(EAST, mixed=True)
    for name, value in by_the_oracle(season).items():
        assert np.allclose(getattr(season, name), value, rtol=1e-9, atol=1e-9), name
