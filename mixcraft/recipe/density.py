"""How thick a planting stands and may stand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from .layout import Grid, reach_m

if TYPE_CHECKING:
    from .plan import Planned


def usual_range(planned: Planned) -> tuple[float, float]:
    """Usual numbers of plants per square metre, thinnest and densest: the published range of the crop's density, that for cutting
    where it is cut young and the crop has one."""
    crop = planned.planting.crop
    cut = any(harvest.method == "cut" for harvest in planned.harvests)
    record = crop.records["spacing.density"]
    if cut and "spacing.cutting_density" in crop.records:
        record = crop.records["spacing.cutting_density"]
    return min(record.value, record.low or record.value), max(record.value, record.high or record.value)


def densest(planned: Planned) -> float:
    """Greatest usual number of plants per square metre."""
    return usual_range(planned)[1]


def standing_density(planned: Planned, grid: Grid) -> float:
    """Plants per square metre of the ground that they can reach: where they stand on drawn points or in rows, the cells of the
    bed within reach of one of them, else their own place."""
    points = planned.stand.positions
    if points is None or len(points) == 0:
        return planned.density_per_m2
    x, y = grid.centres()
    reach = max(reach_m(planned.planting.crop), math.hypot(grid.dx_m, grid.dy_m) / 2.0)
    apart = (x[..., None] - points[:, 0]) ** 2 + (y[..., None] - points[:, 1]) ** 2
    ground = float((apart.min(axis=-1) <= reach**2).sum()) * grid.cell_m2
    return planned.stand.plants / max(ground, planned.stand.area_m2)
