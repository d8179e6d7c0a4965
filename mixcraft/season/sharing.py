"""How light is shared through a season: the layered canopy day by day, corrected by the voxel model on a scouting season.

A scouting season is grown first in the place's normal year (a season of one year scouts itself).  Every `EVERY_DAYS` days of the
calendar the voxel model is asked what each planting absorbs among the others, without the others, and alone on the whole bed; set
against the layered canopy's answer for the same leaves this gives three corrections by planting, and between two askings they
change evenly.  All weather years are then grown with the layered canopy times these corrections, so that place on the bed, rows,
trellises, walls and the open sides of the bed count in every year at the cost of one.

What is said of a planting without the others, and of a crop alone on the whole bed, serves every mixture.  What is said of a
mixture serves a neighbouring one as long as the voxel model would say the same: same plantings in the same places, and on every
day of asking nearly the same canopy (`still_hold`).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.shelf import Same, Shelf
from mixcraft.recipe.model import AtTrellis, Border, WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.stands import even_stand

from .columns import LONE, MIXTURE, SOLE, Column, beyond_of, climbs_free, columns_of, safe, sole_density
from .directions import diffuse_shares, plan_directions
from .kernel_asking import NO_DAY
from .light_voxels import NO_WALLS, Spreader, voxel_alone, voxel_light, walls_of
from .setting import Setting
from .stand import DONE, Loop, bed_overlaps, ground_of, run, stand_of
from .tables import Asking

__all__ = ["EVERY_DAYS", "Corrections", "apart_light", "asked_of", "bed_overlaps", "plan_directions", "still_hold"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
LEAST = 1e-9
EVERY_DAYS = 14
"""Days between askings of the voxel model, on days of the calendar."""
CHANGE = 0.2
"""What the voxel model said serves as long as every ground cover and height is within this share of what it was asked for."""
LEAST_COVER = 0.2
"""Changes of ground covers and heights [m] below this count as those of this one: small plants take little light."""


@dataclass(frozen=True)
class Asked:
    """What was asked: `places` of the plantings, days (A,), and how the mixture is grown with the corrections that came of it."""

    places: tuple[Hashable, ...]
    days: Ints
    grow: Callable[[], Reached] = field(compare=False, repr=False)

    @cached_property
    def canopy(self) -> Reached:
        """The mixture at the end of each of the days; grown when a neighbour first wants to know."""
        return self.grow()

    def __reduce__(self) -> tuple[type[Asked], tuple[Any, ...]]:
        """Sent to another process with what was grown."""
        return Asked, (self.places, self.days, Grown(self.canopy))


class Reached(NamedTuple):
    """Ground covers and heights [m] of a mixture on some days, (A, P) each."""

    cover: Floats
    height_m: Floats


class Grown(NamedTuple):
    """A canopy that has been grown."""

    canopy: Reached

    def __call__(self) -> Reached:
        """It."""
        return self.canopy


@dataclass(frozen=True)
class Corrections:
    """Voxel answer over layered answer by day, (D, 4P): mixture, lone and sole columns, then the mixture's leaves without the
    others; and who takes whose light, (D, P, P), rows summing to 1 (0 where nothing is lost).  `ground` holds (day, share of open
    sky on the soil (nx, ny)); `asked` what the model was asked."""

    factor: Floats
    takers: Floats
    ground: tuple[tuple[int, Floats], ...]
    asked: Asked

    def with_apart(self, apart: Floats) -> Corrections:
        """The same with other corrections (D, 2P) of what stands without the others; itself if they are its own."""
        p = apart.shape[1] // 2
        if np.array_equal(self.factor[:, p : 3 * p], apart):
            return self
        return replace(self, factor=np.hstack([self.factor[:, :p], apart, self.factor[:, 3 * p :]]))


class Scout:
    """A scouting season of some columns of one kind: asks the voxel model and remembers what it said.

    `said` holds by asking the day and the corrections of the `heeded` columns and, in a mixture, of its leaves without the others
    (nan where there is no light).  Until it is asked again, the season is grown with what it said last.
    """

    def __init__(
        self, setting: Setting, columns: Sequence[Column], spreaders: Sequence[Spreader], keep: Shelf, cyclic: bool
    ) -> None:
        plan, count = setting.plan, len(columns)
        self.setting, self.columns, self.spreaders = setting, columns, spreaders
        mixed = count if columns[0].kind == MIXTURE else 0
        ground = ground_of(setting, columns, np.ones((plan.days, count + mixed)), keep)
        first = int(-plan.start.astype(int) % EVERY_DAYS)
        asking = Asking(EVERY_DAYS, first, np.full(1, NO_DAY), np.zeros(count + mixed))
        self.loop = Loop(stand_of(setting, columns, ground, keep), asking)
        self.cyclic, self.walls = cyclic, NO_WALLS if cyclic else walls_of(plan.bed)
        diffuse = keep("diffuse", lambda: diffuse_shares(setting.weather, plan.place.latitude_deg))
        self.diffuse: Floats = diffuse[setting.days]
        beyond = np.array([beyond_of(c, plan.plantings[c.planting]) for c in columns])
        self.outside = beyond / np.array([c.area_m2 for c in columns])
        self.said: list[tuple[int, Floats]] = []
        self.takers: list[Floats] = []
        self.ground: list[tuple[int, Floats]] = []

    def run(self) -> Scout:
        """Grow the season, asking as it grows."""
        day = 0
        while (day := self.loop.until_asked(day)) != DONE:
            answer = self._ask(day)
            raw = self.loop.asking.raw
            good = (raw > LEAST) & (answer > 0.0)
            factor = self.loop.stand.ground.factor
            factor[day:] = np.where(good, answer / np.maximum(raw, LEAST), factor[day])
            self.said.append((day, np.where(good, factor[day], np.nan)))
        self.loop.done()
        return self

    def _ask(self, day: int) -> Floats:
        """What the voxel model says: light of the columns and, in a mixture, of its leaves alone [m2 of open sky]."""
        plan, running = self.setting.plan, self.loop.running
        leaf, height, k = running.state.leaf.copy(), running.now.height.copy(), self.loop.stand.traits.k.copy()
        directions = plan_directions(plan, day, float(self.diffuse[day]))
        shares = np.zeros((len(self.columns), plan.grid.nx * plan.grid.ny))
        for c in np.nonzero(leaf > 0.0)[0].tolist():
            shares[c] = self.spreaders[c].shares(float(self.setting.courses[self.columns[c].planting].grown[0, day]))
        area = self.loop.stand.traits.area
        over: Floats = self.outside * area * -np.expm1(-k * leaf / area)  # vines outside the bed, where nobody shades them
        leaf *= 1.0 - self.outside
        if self.loop.stand.ground.mixed == 0:
            inside = voxel_alone(plan.grid, shares, leaf, height, k, directions, self.walls, cyclic=self.cyclic)
            return np.asarray(over + inside)
        mixture = voxel_light(plan.grid, shares, leaf, height, k, directions, self.walls, cyclic=self.cyclic)
        self.takers.append(safe(mixture.taken, mixture.taken.sum(axis=1, keepdims=True)))
        self.ground.append((day, mixture.ground))
        return np.concatenate([over + mixture.absorbed, over + mixture.alone])

    def factor(self) -> Floats:
        """Corrections for every day of the plan, (D, C + M)."""
        found = np.ones_like(self.loop.stand.ground.factor)
        if self.said:
            days, said = (np.array(one) for one in zip(*self.said, strict=True))
            for c in range(found.shape[1]):
                known = np.isfinite(said[:, c])
                if known.any():
                    found[:, c] = np.interp(np.arange(len(found)), days[known], said[known, c])
        return found


def _takers_by_day(days: Ints, takers: Floats, total: int) -> Floats:
    """Who takes whose light on every day, (D, P, P), from what was said on days of asking (A,), (A, P, P)."""
    at = np.interp(np.arange(total), days, np.arange(len(days)))
    before = np.minimum(at.astype(np.int64), len(days) - 1)
    share = (at - before)[:, None, None]
    between = (1.0 - share) * takers[before] + share * takers[np.minimum(before + 1, len(days) - 1)]
    return safe(between, between.sum(axis=2, keepdims=True))


def asked_of(setting: Setting, keep: Shelf | None = None, cyclic: bool = False) -> Corrections:
    """Corrections of the layered canopy by the voxel model, from a season of one year."""
    plan, keep = setting.plan, Shelf() if keep is None else keep
    places = tuple(_place_key(x, plan) for x in plan.plantings)
    spreaders = [_spreader(keep, key, x, plan) for key, x in zip(places, plan.plantings, strict=True)]
    scout = Scout(setting, columns_of(plan.plantings, MIXTURE, plan.bed.area_m2), spreaders, keep, cyclic).run()
    p, factor = len(plan.plantings), scout.factor()
    whole = np.hstack([factor[:, :p], apart_light(setting, keep, cyclic), factor[:, p:]])
    days = np.array([day for day, _ in scout.said], dtype=np.int64)
    takers = _takers_by_day(days, np.stack(scout.takers), plan.days) if scout.said else np.zeros((plan.days, p, p))
    asked = Asked(places, days, lambda: _canopy(setting, whole, days, keep))
    return Corrections(whole, takers, tuple(scout.ground), asked)


def apart_light(setting: Setting, keep: Shelf, cyclic: bool = False) -> Floats:
    """Corrections (D, 2P) of the plantings without the others and of the crops alone on the whole bed; those on the shelf are not
    asked for again."""
    plan, p = setting.plan, len(setting.plan.plantings)
    columns = [c for kind in (LONE, SOLE) for c in columns_of(plan.plantings, kind, plan.bed.area_m2)]
    at = [*(_place_key(x, plan) for x in plan.plantings), *(_sole_key(x, plan) for x in plan.plantings)]
    keys = [_apart_key(setting, c, place, cyclic) for c, place in zip(columns, at, strict=True)]
    missing = [n for n, key in enumerate(keys) if keep.get(key) is None]
    if missing:
        stands = [plan.plantings[n] if n < p else sole_twin(plan.plantings[n - p], plan) for n in missing]
        spreaders = [_spreader(keep, at[n], x, plan) for n, x in zip(missing, stands, strict=True)]
        factor = Scout(setting, [columns[n] for n in missing], spreaders, keep, cyclic).run().factor()
        for n, found in zip(missing, factor.T, strict=True):
            keep.put(keys[n], found)
    return np.stack([keep.get(key) for key in keys], axis=1)


def _apart_key(setting: Setting, column: Column, place: Hashable, cyclic: bool) -> Hashable:
    """What the corrections of a column that stands without the others depend on."""
    planned = setting.plan.plantings[column.planting]
    own = (setting.courses[column.planting].key, column.kind, column.area_m2, column.plants, planned.sown_factor)
    return "apart", own, climbs_free(planned), place, setting.plan.bed, cyclic


def still_hold(corrections: Corrections, setting: Setting, keep: Shelf) -> bool:
    """Whether corrections that were found for another recipe are what the voxel model would say for this `setting` (of one year).

    They are where the plantings stand in the same places and where, grown with these corrections, no planting has, on any day on
    which the model was asked, a ground cover or a height further than `CHANGE` from those of the recipe that it was asked for.
    """
    plan, asked = setting.plan, corrections.asked
    places = tuple(_place_key(x, plan) for x in plan.plantings)
    if places != asked.places or len(corrections.factor) != plan.days or not len(asked.days):
        return False
    now, then = _canopy(setting, corrections.factor, asked.days, keep), asked.canopy
    far = np.abs(now.cover - then.cover) > CHANGE * np.maximum(then.cover, LEAST_COVER)
    far |= (then.cover > 0.0) & (np.abs(now.height_m - then.height_m) > CHANGE * np.maximum(then.height_m, LEAST_COVER))
    return not far.any()


def _canopy(setting: Setting, factor: Floats, days: Ints, keep: Shelf) -> Reached:
    """The mixture at the end of some days of the first year, grown with corrections `factor` (D, 4P)."""
    plan, p = setting.plan, len(setting.plan.plantings)
    columns = columns_of(plan.plantings, MIXTURE, plan.bed.area_m2)
    corrected = factor[:, [*range(p), *range(3 * p, 4 * p)]]
    stand = stand_of(setting, columns, ground_of(setting, columns, corrected, keep), keep)
    trace = run(stand)
    cover = -np.expm1(-stand.traits.k * trace.leaf_m2[days, 0] / stand.traits.area)
    return Reached(cover, trace.height_m[days, 0])


def _place_key(planned: Planned, plan: Plan) -> Hashable:
    """Where a planting stands, for whoever looks at its leaves."""
    stand = planned.stand
    points = None if stand.positions is None else stand.positions.tobytes()
    at = (stand.cells.tobytes(), stand.edge, stand.rows, points, planned.planting.where, plan.grid, stand.beyond_m2)
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
