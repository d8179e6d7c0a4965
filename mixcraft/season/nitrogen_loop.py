"""Nitrogen of the day loop, plain arrays (prototype)."""

from __future__ import annotations

import numpy as np

from .columns import State, Traits, safe
from .constants import constant
from .nitrogen import curves_of, fed, fixes_g_m2, soil_supply
from .setting import BEFORE_DAYS, C4_GENERA, Setting


class SeasonNitrogen:
    def __init__(self, setting: Setting, traits: Traits, overlap, feeding="usual", litres=0.0) -> None:
        plan = setting.plan
        crops = [p.planting.crop for p in plan.plantings]
        p = len(crops)
        c4 = [c.botanical.split()[0] in C4_GENERA for c in crops]
        most, power = curves_of(crops, c4)
        self.most, self.power = np.tile(most, 3), np.tile(power, 3)
        self.fixes = np.tile([fixes_g_m2(c) for c in crops], 3)
        start, daily = soil_supply(plan.bed.soil, setting.weather.tmean_c[:, BEFORE_DAYS:].T)
        self.supply = daily.copy()
        self.supply[::365] += fed(feeding, litres)
        self.supply[0] += start
        self.next = 0
        y = self.supply.shape[1]
        o = np.eye(3 * p)
        if overlap is not None:
            o[:p, :p] = overlap
        self.o = o
        self.soil, self.n, self.fixed, self.taken, self.before = np.zeros((5, y, 3 * p))
        self.area = traits.area
        self.traits = traits

    def __call__(self, day, state, growth):
        self.soil += self.supply[self.next : day + 1].sum(axis=0)[:, None]
        self.next = day + 1
        a, alive = self.area, state.alive
        shed = safe(state.grown, self.before, 1.0)
        self.n = np.where(state.grown < self.before, self.n * shed, self.n)
        mass = (np.where(alive, state.grown, 0.0) / a) @ self.o.T
        crit = 0.01 * self.most * np.maximum(mass / 100.0, constant("dilution_from")) ** -self.power
        full = crit * (state.grown + growth)
        want = np.where(alive, np.maximum(full - self.n, 0.0) / a, 0.0)
        left = np.maximum(self.fixes - self.fixed, 0.0)
        fixed = np.minimum(constant("fixed_share") * want, left)
        ask = want - fixed
        asked = ask @ self.o.T
        taken = ask * np.minimum(1.0, safe(self.soil, asked, 1.0))
        self.soil = np.maximum(self.soil - taken @ self.o.T, 0.0)
        more = np.minimum(want - fixed - taken, left - fixed)
        fixed = fixed + np.maximum(more, 0.0)
        self.fixed += fixed
        self.taken += taken
        self.n += (taken + fixed) * a
        hunger = np.where(alive & (full > 0), np.minimum(safe(self.n, full, 1.0), 1.0), 1.0)
        self.before = state.grown + growth * hunger
        return hunger
