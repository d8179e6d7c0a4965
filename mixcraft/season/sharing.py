"""How light is shared through a season: layered canopy day by day, corrected by the voxel model on a scouting season.

A scouting season is grown first in the place's normal year.  Whenever its canopy has changed or a planting has come up, and
every `LONGEST_DAYS` at least, the voxel model is asked what each planting absorbs among the others, without the others, and
alone on the whole bed; set against the layered canopy's answer for the same leaves this gives three corrections by day and
planting.  All weather years are then grown with the layered canopy times these corrections, so that place on the bed, rows,
trellises, walls and the open sides of the bed count in every year at the cost of one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.place.series import day_of_year
from mixcraft.recipe.model import AtTrellis, Border, WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.stands import even_stand

from .columns import Traits, safe, sole_density, traits_of
from .directions import Directions, day_directions, diffuse_shares
from .growth import Light
from .light_layers import LightShares, absorb_layers, overlaps, use_of_layer
from .light_voxels import NO_WALLS, Spreader, voxel_alone, voxel_light, walls_of
from .setting import BEFORE_DAYS, Setting

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SHORTEST_DAYS, LONGEST_DAYS = 7, 21
CHANGE = 0.2
"""The voxel model is asked again when some planting's ground cover has changed by this share, or after `LONGEST_DAYS`."""
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
    return overlaps(np.stack([s.cells for s in stands]), np.array([s.taken for s in stands]))


class Layered:
    """Light sharing by the layered canopy, times corrections if there are any."""

    def __init__(self, setting: Setting, corrections: Corrections | None = None) -> None:
        plan = setting.plan
        self.setting = setting
        self.traits: Traits = traits_of(setting)
        self.count = len(plan.plantings)
        self.overlap = bed_overlaps(plan)
        self.corrections = corrections

    def raw(self, leaf_m2: Floats, height_m: Floats, *, attribute: bool = False) -> Floats:
        """Uncorrected light [m2 of open sky] of all columns and of the mixture's leaves alone, (Y, 4P)."""
        shares = self._shares(leaf_m2, height_m, 0.0, attribute)
        p, own = self.count, self.traits.cover(leaf_m2) * self.traits.area
        return np.concatenate([shares.absorbed, own[:, p:], own[:, :p]], axis=1)

    def _shares(self, leaf_m2: Floats, height_m: Floats, bright: Floats | float, attribute: bool) -> LightShares:
        t, p = self.traits, self.count
        return absorb_layers(
            leaf_m2[:, :p] / t.area[:p], height_m[:, :p], t.k[:p], t.area[:p], self.overlap, attribute=attribute, bright=bright
        )

    def light(
        self, day: int, leaf_m2: Floats, height_m: Floats, factor: Floats, takers: Floats | None, attribute: bool = False
    ) -> Light:
        """`Light` of a day, corrected by `factor` (4P,); no planting absorbs more among others than its leaves would alone."""
        t, p = self.traits, self.count
        bright = self.setting.bright[day]
        shares = self._shares(leaf_m2, height_m, bright * factor[:p], attribute)
        depth = t.k * leaf_m2 / t.area
        own = -np.expm1(-depth) * t.area
        mine = use_of_layer(np.tile(bright, 3) * factor[: 3 * p], np.ones_like(depth), depth) * t.area
        absorbed = np.concatenate([shares.absorbed, own[:, p:]], axis=1) * factor[: 3 * p]
        used = np.concatenate([shares.used, mine[:, p:]], axis=1) * factor[: 3 * p]
        alone = own[:, :p] * factor[3 * p :]
        np.minimum(absorbed[:, :p], alone, out=absorbed[:, :p])
        top = np.concatenate([shares.top, np.ones_like(depth[:, p:])], axis=1)
        return Light(absorbed, alone, shares.taken if takers is None else takers, used, top)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        if self.corrections is not None:
            return self.light(day, leaf_m2, height_m, self.corrections.factor[day], self.corrections.takers[day][None])
        found = self.light(day, leaf_m2, height_m, np.ones(4 * self.count), None, day % 7 == 0)
        if found.takers is None:
            return found
        return replace(found, takers=safe(found.takers, found.takers.sum(axis=2, keepdims=True)))


