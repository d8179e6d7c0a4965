"""How light is shared through a season: the layered canopy day by day, corrected by the voxel model on a scouting season.

A scouting season is grown first in the place's normal year (a season of one year scouts itself).  Whenever its canopy has
changed or a planting has come up, and every `LONGEST_DAYS` at least, the voxel model is asked what each planting absorbs among
the others, without the others, and alone on the whole bed; set against the layered canopy's answer for the same leaves this
gives three corrections by day and planting.  All weather years are then grown with the layered canopy times these corrections,
so that place on the bed, rows, trellises, walls and the open sides of the bed count in every year at the cost of one.

The corrections of one recipe serve a neighbouring one as long as the voxel model would say the same: same plantings in the same
places, and on every day of asking a canopy that the model would not be asked anew for (`still_hold`).
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import AtTrellis, Border, WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.shelf import Same, Shelf
from mixcraft.recipe.stands import even_stand

from .columns import MIXTURE, SOLE, columns_of, safe, sole_density
from .directions import diffuse_shares, plan_directions
from .kernel_asking import CHANGE, LEAST_COVER, LONGEST_DAYS, NO_DAY, SHORTEST_DAYS
from .light_voxels import NO_WALLS, Spreader, voxel_alone, voxel_light, walls_of
from .setting import Setting
from .stand import DONE, Loop, bed_overlaps, ground_of, run, stand_of
from .tables import Asking, Stand, Trace

__all__ = ["SHORTEST_DAYS", "Corrections", "asked_of", "bed_overlaps", "plan_directions", "still_hold"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
LEAST = 1e-9


@dataclass(frozen=True)
class Asked:
    """What was asked: `places` of the plantings, days (A,), and at the end of each the mixture's and the crops' covers and
    heights [m], (A, 2P) each."""

    places: tuple[Hashable, ...]
    days: Ints
    cover: Floats
    height_m: Floats


@dataclass(frozen=True)
class Corrections:
    """Voxel answer over layered answer by day, (D, 4P): mixture, lone and sole columns, then the mixture's leaves without the
    others; and who takes whose light, (D, P, P), rows summing to 1 (0 where nothing is lost).  `ground` holds (day, share of open
    sky on the soil (nx, ny)); `asked` what the model was asked."""

    factor: Floats
    takers: Floats
    ground: tuple[tuple[int, Floats], ...]
    asked: Asked


class Scout:
    """A scouting season: asks the voxel model and remembers its corrections.

    The mixture is asked when the ground cover of one of its plantings has changed; each crop alone on the whole bed when its
    own has.
    """

    def __init__(self, setting: Setting, keep: Shelf, cyclic: bool = False) -> None:
        plan = setting.plan
        p = len(plan.plantings)
        self.setting, self.count = setting, p
        columns = [c for kind in (MIXTURE, SOLE) for c in columns_of(plan.plantings, kind, plan.bed.area_m2)]
        ground = ground_of(setting, columns, np.ones((plan.days, 3 * p)), keep)
        asking = Asking(
            1, np.arange(2 * p), np.zeros(2 * p), np.full(2 * p, -LONGEST_DAYS), np.zeros(2 * p, dtype=bool),
            np.full(1, NO_DAY), np.zeros(3 * p),
        )  # fmt: skip
        self.loop = Loop(stand_of(setting, columns, ground, keep), asking)
        self.cyclic, self.walls = cyclic, NO_WALLS if cyclic else walls_of(plan.bed)
        self.spreaders = [_spreader(keep, _place_key(x, plan), x, plan) for x in plan.plantings]
        self.sole_spreaders = [_spreader(keep, _sole_key(x, plan), sole_twin(x, plan), plan) for x in plan.plantings]
        diffuse = keep("diffuse", lambda: diffuse_shares(setting.weather, plan.place.latitude_deg))
        self.diffuse: Floats = diffuse[setting.days]
        self.factor, self.takers = np.ones(4 * p), np.zeros((p, p))
        self.said: list[tuple[int, Floats, Floats]] = []
        self.ground: list[tuple[int, Floats]] = []

    def run(self) -> Corrections:
        """Grow the season, asking as it grows."""
        day = 0
        while (day := self.loop.until_asked(day)) != DONE:
            self._ask(day)
        self.loop.done()
        return self.corrections()

    def _ask(self, day: int) -> None:
        """Ask the voxel model for the columns that are due and set its answers against the layered canopy's."""
        plan, p, running, asking = self.setting.plan, self.count, self.loop.running, self.loop.asking
        leaf, height, due, raw = running.state.leaf.copy(), running.now.height.copy(), asking.due, asking.raw
        directions = plan_directions(plan, day, float(self.diffuse[day]))
        k = self.loop.stand.traits.k[:p].copy()
        if due[0]:
            shares = self._shares(self.spreaders, day, leaf[:p] > 0.0)
            mixture = voxel_light(plan.grid, shares, leaf[:p], height[:p], k, directions, self.walls, cyclic=self.cyclic)
            self.takers = safe(mixture.taken, mixture.taken.sum(axis=1, keepdims=True))
            self.ground.append((day, mixture.ground))
            self._correct(slice(0, p), mixture.absorbed, raw[:p])
            for which in (slice(p, 2 * p), slice(3 * p, 4 * p)):
                self._correct(which, mixture.alone, raw[2 * p :])
        if due[p:].any():
            alone = np.where(due[p:], leaf[p:], 0.0)
            shares = self._shares(self.sole_spreaders, day, alone > 0.0)
            sole = voxel_alone(plan.grid, shares, alone, height[p:], k, directions, self.walls, cyclic=self.cyclic)
            self._correct(slice(2 * p, 3 * p), sole, raw[p : 2 * p])
        factor = self.loop.stand.ground.factor
        factor[day:, :p], factor[day:, p : 2 * p], factor[day:, 2 * p :] = (
            self.factor[part] for part in (slice(0, p), slice(2 * p, 3 * p), slice(3 * p, 4 * p))
        )
        self.said.append((day, self.factor.copy(), self.takers))

    def _correct(self, which: slice, answer: Floats, layered: Floats) -> None:
        good = (layered > LEAST) & (answer > 0.0)
        self.factor[which] = np.where(good, answer / np.maximum(layered, LEAST), self.factor[which])

    def _shares(self, spreaders: list[Spreader], day: int, present: Bools) -> Floats:
        """Shares of leaf area by cell, (P, nx * ny), of plants as far grown as on `day`."""
        shares = np.zeros((len(spreaders), self.setting.plan.grid.nx * self.setting.plan.grid.ny))
        for i in np.nonzero(present)[0]:
            shares[i] = spreaders[i].shares(float(self.setting.courses[i].grown[0, day]))
        return shares

    def corrections(self) -> Corrections:
        """Corrections for every day of the plan, held from one asking to the next."""
        total, p = self.setting.plan.days, self.count
        places = tuple(_place_key(x, self.setting.plan) for x in self.setting.plan.plantings)
        if not self.said:
            nothing = Asked(places, np.zeros(0, dtype=np.int64), np.zeros((0, 2 * p)), np.zeros((0, 2 * p)))
            return Corrections(np.ones((total, 4 * p)), np.zeros((total, p, p)), (), nothing)
        days, factors, takers = zip(*self.said, strict=True)
        index = np.clip(np.searchsorted(days, np.arange(total), side="right") - 1, 0, None)
        asked = Asked(places, np.array(days), *_canopy(self.loop.stand, self.loop.trace, np.array(days)))
        return Corrections(np.stack(factors)[index], np.stack(takers)[index], tuple(self.ground), asked)


