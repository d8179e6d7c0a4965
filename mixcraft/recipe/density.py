"""How thick a planting stands and may stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from mixcraft.crops.clock import SOWN
from mixcraft.crops.model import Crop
from mixcraft.files import FileFaults

from .constants import constant
from .layout import Grid, reach_m, row_on_trellis_m
from .model import AtTrellis, Count, Density, Recipe, SeedRate
from .rules import Breach, fault_at

if TYPE_CHECKING:
    from .plan import Planned


def usual_range(planned: Planned) -> tuple[float, float]:
    """Usual numbers of plants per square metre, thinnest and densest: the published range of the crop's density, that for cutting
    where it is sown to be cut young and the crop has one; nobody plants out hundreds to the square metre.

    A row on a trellis may be as close as it is in the field, where rows are further apart than is reckoned for it."""
    crop = planned.planting.crop
    cut = any(harvest.method == "cut" for harvest in planned.harvests)
    record = crop.records["spacing.density"]
    if cut and planned.planting.establish in SOWN and "spacing.cutting_density" in crop.records:
        record = crop.records["spacing.cutting_density"]
    if not isinstance(planned.planting.where, AtTrellis):
        return record.span
    closer = max(crop["spacing.between_rows"] / 100.0 / row_on_trellis_m(crop), 1.0)
    return record.span[0] * closer, record.span[1] * closer


def surely_usual(crop: Crop) -> float:
    """Plants per square metre up to which a stand of a crop is usual however it is picked."""
    records = [crop.records[name] for name in ("spacing.density", "spacing.cutting_density") if name in crop.records]
    return min(record.span[1] for record in records)


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
    across, along = ((at[..., None] - points[:, axis]) ** 2 for axis, at in enumerate((x[:, 0], y[0])))
    apart = across[:, None, :] + along
    ground = float((apart.min(axis=-1) <= reach**2).sum()) * grid.cell_m2
    return planned.stand.plants / max(ground, planned.stand.area_m2)


def check_density(recipe: Recipe, planned: Sequence[Planned], grid: Grid) -> None:
    """Raises `FileFaults` for stands far denser than their crop's densest usual one."""
    faults, times = [], constant("densest_refused")
    for i, item in enumerate(planned):
        most = densest(item)
        if item.density_per_m2 <= times * most:
            continue  # on the ground that they reach they stand no denser than on their own
        density = standing_density(item, grid)
        if density <= times * most * (1.0 + 1e-9):
            continue
        fits = max(1, math.floor(item.stand.plants * times * most / density))
        key = {Count: ("count",), Density: ("density",), SeedRate: ("seed_rate",)}.get(type(item.planting.amount), ())
        faults.append(fault_at(recipe, Breach(
            ("plantings", i, *key), "amount.too_thick",
            f"{item.name}: {density:.3g} plants to the square metre of the ground that they reach; {_usual(item)}",
            f"{item.stand.plants:.0f} plants", f"at most {times:g} times the densest usual stand",
            f"at most {fits} plants here ({times * most:.3g} plants/m2)",
        )))  # fmt: skip
    if faults:
        raise FileFaults(faults)


def _usual(item: Planned) -> str:
    """The usual range of a crop's density in words."""
    low, high = usual_range(item)
    return f"{low:.3g} to {high:.3g} are usual"
