"""What takes growth from a planting among others: light, water, nutrients and room, by shares that sum to the whole.

The day loop says by what factor each thing held growth back, beside the same planting without the others (`Season.held_back`,
`lone_held_back`, the light absorbed and that of the same leaves alone).  A factor counts by its logarithm, so that factors
that multiply add up.  What grows less today has less leaf tomorrow: this is laid to the causes as their direct factors stand
to one another.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.result import Season

from .constants import constants

Floats = NDArray[np.float64]
Names = tuple[str, ...]

GROWTH_CAUSES = ("light", "water", "nutrients", "room")


def growth_factors(season: Season) -> Floats:
    """Logarithm of what each of `GROWTH_CAUSES` divides the growth of each planting by among the others, (P, 4), none below 0.

    Light by the same leaves' light alone over that in the mixture, weighted by the growth alone; water, nutrients and room
    by the day loop, less what the planting lacks without the others too; mean of the years.
    """
    light = _shading(season)
    beside = np.maximum(season.held_back - season.lone_held_back, 0.0).mean(axis=0)
    return np.column_stack([light, beside[:, 0], beside[:, 1], season.held_back.mean(axis=0)[:, 2]])


def _shading(season: Season) -> Floats:
    """Logarithm of the light that the same leaves would absorb alone over what they absorb, (P,), by the growth alone."""
    alone, absorbed = season.alone_mj, season.absorbed_mj
    lit = alone > 0.0
    ratio = np.divide(absorbed, alone, out=np.ones_like(alone), where=lit)
    weight = season.lone_growth_g * lit
    total = weight.sum(axis=(0, 1))
    logs = -(np.log(np.clip(ratio, constants()["light_least_share"], 1.0)) * weight).sum(axis=(0, 1))
    return np.asarray(np.divide(logs, total, out=np.zeros_like(total), where=total > 0.0))


def growth_losses(season: Season, kept: Floats) -> Floats:
    """Share of the growth alone that each planting loses to each of `GROWTH_CAUSES`, (P, 4); rows sum to 1 - `kept` (P,).

    Where nothing is found to hold a planting back, it is room.
    """
    factors = growth_factors(season)
    total = factors.sum(axis=1)
    factors[total <= 1e-9] = (0.0, 0.0, 0.0, 1.0)
    return np.asarray(np.maximum(1.0 - kept, 0.0)[:, None] * factors / factors.sum(axis=1, keepdims=True))


def light_takers(season: Season, index: int) -> list[tuple[int, float]]:
    """Who takes a planting's light, most first: plantings with their shares, which sum to 1; nobody where none is taken."""
    taken = season.taken_mj[:, index].sum(axis=0)
    if taken.sum() <= 0.0:
        return []
    share = taken / taken.sum()
    return [(int(i), float(share[i])) for i in np.argsort(-share, kind="stable") if share[i] > 0.0]


def takers(season: Season, overlaps: Floats, index: int, lost: Mapping[str, float]) -> tuple[dict[str, float], dict[str, Names]]:
    """Who takes what a planting has `lost` to light and to room, as the facts of a reason: names by cause, and for each name its
    part of the loss; nobody who takes less than `taker_named`."""
    numbers: dict[str, float] = {}
    names: dict[str, Names] = {}
    for cause, found in (("light", light_takers(season, index)), ("room", room_takers(season, overlaps, index))):
        told = [(i, lost[cause] * share) for i, share in found if lost[cause] * share >= constants()["taker_named"]]
        names[f"{cause}_takers"] = tuple(season.plan.plantings[i].name for i, _ in told)
        numbers |= {f"{cause}_taker_{n}": share for n, (_, share) in enumerate(told)}
    return numbers, names


def room_takers(season: Season, overlaps: Floats, index: int) -> list[tuple[int, float]]:
    """Whose leaf stands on a planting's ground, most first: plantings with their shares, which sum to 1."""
    mine = season.leaf_m2[:, :, index].mean(axis=1) > 0.0
    leaf = season.leaf_m2[mine].sum(axis=(0, 1)) / np.array([p.stand.area_m2 for p in season.plan.plantings])
    standing = overlaps[index] * leaf
    standing[index] = 0.0
    if standing.sum() <= 0.0:
        return []
    share = standing / standing.sum()
    return [(int(i), float(share[i])) for i in np.argsort(-share, kind="stable") if share[i] > 0.0]
