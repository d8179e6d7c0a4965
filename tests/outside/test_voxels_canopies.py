"""The voxel light model against closed forms of even canopies, and against itself in its three forms.

Sources: Monsi & Saeki 1953 (Beer's law in a canopy); Ross 1981, The radiation regime and architecture of plant stands, Junk
(projection function: a beam at elevation b passes exp(-G L / sin b), G = 0.5 for leaves that face all ways alike). Under a
sky of even brightness such a canopy passes 2 E3(G L), and under the standard overcast sky of Moon & Spencer 1942 it passes
6/7 (E3(G L) + 2 E4(G L)), where En is the exponential integral (Abramowitz & Stegun 1964, ch. 5); both follow from
integrating the beam over the hemisphere. Two species in one layer: A_i = G_i L_i / (G_1 L_1 + G_2 L_2) x all that is
absorbed (Keating & Carberry 1993). Tolerance HALF_PERCENT is the accuracy asked of the model, set before the run.
"""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import expn
from voxel_scenes import G_SPHERICAL, even, rays

from mixcraft.place.sky import sky_directions
from mixcraft.recipe.layout import Grid, grid_of
from mixcraft.season.directions import LOWEST_DEG, SKY_AZIMUTH, SKY_ZENITH, leaf_projection, sky
from mixcraft.season.light_voxels import NO_WALLS, VoxelLight, Walls, voxel_alone, voxel_light
from mixcraft.season.march import COMPILED, march, march_numpy

Floats = NDArray[np.float64]

HALF_PERCENT = 0.005
KERNELS_AGREE = 1e-10  # the compiled march takes exp() by a series good to 4e-12
ROUNDING = 1e-9
THREE_PERCENT = 0.03  # asked of row canopies, and so of the few directions that the season uses
BED = grid_of(2.0, 1.0)
BED_M2 = 2.0


def stand(lai: Floats, height: Floats, azimuth: Floats, elevation: Floats, weight: Floats | None = None, g: Floats | None = None,
          heading_deg: float = 0.0) -> VoxelLight:  # fmt: skip
    """Even stands of leaf area indices `lai` on the whole of an endless bed."""
    count = len(lai)
    return voxel_light(
        BED, np.tile(even(BED), (count, 1)), np.asarray(lai) * 2.0, np.asarray(height, dtype=float), np.full(count, 0.5),
        rays(azimuth, elevation, weight, heading_deg), cyclic=True, solid=np.full(count, G_SPHERICAL) if g is None else g,
    )  # fmt: skip


@pytest.mark.parametrize("elevation", [8.0, 20.0, 45.0, 70.0, 89.0])
@pytest.mark.parametrize(("lai", "height"), [(0.2, 0.15), (1.0, 0.33), (3.0, 1.0), (6.0, 2.07)])
def test_a_beam_in_an_even_canopy_is_beer_lambert(elevation: float, lai: float, height: float) -> None:
    for azimuth in (0.0, 37.0, 90.0, 200.0):
        found = stand(np.array([lai]), np.array([height]), np.array([azimuth]), np.array([elevation])).absorbed[0] / BED_M2
        passed = np.exp(-G_SPHERICAL * lai / np.sin(np.radians(elevation)))
        assert found == pytest.approx(1.0 - passed, rel=HALF_PERCENT)


@pytest.mark.parametrize("lai", [0.3, 1.0, 3.0, 6.0])
def test_an_even_canopy_under_even_and_overcast_skies(lai: float) -> None:
    """Sixteen rings of the sky against the exponential integrals.

    The model lifts light from the lowest six degrees (sin^2 of it is 1 % of an even sky) to six degrees; a thin canopy then
    lets through what it would have caught, at most that share times exp(-G L / sin 6), which is allowed on top.
    """
    x = G_SPHERICAL * lai
    lifted = np.sin(np.radians(LOWEST_DEG)) ** 2 * np.exp(-x / np.sin(np.radians(LOWEST_DEG)))
    for kind, passed in (("uniform", 2.0 * expn(3, x)), ("overcast", 6.0 / 7.0 * (expn(3, x) + 2.0 * expn(4, x)))):
        azimuth, elevation, weight = sky_directions(16, 4, kind)  # type: ignore[arg-type]
        found = stand(np.array([lai]), np.array([0.5]), azimuth, elevation, weight).absorbed[0] / BED_M2
        assert found == pytest.approx(1.0 - passed, abs=HALF_PERCENT * (1.0 - passed) + lifted)


@pytest.mark.parametrize("lai", [1.0, 3.0, 6.0])
def test_the_few_directions_of_the_season_stand_for_a_whole_sky(lai: float) -> None:
    """Two rings of directions against the exponential integrals of the overcast sky."""
    x = G_SPHERICAL * lai
    found = stand(np.array([lai]), np.array([0.5]), *sky()).absorbed[0] / BED_M2
    assert found == pytest.approx(1.0 - 6.0 / 7.0 * (expn(3, x) + 2.0 * expn(4, x)), rel=THREE_PERCENT)