class Apart:
    """Light of columns that do not see one another: every planting in its own light, by the even canopy alone."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        self.traits = traits_of(setting)
        self.count = len(setting.plan.plantings)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        t = self.traits
        depth = t.k * leaf_m2 / t.area
        own, one = -np.expm1(-depth) * t.area, np.ones_like(depth)
        used = use_of_layer(np.tile(self.setting.bright[day], 3), one, depth) * t.area
        return Light(own, own[:, : self.count].copy(), None, used, one)


class Scout:
    """Light sharing of the scouting season: asks the voxel model and remembers its corrections.

    The mixture is asked when the ground cover of one of its plantings has changed; each crop alone on the whole bed when its
    own has.
    """

    def __init__(self, setting: Setting, layered: Layered, cyclic: bool = False) -> None:
        plan, p = setting.plan, layered.count
        self.setting, self.layered = setting, layered
        self.cyclic = cyclic
        self.walls = NO_WALLS if cyclic else walls_of(plan.bed)
        self.spreaders = [Spreader(x, plan.grid) for x in plan.plantings]
        self.sole_spreaders = [Spreader(sole_twin(x, plan), plan.grid) for x in plan.plantings]
        self.diffuse = diffuse_shares(setting.weather, plan.place.latitude_deg)[BEFORE_DAYS:]
        self.cover, self.asked = np.zeros(2 * p), np.full(2 * p, -LONGEST_DAYS)
        self.factor, self.takers = np.ones(4 * p), np.zeros((p, p))
        self.said: list[tuple[int, Floats, Floats]] = []
        self.ground: list[tuple[int, Floats]] = []

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        raw = self.layered.raw(leaf_m2, height_m)
        if not self.said or day - self.said[-1][0] >= SHORTEST_DAYS:
            due = self._due(day, leaf_m2[0])
            if np.count_nonzero(due):
                self._ask(day, due, leaf_m2[0], height_m[0], raw[0])
        return self.layered.light(day, leaf_m2, height_m, self.factor, self.takers[None])

    def _due(self, day: int, leaf: Floats) -> Bools:
        """Which of the mixture's plantings and of the crops alone have changed enough, been left long enough, or come up since
        they were last asked for, (2P,)."""
        p, cover = self.layered.count, self.layered.traits.cover(leaf)
        cover = np.concatenate([cover[:p], cover[2 * p :]])
        moved = np.abs(cover - self.cover) > CHANGE * np.maximum(self.cover, LEAST_COVER)
        due = moved | (day - self.asked >= LONGEST_DAYS) & (cover > 0.0)
        if np.count_nonzero(due[:p]):
            due[:p] = True
        self.cover, self.asked = np.where(due, cover, self.cover), np.where(due & (cover > 0.0), day, self.asked)
        return np.asarray(due)

    def _ask(self, day: int, due: Bools, leaf: Floats, height: Floats, layered: Floats) -> None:
        """Ask the voxel model for the columns that are `due` and set its answers against the layered canopy's."""
        plan, p = self.setting.plan, self.layered.count
        directions = plan_directions(plan, day, float(self.diffuse[day]))
        k = self.layered.traits.k[:p]
        if due[0]:
            shares = self._shares(self.spreaders, day, leaf[:p] > 0.0)
            mixture = voxel_light(plan.grid, shares, leaf[:p], height[:p], k, directions, self.walls, cyclic=self.cyclic)
            self.takers = safe(mixture.taken, mixture.taken.sum(axis=1, keepdims=True))
            self.ground.append((day, mixture.ground))
            self._correct(slice(0, p), mixture.absorbed, layered[:p])
            for which in (slice(p, 2 * p), slice(3 * p, 4 * p)):
                self._correct(which, mixture.alone, layered[3 * p :])
        if np.count_nonzero(due[p:]):
            alone = np.where(due[p:], leaf[2 * p :], 0.0)
            shares = self._shares(self.sole_spreaders, day, alone > 0.0)
            sole = voxel_alone(plan.grid, shares, alone, height[2 * p :], k, directions, self.walls, cyclic=self.cyclic)
            self._correct(slice(2 * p, 3 * p), sole, layered[2 * p : 3 * p])
        self.said.append((day, self.factor.copy(), self.takers))

    def _correct(self, which: slice, answer: Floats, layered: Floats) -> None:
        good = (layered > LEAST) & (answer > 0.0)
        self.factor[which] = np.where(good, answer / np.maximum(layered, LEAST), self.factor[which])

    def _shares(self, spreaders: list[Spreader], day: int, present: Bools) -> Floats:
        """Shares of leaf area by cell, (P, nx * ny), of plants as far grown as on `day`."""
        grown = self.setting.height_share[day, 0]
        shares = np.zeros((len(spreaders), self.setting.plan.grid.nx * self.setting.plan.grid.ny))
        for i in np.nonzero(present)[0]:
            shares[i] = spreaders[i].shares(float(grown[i]))
        return shares

    def corrections(self) -> Corrections:
        """Corrections for every day of the plan, held from one asking to the next."""
        total, p = self.setting.plan.days, self.layered.count
        if not self.said:
            return Corrections(np.ones((total, 4 * p)), np.zeros((total, p, p)), ())
        days, factors, takers = zip(*self.said, strict=True)
        index = np.clip(np.searchsorted(days, np.arange(total), side="right") - 1, 0, None)
        return Corrections(np.stack(factors)[index], np.stack(takers)[index], tuple(self.ground))


def sole_twin(planned: Planned, plan: Plan) -> Planned:
    """The planting alone on the whole bed at its best density, laid out in its own way; climbers in an even stand."""
    planting = replace(planned.planting, where=WholeBed())
    climbs = isinstance(planned.planting.where, AtTrellis | Border)
    establish = "broadcast" if climbs else planting.establish
    return replace(planned, planting=planting, stand=even_stand(planting.crop, establish, sole_density(planned), plan.grid))


def plan_directions(plan: Plan, day: int, diffuse: float) -> Directions:
    """Directions of light on day index `day` of a plan."""
    return day_directions(plan.place.latitude_deg, int(day_of_year(plan.date(day))), diffuse, plan.bed)
