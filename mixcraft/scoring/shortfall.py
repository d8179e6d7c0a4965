"""Why a planting gives less than good practice gives on its ground: what each cause takes, by shares that sum to the whole.

A factor counts by its logarithm, as in `losses`: what neighbours take of the growth, what the bed lacks without them, the
years in which the weather takes the crop, the years that a perennial is given to grow strong, what the fork disturbs, what
nobody eats, a stand too thin. What is left is laid to how the crop is grown: its start and the way of picking.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.density import usual_range

from .fates import fates, main_part
from .measures import middles

if TYPE_CHECKING:
    from .evidence import Evidence

Floats = NDArray[np.float64]
CAUSES = ("light", "water", "nutrients", "room", "cold", "heat", "season", "young", "lifting", "glut", "stand", "growing")
LEAST = 0.02
"""Least share of which a logarithm is taken."""


def shortfalls(evidence: Evidence, gives: Floats, ground: Floats) -> Floats:
    """Share of what good practice gives on its ground that each planting lacks by each of `CAUSES`, (P, 12).

    `gives` (P,) is the share of what the whole bed would give, `ground` (P,) the share of the bed that it takes; rows sum to
    1 - gives / ground, or 0 where it gives as much.
    """
    reached = np.clip(np.divide(gives, ground, out=np.ones_like(gives), where=ground > 0.0), 0.0, 1.0)
    known = _factors(evidence)
    rest = np.maximum(_log(reached) - known.sum(axis=1), 0.0)
    factors = np.column_stack([known, np.where(known.sum(axis=1) + rest > 0.0, rest, 1.0)])
    return np.asarray((1.0 - reached)[:, None] * factors / factors.sum(axis=1, keepdims=True))


def _factors(evidence: Evidence) -> Floats:
    """Logarithms of what each cause but the last divides the yield by, (P, 11)."""
    season = evidence.season
    kept = np.clip(middles(evidence.kept), LEAST, 1.0)
    among = evidence.growth_losses
    total = among.sum(axis=1, keepdims=True)
    neighbours = np.divide(among, total, out=np.zeros_like(among), where=total > 0.0) * -np.log(kept)[:, None]
    neighbours[:, 1:3] += np.maximum(season.lone_held_back.mean(axis=0)[:, :2], 0.0)
    least = np.array([usual_range(p)[0] for p in season.plan.plantings])
    thin = np.minimum(evidence.density / np.maximum(least, LEAST), 1.0)
    grown = (evidence.undisturbed, _eaten(evidence), thin)
    young = np.array([p.planting.too_young(main_part(p)) for p in season.plan.plantings])
    old_enough = _log(np.where(young, 0.0, 1.0))
    return np.column_stack([neighbours, *_weather(evidence), old_enough, *(_log(left) for left in grown)])


def _weather(evidence: Evidence) -> tuple[Floats, Floats, Floats]:
    """Logarithms for the years lost to cold, to heat and to a season too short, (P,) each."""
    known, heat = fates(evidence.season), np.stack([clock.heat for clock in evidence.season.clocks], axis=1)
    by_heat = known.killed & (heat == known.death)
    cold = (known.killed & ~by_heat) | known.lost
    return tuple(_log(1.0 - years.mean(axis=0)) for years in (cold, by_heat | known.bolted, known.unready))  # type: ignore[return-value]


def _eaten(evidence: Evidence) -> Floats:
    """What a kilogram of food of each planting counts, where none is disturbed, (P,)."""
    season, picked = evidence.season, np.zeros(len(evidence.names))
    for h in (h for kind in evidence.kinds for h in kind.harvests):
        picked[season.harvests[h].planting] += season.picked_kg[:, :, h].sum()
    counted = evidence.food_kg.sum(axis=0) / np.maximum(evidence.undisturbed, LEAST)
    return np.asarray(np.divide(counted, picked, out=np.ones_like(counted), where=picked > 1e-9))


def _log(left: Floats) -> Floats:
    return np.asarray(-np.log(np.clip(left, LEAST, 1.0)))
