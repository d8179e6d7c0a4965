"""Picking in the reference day loop: what each harvest takes from which column on which day.

Whole plants once or over time, leaf by leaf, cut and come again, fruit and pods as they ripen, side shoots and flowers,
thinnings.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.development import NEVER
from mixcraft.recipe.constants import constant as recipe_constant
from mixcraft.recipe.plan import HarvestPlan, Planned
from mixcraft.season.columns import climbs_free, is_pole
from mixcraft.season.constants import constant
from mixcraft.season.harvest import attained_size, in_one_go, in_rounds, size_spread, wanted_size
from mixcraft.season.setting import Setting
from mixcraft.season.tables import ALL_RIPE, RIPENED

from .columns import State, Traits, safe

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Take = Callable[[int, int, NDArray[np.bool_], State], Floats]
"""(harvest, day, years in which it is due (Y,), state) -> dry mass [g] (Y,); changes the state."""


class Harvest:
    """Picking: which harvest takes what from which column on which day.

    Harvests are repeated for the three kinds of column; amounts come back as fresh kilograms (Y, 3H).
    """

    def __init__(self, setting: Setting, traits: Traits) -> None:
        plan, self.traits = setting.plan, traits
        plans = tuple(in_rounds(x) for x in plan.harvests)
        p, h = len(plan.plantings), len(plans)
        self.column = np.concatenate([np.array([x.planting for x in plans], dtype=int) + i * p for i in range(3)])
        self.planned = [plan.plantings[x.planting] for x in plans] * 3
        self.plans = plans * 3
        self.opens = np.tile(setting.by_harvest("opens"), (1, 3))
        self.closes = np.tile(setting.by_harvest("closes"), (1, 3))
        self.latest = np.tile(setting.by_harvest("latest"), (1, 3))
        self.lasts = self.closes - self.opens
        ready = [setting.courses[x.planting].clock.event(x.part.opens) for x in plans]
        ready = np.tile(np.stack(ready, axis=1), (1, 3)) if plans else self.opens
        self.grown = np.maximum(self.opens, ready)
        self.dry = np.tile([x.part.number("dry_matter") for x in plans], 3)
        self.attained = np.tile([attained_size() if x.method == "thin" else constant("attained") for x in plans], 3)
        self.count = np.zeros((setting.weather.years, 3 * h), dtype=int)
        self.next = self.opens.copy()
        self.pool = np.zeros((setting.weather.years, 3 * h))
        self.first_mass = np.zeros_like(self.pool)
        self.interval = np.tile([max(1.0, x.interval_days) for x in plans], 3)
        whole = [x.method in ("once", "pull") and x.part.pool != "side" for x in plans]
        least = [x.part.number("market_least", 0.0) * w for x, w in zip(plans, whole, strict=True)]
        self.least = np.tile(least, 3) * self.dry / attained_size()
        usual = [wanted_size(plan.plantings[x.planting], x) for x in plans]
        self.usual = np.where(self.least > 0.0, np.tile(usual, 3) * self.dry / attained_size(), 0.0)
        self.spared = np.tile([self._spared_share(plan.plantings[x.planting], x) for x in plans], 3)
        self.clears = [self._clears(plan.plantings[x.planting], x) for x in plans] * 3
        establish = [plan.plantings[x.planting].planting.establish for x in plans]
        self.spread = np.tile([size_spread(e) if x > 0.0 else 0.0 for e, x in zip(establish, least, strict=True)], 3)
        self.left = np.ones_like(self.pool)
        self.frost = np.tile(setting.by_planting("death"), (1, 3))
        unripe = np.stack([course.daily.unripe for course in setting.courses], axis=-1).transpose(1, 0, 2)
        self.unripe = np.tile(unripe, (1, 1, 3))
        cool = np.stack([course.daily.cool for course in setting.courses], axis=-1).transpose(1, 0, 2)
        self.cool = np.tile(cool, (1, 1, 3))
        turns = np.stack([course.daily.anew for course in setting.courses], axis=-1).transpose(1, 0, 2)
        self.turns = np.tile(turns, (1, 1, 3)) > 0.0
        self.anew = np.zeros_like(self.pool, dtype=bool)
        trims = np.zeros(3 * p, dtype=bool)
        for x, c in zip(self.plans, self.column, strict=True):
            trims[c] |= x.method in ("cut", "leaf")
        self.trims = trims | traits.resprouts
        climbs = any(climbs_free(x) for x in plan.plantings)
        self.pole = [climbs and is_pole(x.planting.crop) for x in plan.plantings] + 2 * p * [False]
        self.mains = self._main_of_columns()
        self.shooting = {int(c) for i, c in enumerate(self.column) if self._follows(i)}
        self.sides = [i for i, x in enumerate(self.plans) if x.part.pool == "side"]
        self.side_share = np.array([self.plans[i].part.number("share", 0.0) for i in self.sides])
        self.stored = np.array([self.plans[i].part.number("stored", 0.0) for i in self.sides])
        self.side_of = (self.column[self.sides][:, None] == np.arange(3 * p)).astype(float)
        self.stubble, self.first_lai = constant("stubble"), constant("first_pick_lai")
        flows = self.opens[:, self.sides] - int(constant("side_lead"))
        self.flow = (flows, self.closes[:, self.sides])
        self.order = self._order()
        self.nothing = np.zeros_like(self.pool)
        self.thinnings = self._thinning_days(setting)
        self.thins = {int(day) for *_, when in self.thinnings for day in when}

    def _spared_share(self, planned: Planned, x: HarvestPlan) -> float:
        """Share of the plants that stay for pods or shoots when the others are pulled for their main part."""
        wanted = any(y.part.pool == "side" and y.part.opens in ("bolt", "flower") for y in planned.harvests)
        heads = x.method == "once" and x.part.pool == "organ" and not planned.planting.crop.in_soil
        shoots = any(
            y.part.pool == "side" and "after" in y.part.records and y.part.opens == x.part.opens for y in planned.harvests
        )
        pulled = x.part.role == "main" and x.part.closes == "bolt" and x.method in ("once", "pull") and not (heads and shoots)
        return constant("spared_for_seed") if wanted and pulled else 0.0

    def _clears(self, planned: Planned, x: HarvestPlan) -> bool:
        """Whether the last picking takes the stand: leaves of plants that live once, no pods or shoots of which are wanted."""
        after = any(y.part.pool == "side" and y.part.opens in ("bolt", "flower") for y in planned.harvests)
        return x.part.role == "main" and x.part.pool == "leaf" and planned.planting.crop.life != "perennial" and not after

    def _main_of_columns(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for i, (x, c) in enumerate(zip(self.plans, self.column, strict=True)):
            whole = x.method in ("once", "pull") and x.part.pool != "side"
            if whole and (x.part.role == "main" or c not in found):
                found[int(c)] = i
        return found

    def _follows(self, i: int) -> bool:
        """Whether harvest i is of shoots that come after the planting's main part is cut, from plants that stay for them."""
        main, part = self.mains.get(int(self.column[i])), self.plans[i].part
        if main is None or part.pool != "side" or "after" not in part.records:
            return False
        cut = self.plans[main]
        head = cut.part.pool == "organ" and not self.traits.buried[self.column[i]]
        return head and cut.method == "once" and cut.part.opens == part.opens

    def _accompanies(self, i: int) -> bool:
        """Whether harvest i (tops, leaves of roots) comes with the pulling of the planting's main part."""
        main = self.mains.get(int(self.column[i]))
        return main is not None and main != i and self.plans[i].method in ("once", "pull")

    def _turn(self, i: int) -> int:
        """Whether harvest i has its turn on a day before (0), with (1) or as (2) the pulling of whole plants."""
        whole = self.plans[i].method in ("once", "pull") and self.plans[i].part.pool != "side"
        return 1 if self._accompanies(i) else 2 * whole

    def _order(self) -> list[tuple[int, Take]]:
        """Harvests with their ways of taking: what leaves plants standing first, then what comes with a planting's main part,
        then whole plants; thinnings have their own day."""
        found: list[tuple[int, Take]] = []
        for i in sorted(range(len(self.plans)), key=self._turn):
            method = self.plans[i].method
            if self._accompanies(i):
                found.append((i, self._with_main))
            elif method in ("once", "pull"):
                found.append((i, self._pull))
            elif method != "thin":
                found.append((i, self._leaf if self.plans[i].part.pool == "leaf" else self._fruit))
        return found

    def divert(self, day: int, growth: Floats, alive: NDArray[np.bool_]) -> Floats:
        """Growth that goes to flowers, pods and shoots whose windows are open [g], (Y, C); kept in their pools, with what living
        rootstocks send up into them."""
        if self.stored.any():
            opens, closes = self.opens[:, self.sides], self.closes[:, self.sides]
            sends = (opens <= day) & (day <= closes) & alive[:, self.column[self.sides]]
            plants = self.traits.plants[self.column[self.sides]]
            self.pool[:, self.sides] += np.where(sends, self.stored * plants / np.maximum(closes - opens + 1, 1), 0.0)
        flowing = (day >= self.flow[0]) & (day <= self.flow[1])
        if not np.count_nonzero(flowing):
            return np.zeros_like(growth)
        part = np.where(flowing, growth @ self.side_of.T * self.side_share, 0.0)
        self.pool[:, self.sides] += part
        return np.asarray(part @ self.side_of)

    def pick(self, day: int, state: State) -> Floats:
        """Pick what is due on `day`; changes the state; fresh mass [kg] (Y, 3H)."""
        self._put_off(day, state)
        self._after_winter(day, state)
        closes = self.closes.copy()
        for i, c in enumerate(self.column):
            if self._accompanies(i):
                closes[:, i] = np.maximum(closes[:, i], self.closes[:, self.mains[int(c)]])
        due = (day >= self.next) & (day <= closes)
        if not np.count_nonzero(due):
            return self.nothing
        grams = np.zeros_like(self.pool)
        some = np.any(due, axis=0)
        for i, take in self.order:
            if some[i]:
                now = due[:, i] & ~state.done[:, self.column[i]]
                if np.count_nonzero(now):
                    grams[:, i] = take(i, day, now, state)
        return np.asarray(grams / self._dry_share(state) / 1000.0)

    def _put_off(self, day: int, state: State) -> None:
        """What is too small on the last picking of its window, the first of all, is left to grow until the next, as far as it may
        be; what has come to size by then is picked for as long as the window was to last.  Where plants are pulled one by one
        most of those that are left have to be of size."""
        for i in np.flatnonzero((self.latest > self.closes).any(axis=0)):
            once = self.plans[i].method == "once"
            step = 1 if once else int(self.interval[i])
            ends = (day >= self.opens[:, i]) & (day <= self.closes[:, i]) & (self.closes[:, i] < day + step)
            ends &= self.closes[:, i] < self.latest[:, i]
            begun = self.count[:, i] > 0
            most, first = constant("most_of_stand"), constant("first_share")
            small = self._of_size(i, state) < np.where(begun | once, most, first) * self.left[:, i]
            wait = np.where(small, day + step, np.maximum(self.closes[:, i], day + self.lasts[:, i]))
            wait = np.where(begun & (once | ~small), self.closes[:, i], wait)
            self.closes[:, i] = np.where(ends, np.minimum(wait, self.latest[:, i]), self.closes[:, i])

    def _after_winter(self, day: int, state: State) -> None:
        """Leaf that grows on after a winter's rest is reckoned from what the winter has left, and is picked when there is enough
        of it anew."""
        for i, plan in enumerate(self.plans):
            if plan.method == "leaf" and plan.part.pool == "leaf" and not self._accompanies(i):
                now, c = self.turns[day][:, self.column[i]], int(self.column[i])
                self.first_mass[:, i] = np.where(now, state.leaf_mass[:, c], self.first_mass[:, i])
                self.anew[:, i] |= now

    def thin(self, day: int, state: State) -> Floats:
        """Take out the surplus seedlings whose day has come; fresh mass of those that are eaten [kg] (Y, 3H)."""
        if day not in self.thins:
            return self.nothing
        grams = np.zeros_like(self.pool)
        for c, n, rounds, when in self.thinnings:
            now = (when == day) & state.alive[:, c]
            if not now.any():
                continue
            plants = np.linspace(self.traits.sown[c], 1.0, rounds + 1)
            keep = np.where(now, plants[n + 1] / plants[n], 1.0)
            for i, plan in enumerate(self.plans):
                if self.column[i] == c and plan.method == "thin" and plan.part.pool != "side":
                    whole = state.grown[:, c] * plan.take if plan.part.pool == "leaf" else self._standing(i, state)
                    grams[:, i] += whole * (1.0 - keep)
            self._shrink(c, keep, state)
        return np.asarray(grams / self._dry_share(state) / 1000.0)

    def _dry_share(self, state: State) -> Floats:
        """Dry matter of what is picked (Y, 3H): leaf grown in shade holds more water."""
        leaf = np.array([x.part.pool == "leaf" for x in self.plans])
        dim = np.where(leaf, np.maximum(state.dim[:, self.column], 0.0), 0.0)
        return np.asarray(self.dry * np.exp(-constant("shade_dry_power") * dim))

    def _shrink(self, c: int, keep: Floats, state: State) -> None:
        """Leave a share `keep` (Y,) of a column's plants with all that is on them."""
        for values in (state.leaf, state.leaf_mass, state.leaf_peak, state.organ, state.organ_made, state.grown):
            values[:, c] *= keep
        mine = self.column == c
        self.pool[:, mine] *= keep[:, None]
        self.first_mass[:, mine] *= keep[:, None]

    def _thinning_days(self, setting: Setting) -> list[tuple[int, int, int, Ints]]:
        """Columns that are thinned, in which of how many rounds, and the days (Y,): the recipe's, else a week apart from the
        opening of the thinnings' window on."""
        plantings = setting.plan.plantings
        found = []
        for c in range(3 * len(plantings)):
            planned = plantings[c % len(plantings)]
            if planned.sown_factor <= 1.0:
                continue
            mine = [i for i, x in enumerate(self.plans) if self.column[i] == c and x.method == "thin"]
            rounds = 1 if planned.thin_day is not None else int(recipe_constant("thinning_rounds"))
            if planned.thin_day is not None:
                when = np.full(self.opens.shape[0], planned.thin_day, dtype=np.int64)
            else:
                when = self.opens[:, mine[0]]
            found += [(c, n, rounds, when + 7 * n) for n in range(rounds)]
        return found

    def _standing(self, i: int, state: State) -> Floats:
        c, pool = self.column[i], self.plans[i].part.pool
        if pool == "organ":
            return np.asarray(state.organ[:, c])
        if pool == "side":
            return np.asarray(self.pool[:, i])
        return np.asarray(state.leaf_mass[:, c] * self.plans[i].take)

    def _advance(self, i: int, day: int, now: NDArray[np.bool_]) -> None:
        self.count[:, i] += now
        self.anew[:, i] &= ~now
        self.next[:, i] = np.where(now, day + int(self.interval[i]), self.next[:, i])

    def _with_main(self, i: int, day: int, now: NDArray[np.bool_], state: State) -> Floats:
        main = self.mains[int(self.column[i])]
        due = (day >= self.next[:, main]) & (day <= self.closes[:, main]) & (self.opens[:, main] < NEVER)
        mass = self._mass(main, self._share(main, day, state))
        return np.asarray(np.where(now & due, self._standing(i, state) * mass, 0.0))

    def _mass(self, i: int, share: Floats) -> Floats:
        """Share of the mass that goes with the largest plants, a `share` of all that there were (Y,)."""
        left, spread = self.left[:, i], self.spread[i]

        def smallest(p: Floats) -> Floats:
            return np.asarray(p * (1.0 - spread) + spread * p**2)

        mass = 1.0 - safe(smallest(np.maximum(left - share, 0.0)), smallest(left))
        return np.asarray(np.where(share <= 0.0, 0.0, np.where(share >= left * (1.0 - 1e-9), 1.0, mass)))

    def _of_size(self, i: int, state: State) -> Floats:
        """Share of all plants that there were which stand and are of size (Y,)."""
        return self.left[:, i] if self.least[i] <= 0.0 or i in self._tops() else self._as_large(i, self.least[i], state)

    def _as_large(self, i: int, size: float, state: State) -> Floats:
        """Share of all plants that there were which stand and have so much to pick (Y,)."""
        left, spread = self.left[:, i], self.spread[i]
        lower = left * (1.0 - spread) + spread * left**2
        mean = safe(self._standing(i, state), self.traits.plants[self.column[i]] * lower)
        large = (1.0 + spread - safe(np.full_like(mean, size), mean)) / (2.0 * spread)
        return np.asarray(np.where(mean > 0.0, np.maximum(np.minimum(large, 1.0) - (1.0 - left), 0.0), 0.0))

    def _share(self, i: int, day: int, state: State) -> Floats:
        """Share of all plants that there were which are pulled today (Y,): what is of size, and on the last day what is left."""
        once, left = self.plans[i].method == "once", self.left[:, i]
        steps = (self.closes[:, i] - day) // int(self.interval[i]) + 1
        last = day >= self.closes[:, i] if once else steps <= 1
        large = self._of_size(i, state)
        spare = np.maximum(left - self.spared[i], 0.0)
        if once:
            plants = self.traits.plants[self.column[i]] * left
            when = in_one_go(self.planned[i], self.plans[i])
            usual = (self._standing(i, state) >= self.usual[i] * plants) & (when != ALL_RIPE)
            usual |= day >= self.opens[:, i] + constant("wait_for_usual")
            usual |= self.grown[:, i] > self.opens[:, i]
            fit = (large >= constant("most_of_stand") * left) & usual
            some = np.where(fit | (when == RIPENED), spare, 0.0)
        else:
            grown = self._as_large(i, self.usual[i], state) if self.usual[i] > 0.0 else np.zeros_like(left)
            due = np.maximum(spare / np.maximum(steps, 1), np.minimum(grown, constant("largest_go")))
            some = np.where(large >= constant("first_share") * left, np.minimum(np.minimum(due, large), spare), 0.0)
        return np.asarray(np.where(last, spare, some))

    def _tops(self) -> set[int]:
        """Harvests that come with a main part, which have no least size of their own."""
        return {i for i in range(len(self.plans)) if self._accompanies(i)}

    def _pull(self, i: int, day: int, now: NDArray[np.bool_], state: State) -> Floats:
        """Whole plants: all at once, or evenly over the window; on the last day what is left.

        A head whose plants stay for their side shoots is cut alone.
        """
        c = int(self.column[i])
        share = self._share(i, day, state)
        now = now & (share > 0.0)
        mass = self._mass(i, share)
        grams = np.where(now, self._standing(i, state) * self._mass(i, np.minimum(share, self._of_size(i, state))), 0.0)
        keep = np.where(now, 1.0 - mass, 1.0)
        ends = now & (share >= self.left[:, i] * (1.0 - 1e-9))
        if c in self.shooting and self.mains[c] == i:
            state.organ[:, c] *= np.where(now, 0.0, 1.0)
            self.next[:, i] = np.where(now, NEVER, self.next[:, i])
            return np.asarray(grams)
        self.left[:, i] = np.where(ends, 0.0, self.left[:, i] - np.where(now, share, 0.0))
        if self.plans[i].part.pool == "side":
            self.pool[:, i] *= keep
            self._advance(i, day, now)
            return np.asarray(grams)
        if self.pole[c]:
            state.organ[:, c] *= keep
        else:
            self._shrink(c, keep, state)
        self._advance(i, day, now)
        if self.mains.get(c) == i:
            state.done[:, c] |= ends
        return np.asarray(grams)

    def _leaf(self, i: int, day: int, now: NDArray[np.bool_], state: State) -> Floats:
        """Outer leaves (never below a floor) or a cut (only when regrown, and only so often).

        The last picking takes what there is of plants that live once, as does one for which alone there is time.
        """
        c, due = int(self.column[i]), now
        mass = state.leaf_mass[:, c]
        ground = min(self.traits.area[c], self.traits.plants[c] / self.traits.best[c])
        lai = state.leaf[:, c] / ground
        young = (lai >= constant("first_cut_lai")) & (state.crowding[:, c] >= constant("young_lai"))
        grown = young | ((day >= self.grown[:, i]) & (lai >= self.first_lai))
        sparse = (day >= self.grown[:, i] + constant("first_pick_wait")) & ~self.traits.resprouts[c]
        now = now & (grown | (((self.count[:, i] > 0) | sparse) & ~self.anew[:, i]))
        if self.plans[i].method == "cut":
            ready = now & (mass >= constant("regrown") * self.first_mass[:, i]) & self._may_cut(i, day)
            grams = np.where(ready, mass * self.plans[i].take, 0.0)
            first = ready & (self.count[:, i] == 0)
            self.first_mass[:, i] = np.where(first, mass, self.first_mass[:, i])
        else:
            found = np.maximum(self.first_mass[:, i], mass)
            self.first_mass[:, i] = np.where(due, found, self.first_mass[:, i])
            ready = now
            spare = np.maximum(mass - constant("canopy_floor") * self.first_mass[:, i], 0.0)
            grams = np.where(ready, np.minimum(mass * self.plans[i].take, spare), 0.0)
        only = ready & ((self.count[:, i] == 0) | self.clears[i]) & (self.closes[:, i] - day < self.interval[i])
        grams = np.where(only, mass * max(self.plans[i].take, constant("clearing_take")), grams)
        keep = 1.0 - safe(grams, mass)
        state.leaf[:, c] *= keep
        state.leaf_mass[:, c] *= keep
        less = np.maximum(state.grown[:, c] - grams, state.leaf_mass[:, c])
        state.grown[:, c] = np.where(grams > 0.0, less, state.grown[:, c])
        self._advance(i, day, ready)
        return np.asarray(grams)

    def _may_cut(self, i: int, day: int) -> NDArray[np.bool_]:
        """Whether there are cuts left, or the weeks are so cool that they are not numbered, (Y,)."""
        few = self.count[:, i] < self.plans[i].cuts
        return few if self.plans[i].counted else few | (self.cool[day][:, self.column[i]] > 0.0)

    def _fruit(self, i: int, day: int, now: NDArray[np.bool_], state: State) -> Floats:
        """Ripe fruit, pods or flowers; everything that is food on the last day of the window or on the eve of a killing frost."""
        c = int(self.column[i])
        if c in self.shooting and self.plans[i].part.pool == "side":
            head = self.mains[c]
            now = now & ((self.next[:, head] >= NEVER) | (day > self.closes[:, head]))
        last = (self.closes[:, i] - day < self.interval[i]) | (day >= self.frost[:, c] - 1)
        standing = self._standing(i, state)
        if self.plans[i].part.pool == "organ":
            ripe = np.maximum(standing - state.organ_made[:, c] * self.unripe[day][:, c], 0.0)
            ground = min(self.traits.area[c], self.traits.plants[c] / self.traits.best[c])
            worth = constant("first_worth") * 1000.0 * self.dry[i] * ground
            now = now & (last | (self.count[:, i] > 0) | (ripe >= worth))
        else:
            ripe = standing * constant("ripe_share")
        all_of_it = last & (not self.plans[i].part.ripe_only)
        grams = np.where(now, np.where(all_of_it, standing, ripe), 0.0)
        if self.plans[i].part.pool == "organ":
            state.organ[:, c] -= grams
        elif self.plans[i].part.pool == "side":
            self.pool[:, i] -= grams
        self._advance(i, day, now)
        return np.asarray(grams)
