"""How light is shared through a season: layered canopy day by day, corrected by the voxel model on a scouting season.

A scouting season is grown first in the place's normal year.  Whenever its canopy has changed, and every `LONGEST_DAYS` at
least, the voxel model is asked what each planting absorbs among the others, without the others, and alone on the whole bed;
set against the layered canopy's answer for the same leaves this gives three corrections by day and planting.  All weather years
are then grown with the layered canopy times these corrections, so that place on the bed, rows, trellises, walls and the open
sides of the bed count in every year at the cost of one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import Where
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.stands import even_stand

from .columns import Traits, sole_density, traits_of
from .directions import Directions, day_directions, diffuse_shares
from .growth import Light
from .light_layers import absorb_layers, overlaps
from .light_voxels import Spreader, VoxelLight, voxel_light, walls_of
from .setting import BEFORE_DAYS, Setting

Floats = NDArray[np.float64]

SHORTEST_DAYS, LONGEST_DAYS = 7, 21
CHANGE = 0.25
"""The voxel model is asked again when some planting's ground cover has changed by this share, or after `LONGEST_DAYS`."""
SOLE_EVERY = 1
"""Crops alone on the whole bed are marched with every third asking: their correction, the open sides of the bed, moves slowly."""
LEAST_COVER = 0.2
"""Changes of ground covers below this count as those of this cover: small plants take little light."""
LEAST = 1e-9


@dataclass(frozen=True)
class Corrections:
    """Voxel answer over layered answer by day, (D, 4P): mixture, lone and sole columns, then the mixture's leaves without the
    others; and who takes whose light, (D, P, P), rows summing to 1 (0 where nothing is
    lost).  `ground` holds (day, share of open sky on the soil (nx, ny))."""

    factor: Floats
    takers: Floats
    ground: tuple[tuple[int, Floats], ...]


def bed_overlaps(plan: Plan) -> Floats:
    """`overlaps` of the plantings of a plan, (P, P)."""
    stands = [p.stand for p in plan.plantings]
    return overlaps(np.stack([s.cells for s in stands]), np.array([s.fill for s in stands]))


class Layered:
    """Light sharing by the layered canopy, times corrections if there are any."""

    def __init__(self, setting: Setting, corrections: Corrections | None = None) -> None:
        plan = setting.plan
        self.traits: Traits = traits_of(setting)
        self.count = len(plan.plantings)
        self.overlap = bed_overlaps(plan)
        self.corrections = corrections

    def raw(self, leaf_m2: Floats, height_m: Floats, *, attribute: bool) -> tuple[Floats, Floats | None]:
        """Uncorrected light [m2 of open sky] of all columns and of the mixture's leaves alone, (Y, 4P); takers (Y, P, P)."""
        t, p = self.traits, self.count
        shares = absorb_layers(
            leaf_m2[:, :p] / t.area[:p], height_m[:, :p], t.k[:p], t.area[:p], self.overlap, attribute=attribute
        )
        own = -np.expm1(-t.k * leaf_m2 / t.area) * t.area
        return np.concatenate([shares.absorbed, own[:, p:], own[:, :p]], axis=1), shares.taken

    def light(self, raw: Floats, takers: Floats | None) -> Light:
        """`Light` of (Y, 4P) values, no planting absorbing more among others than its leaves would alone."""
        p = self.count
        alone = raw[:, 3 * p :]
        np.minimum(raw[:, :p], alone, out=raw[:, :p])
        return Light(raw[:, : 3 * p], alone, takers)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        raw, taken = self.raw(leaf_m2, height_m, attribute=self.corrections is None and day % 7 == 0)
        if self.corrections is not None:
            return self.light(raw * self.corrections.factor[day], self.corrections.takers[day][None])
        if taken is None:
            return self.light(raw, None)
        lost = taken.sum(axis=2, keepdims=True)
        return self.light(raw, np.divide(taken, lost, out=np.zeros_like(taken), where=lost > 0.0))


class Apart:
    """Light of columns that do not see one another: every planting in its own light, by the even canopy alone."""

    def __init__(self, setting: Setting) -> None:
        self.traits = traits_of(setting)
        self.count = len(setting.plan.plantings)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        own = -np.expm1(-self.traits.k * leaf_m2 / self.traits.area) * self.traits.area
        return Light(own, own[:, : self.count].copy(), None)


