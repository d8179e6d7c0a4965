"""What a season puts into the basket: kilograms and portions by harvest, and what stays too small to count."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.season.result import Band

from .constants import constants
from .model import CropYield, Score


@dataclass(frozen=True, slots=True)
class Basket:
    """One part of a planting: what it gives (`item`), its portions in the middle of the years (0 for what is no food), and what
    stays below the least size that counts as a harvest [kg], middle of the years."""

    item: CropYield
    portions: float
    small_kg: float


def baskets(score: Score) -> tuple[Basket, ...]:
    """The harvests of a score, in its order."""
    season = score.season
    small = np.median(season.small_kg.sum(axis=0), axis=0)
    found = []
    for h, (harvest, item) in enumerate(zip(season.harvests, score.yields, strict=True)):
        grams = harvest.part.number("portion", constants()["portion_usual_g"])
        found.append(Basket(item, 1000.0 * item.kg.middle / grams if harvest.part.food else 0.0, float(small[h])))
    return tuple(found)


def total(score: Score) -> Band:
    """Kilograms of all harvests together, a band over the years."""
    return Band.of(score.season.picked_kg.sum(axis=(0, 2)))
