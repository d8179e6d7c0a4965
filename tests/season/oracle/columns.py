"""The columns of the reference day loop: what is constant of every planting, and the state that it is in.

The plantings of the mixture come first and are followed by two twins of each: the same plants without the others (`lone`), and
the crop alone on the whole bed at its own best density (`sole`), so that what a mixture costs or gains is computed in the same
weather.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.columns import grain_set, most_leaf_m2, sets_from, sheds_leaf, sole_density, start_leaf_m2, stretch_power
from mixcraft.season.constants import constant
from mixcraft.season.setting import Setting

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Traits:
    """Parameters by column (mixture, lone and sole plantings side by side), each (C,)."""

    k: Floats
    sla: Floats
    leaf_share: Floats
    lai_max: Floats
    area: Floats
    plants: Floats
    best: Floats
    sown: Floats
    leaf0: Floats
    buried: NDArray[np.bool_]
    resprouts: NDArray[np.bool_]
    young_ground: Floats
    critical: Floats
    stretch: Floats
    sheds: NDArray[np.bool_]
    leaf_most: Floats
    sets_from: Floats
    grains: Floats
    """Growth at which a plant sets no grain and as many as it fills [g/d], and the most that it sets over these, (3, C)."""

    def cover(self, leaf_m2: Floats) -> Floats:
        """Share of a column's own ground that its leaves (..., C) [m2] cover, in light of Beer's law."""
        return np.asarray(-np.expm1(-self.k * leaf_m2 / self.area))


def traits_of(setting: Setting) -> Traits:
    """Columns of the mixture, its lone twins and its sole twins."""
    plan = setting.plan
    crops = [p.planting.crop for p in plan.plantings]

    def column(name: str) -> Floats:
        return np.tile([crop[name] for crop in crops], 3)

    area = np.array([p.stand.area_m2 + p.stand.beyond_m2 for p in plan.plantings])
    plants = np.array([p.stand.plants for p in plan.plantings])
    best = np.array([sole_density(p) for p in plan.plantings])
    sole = best * plan.bed.area_m2
    whole = plan.bed.area_m2 + np.array([p.stand.beyond_alone_m2 for p in plan.plantings])
    all_area = np.concatenate([area, area, whole])
    all_plants = np.concatenate([plants, plants, sole])
    return Traits(
        column("canopy.k"), column("canopy.sla") / 1000.0, column("canopy.leaf_share"), column("canopy.lai_max"),
        all_area, all_plants, np.tile(best, 3),
        np.tile([p.sown_factor for p in plan.plantings], 3),
        np.tile([start_leaf_m2(p) for p in plan.plantings], 3),
        np.tile([c.in_soil for c in crops], 3),
        np.tile(["frost.crown" in c.records for c in crops], 3),
        np.minimum(all_area, all_plants / column("spacing.density")),
        np.maximum(column("canopy.lai_max"), constant("shade_death_depth") / column("canopy.k")),
        np.tile([stretch_power(c) for c in crops], 3),
        np.tile([sheds_leaf(p) for p in plan.plantings], 3),
        np.tile([most_leaf_m2(c) for c in crops], 3),
        np.tile([sets_from(c) for c in crops], 3),
        np.tile(np.array([grain_set(c) for c in crops]).T, 3),
    )  # fmt: skip


class State:
    """Running state by (Y, C)."""

    def __init__(self, years: int, columns: int) -> None:
        shape = (years, columns)
        self.alive = np.zeros(shape, dtype=bool)
        self.done = np.zeros(shape, dtype=bool)
        self.leaf = np.zeros(shape)
        self.leaf_mass = np.zeros(shape)
        self.leaf_peak = np.zeros(shape)
        self.dim = np.zeros(shape)
        self.shade = np.zeros(shape)
        self.tall = np.zeros(shape)
        self.before = np.zeros(shape)
        self.grown = np.zeros(shape)
        self.organ = np.zeros(shape)
        self.organ_made = np.zeros(shape)
        self.about_flower = np.zeros(shape)
        self.crowding = np.zeros(shape)


def safe(a: Floats, b: Floats, otherwise: float = 0.0) -> Floats:
    """a / b where b is above 0, else `otherwise`; shape of `a`."""
    return np.divide(a, b, out=np.full_like(a, otherwise), where=b > 0.0)
