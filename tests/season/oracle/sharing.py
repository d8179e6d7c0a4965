"""Light sharing of the reference day loop: the layered canopy, times corrections if there are any, or no sharing at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.setting import Setting
from mixcraft.season.sharing import Corrections, bed_overlaps

from .columns import Traits, safe, traits_of
from .growth import Light
from .light import absorb_layers, use_of_layer

Floats = NDArray[np.float64]


def brightness(setting: Setting) -> Floats:
    """Light of a leaf under open sky over that which half saturates it, (D, Y, 3P)."""
    one = np.stack([course.daily.bright for course in setting.courses], axis=-1).transpose(1, 0, 2)
    return np.concatenate([one, one, one], axis=-1)


def use_alone(traits: Traits, bright: Floats, leaf_m2: Floats) -> Floats:
    """Light used by leaves that stand alone, (Y, 3P) [m2 of open sky]."""
    depth = traits.k * leaf_m2 / traits.area
    return np.asarray(use_of_layer(bright, np.ones_like(depth), depth) * traits.area)


class Layered:
    """Light sharing by the layered canopy, times corrections if there are any."""

    def __init__(self, setting: Setting, corrections: Corrections | None = None) -> None:
        plan = setting.plan
        self.traits: Traits = traits_of(setting)
        self.count = len(plan.plantings)
        self.overlap = bed_overlaps(plan)
        self.corrections = corrections
        self.bright = brightness(setting)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        t, p, known = self.traits, self.count, self.corrections
        factor = np.ones(4 * p) if known is None else known.factor[day]
        bright = self.bright[day] * factor[: 3 * p]
        shares = absorb_layers(
            leaf_m2[:, :p] / t.area[:p], height_m[:, :p], t.k[:p], t.area[:p], self.overlap, bright[:, :p],
            attribute=known is None and day % 7 == 0,
        )  # fmt: skip
        own, mine = t.cover(leaf_m2) * t.area, use_alone(t, bright, leaf_m2)
        absorbed = np.concatenate([shares.absorbed, own[:, p:]], axis=1) * factor[: 3 * p]
        used = np.concatenate([shares.used, mine[:, p:]], axis=1) * factor[: 3 * p]
        alone = own[:, :p] * factor[3 * p :]
        absorbed[:, :p] = np.minimum(absorbed[:, :p], alone)
        top = np.concatenate([shares.top, np.ones_like(own[:, p:])], axis=1)
        taken = shares.taken
        if known is not None:
            taken = known.takers[day][None]
        elif taken is not None:
            taken = safe(taken, taken.sum(axis=2, keepdims=True))
        free = use_alone(t, self.bright[day] * np.tile(factor[3 * p :], 3), leaf_m2)
        return Light(absorbed, alone, taken, used, top, free[:, :p] * factor[3 * p :])


class Apart:
    """Light of columns that do not see one another: every planting in its own light, by the even canopy alone."""

    def __init__(self, setting: Setting) -> None:
        self.traits = traits_of(setting)
        self.count = len(setting.plan.plantings)
        self.bright = brightness(setting)

    def __call__(self, day: int, leaf_m2: Floats, height_m: Floats) -> Light:
        own = self.traits.cover(leaf_m2) * self.traits.area
        used = use_alone(self.traits, self.bright[day], leaf_m2)
        return Light(own, own[:, : self.count].copy(), None, used, np.ones_like(own), np.zeros((len(own), 1)))
