"""The day loop: light, growth, leaf, organ, and picking.  All rates of a day first, then all states.

The loop runs over days only; years and plantings are array axes.  The plantings of the mixture come first and are followed
by two twins of each: the same plants without the others (`lone`), and the crop alone on the whole bed at its own best
density (`sole`), so that what a mixture costs or gains is computed in the same weather.

Sources: dry matter from absorbed light (Monteith 1977), leaf area limited first by temperature and then by dry matter
(Spitters & Schapendonk 1990), organ mass by a rising harvest index (EPIC; Williams et al. 1989).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.plan import HarvestPlan, Planned

from .constants import constant
from .setting import Setting, start_leaf_m2

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Light:
    """Light of all columns (Y, 3P) and of the mixture's leaves without the others, `alone` (Y, P), in square metres of open sky;
    and who takes whose, (Y or 1, P, P) with rows summing to 1 where light is lost, or None to keep what was said last."""

    absorbed: Floats
    alone: Floats
    takers: Floats | None


ShareLight = Callable[[int, Floats, Floats], Light]
"""(day, leaf area [m2] (Y, 3P), height [m] (Y, 3P)) -> `Light`."""
WaterFactor = Callable[[int, Floats], Floats]


class BalanceError(RuntimeError):
    """A light, water or mass balance does not close: a fault of the engine, not of the recipe."""


@dataclass(frozen=True)
class Traits:
    """Parameters by column (mixture, lone and sole plantings side by side), each (C,)."""

    k: Floats
    rue: Floats
    sla: Floats
    rgr: Floats
    leaf_share: Floats
    lai_max: Floats
    height: Floats
    area: Floats
    plants: Floats
    sown: Floats
    leaf0: Floats


@dataclass
class Trace:
    """What the loop writes down: by day (D, Y, C) for states, (D, Y, H3) for picked fresh mass [kg]."""

    leaf_m2: Floats
    height_m: Floats
    absorbed_mj: Floats
    alone_mj: Floats
    growth_g: Floats
    organ_g: Floats
    picked_kg: Floats
    taken_mj: Floats
    water: Floats


def traits_of(setting: Setting) -> Traits:
    """Columns of the mixture, its lone twins and its sole twins."""
    plan = setting.plan
    crops = [p.planting.crop for p in plan.plantings]

    def column(name: str) -> Floats:
        return np.tile([crop[name] for crop in crops], 3)

    area = np.array([p.stand.area_m2 for p in plan.plantings])
    plants = np.array([p.stand.plants for p in plan.plantings])
    sole = np.array([sole_density(p) for p in plan.plantings]) * plan.bed.area_m2
    reach = [
        min(c["canopy.height"], p.support_m) if c.form == "climber" and p.support_m else c["canopy.height"]
        for c, p in zip(crops, plan.plantings, strict=True)
    ]
    return Traits(
        column("canopy.k"), column("canopy.rue"), column("canopy.sla") / 1000.0, column("canopy.rgr"),
        column("canopy.leaf_share"), column("canopy.lai_max"), np.tile(reach, 3),
        np.concatenate([area, area, np.full(len(crops), plan.bed.area_m2)]), np.concatenate([plants, plants, sole]),
        np.tile([p.sown_factor for p in plan.plantings], 3),
        np.tile([start_leaf_m2(p) for p in plan.plantings], 3),
    )  # fmt: skip


def sole_density(planned: Planned) -> float:
    """Best density alone [plants/m2]: of a thick stand if it is sown and its leaves are picked, else of the crop."""
    crop = planned.planting.crop
    cut = any(h.method in ("cut", "leaf") for h in planned.harvests)
    sown_thick = planned.planting.establish in ("broadcast", "drills")
    if cut and sown_thick and "spacing.cutting_density" in crop.records:
        return crop["spacing.cutting_density"]
    return crop["spacing.density"]


def run(setting: Setting, share_light: ShareLight, water: WaterFactor | None = None) -> Trace:
    """Grow the season: `share_light` is asked every day for the light of all columns, `water` for drought stress."""
    plan, traits = setting.plan, traits_of(setting)
    days, years = setting.par_mj.shape
    p = len(plan.plantings)
    columns = 3 * p
    harvest = _Harvest(setting, traits)
    trace = _empty_trace(days, years, columns, len(harvest.column), p)
    state = _State(years, columns)
    tile = _Tiled(setting)
    attained = constant("attained")
    takers = np.zeros((years, p, p))
    for day in range(days):
        _start(state, tile, traits, day)
        if not state.alive.any():
            trace.picked_kg[day] = harvest.pick(day, state)
            continue
        alive = state.alive
        lai = state.leaf / traits.area
        height = traits.height * tile.height_share[day] * _cut_back(state, harvest)
        shared = share_light(day, state.leaf, height)
        light = shared.absorbed
        takers = takers if shared.takers is None else shared.takers
        par = setting.par_mj[day][:, None] * tile.clear[day]
        stress = 1.0 if water is None else np.tile(water(day, state.leaf[:, :p]), (1, 3))
        growth = np.where(alive, attained * traits.rue * par * light * tile.warmth[day] * stress, 0.0)
        organ_total = tile.organ_share[day] * (state.grown + growth)
        to_organ = np.clip(organ_total - state.organ_made, 0.0, growth)
        to_leaf = traits.leaf_share * (growth - to_organ)
        wanted = state.leaf * np.expm1(traits.rgr * tile.rate[day]) * stress
        room = np.clip(traits.lai_max * traits.area - state.leaf, 0.0, None)
        leaf_gain = np.minimum(np.minimum(wanted, to_leaf * traits.sla), room)
        leaf_loss = state.leaf * _death_rate(lai, traits.lai_max, tile.ageing[day])
        side = harvest.divert(day, growth)
        # states
        state.grown = state.grown + growth
        state.organ_made = state.organ_made + to_organ
        state.organ = state.organ + to_organ
        state.leaf_mass = state.leaf_mass * (1.0 - _safe(leaf_loss, state.leaf)) + to_leaf - side
        state.leaf_mass = np.maximum(state.leaf_mass, 0.0)
        state.leaf = np.where(alive, np.maximum(state.leaf + leaf_gain - leaf_loss, 0.0), 0.0)
        state.leaf = np.minimum(state.leaf, np.maximum(state.leaf_mass * traits.sla * MOST_SLA, traits.leaf0 * 0.5))
        state.leaf = np.where(alive, state.leaf, 0.0)
        thinned = harvest.thin(day, state)
        picked = harvest.pick(day, state) + thinned
        _finish(state, tile, day)
        trace.leaf_m2[day], trace.height_m[day] = state.leaf, np.where(alive, height, 0.0)
        trace.absorbed_mj[day] = light * par
        trace.alone_mj[day] = shared.alone * par[:, :p]
        trace.growth_g[day], trace.organ_g[day], trace.picked_kg[day] = growth, state.organ, picked
        trace.taken_mj[day] = takers.mean(axis=0)
        trace.water[day] = np.broadcast_to(stress, (years, columns))[:, :p]
    kept = np.minimum(1.0, _safe(trace.absorbed_mj[:, :, :p], trace.alone_mj, 1.0))
    trace.taken_mj *= (np.median(1.0 - kept, axis=1) * np.median(trace.alone_mj, axis=1))[:, :, None]
    _check_mass(trace)
    return trace


MOST_SLA = 1.5
"""Leaves are at most this much thinner than the crop's usual specific leaf area.  From memory."""


