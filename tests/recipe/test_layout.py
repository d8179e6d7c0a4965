"""Cells, rows and positions of plantings in a bed; edges and trellises by compass; what does not fit."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from strategies import bed, garden, mixtures, planned, planting, recipe, trellis_bed

from mixcraft.crops import load_crop
from mixcraft.files import FileFaults
from mixcraft.recipe.layout import Grid, edge_of_side, grid_of, ground_m2, place_cells, reach_m, side_of_edge, spread_points
from mixcraft.recipe.model import (
    EDGES,
    AtTrellis,
    Bed,
    Border,
    Count,
    Planting,
    Points,
    Recipe,
    Rows,
    Span,
    Strip,
    Trellis,
    Usual,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.plan import Planned, plan

ROUNDING = 1e-9


def metres(*values: float) -> tuple[Span, ...]:
    return tuple(Span(v) for v in values)


def percent(*values: float) -> tuple[Span, ...]:
    return tuple(Span(v / 100.0, True) for v in values)


def strip(low: Span, high: Span) -> Where:
    return Strip(x=(low, high))


def one(where: Where, crop: str = "radish", area: Bed | None = None, **more: object) -> Planned:
    """One planting settled."""
    return planned(planting(crop, where=where, **more), one=area).plantings[0]


# cells


@pytest.mark.parametrize(("length", "width"), [(2.0, 1.0), (3.0, 1.2), (0.25, 0.2), (4.07, 0.93), (10.0, 0.6)])
def test_grid_covers_the_bed(length: float, width: float) -> None:
    grid = grid_of(length, width)
    assert grid.nx * grid.dx_m == pytest.approx(length)
    assert grid.ny * grid.dy_m == pytest.approx(width)
    x, y = grid.centres()
    assert x.shape == y.shape == (grid.nx, grid.ny)
    assert 0.0 < x.min() < x.max() < length
    assert 0.0 < y.min() < y.max() < width
    assert grid.cell_m2 * grid.nx * grid.ny == pytest.approx(length * width)


def test_whole_bed() -> None:
    found = one(WholeBed())
    assert (found.stand.cells == 1.0).all()
    assert found.stand.area_m2 == pytest.approx(2.0)


@given(st.floats(0.0, 0.8), st.floats(0.05, 0.2))
@settings(max_examples=40)
def test_a_strip_has_its_area(low: float, size: float) -> None:
    """Cells cut by the ends of a strip count by their share, so that areas are exact."""
    high = min(1.0, low + size)
    found = one(strip(Span(low, True), Span(high, True)))
    assert found.stand.area_m2 == pytest.approx((high - low) * 2.0)
    assert found.stand.cells.min() >= 0.0
    assert found.stand.cells.max() <= 1.0 + ROUNDING


@given(st.floats(0.0, 1.5), st.floats(0.1, 0.5), st.floats(0.0, 0.7), st.floats(0.1, 0.3))
@settings(max_examples=40)
def test_a_zone_has_its_area_and_place(x: float, dx: float, y: float, dy: float) -> None:
    found = one(Zone(x=(Span(x), Span(x + dx)), y=(Span(y), Span(y + dy))))
    assert found.stand.area_m2 == pytest.approx(dx * dy)
    cx, cy = planned(planting()).grid.centres()
    weight = found.stand.cells / found.stand.cells.sum()
    assert (weight * cx).sum() == pytest.approx(x + dx / 2.0, abs=0.051)
    assert (weight * cy).sum() == pytest.approx(y + dy / 2.0, abs=0.051)


def test_strips_that_divide_a_bed_fill_it_once() -> None:
    bounds = [0.0, 0.17, 0.5, 0.83, 1.0]
    strips = [strip(Span(a, True), Span(b, True)) for a, b in pairwise(bounds)]
    cells = sum(one(where).stand.cells for where in strips)
    assert np.allclose(cells, 1.0)


def test_neighbouring_zones_share_no_sliver_of_a_cell() -> None:
    """At 0.9 m of 1.2 m in cells of 10 cm, which binary numbers miss by 1e-16: no cell belongs to both."""
    one, recipe_ = bed(1.2, 1.0), recipe(planting(), length_m=1.2, width_m=1.0)
    zones = [Zone((Span(a), Span(b)), (Span(0.0), Span(0.5))) for a, b in ((0.0, 0.3), (0.3, 0.6), (0.6, 0.9), (0.9, 1.2))]
    cells = [place_cells(replace(planting(), where=zone), recipe_, one, grid_of(1.2, 1.0))[0] > 0.0 for zone in zones]
    assert np.sum(cells, axis=0).max() == 1


def test_lengths_and_shares_mean_the_same() -> None:
    a = one(strip(*metres(0.5, 1.5))).stand.cells  # type: ignore[arg-type]
    b = one(strip(*percent(25.0, 75.0))).stand.cells  # type: ignore[arg-type]
    assert np.allclose(a, b)


# rows and points


def test_rows_along_the_length() -> None:
    where = Rows(along="length", at=metres(0.2, 0.8))
    found = one(where, "leek", establish="module", count=20)
    assert found.stand.rows == (((0.0, 0.2), (2.0, 0.2)), ((0.0, 0.8), (2.0, 0.8)))
    assert found.stand.positions is not None
    assert len(found.stand.positions) == 20
    assert set(np.round(found.stand.positions[:, 1], 9)) == {0.2, 0.8}
    gaps = np.diff(np.sort(found.stand.positions[found.stand.positions[:, 1] < 0.5][:, 0]))
    assert np.allclose(gaps, 0.2)


def test_rows_across_the_bed() -> None:
    where = Rows(along="width", at=percent(50.0))
    found = one(where, "tomato-cordon", establish="module", count=4)
    assert found.stand.rows == (((1.0, 0.0), (1.0, 1.0)),)
    assert found.stand.positions is not None
    assert np.allclose(found.stand.positions[:, 0], 1.0)
    assert np.allclose(np.sort(found.stand.positions[:, 1]), [0.125, 0.375, 0.625, 0.875])


def test_close_rows_share_the_ground_between_them() -> None:
    """Rows 20 cm apart stand on 20 cm more of the bed than one row does, not on twice as much."""
    together, single = (
        one(Rows(along="length", at=metres(*at)), "cabbage-winter", establish="module", count=3 * len(at)).stand.area_m2
        for at in ((0.4, 0.6), (0.5,))
    )
    assert together == pytest.approx(single + 2.0 * 0.2, rel=0.05)


def test_points() -> None:
    where = Points(at=(metres(0.5, 0.5), percent(75.0, 50.0)))  # type: ignore[arg-type]
    found = one(where, "courgette", establish="module")
    assert found.stand.plants == 2
    assert found.stand.positions is not None
    assert found.stand.positions.tolist() == [[0.5, 0.5], [1.5, 0.5]]
    assert found.stand.area_m2 <= 2.0 * np.pi * (reach_m(load_crop("courgette")) + 0.1) ** 2


@pytest.mark.parametrize("crop", ["courgette", "tomato-bush", "kale", "borage"])
def test_a_plant_with_room_has_the_same_ground_wherever_it_is_drawn(crop: str) -> None:
    """On the whole bed, on a point or in a row: within a tenth, as cells are a decimetre wide."""
    wide = bed(4.0, 3.0)
    point = Points(at=(metres(2.0, 1.5),))  # type: ignore[arg-type]
    places = (WholeBed(), point, Rows(along="length", at=metres(1.5)))
    ground = [
        planned(planting(crop, where=where, establish="module", amount=given), one=wide).plantings[0].stand.area_m2
        for where, given in zip(places, (Count(1), Usual(), Count(1)), strict=True)
    ]
    assert ground == pytest.approx([ground_m2(load_crop(crop))] * 3, rel=0.1)
    drawn = planting(crop, establish="module", count=1)
    undrawn = plan(recipe(drawn, length_m=4.0, width_m=3.0), garden(wide), "bed", draw=False)
    assert undrawn.plantings[0].stand.area_m2 == ground[0]


def test_a_small_plant_on_a_point_still_has_ground() -> None:
    where = Points(at=(metres(0.001, 0.001),))  # type: ignore[arg-type]
    found = one(where, "radish", establish="stations")
    assert found.stand.cells.sum() >= 1.0
    assert found.stand.cells[0, 0] == 1.0


@given(mixtures(least=1, most=3), st.sampled_from(["stations", "module"]), st.integers(1, 40))
@settings(max_examples=20)
def test_positions_lie_in_the_bed_and_in_the_place(mixture: tuple[Planting, ...], establish: str, count: int) -> None:
    drawn = [replace(p, establish=establish, amount=Count(count)) for p in mixture]
    try:
        found = planned(*drawn)
    except FileFaults:  # too many for the place
        return
    for item in found.plantings:
        positions = item.stand.positions
        assert positions is not None
        assert len(positions) == round(item.stand.plants) == count
        assert (positions >= 0.0).all()
        assert (positions <= [2.0, 1.0]).all()
        ix = np.minimum((positions[:, 0] / found.grid.dx_m).astype(int), found.grid.nx - 1)
        iy = np.minimum((positions[:, 1] / found.grid.dy_m).astype(int), found.grid.ny - 1)
        assert (item.stand.cells[ix, iy] > 0.5).all()


def test_spread_points_keep_their_distance() -> None:
    """Six large plants on 2 m x 1 m stand nearly half a metre apart; small ones keep off them."""
    grid = grid_of(2.0, 1.0)
    everywhere = np.ones((grid.nx, grid.ny))
    large, small = spread_points([(6, 0.3, everywhere), (10, 0.1, everywhere)], grid)
    assert len(large) == 6
    assert len(small) == 10

    def least(a: np.ndarray, b: np.ndarray, own: bool) -> float:
        d = np.hypot(*(a[:, None, :] - b[None, :, :]).transpose(2, 0, 1))
        return float(d[~np.eye(len(a), dtype=bool)].min() if own else d.min())

    assert least(large, large, True) > 0.45
    assert least(small, large, False) > 0.15


@pytest.mark.parametrize(("length_m", "width_m"), [(0.8, 1.2), (1.2, 0.8)])
def test_a_large_plant_keeps_off_all_walls(length_m: float, width_m: float) -> None:
    """One that fills the bed stands between the two sides that are nearest, and no nearer to the others."""
    grid = grid_of(length_m, width_m)
    (points,) = spread_points([(1, 1.0, np.ones((grid.nx, grid.ny)))], grid)
    ((x, y),) = points
    assert min(x, y, length_m - x, width_m - y) == pytest.approx(0.4, abs=0.05)


def test_drills_run_across_at_the_crops_distance() -> None:
    found = one(WholeBed(), "carrot-maincrop", establish="drills")
    gap = load_crop("carrot-maincrop")["spacing.between_rows"] / 100.0
    xs = [a[0] for a, _ in found.stand.rows]
    assert len(xs) == int(2.0 / gap)
    assert np.allclose(np.diff(xs), 2.0 / len(xs))
    for (x0, y0), (x1, y1) in found.stand.rows:
        assert x0 == x1
        assert (y0, y1) == pytest.approx((0.0, 1.0))


def test_dense_sowings_are_not_drawn_plant_by_plant() -> None:
    assert one(WholeBed(), "radish", density_per_m2=100.0).stand.positions is None


# edges and trellises

SIDES = {  # side of the bed that faces each compass edge, worked out by hand with a compass drawn on paper
    0.0: {"north": "head", "east": "right", "south": "foot", "west": "left"},
    90.0: {"east": "head", "south": "right", "west": "foot", "north": "left"},
    180.0: {"south": "head", "west": "right", "north": "foot", "east": "left"},
    270.0: {"west": "head", "north": "right", "east": "foot", "south": "left"},
    30.0: {"north": "head", "east": "right", "south": "foot", "west": "left"},
    330.0: {"north": "head", "east": "right", "south": "foot", "west": "left"},
    60.0: {"east": "head", "south": "right", "west": "foot", "north": "left"},
}


@pytest.mark.parametrize("heading", sorted(SIDES))
@pytest.mark.parametrize("edge", EDGES)
def test_which_side_faces_which_way(heading: float, edge: str) -> None:
    side = SIDES[heading][edge]
    assert side_of_edge(edge, heading) == side
    assert edge_of_side(side, heading) == edge


@pytest.mark.parametrize("heading", [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 300.0, 359.0])
def test_every_edge_has_a_side_of_its_own(heading: float) -> None:
    assert {side_of_edge(edge, heading) for edge in EDGES} == {"head", "right", "foot", "left"}


@pytest.mark.parametrize("heading", [0.0, 44.0, 45.0, 46.0, 90.0, 135.0, 200.0, 225.0, 315.0])
def test_side_and_edge_are_each_others_inverse(heading: float) -> None:
    for edge in EDGES:
        assert edge_of_side(side_of_edge(edge, heading), heading) == edge


WHERE_ON_THE_BED = {  # middle of the cells of a trellis strip, as shares of length and width
    "head": (lambda x, y: x > 0.8), "foot": (lambda x, y: x < 0.2), "left": (lambda x, y: y > 0.7),
    "right": (lambda x, y: y < 0.3),
}  # fmt: skip


@pytest.mark.parametrize("heading", [0.0, 90.0, 180.0, 45.0])
@pytest.mark.parametrize("edge", EDGES)
def test_a_trellis_stands_on_its_edge(heading: float, edge: str) -> None:
    """x runs from the foot to the head, y to the left of someone who looks from foot to head."""
    area = trellis_bed(heading, edge)
    found = planned(planting("bean-climbing", where=AtTrellis(), establish="stations", count=6), one=area)
    stand = found.plantings[0].stand
    side = side_of_edge(edge, heading)
    cx, cy = found.grid.centres()
    weight = stand.cells / stand.cells.sum()
    x, y = float((weight * cx).sum()) / area.length_m, float((weight * cy).sum()) / area.width_m
    assert WHERE_ON_THE_BED[side](x, y)
    assert stand.edge == edge
    assert stand.positions is not None
    assert len(stand.positions) == 6
    (x0, y0), (x1, y1) = stand.rows[0]
    if side in ("head", "foot"):
        assert x0 == x1
        assert (y0, y1) == (0.0, 1.0)
    else:
        assert y0 == y1
        assert (x0, x1) == (0.0, 2.0)
    assert found.plantings[0].support_m == 2.0


def test_the_edge_named_is_the_edge_taken() -> None:
    area = bed(heading_deg=90.0, trellises=(Trellis("north", 1.5), Trellis("south", 2.0)))
    north, south, either = (
        planned(planting("pea-tall", where=AtTrellis(edge=e), count=8, establish="stations"), one=area)
        for e in ("north", "south", "any")
    )
    assert north.plantings[0].stand.cells[:, -1].min() == 1.0  # heading east: left is north
    assert south.plantings[0].stand.cells[:, 0].min() == 1.0
    assert south.plantings[0].support_m == 2.0
    assert np.array_equal(either.plantings[0].stand.cells, north.plantings[0].stand.cells)


def test_a_border_has_its_depth() -> None:
    found = one(Border(edge="south", depth_m=0.3), "nasturtium", establish="stations", count=4)
    assert found.stand.area_m2 == pytest.approx(0.3 * 1.0, rel=0.01)  # the foot of a bed that heads north
    assert found.stand.cells[:3].min() == 1.0
    assert found.stand.cells[3:].max() == 0.0


# another bed


def on(drawn: Recipe, area: Bed) -> Planned:
    return plan(drawn, garden(area), "bed").plantings[0]


def test_lengths_stretch_with_the_bed() -> None:
    drawn = recipe(planting(where=strip(*metres(0.5, 1.0))))  # type: ignore[arg-type]
    stretched = on(drawn, bed(4.0, 2.0))
    assert stretched.stand.area_m2 == pytest.approx(1.0 * 2.0)
    assert stretched.stand.cells[10:20].min() == pytest.approx(1.0)
    assert stretched.stand.cells[:10].max() == pytest.approx(0.0, abs=ROUNDING)


def test_counts_grow_with_the_area_and_densities_stay() -> None:
    counted = recipe(planting("lettuce-cos", establish="module", count=10))
    assert on(counted, bed(4.0, 2.0)).stand.plants == 40
    assert on(counted, bed(1.0, 1.0)).stand.plants == 5
    dense = recipe(planting("radish", density_per_m2=50.0))
    assert on(dense, bed(4.0, 2.0)).stand.plants == pytest.approx(400.0)


def test_counts_on_a_trellis_grow_with_its_length() -> None:
    beans = planting("bean-climbing", where=AtTrellis(), establish="stations", count=8)
    drawn = recipe(beans)
    assert on(drawn, trellis_bed(0.0, "north", 4.0, 2.0)).stand.plants == 16  # head: the width doubles
    assert on(drawn, trellis_bed(90.0, "north", 6.0, 1.0)).stand.plants == 24  # left: the length is three times


def test_points_move_with_the_bed_and_stay_as_many() -> None:
    drawn = recipe(planting("courgette", where=Points(at=(metres(0.5, 0.5),)), establish="module"))  # type: ignore[arg-type]
    found = on(drawn, bed(4.0, 2.0))
    assert found.stand.plants == 1
    assert found.stand.positions is not None
    assert found.stand.positions.tolist() == [[1.0, 1.0]]


def test_fitting_is_noted() -> None:
    drawn = recipe(planting())
    (note,) = plan(drawn, garden(bed(4.0, 2.0)), "bed").notes
    assert note.kind == "other size"
    assert [note.numbers[name] for name in ("length_m", "width_m")] == [4.0, 2.0]
    assert not plan(drawn, garden(bed(2.0, 1.0)), "bed").notes


# what does not fit


def fault_of(*plantings: Planting, area: Bed | None = None) -> tuple[str, str]:
    """Message and repair of the only fault of a plan."""
    with pytest.raises(FileFaults) as caught:
        planned(*plantings, one=area)
    (fault,) = caught.value.faults
    assert fault.rule == "layout.fit"
    return fault.message, fault.repair


@pytest.mark.parametrize(
    ("where", "message", "repair"),
    [
        (strip(*metres(0.5, 2.5)), "the bed ends at 2 m", "inside the bed"),
        (strip(*metres(1.5, 0.5)), "runs from 1.5 m back to 0.5 m", "swap the two"),
        (strip(*metres(0.5, 0.5)), "runs from 0.5 m back to 0.5 m", "swap the two"),
        (Zone(x=metres(0, 1), y=metres(0.5, 1.2)), "the bed ends at 1 m", "inside the bed"),  # type: ignore[arg-type]
        (Rows(along="length", at=metres(1.4)), "a row at 1.4 m lies outside", "inside the bed"),
        (Points(at=(metres(2.2, 0.5),)), "the point (2.2 m, 0.5 m) lies outside", "2 m by 1 m"),  # type: ignore[arg-type]
    ],
)
def test_outside_the_bed(where: Where, message: str, repair: str) -> None:
    more = {} if where.kind == "points" else {"count": 2}
    said, mend = fault_of(planting("lettuce-cos", where=where, establish="module", **more))
    assert message in said
    assert repair in mend


def test_no_trellis() -> None:
    said, mend = fault_of(planting("bean-climbing", where=AtTrellis(), establish="stations", count=4))
    assert "climbs a trellis, but bed 'bed' has none" in said
    assert "trellises: [{edge: north, height: 2 m}]" in mend


def test_no_trellis_on_that_edge() -> None:
    climber = planting("bean-climbing", where=AtTrellis(edge="south"), establish="stations", count=4)
    said, mend = fault_of(climber, area=trellis_bed(0.0, "north"))
    assert "has it on the north" in said
    assert "edge: north" in mend


def test_more_plants_than_fit() -> None:
    said, mend = fault_of(planting("cabbage-winter", establish="module", count=400))
    assert "do not fit" in said
    most = int(mend.removeprefix("plant at most "))
    assert planned(planting("cabbage-winter", establish="module", count=most)).plantings[0].stand.plants == most


def test_place_cells_needs_no_plan() -> None:
    """The shares of cells can be asked for alone, for drawing."""
    item, grid = planting(where=strip(*percent(0.0, 50.0))), grid_of(2.0, 1.0)  # type: ignore[arg-type]
    cells, edge = place_cells(item, recipe(item), bed(), grid)
    assert cells.sum() * grid.cell_m2 == pytest.approx(1.0)
    assert edge == ""


def test_a_plant_narrower_than_a_cell_fills_the_cells_that_it_stands_in() -> None:
    """In a large bed: the one cell in whose middle it stands, and the two between which it stands."""
    wide = bed(25.0, 20.0)
    grid = grid_of(25.0, 20.0)
    assert reach_m(load_crop("radish")) < 0.6 * grid.dx_m
    for x, cells in ((10.5, 1.0), (11.0, 2.0)):
        where = Points(at=(metres(x * grid.dx_m, 10.5 * grid.dy_m),))  # type: ignore[arg-type]
        found = planned(planting("radish", where=where, establish="stations"), one=wide).plantings[0]
        assert found.stand.cells.sum() == cells, x


def test_plants_go_into_the_very_cells_that_are_theirs() -> None:
    """The last column of a bed, the one before it, and the first: places lie in it and nowhere else, as in its mirror."""
    grid = grid_of(2.0, 1.0)
    found = {}
    for column in (0, 1, grid.nx - 2, grid.nx - 1):
        cells = np.zeros((grid.nx, grid.ny))
        cells[column] = 1.0
        (found[column],) = spread_points([(3, 0.05, cells)], grid)
        assert (found[column][:, 0] // grid.dx_m == column).all(), column
    for a, b in ((0, grid.nx - 1), (1, grid.nx - 2)):
        assert sorted(found[a][:, 1]) == pytest.approx(sorted(found[b][:, 1]))


def test_ground_of_others_draws_no_plant_from_the_middle_of_its_own() -> None:
    """One plant in the second fifth of a bed of which the last is a drilled crop's, alone and among others that are spread."""
    grid = Grid(50, 12, 0.1, 0.1)

    def strip(first: int, last: int) -> NDArray[np.float64]:
        cells = np.zeros((50, 12))
        cells[first:last] = 1.0
        return cells

    big, small = (1, 0.5, strip(15, 26)), (8, 0.15, strip(26, 32))
    assert spread_points([big], grid)[0] == pytest.approx(np.array([[2.05, 0.6]]), abs=0.03)
    assert spread_points([small, big], grid)[1] == pytest.approx(np.array([[2.05, 0.6]]), abs=0.03)
