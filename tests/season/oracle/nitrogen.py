"""Nitrogen of the reference day loop: what soil and feeding bring, what plants want, fix and take (see `kernel_nitrogen`)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.constants import constant
from mixcraft.season.dilution import dilution, fixes_g_m2
from mixcraft.season.nitrogen import supply_of
from mixcraft.season.setting import Setting

from .columns import State, Traits, safe

Floats = NDArray[np.float64]


class SeasonNitrogen:
    """Called once a day of growth with the day, the state and the growth with enough nitrogen (Y, 3P); the factor on it."""

    def __init__(self, setting: Setting, traits: Traits, overlap: Floats | None) -> None:
        crops = [p.planting.crop for p in setting.plan.plantings]
        p = len(crops)
        curves = np.tile([dilution(crop) for crop in crops], (3, 1))
        self.most, self.power, self.more = curves.T
        self.fixes = np.tile([fixes_g_m2(crop) for crop in crops], 3)
        self.supply = supply_of(setting).T
        self.area, self.next = traits.area, 0
        self.beside = np.eye(3 * p)
        if overlap is not None:
            self.beside[:p, :p] = overlap
            np.fill_diagonal(self.beside, 1.0)
        self.soil, self.held, self.fixed, self.before = np.zeros((4, self.supply.shape[1], 3 * p))

    def __call__(self, day: int, state: State, growth: Floats) -> Floats:
        self.soil += self.supply[self.next : day + 1].sum(axis=0)[:, None]
        self.next = day + 1
        alive = state.alive
        gone = alive & (state.grown < self.before)
        self.held = np.where(gone, self.held * safe(state.grown, self.before), self.held)
        mass = (np.where(alive, state.grown, 0.0) / self.area) @ self.beside.T
        attained = constant("attained")
        stand = np.maximum(attained * mass / 100.0, constant("dilution_from"))
        falls = 1.0 + self.more * np.exp(-constant("dilution_fall") * stand)
        share = 0.01 * self.most * np.where(self.more > 0.0, falls, stand**-self.power)
        full = share * attained * (state.grown + growth)
        want = np.where(alive, np.maximum(full - self.held, 0.0) / self.area, 0.0)
        left = np.maximum(self.fixes - self.fixed, 0.0)
        fixed = np.minimum(constant("fixed_share") * want, left)
        ask = want - fixed
        asked = ask @ self.beside.T
        taken = np.where(asked > 1e-9, ask * np.minimum(1.0, safe(self.soil, asked, 1.0)), 0.0)
        self.soil = np.maximum(self.soil - taken @ self.beside.T, 0.0)
        more = np.maximum(np.minimum(want - fixed - taken, self.fixes - self.fixed - fixed), 0.0)
        fixed = np.where(alive, fixed + more, 0.0)
        self.fixed += fixed
        self.held += (taken + fixed) * self.area
        hunger = np.where(alive & (full > 0.0), np.minimum(safe(self.held, full, 1.0), 1.0), 1.0)
        self.before = np.where(alive, state.grown + growth * hunger, self.before)
        return np.asarray(hunger)
