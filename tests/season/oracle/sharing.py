"""Light sharing of the reference day loop: the layered canopy, times corrections if there are any, or no sharing at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.setting import Setting
from mixcraft.season.sharing import Corrections, bed_overlaps

from .columns import Traits, safe, traits_of
from .growth import Light
from .light import absorb_layers

Floats = NDArray[np.float64]


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
        own = t.cover(leaf_m2) * t.area
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
        return self.light(raw, safe(taken, taken.sum(axis=2, keepdims=True)))


class Apart:
    """Light of columns that do not see one another: every planting in its own light, by the even canopy alone."""

    def __init__(self, setting: Setting) -> None:
        self.traits = traits_of(setting)
        self.count = len(setting.plan.plantings)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        own = self.traits.cover(leaf_m2) * self.traits.area
        return Light(own, own[:, : self.count].copy(), None)