def test_the_sky_of_the_season_is_three_times_as_bright_in_the_zenith() -> None:
    """`day_directions` says that the sky's light comes from the standard overcast sky (Moon & Spencer 1942): brightness goes
    with (1 + 2 sin elevation) / 3, so that rings of the quadrature weigh in that proportion."""
    _, elevation, weight = sky()
    _, _, flat = sky_directions(SKY_ZENITH, SKY_AZIMUTH, "uniform")
    bright = weight / flat
    expected = 1.0 + 2.0 * np.sin(np.radians(elevation))
    assert bright / bright.max() == pytest.approx(expected / expected.max(), rel=HALF_PERCENT)


@pytest.mark.parametrize("k", [0.4, 0.5, 0.7, 0.9])
def test_a_published_extinction_coefficient_comes_back(k: float) -> None:
    """A whole canopy of leaf area index 3 with coefficient k passes exp(-3 k) of the sky's light (Monsi & Saeki 1953)."""
    found = stand(np.array([3.0]), np.array([0.6]), *sky(), g=np.array([leaf_projection(k)])).absorbed[0] / BED_M2
    assert found == pytest.approx(1.0 - np.exp(-3.0 * k), rel=HALF_PERCENT)


@pytest.mark.parametrize("elevation", [15.0, 40.0, 75.0])
@pytest.mark.parametrize(("la", "lb", "ga", "gb"), [(1.0, 2.0, 0.5, 0.5), (0.4, 3.0, 0.3, 0.8), (4.0, 0.2, 0.6, 0.4)])
def test_two_species_mixed_evenly(elevation: float, la: float, lb: float, ga: float, gb: float) -> None:
    found = stand(
        np.array([la, lb]), np.array([0.7, 0.7]), np.array([123.0]), np.array([elevation]), g=np.array([ga, gb])
    )  # fmt: skip
    depth = np.array([ga * la, gb * lb]) / np.sin(np.radians(elevation))
    caught = -np.expm1(-depth.sum()) * depth / depth.sum()
    assert found.absorbed / BED_M2 == pytest.approx(caught, rel=HALF_PERCENT)
    assert found.alone / BED_M2 == pytest.approx(-np.expm1(-depth), rel=HALF_PERCENT)


@pytest.mark.parametrize("elevation", [15.0, 40.0, 75.0])
@pytest.mark.parametrize("low_m", [0.3, 0.45, 0.27])
def test_tall_over_low(elevation: float, low_m: float) -> None:
    """Two layers: above the low crop the tall one is alone, below they share (Keating & Carberry 1993)."""
    tall_m, tall_lai, low_lai = 1.2, 2.0, 1.5
    found = stand(np.array([tall_lai, low_lai]), np.array([tall_m, low_m]), np.array([61.0]), np.array([elevation]))
    slant = G_SPHERICAL / np.sin(np.radians(elevation))
    upper = slant * tall_lai * (1.0 - low_m / tall_m)
    shared, low = slant * tall_lai * low_m / tall_m, slant * low_lai
    below = np.exp(-upper) * -np.expm1(-(shared + low)) / (shared + low)
    assert found.absorbed / BED_M2 == pytest.approx([-np.expm1(-upper) + below * shared, below * low], rel=HALF_PERCENT)
    assert found.ground.mean() == pytest.approx(np.exp(-upper - shared - low), rel=2.0 * HALF_PERCENT)


@st.composite
def patchy(draw: st.DrawFn) -> tuple[Grid, Floats, Floats, Floats, Floats]:
    """Plantings on random cells of a small bed: grid, shares, leaf area, heights, coefficients."""
    grid = Grid(draw(st.integers(2, 7)), draw(st.integers(2, 6)), 0.1, 0.12)
    count = draw(st.integers(1, 4))
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    cells = rng.uniform(0.0, 1.0, (count, grid.nx * grid.ny)) * (rng.random((count, grid.nx * grid.ny)) < 0.6)
    cells[:, 0] += 0.05
    leaf = rng.uniform(0.0, 4.0, count) * grid.nx * grid.ny * grid.cell_m2
    return grid, cells / cells.sum(axis=1, keepdims=True), leaf, rng.uniform(0.03, 1.7, count), rng.uniform(0.3, 0.9, count)


WALL = Walls(
    np.array([2, 0]), np.array([0.3, 0.0]), np.array([1.0, 0.4]), np.array([1.0, 0.5]), np.array([-np.inf, 0.1]),
    np.array([np.inf, 0.3]), np.array([0.0, 0.2]),
)  # fmt: skip
"""A long wall, and a shrub that is half open."""


@given(patchy(), st.booleans(), st.booleans(), st.floats(0.0, 360.0))
@settings(max_examples=40)
def test_light_balances_and_losses_are_told_in_full(
    scene: tuple[Grid, Floats, Floats, Floats, Floats], cyclic: bool, walls: bool, heading: float
) -> None:
    """Energy: what comes in is absorbed or goes out; every planting's row of takers sums to what it lost."""
    grid, shares, leaf, height, k = scene
    azimuth, elevation, weight = sky_directions(2, 5)
    found = voxel_light(
        grid, shares, leaf, height, k, rays(azimuth, elevation, weight, heading), WALL if walls else NO_WALLS, cyclic=cyclic
    )  # fmt: skip
    area = grid.nx * grid.ny * grid.cell_m2
    assert (found.absorbed <= found.alone + ROUNDING).all()
    assert (found.taken >= 0.0).all()
    assert np.allclose(np.diagonal(found.taken), 0.0)
    assert np.allclose(found.taken.sum(axis=1), found.alone - found.absorbed, atol=1e-6)
    if cyclic and not walls:
        assert found.absorbed.sum() + found.ground.mean() * area == pytest.approx(area, rel=ROUNDING)