def asked_of(setting: Setting, keep: Shelf | None = None, cyclic: bool = False) -> Corrections:
    """Corrections of the layered canopy by the voxel model, from a season of one year."""
    return Scout(setting, Shelf() if keep is None else keep, cyclic).run()


def still_hold(corrections: Corrections, setting: Setting, keep: Shelf) -> bool:
    """Whether corrections that were found for another recipe are what the voxel model would say for this `setting` (of one year).

    They are where the plantings stand in the same places and where, grown with these corrections, no planting and no crop alone
    has, on any day on which the model was asked, a ground cover or a height so far from what it was asked for that it would be
    asked anew.
    """
    plan, asked = setting.plan, corrections.asked
    p = len(plan.plantings)
    places = tuple(_place_key(x, plan) for x in plan.plantings)
    if places != asked.places or len(corrections.factor) != plan.days or not len(asked.days):
        return False
    columns = [c for kind in (MIXTURE, SOLE) for c in columns_of(plan.plantings, kind, plan.bed.area_m2)]
    factor = corrections.factor[:, [*range(p), *range(2 * p, 4 * p)]]
    stand = stand_of(setting, columns, ground_of(setting, columns, factor, keep), keep)
    cover, height = _canopy(stand, run(stand), asked.days)
    grown = asked.cover > 0.0
    far = np.abs(cover - asked.cover) > CHANGE * np.maximum(asked.cover, LEAST_COVER)
    far |= grown & (np.abs(height - asked.height_m) > CHANGE * np.maximum(asked.height_m, LEAST_COVER))
    return not far.any()


def _canopy(stand: Stand, trace: Trace, days: Ints) -> tuple[Floats, Floats]:
    """Ground covers and heights [m] of all columns at the end of some days of the first year, (A, C) each."""
    return -np.expm1(-stand.traits.k * trace.leaf_m2[days, 0] / stand.traits.area), trace.height_m[days, 0]


def _place_key(planned: Planned, plan: Plan) -> Hashable:
    """Where a planting stands, for whoever looks at its leaves."""
    stand = planned.stand
    points = None if stand.positions is None else stand.positions.tobytes()
    at = (stand.cells.tobytes(), stand.edge, stand.rows, points, planned.planting.where, plan.grid)
    return "place", Same(planned.planting.crop), at


def _sole_key(planned: Planned, plan: Plan) -> Hashable:
    """What the layout of a crop alone depends on."""
    planting = planned.planting
    return "alone", Same(planting.crop), planting.establish, planting.where, sole_density(planned), plan.grid


def _spreader(keep: Shelf, key: Hashable, planned: Planned, plan: Plan) -> Spreader:
    found: Spreader = keep(key, lambda: Spreader(planned, plan.grid))
    return found


def sole_twin(planned: Planned, plan: Plan) -> Planned:
    """The planting alone on the whole bed at its best density, laid out in its own way; climbers in an even stand."""
    planting = replace(planned.planting, where=WholeBed())
    climbs = isinstance(planned.planting.where, AtTrellis | Border)
    establish = "broadcast" if climbs else planting.establish
    return replace(planned, planting=planting, stand=even_stand(planting.crop, establish, sole_density(planned), plan.grid))