def _safe(a: Floats, b: Floats, otherwise: float = 0.0) -> Floats:
    return np.divide(a, b, out=np.full_like(a, otherwise), where=b > 0.0)


class _State:
    """Running state by (Y, C)."""

    def __init__(self, years: int, columns: int) -> None:
        shape = (years, columns)
        self.alive = np.zeros(shape, dtype=bool)
        self.done = np.zeros(shape, dtype=bool)
        self.leaf = np.zeros(shape)
        self.leaf_mass = np.zeros(shape)
        self.leaf_peak = np.zeros(shape)
        self.grown = np.zeros(shape)
        self.organ = np.zeros(shape)
        self.organ_made = np.zeros(shape)


class _Tiled:
    """The setting's arrays by planting repeated for the twins."""

    def __init__(self, setting: Setting) -> None:
        def three(a: Any) -> Any:
            return np.concatenate([a, a, a], axis=-1)

        self.rate = three(setting.rate)
        self.warmth = three(setting.warmth)
        self.clear = three(setting.clear)
        self.height_share = three(setting.height_share)
        self.organ_share = three(setting.organ_share)
        self.ageing = three(setting.ageing)
        self.emergence = three(setting.emergence)
        self.death = three(setting.death)
        self.end = three(setting.end)


def _start(state: _State, tile: _Tiled, traits: Traits, day: int) -> None:
    due = (tile.emergence == day) & ~state.done
    if due.any():
        leaf = traits.leaf0 * traits.plants * traits.sown
        state.leaf = np.where(due, leaf, state.leaf)
        state.leaf_mass = np.where(due, leaf / traits.sla, state.leaf_mass)
        state.grown = np.where(due, leaf / traits.sla / traits.leaf_share, state.grown)
        state.alive = state.alive | due


