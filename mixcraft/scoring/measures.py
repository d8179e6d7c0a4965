"""Measures that the part scores rest on: growth kept, diversity, equivalence ratios, means.  Pure functions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.plan import Plan
from mixcraft.season.result import BAND, LEAST_PICKING_KG, Band, Season

from .constants import constants

Floats = NDArray[np.float64]
LEAST_KG = 1e-6
"""A milligram from a whole bed is no yield."""


def geometric_means(points: Floats, weights: Sequence[float] | None = None) -> Floats:
    """Weighted geometric means over the last axis of points 0-100, (..., N), none counting less than the floor."""
    values = np.maximum(points, constants()["floor"])
    w = np.ones(values.shape[-1]) if weights is None else np.asarray(weights, dtype=float)
    if w.sum() <= 0.0:
        return np.full(values.shape[:-1], 100.0)
    return np.asarray(np.exp((w * np.log(values)).sum(axis=-1) / w.sum()))


def geometric(points: Sequence[float] | Floats, weights: Sequence[float] | None = None) -> float:
    """`geometric_means` of points (N,)."""
    return float(geometric_means(np.asarray(points, dtype=float), weights))


def worst_powers(points: Floats, worst_share: float, weights: Floats | None = None) -> Floats:
    """Powers of a mean over the last axis, (..., N), that sum to 1: `weights` (N,) (all alike if None) for all, and `worst_share`
    more for the least of `points` (..., N), so that a fault of one cannot hide among many without."""
    count = points.shape[-1]
    usual = np.full(count, 1.0 / count) if weights is None else weights / weights.sum()
    least = np.arange(count) == np.argmin(points, axis=-1)[..., None]
    return np.asarray((1.0 - worst_share) * usual + worst_share * least)


def mean_with_worst(points: Floats, worst_share: float) -> Floats:
    """Geometric means over the last axis of points 0-100, (..., N), by `worst_powers`; none counts less than the floor."""
    values = np.maximum(points, constants()["floor"])
    return np.asarray(np.exp((worst_powers(values, worst_share) * np.log(values)).sum(axis=-1)))


def overall_points(points: Floats, weights: Sequence[float]) -> Floats:
    """Overall scores 0-100 of part scores (..., N), by their weighted geometric mean.

    Half of the parts are whole in any bed that is not foolish, and lift the mean of a poor one: a bed without a fault that serves
    a tenth of the plate and gives a tenth of what its ground could has a mean of 30 (`overall_nothing`).  So points are counted
    evenly from there to what the best beds reach; below twice that mean they fall off with its square, the parabola that goes on
    from the line, so that no order is lost among the worst.  The last tenth of the points is shared out over all means up to 100,
    so that none is lost among the best.
    """
    c, mean = constants(), geometric_means(points, weights)
    full, nothing = c["overall_full"], c["overall_nothing"]
    even = (mean - nothing) / (full - nothing)
    poor = (mean / (2.0 * nothing)) ** 2 * nothing / (full - nothing)
    share = c["overall_even"]
    best = 1.0 - (1.0 - share) * (100.0 - mean) / (100.0 - nothing - share * (full - nothing))
    return np.asarray(100.0 * np.where(mean < 2.0 * nothing, poor, np.minimum(even, best)))


def told_losses(left: Sequence[float] | Floats, score: float) -> Floats:
    """Points that each of several losses costs a score that is their product, (N,), summing to 100 less the score.

    `left` (N,) is what each leaves, 0..1, any power included.  A product is shared out by logarithms, so that no order of the
    losses matters.
    """
    logs = -np.log(np.maximum(np.asarray(left, dtype=float), constants()["floor"] / 100.0))
    return np.asarray((100.0 - score) * logs / max(float(logs.sum()), 1e-12))


def middles(values: Floats, axis: int = 0) -> Floats:
    """Medians along an axis, as `numpy.median` gives them, for the few years of a season; nan where one of them is nan."""
    ordered = np.sort(values, axis=axis)
    count = values.shape[axis]
    low, high, last = (ordered[(*[slice(None)] * axis, k)] for k in ((count - 1) // 2, count // 2, -1))
    return np.asarray(np.where(np.isnan(last), np.nan, 0.5 * (low + high)))


def quantile(ordered: Sequence[float], share: float) -> float:
    """A quantile of values in order, by linear interpolation as `numpy.quantile`."""
    place = share * (len(ordered) - 1)
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (ordered[high] - ordered[low]) * (place - low)


def bands(values: Floats) -> list[Band]:
    """Bands over the first axis, the years, of (Y, N)."""
    ordered, place = np.sort(values, axis=0), np.array(BAND) * (len(values) - 1)
    low = place.astype(int)
    high = np.minimum(low + 1, len(values) - 1)
    found = ordered[low] + (ordered[high] - ordered[low]) * (place - low)[:, None]
    return [Band(*row) for row in found.T.tolist()]


def planting_weights(plan: Plan) -> Floats:
    """What each planting weighs among all, (P,), summing to 1: in part by the ground that it takes, in part alike."""
    ground = np.array([p.stand.area_m2 for p in plan.plantings])
    alike = constants()["alike_share"]
    return np.asarray((1.0 - alike) * ground / ground.sum() + alike / len(ground))


def days_together(plan: Plan) -> Floats:
    """Share of its days in which planting i stands beside planting j, (P, P) as [i, j], by the plan; 1 for itself."""
    start, end = (np.array([getattr(p, name) for p in plan.plantings], dtype=float) for name in ("start", "end"))
    together = np.minimum(end[:, None], end) - np.maximum(start[:, None], start)
    days = np.clip(together / np.maximum(end - start, 1.0)[:, None], 0.0, 1.0)
    np.fill_diagonal(days, 1.0)
    return np.asarray(days)


def ground_claimed(plan: Plan, overlap: Floats) -> Floats:
    """How many others each planting shares its ground and its days with, (P,); `overlap` (P, P) is `bed_overlaps(plan)`."""
    own = np.eye(len(plan.plantings), dtype=bool)
    return np.asarray(np.where(own, 0.0, overlap * days_together(plan)).sum(axis=1))


def ground_shared(plan: Plan, overlap: Floats) -> Floats:
    """Share of its ground and of its days that each planting has in common with others, (P,), at most 1."""
    return np.asarray(np.minimum(ground_claimed(plan, overlap), 1.0))


def must_share(plan: Plan, overlap: Floats) -> Floats:
    """The part of `ground_shared` of each planting that it must share, (P,): as much as the places of all that stand in its days,
    side by side, are more than the bed.  Who stands among others while there is room beside them need not."""
    ground = np.array([p.stand.area_m2 / plan.bed.area_m2 for p in plan.plantings])
    wanting = np.maximum(days_together(plan) @ ground - 1.0, 0.0)
    return np.asarray(np.minimum(ground_shared(plan, overlap), wanting / ground))


def growth_kept(season: Season) -> Floats:
    """Growth of each planting in the mixture over its growth without the others, (Y, P); 1 where it never grows."""
    mixed, alone = season.growth_g.sum(axis=0), season.lone_growth_g.sum(axis=0)
    return np.asarray(np.divide(mixed, alone, out=np.ones_like(mixed), where=alone > 1e-9))


def picking_kept(season: Season) -> Floats:
    """What each planting gives in the mixture over what it gives without the others, (Y, P); nan where that is no picking."""
    mixed, alone = season.planting_kg(), season.planting_kg("lone")
    return np.asarray(np.divide(mixed, alone, out=np.full_like(mixed, np.nan), where=alone > LEAST_PICKING_KG))


def effective_number(weights: Floats) -> float:
    """Effective number of kinds: the exponential of Shannon's entropy (Hill 1973, order 1); 0 for no weight at all."""
    total = float(np.sum(weights))
    if total <= 0.0:
        return 0.0
    p = np.asarray(weights, dtype=float)[np.asarray(weights) > 0.0] / total
    return float(np.exp(-(p * np.log(p)).sum()))


