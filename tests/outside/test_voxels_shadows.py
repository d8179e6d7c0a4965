"""Shadows of opaque panels and walls in the voxel light model, against plain geometry and ray casting.

Sources: shadow geometry (a panel of height h throws a shadow h / tan(elevation) long, away from the sun); noon elevation 90
- latitude + declination with the declination of the solstices, 23.44 degrees (any almanac); ray casting by trimesh
(trimesh.org), a general-purpose library for triangle meshes. Tolerances: a shadow's edge lies within one and a half voxels
of 10 cm, one because a ray is started in every voxel column and half because a step asks the column under its middle;
shares of shaded ground within the share of ground that lies within a voxel of a shadow's edge.
"""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from voxel_scenes import OPAQUE_M2, rays, spread

from mixcraft.place.sun import day_beam_samples, sun_position
from mixcraft.recipe.layout import Grid, grid_of, side_of_edge
from mixcraft.recipe.model import Bed, Obstacle
from mixcraft.season.directions import day_directions
from mixcraft.season.light_voxels import NO_WALLS, Walls, voxel_light, walls_of

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

ONE_VOXEL = 0.101
SHADOW_EDGE = 1.5 * ONE_VOXEL
BED = grid_of(3.0, 1.2)
SOLSTICE_DEG = 23.44
OXFORD_DEG, MELBOURNE_DEG = 51.75, -37.8
JUNE, DECEMBER = 172, 355
NOON = 12.0
SIDES = {"foot": (0, 0), "head": (0, -1), "right": (1, 0), "left": (1, -1)}


def side_cells(grid: Grid, side: str) -> Bools:
    """The row of cells along one side of a bed."""
    axis, index = SIDES[side]
    cells = np.zeros((grid.nx, grid.ny), dtype=bool)
    cells[(index, slice(None)) if axis == 0 else (slice(None), index)] = True
    return cells


def panel_ground(grid: Grid, panel: Bools, height: float, azimuth: float, elevation: float, heading: float = 0.0) -> Floats:
    """Share of the light that reaches the ground beside an opaque panel, (nx, ny)."""
    found = voxel_light(
        grid, spread(panel.astype(float))[None], np.array([OPAQUE_M2]), np.array([height]), np.array([0.5]),
        rays(azimuth, elevation, heading_deg=heading), solid=np.array([1.0]),
    )  # fmt: skip
    return found.ground


def towards_light(azimuth: float, elevation: float, heading: float) -> Floats:
    """Unit vector from the ground to the light in bed axes (x heading, y left of it, z up)."""
    turn = np.radians(azimuth - heading)
    flat = np.cos(np.radians(elevation))
    return np.array([flat * np.cos(turn), -flat * np.sin(turn), np.sin(np.radians(elevation))])


def cast(mesh: trimesh.Trimesh, grid: Grid, light: Floats) -> Bools:
    """Which cell centres of the ground see the light past `mesh`, by ray casting, (nx, ny)."""
    x, y = grid.centres()
    origins = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 1e-4)])
    hit = mesh.ray.intersects_any(origins, np.tile(light, (x.size, 1)))
    return np.asarray(~hit.reshape(grid.nx, grid.ny))


def rim(grid: Grid) -> Bools:
    """The outermost cells of a bed."""
    cells = np.ones((grid.nx, grid.ny), dtype=bool)
    cells[1:-1, 1:-1] = False
    return cells


def near_edge(lit: Bools) -> Bools:
    """Cells that touch a cell of the other kind, corners included."""
    padded = np.pad(lit, 1, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (3, 3))
    return np.asarray(windows.any(axis=(2, 3)) & ~windows.all(axis=(2, 3)))


