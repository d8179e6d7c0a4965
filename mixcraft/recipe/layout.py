"""Where plants stand: the cells of the bed that each planting fills, rows, and drawn positions.

Coordinates: x runs along the length from the foot of the bed, y across it, to the left of someone looking from foot to
head.  A bed is divided into cells of about ten centimetres; a planting's `cells` say which of them its leaves fill when
it is full-grown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.model import Crop

from .constants import constant
from .model import (
    EDGE_BEARING_DEG,
    AtTrellis,
    Bed,
    Border,
    Count,
    Density,
    Planting,
    Points,
    Recipe,
    Rows,
    SeedRate,
    Span,
    Strip,
    Usual,
    WholeBed,
    Zone,
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

CELL_M = 0.1
"""Aimed side of a cell [m]; the light model's voxels have the same side."""
MOST_CELLS = 5000
"""No more cells than this, 50 m2 of the aimed size: in a larger bed they are larger, so that time and memory stay bounded."""
MOST_PLANTED_CELLS = 50_000
"""No more cells times plantings than this: 20 plantings on 25 m2, 60 on 8 m2 of cells of the aimed size."""
TRELLIS_DEPTH_M = constant("trellis_depth")
"""Depth of the strip that a row of climbers fills at the foot of its trellis [m]."""
WIDEST_TRELLIS_ROW_M = constant("trellis_row_widest")
"""Widest ground a row of climbers is reckoned to use [m]."""
ROW_REACH = constant("row_reach")
"""Leaves of a row reach to each side over the height of its plants, where there is room."""
DISC_OVER_SQUARE = math.pi / 2.0
"""Area of a disc over that of the square within it."""
MOST_POINTS = 600
"""No more positions than this are drawn for one planting; a denser stand is drawn as an area."""


class LayoutError(ValueError):
    """Plants do not fit; `where` is the path within the planting, `repair` what to write."""

    def __init__(self, message: str, where: tuple[str | int, ...] = (), repair: str = "") -> None:
        super().__init__(message)
        self.where, self.repair = where, repair


@dataclass(frozen=True, slots=True)
class Grid:
    """The cells of a bed: `nx` along the length and `ny` across, sides `dx_m`, `dy_m`."""

    nx: int
    ny: int
    dx_m: float
    dy_m: float

    @property
    def cell_m2(self) -> float:
        """Area of a cell [m2]."""
        return self.dx_m * self.dy_m

    def centres(self) -> tuple[Floats, Floats]:
        """x and y of the cell centres [m], each of shape (nx, ny)."""
        x = (np.arange(self.nx) + 0.5) * self.dx_m
        y = (np.arange(self.ny) + 0.5) * self.dy_m
        return np.broadcast_to(x[:, None], (self.nx, self.ny)), np.broadcast_to(y[None, :], (self.nx, self.ny))


@dataclass(frozen=True, slots=True)
class Stand:
    """Where one planting stands: cells, own area, number of plants and, where plants are few, their positions.

    `cells` (nx, ny) is the share of each cell that its place takes; `taken` how much of that ground its plants take, each the
    square within its disc (`ground_m2`), and 1 for stands that are spread evenly over it; `rows` are line segments ((x0, y0),
    (x1, y1)) [m]; `positions` (n, 2) [m] is None for a stand too dense or too irregular to draw.
    `beyond_m2` is the ground outside the bed over which its vines run, `beyond_alone_m2` that of the crop alone on the bed.
    """

    cells: Floats
    area_m2: float
    plants: float
    rows: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    positions: Floats | None = None
    edge: str = ""
    taken: float = 1.0
    reach_m: float = 0.0
    beyond_m2: float = 0.0
    beyond_alone_m2: float = 0.0