def _death_rate(lai: Floats, lai_max: Floats, ageing: NDArray[np.bool_]) -> Floats:
    most = constant("shade_death_rate")
    crowded = np.clip(most * (lai - lai_max) / lai_max, 0.0, most)
    return np.asarray(crowded + np.where(ageing, constant("age_death_rate"), 0.0))


def _cut_back(state: _State, harvest: _Harvest) -> Floats:
    """Height left after cutting or leaf picking, as a share: the square root of the leaf left over the greatest leaf."""
    state.leaf_peak = np.maximum(state.leaf_peak, state.leaf)
    share = np.sqrt(np.clip(_safe(state.leaf, state.leaf_peak), 0.0, 1.0))
    return np.asarray(np.where(harvest.trims, np.maximum(share, 0.2), 1.0))


def _finish(state: _State, tile: _Tiled, day: int) -> None:
    over = (tile.death <= day) | (tile.end <= day) | state.done
    state.alive = state.alive & ~over
    state.leaf = np.where(state.alive, state.leaf, 0.0)
    state.leaf_mass = np.where(state.alive, state.leaf_mass, 0.0)


def _empty_trace(days: int, years: int, columns: int, picks: int, p: int) -> Trace:
    def zeros(*shape: int) -> Floats:
        return np.zeros((days, years, *shape))

    return Trace(
        zeros(columns), zeros(columns), zeros(columns), zeros(p), zeros(columns), zeros(columns), zeros(picks),
        np.zeros((days, p, p)), np.ones((days, years, p)),
    )  # fmt: skip


def _check_mass(trace: Trace) -> None:
    if not np.isfinite(trace.growth_g).all() or (trace.growth_g < -1e-9).any():
        raise BalanceError("growth is negative or not a number")