@pytest.mark.parametrize("elevation", [20.0, 35.0, 50.0, 70.0])
@pytest.mark.parametrize("height", [0.5, 1.0])
def test_the_shadow_of_a_panel_is_as_long_as_geometry_says(height: float, elevation: float) -> None:
    panel = side_cells(BED, "foot")
    lit = panel_ground(BED, panel, height, 180.0, elevation)  # heading 0: the foot of the bed is its south edge
    shadow = (lit[:, BED.ny // 2] < 0.5)[1:].sum() * BED.dx_m
    assert shadow == pytest.approx(height / np.tan(np.radians(elevation)), abs=SHADOW_EDGE)


@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
@pytest.mark.parametrize(("azimuth", "elevation"), [(180.0, 30.0), (140.0, 40.0), (235.0, 25.0), (95.0, 15.0), (10.0, 60.0)])
def test_a_panel_against_ray_casting(azimuth: float, elevation: float, heading: float) -> None:
    """Every cell beyond one voxel of a shadow's edge agrees with a box cast by trimesh; the edge cells bound the difference."""
    height = 0.8
    for side in SIDES:
        panel = side_cells(BED, side)
        x, y = (a[panel] for a in BED.centres())
        low = np.array([x.min() - BED.dx_m / 2, y.min() - BED.dy_m / 2, 0.0])
        high = np.array([x.max() + BED.dx_m / 2, y.max() + BED.dy_m / 2, height])
        box = trimesh.creation.box(bounds=np.stack([low, high]))
        true = cast(box, BED, towards_light(azimuth, elevation, heading))
        lit = panel_ground(BED, panel, height, azimuth, elevation, heading)
        clear = ~rim(BED) & ~panel & ~near_edge(true & ~panel)
        assert ((lit > 0.5) == true)[clear].all(), side
        assert abs(lit[~panel].mean() - true[~panel].mean()) <= (~clear & ~panel).sum() / (~panel).sum() + 1e-9


@pytest.mark.parametrize("heading", [0.0, 90.0])
@pytest.mark.parametrize(("azimuth", "elevation"), [(180.0, 30.0), (140.0, 40.0), (235.0, 25.0), (100.0, 15.0)])
def test_a_wall_against_ray_casting(azimuth: float, elevation: float, heading: float) -> None:
    """Walls beside the bed are long: boxes of 200 m in trimesh; a little leaf in the bed gives the rays something to cross."""
    bed = Bed("bed", 3.0, 1.2, heading_deg=heading, obstacles=(Obstacle("south", 0.4, 1.3), Obstacle("east", 1.0, 1.0)))
    walls = walls_of(bed)
    found = voxel_light(
        BED, np.full((1, BED.nx * BED.ny), 1.0 / (BED.nx * BED.ny)), np.array([1e-6]), np.array([0.5]), np.array([0.5]),
        rays(azimuth, elevation, heading_deg=heading), walls,
    )  # fmt: skip
    boxes = []
    for side, gap, high in zip(walls.side, walls.distance, walls.height, strict=True):
        far, long = 0.01, 100.0
        spans = {
            0: ((-gap - far, -gap), (-long, long)), 1: ((3.0 + gap, 3.0 + gap + far), (-long, long)),
            2: ((-long, long), (-gap - far, -gap)), 3: ((-long, long), (1.2 + gap, 1.2 + gap + far)),
        }[int(side)]  # fmt: skip
        boxes.append(trimesh.creation.box(bounds=[[spans[0][0], spans[1][0], 0.0], [spans[0][1], spans[1][1], high]]))
    true = cast(trimesh.util.concatenate(boxes), BED, towards_light(azimuth, elevation, heading))
    clear = ~rim(BED) & ~near_edge(true)
    assert ((found.ground > 0.5) == true)[clear].all()


@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
@pytest.mark.parametrize(("azimuth", "elevation"), [(180.0, 20.0), (140.0, 30.0), (235.0, 25.0), (95.0, 15.0), (330.0, 25.0)])
@pytest.mark.parametrize("side", ["north", "east", "south", "west"])
def test_a_shrub_against_ray_casting(side: str, azimuth: float, elevation: float, heading: float) -> None:
    """A box beside the bed, counted along its side from the west or south corner, cast by trimesh."""
    first, last, gap, deep, height = 0.3, 0.9, 0.2, 0.6, 0.8
    shrub = Obstacle(side, gap, height, 1.0, first, last, deep)
    bed = Bed("bed", 3.0, 1.2, heading_deg=heading, obstacles=(shrub,))
    facing = side_of_edge(side, heading)
    long = bed.width_m if facing in ("foot", "head") else bed.length_m
    # corners in compass axes (east, north): the corner from which a side is counted is the western or southern one
    toward = towards_light(90.0 if side in ("north", "south") else 0.0, 0.0, heading)[:2]
    along = np.array([0.0, 1.0]) if facing in ("foot", "head") else np.array([1.0, 0.0])
    begins, ends = (first, last) if toward @ along > 0.0 else (long - last, long - first)
    across = {
        "foot": (-gap - deep, -gap),
        "right": (-gap - deep, -gap),
        "head": (bed.length_m + gap, bed.length_m + gap + deep),
        "left": (bed.width_m + gap, bed.width_m + gap + deep),
    }[facing]
    x, y = (across, (begins, ends)) if facing in ("foot", "head") else ((begins, ends), across)
    box = trimesh.creation.box(bounds=[[x[0], y[0], 0.0], [x[1], y[1], height]])
    found = voxel_light(
        BED, np.full((1, BED.nx * BED.ny), 1.0 / (BED.nx * BED.ny)), np.array([1e-6]), np.array([0.5]), np.array([0.5]),
        rays(azimuth, elevation, heading_deg=heading), walls_of(bed),
    )  # fmt: skip
    true = cast(box, BED, towards_light(azimuth, elevation, heading))
    clear = ~rim(BED) & ~near_edge(true)
    assert ((found.ground > 0.5) == true)[clear].all()


def test_shade_that_falls_outside_the_bed_stays_there() -> None:
    """A panel on the far side from the sun throws its shadow out of the bed: all the ground before it is in full light."""
    panel = side_cells(BED, "head")
    lit = panel_ground(BED, panel, 0.8, 180.0, 30.0)
    assert lit[~panel].min() > 0.99


def test_a_half_open_wall_lets_half_of_the_light_through() -> None:
    wall = Walls(np.array([0]), np.array([0.2]), np.array([20.0]), np.array([0.5]))
    scene = (BED, np.full((1, BED.nx * BED.ny), 1.0 / (BED.nx * BED.ny)), np.array([2.0]), np.array([0.4]), np.array([0.5]))
    half, full = (voxel_light(*scene, rays(180.0, 40.0), one).absorbed[0] for one in (wall, NO_WALLS))
    assert half == pytest.approx(0.5 * full, rel=1e-9)


def noon_shadow(
    latitude: float, declination: float, edge: str, heading: float, height: float, length: float
) -> tuple[float, float]:
    """Length of the noon shadow of a panel on a compass edge of a bed, in the model and by geometry [m]."""
    day = JUNE if declination > 0.0 else DECEMBER
    azimuth, elevation = (float(np.asarray(a)) for a in sun_position(latitude, day, NOON))
    side = side_of_edge(edge, heading)
    grid = grid_of(length, length)
    lit = panel_ground(grid, side_cells(grid, side), height, azimuth, elevation, heading)
    middle = lit[:, grid.ny // 2] if side in ("foot", "head") else lit[grid.nx // 2]
    shadow = ((middle < 0.5).sum() - 1) * grid.dx_m
    facing = {"foot": heading + 180.0, "head": heading, "right": heading + 90.0, "left": heading - 90.0}[side]
    noon = 90.0 - abs(latitude - declination)
    askew = np.cos(np.radians(facing - (180.0 if latitude > declination else 0.0)))
    return shadow, float(height / np.tan(np.radians(noon)) * askew)


@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
@pytest.mark.parametrize(("declination", "height", "length"), [(SOLSTICE_DEG, 1.0, 2.0), (-SOLSTICE_DEG, 0.4, 2.5)])
def test_a_south_panel_shades_the_bed_at_noon_in_oxford(declination: float, height: float, length: float, heading: float) -> None:
    shadow, geometry = noon_shadow(OXFORD_DEG, declination, "south", heading, height, length)
    assert geometry > 2.0 * ONE_VOXEL
    assert shadow == pytest.approx(geometry, abs=SHADOW_EDGE)
    north, _ = noon_shadow(OXFORD_DEG, declination, "north", heading, height, length)
    assert north <= ONE_VOXEL


@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
@pytest.mark.parametrize(("declination", "height", "length"), [(SOLSTICE_DEG, 0.6, 2.0), (-SOLSTICE_DEG, 1.6, 2.0)])
def test_a_north_panel_shades_the_bed_at_noon_in_melbourne(
    declination: float, height: float, length: float, heading: float
) -> None:
    shadow, geometry = noon_shadow(MELBOURNE_DEG, declination, "north", heading, height, length)
    assert geometry > 2.0 * ONE_VOXEL
    assert shadow == pytest.approx(geometry, abs=SHADOW_EDGE)
    south, _ = noon_shadow(MELBOURNE_DEG, declination, "south", heading, height, length)
    assert south <= ONE_VOXEL


@pytest.mark.parametrize("latitude", [OXFORD_DEG, MELBOURNE_DEG])
@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
def test_the_morning_sun_comes_from_the_east(latitude: float, heading: float) -> None:
    """The first beam of a day's samples shades a bed from its east edge, the last from its west edge."""
    azimuth, elevation, _ = day_beam_samples(latitude, 80.0, 5)
    grid = grid_of(2.0, 2.0)
    for sample, edge, other in ((0, "east", "west"), (4, "west", "east")):
        shaded = [
            1.0 - panel_ground(
                grid, side_cells(grid, side_of_edge(e, heading)), 0.3, azimuth[sample], elevation[sample], heading
            ).mean()
            for e in (edge, other)
        ]  # fmt: skip
        assert shaded[0] > shaded[1] + 0.1


@pytest.mark.parametrize(("latitude", "sunny"), [(OXFORD_DEG, "south"), (MELBOURNE_DEG, "north")])
def test_a_wall_on_the_sunny_side_takes_more_of_a_day(latitude: float, sunny: str) -> None:
    """Through a clear day's beams a wall on the equator's side costs a bed most, on the pole's side least."""
    grid = grid_of(2.0, 1.0)
    kept = {}
    for side in ("north", "south", "east", "west"):
        bed = Bed("bed", 2.0, 1.0, obstacles=(Obstacle(side, 0.3, 1.5),))
        found = voxel_light(
            grid, np.full((1, grid.nx * grid.ny), 1.0 / (grid.nx * grid.ny)), np.array([2.0]), np.array([0.3]), np.array([0.5]),
            day_directions(latitude, 80.0, 0.2, bed), walls_of(bed),
        )  # fmt: skip
        kept[side] = float(found.absorbed[0])
    dark = "north" if sunny == "south" else "south"
    assert min(kept, key=lambda s: kept[s]) == sunny
    assert max(kept, key=lambda s: kept[s]) == dark
    assert kept["east"] == pytest.approx(kept["west"], rel=0.05)