def grid_of(length_m: float, width_m: float, cell_m: float = CELL_M, plantings: int = 1) -> Grid:
    """The grid of a bed, with cells as near to `cell_m` as fits; larger ones where they would be more than `MOST_CELLS`, or more
    than `MOST_PLANTED_CELLS` for each of the `plantings`."""
    most = max(4, min(MOST_CELLS, MOST_PLANTED_CELLS // max(plantings, 1)))
    aimed = max(cell_m, math.sqrt(length_m * width_m / most))
    nx = max(2, min(round(length_m / aimed), most // 2))
    ny = max(2, min(round(width_m / aimed), most // nx))
    return Grid(nx, ny, length_m / nx, width_m / ny)


def side_of_edge(edge: str, heading_deg: float) -> str:
    """The side of the bed (head, left, foot, right) that faces the compass edge `edge` most nearly."""
    turn = (EDGE_BEARING_DEG[edge] - heading_deg) % 360.0
    return ("head", "right", "foot", "left")[int(((turn + 45.0 - 1e-9) % 360.0) // 90.0)]


def edge_of_side(side: str, heading_deg: float) -> str:
    """The compass edge (north, east, south, west) that a side of the bed faces most nearly."""
    return next(edge for edge in EDGE_BEARING_DEG if side_of_edge(edge, heading_deg) == side)


def trellis_of(planting: Planting, bed: Bed) -> tuple[str, float]:
    """The compass edge and height [m] of the trellis a planting uses; raises `LayoutError` when there is none."""
    edge = planting.where.edge if isinstance(planting.where, AtTrellis) else "any"
    for trellis in bed.trellises:
        if edge in ("any", trellis.edge):
            return trellis.edge, trellis.height_m
    have = ", ".join(t.edge for t in bed.trellises)
    if not have:
        raise LayoutError(
            f"{planting.name} climbs a trellis, but bed {bed.name!r} has none", ("place",),
            "give the bed one, `trellises: [{edge: north, height: 2 m}]`, or take another place and a support",
        )  # fmt: skip
    raise LayoutError(
        f"{planting.name} climbs a trellis on the {edge} edge, but bed {bed.name!r} has it on the {have}", ("place", "edge"),
        f"write `edge: {bed.trellises[0].edge}` or `edge: any`",
    )  # fmt: skip


def reach_m(crop: Crop) -> float:
    """Radius [m] of the disc that the leaves of one full-grown plant with room around it fill.

    Half its spread, or what its place in the best stand alone asks for: the circle around a square of that place.
    """
    return max(crop["canopy.spread"] / 2.0, math.sqrt(0.5 / crop["spacing.density"]))


def ground_m2(crop: Crop) -> float:
    """Ground that one full-grown plant with room around it can fill [m2]: the disc of `reach_m`."""
    return math.pi * reach_m(crop) ** 2


def beyond_m2(planting: Planting, bed: Bed, cells: Floats, grid: Grid) -> float:
    """Ground outside a bed [m2] over which the vines of a planting run, which stands on `cells` (nx, ny) of it: as far as they
    reach, and as what lies beside the bed lets them.  Vines of the cucumber family that have no support."""
    crop = planting.crop
    supported = bool(planting.support) or isinstance(planting.where, AtTrellis)
    if supported or crop.form != "sprawling" or crop.family != "Cucurbitaceae":
        return 0.0
    total, stands = 0.0, cells > 0.0
    for beside in bed.beside:
        side = side_of_edge(beside.side, bed.heading_deg)
        across = stands if side in ("foot", "head") else stands.T
        across = across[::-1] if side in ("head", "left") else across
        deep, long = (grid.dx_m, grid.dy_m) if side in ("foot", "head") else (grid.dy_m, grid.dx_m)
        off = np.where(across.any(axis=0), across.argmax(axis=0) * deep, np.inf)
        total += float(np.minimum(np.maximum(reach_m(crop) - off, 0.0), beside.run_over).sum()) * long
    return total


def trellis_row_m(planting: Planting) -> float:
    """Width of ground that a row of climbers is reckoned to use [m]; see `row_on_trellis_m`."""
    return row_on_trellis_m(planting.crop)


def row_on_trellis_m(crop: Crop) -> float:
    """Width of ground that a row of a crop on a trellis is reckoned to use [m]: its distance between rows, within limits.

    A row on a trellis catches light from its sides; its leaf area index, density and yield refer to this width although its
    plants stand in a strip of `TRELLIS_DEPTH_M`.
    """
    return min(max(crop["spacing.between_rows"] / 100.0, TRELLIS_DEPTH_M), WIDEST_TRELLIS_ROW_M)


def _side_strip(grid: Grid, side: str, depth_m: float) -> Bools:
    x, y = grid.centres()
    length, width = grid.nx * grid.dx_m, grid.ny * grid.dy_m
    distance = {"foot": x, "head": length - x, "right": y, "left": width - y}[side]
    reach = max(depth_m, (grid.dx_m if side in ("foot", "head") else grid.dy_m) * 0.51)
    return np.asarray(distance < reach)


SHARE_DIGITS = 9
"""Digits of the share of a cell: sides of cells and of places are decimals that binary numbers miss by 1e-16."""


def _rectangle(grid: Grid, x0: float, x1: float, y0: float, y1: float) -> Floats:
    """Share of each cell inside the rectangle; a cell of which rounding alone leaves a sliver is outside."""

    def shares(n: int, step: float, low: float, high: float) -> Floats:
        edges = np.arange(n + 1) * step
        inside = np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, None) / step
        return np.asarray(np.round(inside, SHARE_DIGITS))

    return np.outer(shares(grid.nx, grid.dx_m, x0, x1), shares(grid.ny, grid.dy_m, y0, y1))


def _fitted(
    name: str, ends: tuple[Span, Span], drawn_m: float, side_m: float, where: tuple[str | int, ...]
) -> tuple[float, float]:
    """From and to [m] on a side of `side_m`, drawn for a side of `drawn_m`; raises `LayoutError` if they lie outside."""
    low, high = (s.metres(drawn_m) * (side_m / drawn_m) for s in ends)
    if low >= high:
        raise LayoutError(f"{name}: its place runs from {low:g} m back to {high:g} m", where, "swap the two")
    if low < -1e-6 or high > side_m + 1e-6:
        raise LayoutError(
            f"{name}: its place reaches to {high:g} m, but the bed ends at {side_m:g} m", where,
            "draw it inside the bed, or in shares such as 25 %",
        )  # fmt: skip
    return low, high


def place_cells(planting: Planting, recipe: Recipe, bed: Bed, grid: Grid) -> tuple[Floats, str]:
    """Share of each cell that the planting may fill, (nx, ny), and the compass edge it uses, if any.

    Lengths in the recipe are stretched from its reference bed to this one.
    """
    where, name = planting.where, planting.name
    match where:
        case WholeBed():
            return np.ones((grid.nx, grid.ny)), ""
        case Strip(x):
            x0, x1 = _fitted(name, x, recipe.length_m, bed.length_m, ("place",))
            return _rectangle(grid, x0, x1, 0.0, bed.width_m), ""
        case Zone(x, y):
            x0, x1 = _fitted(name, x, recipe.length_m, bed.length_m, ("place",))
            y0, y1 = _fitted(name, y, recipe.width_m, bed.width_m, ("place", "y"))
            return _rectangle(grid, x0, x1, y0, y1), ""
        case Border(edge, depth_m):
            return _side_strip(grid, side_of_edge(edge, bed.heading_deg), depth_m).astype(float), edge
        case AtTrellis():
            edge, _ = trellis_of(planting, bed)
            return _side_strip(grid, side_of_edge(edge, bed.heading_deg), TRELLIS_DEPTH_M).astype(float), edge
        case Rows():
            return _row_cells(planting, where, recipe, bed, grid), ""
        case Points():
            return _point_cells(planting, points_of(planting, where, recipe, bed), grid), ""


def row_offsets(planting: Planting, where: Rows, recipe: Recipe, bed: Bed) -> list[float]:
    """Where the rows of a planting lie across the bed [m]."""
    across, reference = (bed.width_m, recipe.width_m) if where.along == "length" else (bed.length_m, recipe.length_m)
    offsets = []
    for i, span in enumerate(where.at):
        at = span.metres(reference) * across / reference
        if not 0.0 <= at <= across + 1e-6:
            raise LayoutError(
                f"{planting.name}: a row at {at:g} m lies outside the bed, which is {across:g} m across",
                ("place", "at", i), "draw it inside the bed, or in shares such as 25 %",
            )  # fmt: skip
        offsets.append(at)
    return offsets


def row_ends(planting: Planting, where: Rows, recipe: Recipe, bed: Bed) -> tuple[float, float]:
    """Where the rows of a planting begin and end, measured along them [m]."""
    along, reference = (bed.length_m, recipe.length_m) if where.along == "length" else (bed.width_m, recipe.width_m)
    return (0.0, along) if where.ends is None else _fitted(planting.name, where.ends, reference, along, ("place",))


def row_reach_m(crop: Crop, plants_per_m: float = math.inf) -> float:
    """How far to each side the leaves of a row reach [m] where there is room: as far as its plants can fill the ground, and no
    further than `ROW_REACH` times their height; no less than half their spread."""
    fills = 0.5 * plants_per_m * ground_m2(crop)
    return max(constant("row_half_least"), crop["canopy.spread"] / 2.0, min(fills, ROW_REACH * crop["canopy.height"]))


def rows_reach_m(planting: Planting, where: Rows, recipe: Recipe, bed: Bed) -> float:
    """`row_reach_m` of a planting in rows."""
    rows = len(where.at)
    across = bed.width_m if where.along == "length" else bed.length_m
    begin, end = row_ends(planting, where, recipe, bed)
    along = end - begin
    usual = min(planting.crop["spacing.between_rows"] / 100.0, across / rows)
    plants = plants_of(planting, recipe, bed, usual * along * rows)
    return row_reach_m(planting.crop, plants / (along * rows))


def _row_cells(planting: Planting, where: Rows, recipe: Recipe, bed: Bed, grid: Grid) -> Floats:
    offsets = row_offsets(planting, where, recipe, bed)
    reach = rows_reach_m(planting, where, recipe, bed)
    begin, end = row_ends(planting, where, recipe, bed)
    cells = np.zeros((grid.nx, grid.ny))
    for at in offsets:
        if where.along == "length":
            cells += _rectangle(grid, begin, end, at - reach, at + reach)
        else:
            cells += _rectangle(grid, at - reach, at + reach, begin, end)
    return np.minimum(cells, 1.0)


def points_of(planting: Planting, where: Points, recipe: Recipe, bed: Bed) -> Floats:
    """Drawn points of a planting on this bed, (n, 2) [m]."""
    sx, sy = bed.length_m / recipe.length_m, bed.width_m / recipe.width_m
    points = np.array([(x.metres(recipe.length_m) * sx, y.metres(recipe.width_m) * sy) for x, y in where.at])
    for i, (x, y) in enumerate(points):
        if not (0.0 <= x <= bed.length_m + 1e-6 and 0.0 <= y <= bed.width_m + 1e-6):
            raise LayoutError(
                f"{planting.name}: the point ({x:g} m, {y:g} m) lies outside the bed", ("place", "at", i),
                f"the bed is {bed.length_m:g} m by {bed.width_m:g} m",
            )  # fmt: skip
    return points


def _point_cells(planting: Planting, points: Floats, grid: Grid) -> Floats:
    """Cells (nx, ny) that plants standing at `points` (n, 2) [m] fill when they are full-grown: discs of `reach_m`."""
    x, y = grid.centres()
    radius = max(reach_m(planting.crop), 0.6 * max(grid.dx_m, grid.dy_m))
    cells = np.zeros((grid.nx, grid.ny))
    for px, py in points:
        inside = (x - px) ** 2 + (y - py) ** 2 <= radius**2
        if not inside.any():
            inside = np.hypot(x - px, y - py) == np.hypot(x - px, y - py).min()
        cells = np.maximum(cells, inside.astype(float))
    return cells


def plants_of(planting: Planting, recipe: Recipe, bed: Bed, area_m2: float) -> float:
    """Number of plants standing after thinning.  A count drawn for the reference bed grows with the area (or edge)."""
    crop = planting.crop
    if isinstance(planting.where, Points):
        return float(len(planting.where.at))
    match planting.amount:
        case Count(plants):
            return float(max(1, round(plants * _enlarged(planting, recipe, bed))))
        case Density(per_m2):
            return max(1.0, per_m2 * area_m2)
        case SeedRate(g_per_m2):
            established = crop["seed.germination"] / 100.0 * crop["seed.field_factor"]
            return max(1.0, g_per_m2 * area_m2 * crop["seed.per_gram"] * established)
        case Usual():
            return max(1.0, usual_density(crop, planting.establish) * area_m2)


def _enlarged(planting: Planting, recipe: Recipe, bed: Bed) -> float:
    """How much larger the bed is than the recipe's: by area, or by length for what stands along an edge."""
    where = planting.where
    if not isinstance(where, AtTrellis | Border):
        return bed.area_m2 / (recipe.length_m * recipe.width_m)
    edge = where.edge if isinstance(where, Border) else trellis_of(planting, bed)[0]
    along_width = side_of_edge(edge, bed.heading_deg) in ("head", "foot")
    return bed.width_m / recipe.width_m if along_width else bed.length_m / recipe.length_m


def usual_density(crop: Crop, establish: str) -> float:
    """Plants to the square metre where a recipe says nothing: the crop's density for cutting young, if it is sown thickly
    (broadcast, in drills) and usually cut, else its usual density."""
    if establish in ("broadcast", "drills") and crop.main_part.methods[0] == "cut":
        return crop.number("spacing.cutting_density", crop["spacing.density"])
    return crop["spacing.density"]


def check_fit(planting: Planting, stand: Stand) -> None:
    """Refuse more plants than can stand: denser than five times the crop's densest usual stand."""
    crop, counted = planting.crop, isinstance(planting.amount, Count)
    record = crop.records["spacing.density"]
    densest = max(record.value, record.high or 0.0, crop.number("spacing.cutting_density", 0.0))
    density = stand.plants / stand.area_m2
    if density > constant("densest_times") * densest:
        most = math.floor(2.0 * densest * stand.area_m2)
        raise LayoutError(
            f"{stand.plants:.0f} plants of {crop.name} do not fit on {stand.area_m2:.2f} m2: that is {density:.0f} to the "
            f"square metre, {record.value:g} is usual", ("count",) if counted else (), f"plant at most {max(most, 1)}",
        )  # fmt: skip


def spread_points(stands: Sequence[tuple[int, float, Floats]], grid: Grid, step_m: float = 0.05) -> list[Floats]:
    """Positions for several plantings that share a bed, each plant as far from its neighbours as its size asks.

    `stands` holds (number of plants, radius [m], allowed cells (nx, ny)); the answer holds (n, 2) arrays in the same order, and
    is the same whatever that order is.  Large plants are placed first; every next plant goes where the smallest distance to
    those standing, in units of the two radii, is greatest (a weighted farthest-point rule), so that like plants end up evenly
    apart.  Sites are `step_m` apart, further in beds where they would be more than `MOST_SITES`.
    """
    order = sorted(range(len(stands)), key=lambda i: (-stands[i][1], stands[i][0], stands[i][2].tobytes()))
    placed = dict(zip(order, _spread([stands[i] for i in order], grid, step_m), strict=True))
    return [placed[i] for i in range(len(stands))]


def _spread(stands: Sequence[tuple[int, float, Floats]], grid: Grid, step_m: float) -> list[Floats]:
    """`spread_points` of stands in the order in which they are placed."""
    step_m = max(step_m, math.sqrt(grid.nx * grid.dx_m * grid.ny * grid.dy_m / MOST_SITES))
    nx, ny = max(2, round(grid.nx * grid.dx_m / step_m)), max(2, round(grid.ny * grid.dy_m / step_m))
    x = (np.arange(nx) + 0.5) * grid.nx * grid.dx_m / nx
    y = (np.arange(ny) + 0.5) * grid.ny * grid.dy_m / ny
    px, py = (a.ravel() for a in np.meshgrid(x, y, indexing="ij"))
    ix = np.minimum((px / grid.dx_m).astype(int), grid.nx - 1)
    iy = np.minimum((py / grid.dy_m).astype(int), grid.ny - 1)
    near: list[Floats] = []
    result: list[Floats] = [np.zeros((0, 2)) for _ in stands]
    wall = np.minimum.reduce([px, grid.nx * grid.dx_m - px, py, grid.ny * grid.dy_m - py])
    for index, (count, radius, cells) in enumerate(stands):
        allowed = cells[ix, iy] > 0.5
        room = np.clip(2.0 * wall / radius, constant("wall_room_least"), 1.0)
        gap = np.full((nx, ny), FARTHEST)
        for distance, (_, other, _) in zip(near, stands, strict=False):  # those that are placed are as large or larger
            np.minimum(gap, distance / (radius + other), out=gap)
        # like plants repel one another over the distance that their own number leaves them
        own = math.sqrt(max(allowed.sum(), 1) * step_m**2 / max(count, 1))
        unit, mine, points = max(2.0 * radius, own), np.full((nx, ny), np.inf), []
        for _ in range(count):
            best = int(np.argmax(np.where(allowed, gap.ravel() * room, -np.inf)))
            points.append((px[best], py[best]))
            around = _nearer(mine, x, y, float(px[best]), float(py[best]), FARTHEST * unit)
            gap[around] = np.minimum(gap[around], mine[around] / unit)
        near.append(mine)
        result[index] = np.array(points)
    return _relaxed(result, stands, px, py, ix, iy)


def _nearer(distance: Floats, x: Floats, y: Floats, at_x: float, at_y: float, reach_m: float) -> tuple[slice, slice]:
    """Lower `distance` (nx, ny) [m] to the nearest plant of a kind for one more at a point; the sites within reach of it."""
    i = slice(*np.searchsorted(x, (at_x - reach_m, at_x + reach_m)))
    j = slice(*np.searchsorted(y, (at_y - reach_m, at_y + reach_m)))
    distance[i, j] = np.minimum(distance[i, j], np.hypot(x[i, None] - at_x, y[None, j] - at_y))
    return i, j


def _relaxed(
    points: list[Floats], stands: Sequence[tuple[int, float, Floats]], px: Floats, py: Floats, ix: Ints, iy: Ints
) -> list[Floats]:
    """Move every plant to the middle of that ground of its own which is nearest to it, in units of radii, some times over (Lloyd
    1982).

    A plant that would leave its own place stays where it is.
    """
    counts = [len(p) for p in points]
    if not 1 <= sum(counts) <= MOST_RELAXED:
        return points
    owner = np.repeat(np.arange(len(points)), counts)
    radius = np.array([s[1] for s in stands])[owner]
    at = np.concatenate(points)
    allowed = np.stack([s[2][ix, iy] > 0.5 for s in stands])
    some = allowed.any(axis=0)  # ground of others is nobody's here
    px, py, allowed = px[some], py[some], allowed[:, some]
    for _ in range(RELAXATIONS):
        distance = np.hypot(at[:, :1] - px, at[:, 1:] - py) / radius[:, None]
        nearest = np.argmin(np.where(allowed[owner], distance, np.inf), axis=0)
        weight = np.bincount(nearest, minlength=len(at)).astype(float)
        middle = np.column_stack(
            [np.bincount(nearest, c, minlength=len(at)) / np.maximum(weight, 1.0) for c in (px, py)]
        )  # fmt: skip
        cell = np.argmin(np.hypot(middle[:, :1] - px, middle[:, 1:] - py), axis=1)
        good = (weight > 0) & allowed[owner, cell]
        at = np.where(good[:, None], middle, at)
    return np.split(at, np.cumsum(counts)[:-1])


RELAXATIONS = 6
MOST_RELAXED = 160
FARTHEST = 10.0
"""Distances beyond so many radii are all as good."""
MOST_SITES = 20_000
"""No more sites than this are looked at for plants: 50 m2 at 5 cm."""