@given(patchy(), st.booleans(), st.booleans(), st.floats(0.0, 360.0))
@settings(max_examples=30)
def test_the_compiled_and_the_array_march_agree(
    scene: tuple[Grid, Floats, Floats, Floats, Floats], cyclic: bool, walls: bool, heading: float
) -> None:
    grid, shares, leaf, height, k = scene
    azimuth, elevation, weight = sky_directions(2, 4)
    one, other = (
        voxel_light(
            grid, shares, leaf, height, k, rays(azimuth, elevation, weight, heading), WALL if walls else NO_WALLS,
            cyclic=cyclic, kernel=kernel,
        )
        for kernel in (march, march_numpy)
    )  # fmt: skip
    for field in ("absorbed", "alone", "taken", "ground"):
        assert np.allclose(getattr(one, field), getattr(other, field), rtol=KERNELS_AGREE, atol=KERNELS_AGREE)


@given(patchy(), st.booleans(), st.floats(0.0, 360.0))
@settings(max_examples=20)
def test_each_planting_by_itself_is_the_bed_without_the_others(
    scene: tuple[Grid, Floats, Floats, Floats, Floats], walls: bool, heading: float
) -> None:
    """What a planting would absorb alone is what it absorbs in a bed where nothing else grows; all of one height here, so that
    rays start alike."""
    grid, shares, leaf, height, k = scene
    height = np.full(len(height), height.max())
    azimuth, elevation, weight = sky_directions(2, 5)
    light = (rays(azimuth, elevation, weight, heading), WALL if walls else NO_WALLS)
    by_itself = [
        voxel_light(grid, shares[i : i + 1], leaf[i : i + 1], height[i : i + 1], k[i : i + 1], *light).absorbed[0]
        for i in range(len(leaf))
    ]
    assert voxel_light(grid, shares, leaf, height, k, *light).alone == pytest.approx(by_itself, abs=ROUNDING)
    for kernel in (march, march_numpy):
        assert voxel_alone(grid, shares, leaf, height, k, *light, kernel=kernel) == pytest.approx(by_itself, abs=ROUNDING)


PROGRAM = """
import json, sys
if {hide}:
    sys.modules["numba"] = None
import numpy as np
from mixcraft.season import march
from mixcraft.season.directions import day_directions
from mixcraft.season.light_voxels import voxel_light
from mixcraft.recipe.layout import grid_of
from mixcraft.recipe.model import Bed
grid = grid_of(0.6, 0.4)
shares = np.zeros((2, grid.nx * grid.ny)); shares[0, :8] = 1 / 8; shares[1, :] = 1 / shares.shape[1]
directions = day_directions(51.75, 172.0, 0.5, Bed("bed", 0.6, 0.4, heading_deg=30.0))
found = voxel_light(
    grid, shares, np.array([0.3, 0.5]), np.array([0.9, 0.25]), np.array([0.6, 0.5]), directions, kernel=march.march
)
out = [*found.absorbed, *found.alone, *found.taken.ravel(), *found.ground.ravel()]
print(json.dumps([march.COMPILED, out]))
"""


def test_without_numba_the_answer_is_the_same() -> None:
    """The march is the array version when numba is missing."""
    if not COMPILED:
        pytest.skip("numba is not installed here: there is nothing to hide")
    said = [
        json.loads(subprocess.run([sys.executable, "-c", PROGRAM.format(hide=hide)], check=True, capture_output=True).stdout)
        for hide in (True, False)
    ]
    assert [compiled for compiled, _ in said] == [False, True]
    assert np.allclose(said[0][1], said[1][1], rtol=KERNELS_AGREE, atol=KERNELS_AGREE)


def test_who_stands_towards_the_light_took_it() -> None:
    """Light from the foot of the bed: the wall of leaves at the foot took the low crop's light, the one at the head nothing."""
    grid = grid_of(2.0, 0.8)
    cells = np.zeros((3, grid.nx, grid.ny))
    cells[0, 0], cells[1, 3:8], cells[2, -1] = 1.0, 1.0, 1.0
    shares = cells.reshape(3, -1) / cells.sum(axis=(1, 2))[:, None]
    found = voxel_light(
        grid, shares, np.array([3.0, 0.5, 3.0]), np.array([1.2, 0.2, 1.2]), np.full(3, 0.5), rays(180.0, 35.0), NO_WALLS
    )
    assert found.taken[1, 0] > 0.5 * found.alone[1]
    assert found.taken[1, 2] == pytest.approx(0.0, abs=1e-12)
    assert found.taken[0, 1] < 0.01 * found.alone[0]
