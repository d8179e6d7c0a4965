"""Plants on one spot at one time: two plantings whose drawn places meet while both stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .model import AtTrellis, Border, Points, Rows
from .plan import Plan, Planned

Floats = NDArray[np.float64]

DRAWN = (Points, Rows, Border, AtTrellis)
"""Places whose plants stand where the recipe says; plants of a strip or a whole bed are put where there is room."""


@dataclass(frozen=True, slots=True)
class Collision:
    """Plants of planting `second` that stand where plants of planting `first` stand already (indices; `first` starts first).

    `spots` are places (x, y) [m] of the second's plants, `share` the part of all of its plants; `days` the first and the last day
    index on which both stand.
    """

    first: int
    second: int
    spots: tuple[tuple[float, float], ...]
    share: float
    days: tuple[int, int]


def collisions(plan: Plan) -> tuple[Collision, ...]:
    """Every pair of plantings with plants on one spot at one time, in the order of the recipe.

    Two plants are on one spot when they are nearer than a set share of the mean of the distances that their crops ask for
    (`same_spot_share`), and never when they are further apart than that; a few days (`same_spot_days`) do not count, as when the
    next crop is set between the last heads of the one before.  Two plants of one planting are not compared.
    """
    found = []
    drawn = [p for p in plan.plantings if isinstance(p.planting.where, DRAWN) and p.stand.positions is not None]
    for i, a in enumerate(drawn):
        for b in drawn[i + 1 :]:
            first, second = (a, b) if a.start <= b.start else (b, a)
            days = (max(a.start, b.start), min(a.end, b.end))
            if days[1] - days[0] < constant("same_spot_days"):
                continue
            hit = _on_one_spot(first, second)
            if hit.any():
                assert second.stand.positions is not None
                spots = tuple((float(x), float(y)) for x, y in second.stand.positions[hit])
                found.append(Collision(first.index, second.index, spots, float(hit.mean()), days))
    return tuple(found)


def _on_one_spot(first: Planned, second: Planned) -> NDArray[np.bool_]:
    """Which plants of `second`, (n,), stand on a plant of `first`."""
    assert first.stand.positions is not None
    assert second.stand.positions is not None
    near = constant("same_spot_share") * 0.5 * (_distance_m(first) + _distance_m(second))
    apart = np.linalg.norm(second.stand.positions[:, None, :] - first.stand.positions[None, :, :], axis=2)
    return np.asarray(apart.min(axis=1) < near)


def _distance_m(planned: Planned) -> float:
    """Distance [m] between plants of the crop in an even stand at its usual density."""
    return float(planned.planting.crop["spacing.density"] ** -0.5)
