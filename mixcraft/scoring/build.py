"""From a season to its score."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mixcraft.graph import edges as graph_edges
from mixcraft.recipe.cautions import caution_codes
from mixcraft.season.result import Band, Season

from . import parts
from .measures import (
    crop_yields,
    growth_kept,
    harvest_strip,
    land_equivalent_ratio,
    plate_of,
    season_ater,
    season_ler,
    strip_gaps,
    wanted_window,
)
from .model import PARTS, PartScore, Reason, Score
from .timing import chances, timing


def weights_of(season: Season) -> Mapping[str, float]:
    """Weights of the part scores: the garden's own, else the defaults."""
    own = season.plan.garden.weights
    return {name: float(own.get(name, parts.constants()[f"weight_{name}"])) for name in PARTS}


def score(season: Season) -> Score:
    """Score a season: part scores with reasons, harvest strip, amounts, land equivalent ratio.  No repairs are tried here."""
    weight = weights_of(season)
    edges = graph_edges(season)
    kept = growth_kept(season)
    window = wanted_window(season.plan, parts.constants()["window_after_weeks"])
    strip = harvest_strip(season, window)
    gaps = strip_gaps(strip)
    names = [p.name for p in season.plan.plantings]
    partial = dict(zip(names, _middle(season.partial_ler()), strict=True))
    ler = season_ler(season)
    scored = (
        parts.canopy(season, edges, kept, weight["canopy"]),
        parts.continuity(strip, gaps, weight["continuity"], plate_of(season.plan)),
        parts.roots(season, edges, weight["roots"]),
        parts.families(season, edges, weight["families"]),
        timing(season, weight["timing"]),
        parts.yields(season, ler, partial, kept, weight["yield"]),
    )
    overall = parts.geometric([p.score for p in scored], [p.weight for p in scored])
    return Score(
        season=season, overall=overall, overall_band=_yearly(season, scored, kept, window), parts=scored,
        reasons=_ranked(scored), strip=strip, gaps=gaps,
        yields=crop_yields(season), ler=ler, ater=season_ater(season), partial_ler=partial,
        kept=dict(zip(names, _middle(kept), strict=True)), chances=chances(season),
        cautions=tuple(caution_codes(season.plan)), notes=season.plan.notes,
    )  # fmt: skip


def _yearly(season: Season, scored: tuple[PartScore, ...], kept: NDArray[np.float64], window: tuple[int, int]) -> Band:
    """Spread of the overall score when canopy, continuity and yield are taken from one year at a time."""
    weights = [p.weight for p in scored]
    weekly = season.weekly_kg().sum(axis=2)
    wanted = [w for w in range(weekly.shape[0]) if window[0] <= w * 7 + 3 <= window[1]]
    amount, full = plate_of(season.plan).weekly_kg, parts.kept_full(season.plan)
    ler = land_equivalent_ratio(season.planting_kg(), season.planting_kg("sole"))
    overall = []
    for year in range(season.years):
        points = {p.name: p.score for p in scored}
        points["canopy"] = parts.geometric(list(parts.canopy_points(kept[year], full)))
        points["continuity"] = parts.continuity_points(weekly[wanted, year], amount)
        points["yield"] = parts.yield_points(float(ler[year]))
        overall.append(parts.geometric([points[p.name] for p in scored], weights))
    return Band.of(np.array(overall))


def _middle(values: NDArray[np.float64]) -> list[float]:
    with np.errstate(all="ignore"):
        return [float(np.median(column[~np.isnan(column)])) if (~np.isnan(column)).any() else float("nan") for column in values.T]


def _ranked(scored: tuple[PartScore, ...]) -> tuple[Reason, ...]:
    """All reasons, worst first: points of the part by its weight."""
    weight = {p.name: p.weight for p in scored}
    reasons = [reason for p in scored for reason in p.reasons if weight[p.name] > 0.0]
    return tuple(sorted(reasons, key=lambda r: (-r.points * weight[r.part], r.part, r.sentence)))