@dataclass
class Scout:
    """Light sharing of the scouting season: asks the voxel model and remembers its corrections."""

    setting: Setting
    layered: Layered
    days: list[int] = field(default_factory=list)
    factors: list[Floats] = field(default_factory=list)
    takers: list[Floats] = field(default_factory=list)
    ground: list[tuple[int, Floats]] = field(default_factory=list)

    def __post_init__(self) -> None:
        plan = self.setting.plan
        self.walls = walls_of(plan.bed)
        self.spreaders = [Spreader(p, plan.grid) for p in plan.plantings]
        self.sole_spreaders = [Spreader(sole_twin(p, plan), plan.grid) for p in plan.plantings]
        self.diffuse = diffuse_shares(self.setting.weather, plan.place.latitude_deg)[BEFORE_DAYS:]
        self.leaf = np.zeros(3 * len(plan.plantings))

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        if self._changed(day, leaf_m2[0]):
            self._ask(day, leaf_m2, height_m)
        raw, _ = self.layered.raw(leaf_m2, height_m, attribute=False)
        return self.layered.light(raw * self.factors[-1], self.takers[-1][None])

    def _changed(self, day: int, leaf: Floats) -> bool:
        if not self.days or day - self.days[-1] >= LONGEST_DAYS:
            return True
        k, area = self.layered.traits.k, self.layered.traits.area
        cover, before = -np.expm1(-k * leaf / area), -np.expm1(-k * self.leaf / area)
        moved = np.abs(cover - before) > CHANGE * np.maximum(before, LEAST_COVER)
        return bool(moved.any() and day - self.days[-1] >= SHORTEST_DAYS)

    def _ask(self, day: int, leaf_m2: Floats, height_m: Floats) -> None:
        plan, p = self.setting.plan, self.layered.count
        directions = plan_directions(plan, day, float(self.diffuse[day]))
        shares = self._shares(self.spreaders, day)
        k = self.layered.traits.k
        mixture = voxel_light(plan.grid, shares, leaf_m2[0, :p], height_m[0, :p], k[:p], directions, self.walls)
        sole = np.zeros(p)
        if len(self.days) % SOLE_EVERY == 0:
            shares = self._shares(self.sole_spreaders, day)
            sole = voxel_light(
                plan.grid, shares, leaf_m2[0, 2 * p :], height_m[0, 2 * p :], k[:p], directions, self.walls
            ).alone  # fmt: skip
        light, _ = self.layered.raw(leaf_m2, height_m, attribute=False)
        layered = light[0].copy()
        layered[p : 2 * p] = layered[3 * p :]
        answer = np.concatenate([mixture.absorbed, mixture.alone, sole, mixture.alone])
        factor = np.where((layered > LEAST) & (answer > 0.0), answer / np.maximum(layered, LEAST), np.nan)
        self._remember(day, factor, mixture, leaf_m2[0])

    def _shares(self, spreaders: list[Spreader], day: int) -> Floats:
        """Shares of leaf area by cell, (P, nx * ny), of plants as far grown as on `day`."""
        grown = self.setting.height_share[day, 0]
        return np.stack([s.shares(float(g)) for s, g in zip(spreaders, grown, strict=True)])

    def _remember(self, day: int, factor: Floats, mixture: VoxelLight, leaf: Floats) -> None:
        previous = self.factors[-1] if self.factors else np.ones_like(factor)
        lost = mixture.taken.sum(axis=1, keepdims=True)
        self.days.append(day)
        self.factors.append(np.where(np.isnan(factor), previous, factor))
        self.takers.append(np.divide(mixture.taken, lost, out=np.zeros_like(mixture.taken), where=lost > 0.0))
        self.ground.append((day, mixture.ground))
        self.leaf = leaf.copy()

    def corrections(self) -> Corrections:
        """Corrections for every day of the plan, held from one asking to the next."""
        total = self.setting.plan.days
        if not self.days:
            p = self.layered.count
            return Corrections(np.ones((total, 4 * p)), np.zeros((total, p, p)), ())
        index = np.clip(np.searchsorted(self.days, np.arange(total), side="right") - 1, 0, None)
        return Corrections(np.stack(self.factors)[index], np.stack(self.takers)[index], tuple(self.ground))


def sole_twin(planned: Planned, plan: Plan) -> Planned:
    """The planting alone on the whole bed at its best density, laid out in its own way; climbers in an even stand."""
    planting = replace(planned.planting, where=Where("whole"))
    climbs = planned.planting.where.kind in ("trellis", "edge")
    establish = "broadcast" if climbs else planting.establish
    return replace(planned, planting=planting, stand=even_stand(planting.crop, establish, sole_density(planned), plan.grid))


def plan_directions(plan: Plan, day: int, diffuse: float) -> Directions:
    """Directions of light on day index `day` of a plan."""
    date = plan.date(day)
    doy = int((date - date.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)) + 1
    return day_directions(plan.place.latitude_deg, doy, diffuse, plan.bed)