def evenness(amounts: Floats) -> float:
    """Pielou's evenness: entropy over its greatest possible value, 0..1; 1 for a single class, 0 for none."""
    return float(evennesses(np.asarray(amounts, dtype=float)))


def evennesses(amounts: Floats) -> Floats:
    """`evenness` over the first axis of (N, ...)."""
    total = amounts.sum(axis=0)
    if len(amounts) <= 1:
        return np.asarray((total > 0.0).astype(float))
    p = amounts / np.where(total > 0.0, total, 1.0)
    entropy = -(p * np.log(np.where(p > 0.0, p, 1.0))).sum(axis=0)
    return np.asarray(entropy / np.log(len(amounts)))


def land_equivalent_ratio(mixture: Floats, sole: Floats) -> Floats:
    """Land equivalent ratio (Mead & Willey 1980): the sum over crops of mixture yield over sole yield, last axis P.

    Crops whose sole yield is no more than `LEAST_KG` do not count.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > LEAST_KG)
    return np.asarray(ratios.sum(axis=-1))


def area_time_equivalence_ratio(mixture: Floats, sole: Floats, sole_days: Floats, mixture_days: Floats) -> Floats:
    """Area-time equivalence ratio (Hiebsch & McCollum 1987): partial ratios weighted by sole days over mixture days.

    `mixture`, `sole`, `sole_days` (..., P), `mixture_days` (...,), all crops' days counted from sowing to clearing.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > LEAST_KG)
    return np.asarray((ratios * sole_days).sum(axis=-1) / mixture_days)


def land_use_efficiency(share: Floats, sole_days: Floats, mixture_days: Floats) -> Floats:
    """Mean of the land equivalent ratio and the area-time equivalence ratio (Balasubramanian & Sekayange 1990), (Y,).

    `share` (Y, P) partial ratios, `sole_days` (P,) that each sole crop holds its ground, `mixture_days` (Y,) that the mixture
    does; no sole crop counts for longer than the mixture stood.
    """
    held = np.minimum(sole_days, mixture_days[:, None])
    return np.asarray(0.5 * share.sum(axis=1) + 0.5 * (share * held).sum(axis=1) / mixture_days)


def season_ler(season: Season) -> Band:
    """Band of the season's land equivalent ratio."""
    return Band.of(land_equivalent_ratio(season.planting_kg(), season.planting_kg("sole")))


def season_ater(season: Season) -> Band:
    """Band of the season's area-time equivalence ratio; every planting's sole twin keeps its own dates."""
    return ater_band(season, season.planting_kg(), season.planting_kg("sole"))


def ater_band(season: Season, mixture: Floats, sole: Floats) -> Band:
    """`season_ater` from the kilograms by planting, (Y, P), of the mixture and of the sole crops."""
    days = season.field_days()
    start = np.array([p.start for p in season.plan.plantings])
    whole = (start + days).max(axis=1)
    return bands(area_time_equivalence_ratio(mixture, sole, days, whole)[:, None])[0]
