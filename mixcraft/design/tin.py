"""Seed of a mixture that is sown once, weighed into one tin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.crops.clock import SOWN
from mixcraft.recipe.model import WholeBed
from mixcraft.recipe.plan import Plan


@dataclass(frozen=True, slots=True)
class TinSeed:
    """Seed of one planting: its name, how many seeds and their weight [g]."""

    name: str
    seeds: float
    seed_g: float


@dataclass(frozen=True, slots=True)
class Tin:
    """What goes into the tin, the heaviest first; the day and the ground [m2]."""

    day: np.datetime64
    area_m2: float
    seeds: tuple[TinSeed, ...]

    @property
    def total_g(self) -> float:
        """Weight of the seed of a bed [g]."""
        return sum(seed.seed_g for seed in self.seeds)


def tin_of(plan: Plan) -> Tin | None:
    """The tin of a plan of which two plantings or more are all sown on one day over the whole bed; None for any other."""
    plantings = plan.plantings
    once = len({p.start for p in plantings}) == 1 and all(
        isinstance(p.planting.where, WholeBed) and p.planting.establish in SOWN for p in plantings
    )
    if len(plantings) < 2 or not once:
        return None
    seeds = tuple(TinSeed(p.name, p.seeds, p.seed_g) for p in sorted(plantings, key=lambda p: -p.seed_g))
    return Tin(plan.date(plantings[0].start), plan.bed.area_m2, seeds)