class _Harvest:
    """Picking: which harvest takes what from which column on which day.

    Harvests are repeated for the three kinds of column.  `take` on the day loop's states is written out by method; the
    amounts come back as fresh kilograms (Y, 3H).
    """

    def __init__(self, setting: Setting, traits: Traits) -> None:
        plan = setting.plan
        plans: tuple[HarvestPlan, ...] = plan.harvests
        p, h = len(plan.plantings), len(plans)
        self.column = np.concatenate([np.array([x.planting for x in plans], dtype=int) + i * p for i in range(3)])
        self.plans = plans * 3
        self.opens = np.tile(setting.opens, (1, 3))
        self.closes = np.tile(setting.closes, (1, 3))
        self.dry = np.tile([x.part.number("dry_matter") for x in plans], 3)
        self.count = np.zeros((setting.opens.shape[0], 3 * h), dtype=int)
        self.next = self.opens.copy()
        self.pool = np.zeros((setting.opens.shape[0], 3 * h))
        self.first_mass = np.zeros_like(self.pool)
        self.interval = np.tile([max(1.0, x.interval_days) for x in plans], 3)
        self.pulls = np.maximum((self.closes - self.opens) // self.interval.astype(int) + 1, 1)
        self.frost = np.tile(setting.death, (1, 3))
        trims = np.zeros(3 * p, dtype=bool)
        for x, c in zip(self.plans, self.column, strict=True):
            trims[c] |= x.method in ("cut", "leaf")
        self.trims = trims
        self.mains = self._main_of_columns()
        self.sides = [i for i, x in enumerate(self.plans) if x.part.pool == "side"]
        self.order = sorted(range(len(self.plans)), key=lambda i: self._accompanies(i), reverse=True)
        self.traits = traits
        self.thinnings = self._thinning_days(setting)

    def _main_of_columns(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for i, (x, c) in enumerate(zip(self.plans, self.column, strict=True)):
            whole = x.method in ("once", "pull") and x.part.pool != "side"
            if whole and (x.part.role == "main" or c not in found):
                found[int(c)] = i
        return found

    def _accompanies(self, i: int) -> bool:
        """Whether harvest i (tops, leaves of roots) comes with the pulling of the planting's main part."""
        main = self.mains.get(int(self.column[i]))
        return main is not None and main != i and self.plans[i].method in ("once", "pull")

    def divert(self, day: int, growth: Floats) -> Floats:
        """Growth that goes to flowers, pods and shoots whose windows are open [g], (Y, C); kept in their pools."""
        taken = np.zeros_like(growth)
        for i in self.sides:
            c = self.column[i]
            flowing = (day >= self.opens[:, i] - 10) & (day <= self.closes[:, i])
            part = np.where(flowing, growth[:, c] * self.plans[i].part.number("share"), 0.0)
            self.pool[:, i] += part
            taken[:, c] += part
        return taken

    def pick(self, day: int, state: _State) -> Floats:
        """Pick what is due on `day`; changes the state; fresh mass [kg] (Y, 3H)."""
        grams = np.zeros_like(self.pool)
        due = (day >= self.next) & (day <= self.closes) & (self.opens < NEVER)
        if not due.any():
            return grams
        for i in self.order:
            now = due[:, i] & ~state.done[:, self.column[i]]
            if not now.any():
                continue
            method = self.plans[i].method
            if method == "thin":
                continue
            if self._accompanies(i):
                grams[:, i] = self._with_main(i, day, now, state)
            elif method in ("once", "pull"):
                grams[:, i] = self._pull(i, day, now, state)
            elif self.plans[i].part.pool == "leaf":
                grams[:, i] = self._leaf(i, day, now, state)
            else:
                grams[:, i] = self._fruit(i, day, now, state)
        return np.asarray(grams / self.dry / 1000.0)

    def thin(self, day: int, state: _State) -> Floats:
        """Take out the surplus seedlings whose day has come; fresh mass of those that are eaten [kg] (Y, 3H)."""
        grams = np.zeros_like(self.pool)
        for c, when in self.thinnings:
            now = (when == day) & state.alive[:, c]
            if not now.any():
                continue
            keep = np.where(now, 1.0 / self.traits.sown[c], 1.0)
            for i, plan in enumerate(self.plans):
                if self.column[i] == c and plan.method == "thin" and plan.part.pool != "side":
                    grams[:, i] = self._standing(i, state) * (1.0 - keep)
            self._shrink(c, keep, state)
        return np.asarray(grams / self.dry / 1000.0)

    def _shrink(self, c: int, keep: Floats, state: _State) -> None:
        """Leave a share `keep` (Y,) of a column's plants with all that is on them."""
        for values in (state.leaf, state.leaf_mass, state.organ, state.organ_made, state.grown):
            values[:, c] *= keep
        for j in self.sides:
            if self.column[j] == c:
                self.pool[:, j] *= keep

    def _thinning_days(self, setting: Setting) -> list[tuple[int, Ints]]:
        """Columns that are thinned and the day (Y,): the recipe's, else the opening of the thinnings' window."""
        plantings = setting.plan.plantings
        found = []
        for c in range(3 * len(plantings)):
            planned = plantings[c % len(plantings)]
            if planned.sown_factor <= 1.0:
                continue
            mine = [i for i, x in enumerate(self.plans) if self.column[i] == c and x.method == "thin"]
            if planned.thin_day is not None:
                when = np.full(self.opens.shape[0], planned.thin_day, dtype=np.int64)
            else:
                when = self.opens[:, mine[0]]
            found.append((c, when))
        return found

    def _standing(self, i: int, state: _State) -> Floats:
        c, pool = self.column[i], self.plans[i].part.pool
        if pool == "organ":
            return np.asarray(state.organ[:, c])
        if pool == "side":
            return np.asarray(self.pool[:, i])
        return np.asarray(state.leaf_mass[:, c] * self.plans[i].take)

    def _advance(self, i: int, day: int, now: NDArray[np.bool_]) -> None:
        self.count[:, i] += now
        self.next[:, i] = np.where(now, day + int(self.interval[i]), self.next[:, i])

    def _with_main(self, i: int, day: int, now: NDArray[np.bool_], state: _State) -> Floats:
        main = self.mains[int(self.column[i])]
        due = (day >= self.next[:, main]) & (day <= self.closes[:, main]) & (self.opens[:, main] < NEVER)
        left = np.maximum(self.pulls[:, main] - self.count[:, main], 1)
        share = 1.0 if self.plans[main].method == "once" else 1.0 / left
        return np.asarray(np.where(now & due, self._standing(i, state) * share, 0.0))

    def _pull(self, i: int, day: int, now: NDArray[np.bool_], state: _State) -> Floats:
        """Whole plants: all at once, or evenly over the window; on the last day what is left."""
        c = int(self.column[i])
        left = np.maximum(self.pulls[:, i] - self.count[:, i], 1)
        share = np.ones(len(now)) if self.plans[i].method == "once" else 1.0 / left
        grams = np.where(now, self._standing(i, state) * share, 0.0)
        keep = np.where(now, 1.0 - share, 1.0)
        if self.plans[i].part.pool == "side":
            self.pool[:, i] *= keep
            self._advance(i, day, now)
            return np.asarray(grams)
        self._shrink(c, keep, state)
        self._advance(i, day, now)
        if self.mains.get(c) == i:
            state.done[:, c] |= now & (share >= 1.0 - 1e-9)
        return np.asarray(grams)

    def _leaf(self, i: int, day: int, now: NDArray[np.bool_], state: _State) -> Floats:
        """Outer leaves (never below a floor) or a cut (only when regrown, and only so often).

        A stand with time for one picking only is taken whole.
        """
        c = int(self.column[i])
        mass = state.leaf_mass[:, c]
        grown = state.leaf[:, c] / self.traits.area[c] >= constant("first_pick_lai")
        now = now & (grown | (self.count[:, i] > 0) | (day >= self.opens[:, i] + constant("first_pick_wait")))
        if self.plans[i].method == "cut":
            ready = now & (mass >= constant("regrown") * self.first_mass[:, i]) & (self.count[:, i] < self.plans[i].cuts)
            grams = np.where(ready, mass * self.plans[i].take, 0.0)
            first = ready & (self.count[:, i] == 0)
            self.first_mass[:, i] = np.where(first, mass, self.first_mass[:, i])
        else:
            self.first_mass[:, i] = np.maximum(self.first_mass[:, i], mass)
            ready = now
            spare = np.maximum(mass - constant("canopy_floor") * self.first_mass[:, i], 0.0)
            grams = np.where(ready, np.minimum(mass * self.plans[i].take, spare), 0.0)
        only = ready & (self.count[:, i] == 0) & (self.closes[:, i] - day < self.interval[i])
        grams = np.where(only, mass * max(self.plans[i].take, constant("clearing_take")), grams)
        keep = 1.0 - _safe(grams, mass)
        state.leaf[:, c] *= keep
        state.leaf_mass[:, c] *= keep
        self._advance(i, day, ready)
        return np.asarray(grams)

    def _fruit(self, i: int, day: int, now: NDArray[np.bool_], state: _State) -> Floats:
        """Ripe fruit, pods or flowers; everything on the last day of the window or on the eve of a killing frost."""
        c = int(self.column[i])
        last = (self.closes[:, i] - day < self.interval[i]) | (day >= self.frost[:, c] - 1)
        share = np.where(last, 1.0, constant("ripe_share"))
        grams = np.where(now, self._standing(i, state) * share, 0.0)
        if self.plans[i].part.pool == "organ":
            state.organ[:, c] -= grams
        elif self.plans[i].part.pool == "side":
            self.pool[:, i] -= grams
        self._advance(i, day, now)
        return np.asarray(grams)
