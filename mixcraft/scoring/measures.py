"""Measures that the part scores rest on: growth kept, diversity, equivalence ratios, means.  Pure functions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.result import Band, Season

from .constants import constants

Floats = NDArray[np.float64]


def geometric(points: Sequence[float] | Floats, weights: Sequence[float] | None = None) -> float:
    """Weighted geometric mean of points 0-100, none counting less than the floor."""
    values = np.maximum(np.asarray(points, dtype=float), constants()["floor"])
    w = np.ones(len(values)) if weights is None else np.asarray(weights, dtype=float)
    if values.size == 0 or w.sum() <= 0.0:
        return 100.0
    return float(np.exp((w * np.log(values)).sum() / w.sum()))


def growth_kept(season: Season) -> Floats:
    """Growth of each planting in the mixture over its growth without the others, (Y, P); 1 where it never grows."""
    mixed, alone = season.growth_g.sum(axis=0), season.lone_growth_g.sum(axis=0)
    return np.asarray(np.divide(mixed, alone, out=np.ones_like(mixed), where=alone > 1e-9))


def effective_number(weights: Floats) -> float:
    """Effective number of kinds: the exponential of Shannon's entropy (Hill 1973, order 1); 0 for no weight at all."""
    total = float(np.sum(weights))
    if total <= 0.0:
        return 0.0
    p = np.asarray(weights, dtype=float)[np.asarray(weights) > 0.0] / total
    return float(np.exp(-(p * np.log(p)).sum()))


def evenness(amounts: Floats) -> float:
    """Pielou's evenness: entropy over its greatest possible value, 0..1; 1 for a single class, 0 for none."""
    p = np.asarray(amounts, dtype=float)
    if p.size == 0 or p.sum() <= 0.0:
        return 0.0
    if p.size == 1:
        return 1.0
    return float(np.log(effective_number(p)) / np.log(p.size))


def land_equivalent_ratio(mixture: Floats, sole: Floats) -> Floats:
    """Land equivalent ratio (Mead & Willey 1980): the sum over crops of mixture yield over sole yield, last axis P.

    Crops with no sole yield do not count.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > 1e-6)
    return np.asarray(ratios.sum(axis=-1))


def area_time_equivalence_ratio(mixture: Floats, sole: Floats, sole_days: Floats, mixture_days: Floats) -> Floats:
    """Area-time equivalence ratio (Hiebsch & McCollum 1987): partial ratios weighted by sole days over mixture days.

    `mixture`, `sole`, `sole_days` (..., P), `mixture_days` (...,), all crops' days counted from sowing to clearing.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > 1e-6)
    return np.asarray((ratios * sole_days).sum(axis=-1) / mixture_days)


def season_ler(season: Season) -> Band:
    """Band of the season's land equivalent ratio."""
    return Band.of(land_equivalent_ratio(season.planting_kg(), season.planting_kg("sole")))


def season_ater(season: Season) -> Band:
    """Band of the season's area-time equivalence ratio; every planting's sole twin keeps its own dates."""
    days = season.field_days()
    start = np.array([p.start for p in season.plan.plantings])
    whole = (start + days).max(axis=1)
    return Band.of(area_time_equivalence_ratio(season.planting_kg(), season.planting_kg("sole"), days, whole))
