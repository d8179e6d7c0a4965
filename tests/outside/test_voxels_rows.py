"""Rows and strips: the voxel light model against exact and published solutions for row canopies.

Sources: Goudriaan J (1977) Crop micrometeorology: a simulation study, Pudoc, Wageningen (rows as blocks of leaves with bare
paths between them); Pronk AA, Goudriaan J, Stilma E, Challa H (2003) A simple method to estimate radiation interception by
nursery stock conifers, NJAS 51:279-295 (the same for a whole sky by view factors; their factor for the path is used below,
from memory). For endless strips the problem has an exact answer that needs no voxels: a ray that starts at y over the
canopy of height h and leaves the ground at y + D spends C(y + D) - C(y) of every D in leaves, where C(y) is the strip's
width passed from 0 to y, and is dimmed by exp(-G x leaf area density x that length); the mean over y is taken by quadrature
here. Tolerance THREE_PERCENT is what is asked of the model for rows, set before the run.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from voxel_scenes import G_SPHERICAL, OPAQUE_M2, raised, rays, spread, strip_cells

from mixcraft.place.sky import day_beam_samples, sky_directions
from mixcraft.recipe.model import Bed
from mixcraft.season.directions import Directions, day_directions
from mixcraft.season.light_voxels import voxel_light

Floats = NDArray[np.float64]
Strip = tuple[float, float, float, float]

THREE_PERCENT = 0.03
STARTS = 1000  # of the quadrature over y: error below 1e-3
OXFORD_DEG = 51.75
DAYS = (80, 135, 172, 220)  # of the growing season
STRIPS: tuple[Strip, ...] = (
    (0.5, 0.5, 1.0, 3.0), (0.3, 0.7, 1.5, 4.0), (0.2, 0.4, 0.3, 2.0), (0.3, 0.3, 0.5, 3.0), (0.6, 0.4, 2.0, 6.0),
)  # fmt: skip
"""Width, path, height [m] and leaf area index within the strip."""


def exact_beam(strip: Strip, g: float, azimuth: float, elevation: float, heading: float) -> float:
    """Share of a beam that strips along the bed's heading absorb, by quadrature of chord lengths."""
    width, path, height, lai = strip
    period = width + path
    across = np.sin(np.radians(azimuth - heading))
    reach = abs(across) * height / np.tan(np.radians(elevation))
    start = (np.arange(STARTS) + 0.5) / STARTS * period

    def passed(y: Floats) -> Floats:
        return np.asarray(np.floor(y / period) * width + np.minimum(y % period, width))

    inside = (passed(start + reach) - passed(start)) / reach if reach > 1e-9 else np.asarray(start < width, dtype=float)
    depth = g * lai * inside / np.sin(np.radians(elevation))
    return float(-np.expm1(-depth).mean())


def exact(strip: Strip, g: float, azimuth: Floats, elevation: Floats, weight: Floats, heading: float = 0.0) -> float:
    """The same for many directions."""
    parts = zip(azimuth, elevation, weight, strict=True)
    return sum(w * exact_beam(strip, g, a, e, heading) for a, e, w in parts if w > 0.0)


def modelled(strip: Strip, g: float, directions: Directions, cell: float = 0.1, along_x: bool = True) -> float:
    """Share of the light that the voxel model lets the strips absorb."""
    width, path, height, lai = strip
    grid, cells = strip_cells(width, path, cell, along_x)
    leaf = np.array([lai * cells.sum() * grid.cell_m2])
    found = voxel_light(
        grid, spread(cells)[None], leaf, np.array([height]), np.array([0.5]), directions, cyclic=True, layer_m=cell,
        solid=np.array([g]),
    )  # fmt: skip
    return float(found.absorbed[0]) / (grid.nx * grid.ny * grid.cell_m2)


@pytest.mark.parametrize("strip", STRIPS)
def test_strips_under_the_whole_sky(strip: Strip) -> None:
    """Diffuse light from all over an even sky, rows along and across the bed."""
    sky = sky_directions(10, 24, "uniform")
    true = exact(strip, G_SPHERICAL, *sky_directions(30, 60, "uniform"))
    for along_x in (True, False):
        assert modelled(strip, G_SPHERICAL, rays(*sky), along_x=along_x) == pytest.approx(true, rel=THREE_PERCENT)


@pytest.mark.parametrize("strip", STRIPS)
@pytest.mark.parametrize("heading", [0.0, 45.0, 90.0])
def test_strips_under_the_beam_of_a_season(strip: Strip, heading: float) -> None:
    """Parallel beams through the days of a season, rows running north, north-east and east."""
    true, found = 0.0, 0.0
    for day in DAYS:
        azimuth, elevation, weight = day_beam_samples(OXFORD_DEG, day, 15)
        true += exact(strip, G_SPHERICAL, azimuth, raised(elevation), weight, heading)
        found += modelled(strip, G_SPHERICAL, rays(azimuth, elevation, weight, heading))
    assert found == pytest.approx(true, rel=THREE_PERCENT)


@pytest.mark.parametrize("strip", STRIPS)
def test_single_beams_with_finer_voxels(strip: Strip) -> None:
    """Any one beam: within 3 % of the light that falls with voxels of 2.5 cm; with 5 and 10 cm in the root mean square.

    A beam nearly along the rows starts all its rays at one place within the cells, so that single beams err by up to a cell.
    """
    rng = np.random.default_rng(20260401)
    errors = []
    for azimuth, elevation in zip(rng.uniform(0.0, 360.0, 25), rng.uniform(8.0, 85.0, 25), strict=True):
        true = exact_beam(strip, G_SPHERICAL, azimuth, elevation, 0.0)
        beam = rays(azimuth, elevation)
        errors.append([modelled(strip, G_SPHERICAL, beam, cell=cell) - true for cell in (0.1, 0.05, 0.025)])
    coarse, middle, fine = np.array(errors).T
    assert float(np.abs(fine).max()) < THREE_PERCENT
    assert float(np.sqrt(np.mean(middle**2))) < float(np.sqrt(np.mean(coarse**2))) < THREE_PERCENT


@pytest.mark.parametrize("strip", STRIPS)
@pytest.mark.parametrize(
    "heading", [67.5, *(pytest.param(heading, marks=pytest.mark.slow) for heading in (0.0, 22.5, 45.0, 90.0, 120.0, 160.0))]
)
def test_the_few_directions_of_the_season_do_for_strips(strip: Strip, heading: float) -> None:
    """The season's own directions, half of the light diffuse, over the days of a season."""
    true, found = 0.0, 0.0
    sky = exact(strip, G_SPHERICAL, *sky_directions(30, 60, "overcast"))
    for day in DAYS:
        azimuth, elevation, weight = day_beam_samples(OXFORD_DEG, day, 61)
        true += 0.5 * sky + 0.5 * exact(strip, G_SPHERICAL, azimuth, raised(elevation), weight, heading)
        bed = Bed("bed", 2.0, 1.0, heading_deg=heading)
        found += modelled(strip, G_SPHERICAL, day_directions(OXFORD_DEG, day, 0.5, bed))
    assert found == pytest.approx(true, rel=THREE_PERCENT)


@pytest.mark.parametrize(("width", "path", "height"), [(0.5, 0.5, 1.0), (0.3, 0.7, 0.6), (0.2, 0.4, 1.0), (0.4, 0.8, 0.4)])
def test_the_path_between_opaque_rows_sees_the_sky_it_can(width: float, path: float, height: float) -> None:
    """Between endless opaque walls the ground of a path receives (sqrt(h^2 + p^2) - h) / p of an even sky's light: exact, by the
    crossed strings of Hottel (1954), and the view factor of Goudriaan (1977) and Pronk et al. (2003)."""
    grid, cells = strip_cells(width, path, 0.1)
    found = voxel_light(
        grid, spread(cells)[None], np.array([OPAQUE_M2]), np.array([height]), np.array([0.5]),
        rays(*sky_directions(16, 36, "uniform")), cyclic=True, solid=np.array([1.0]),
    )  # fmt: skip
    seen = (np.hypot(height, path) - height) / path
    assert found.ground[cells == 0.0].mean() == pytest.approx(seen, abs=THREE_PERCENT)


def two_strips(tall: tuple[float, float], low: tuple[float, float], width: float, sky: tuple[Floats, Floats, Floats]) -> Floats:
    """Shares of the light that a tall and a low strip side by side absorb, (2,), by marching thin slices of continuous strips.

    `tall` and `low` are height [m] and leaf area index; both strips are `width` wide and there is no path.
    """
    starts, slices = 240, 600
    top = tall[0]
    step = top / slices
    z = top - (np.arange(slices) + 0.5) * step
    density = G_SPHERICAL * np.array([tall[1] / tall[0], low[1] / low[0]])
    result = np.zeros(2)
    for azimuth, elevation, weight in zip(*sky, strict=True):
        slope = np.sin(np.radians(azimuth)) / np.tan(np.radians(elevation))
        y = (np.arange(starts) + 0.5) / starts * 2.0 * width
        light = np.ones(starts)
        for height in z:
            here = ((y + slope * (top - height)) % (2.0 * width) >= width).astype(int)
            rate = np.where((here == 0) | (height < low[0]), density[here], 0.0) * step / np.sin(np.radians(elevation))
            caught = light * -np.expm1(-rate)
            light = light - caught
            result += weight * np.bincount(here, caught, 2) / starts
    return result


@pytest.mark.parametrize(("tall", "low"), [((1.0, 3.0), (0.3, 2.0)), ((1.8, 4.0), (0.5, 3.0))])
def test_a_strip_intercrop(tall: tuple[float, float], low: tuple[float, float]) -> None:
    """Tall and low strips of half a metre side by side: each crop's light within 3 % of what falls on both."""
    width = 0.5
    azimuth, elevation, weight = sky_directions(5, 8, "uniform")
    true = two_strips(tall, low, width, (azimuth, raised(elevation), weight))
    grid, cells = strip_cells(width, width, 0.1)
    area = grid.nx * grid.ny * grid.cell_m2
    found = voxel_light(
        grid, np.stack([spread(cells), spread(1.0 - cells)]), np.array([tall[1], low[1]]) * area / 2.0,
        np.array([tall[0], low[0]]), np.full(2, 0.5), rays(azimuth, elevation, weight), cyclic=True,
        solid=np.full(2, G_SPHERICAL),
    )  # fmt: skip
    assert found.absorbed / area == pytest.approx(true, abs=THREE_PERCENT)
    assert found.alone[1] > found.absorbed[1]
