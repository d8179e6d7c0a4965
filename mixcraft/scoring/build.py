"""From a season to its score."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from mixcraft.recipe.cautions import caution_codes
from mixcraft.season.result import Band, Season

from .constants import WEIGHT, constants
from .evidence import Evidence, known_middles
from .fates import chances
from .measures import bands, overall_points
from .model import PartScore, Reason, Score
from .registry import registry
from .strip import crop_yields

DIGITS = 9
"""Digits to which points are told apart, so that what differs by rounding alone keeps its order."""


def weights_of(season: Season) -> Mapping[str, float]:
    """Weights of the part scores: the garden's own, else the defaults."""
    own = season.plan.garden.weights
    return {part.name: float(own.get(part.name, constants()[WEIGHT + part.name])) for part in registry()}


def score(season: Season) -> Score:
    """Score a season: part scores with reasons, harvest strip, amounts, land equivalent ratio.  No repairs are tried here."""
    evidence = Evidence(season)
    parts = part_scores(evidence)
    return Score(
        season=season, overall=whole_of(parts),
        overall_band=_yearly(evidence, parts), parts=parts, reasons=_ranked(parts), strip=evidence.strip, gaps=evidence.gaps,
        yields=crop_yields(season), ler=evidence.ler, ater=evidence.ater, partial_ler=dict(evidence.partial_ler),
        kept=dict(zip(evidence.names, known_middles(evidence.kept), strict=True)), chances=chances(season, evidence.fates),
        cautions=tuple(caution_codes(season.plan)), notes=season.plan.notes,
    )  # fmt: skip


def part_scores(evidence: Evidence) -> tuple[PartScore, ...]:
    """Every part of the registry, judged and weighed."""
    weights, found = weights_of(evidence.season), []
    for part in registry():
        judged = part.judge(evidence)
        reasons = tuple(sorted(judged.reasons, key=lambda r: (-round(r.points, DIGITS), r.cause, r.plantings)))
        found.append(PartScore(part.name, judged.score, weights[part.name], judged.numbers, judged.names, reasons))
    return tuple(found)


def overall_of(season: Season) -> float:
    """The overall score alone, without reasons."""
    return Points.of(Evidence(season)).overall


class Points(NamedTuple):
    """The overall score and those of the parts by name, without reasons."""

    overall: float
    parts: Mapping[str, float]

    @classmethod
    def of(cls, evidence: Evidence) -> Points:
        """The points of a season."""
        return cls._weighed(evidence, {part.name: part.points(evidence) for part in registry()})

    @classmethod
    def at_most(cls, evidence: Evidence) -> Points:
        """Points that a season does not exceed, found sooner than its points."""
        return cls._weighed(evidence, {part.name: part.at_most(evidence) for part in registry()})

    @classmethod
    def _weighed(cls, evidence: Evidence, parts: Mapping[str, float]) -> Points:
        weights = weights_of(evidence.season)
        return cls(float(overall_points(np.array(list(parts.values())), [weights[name] for name in parts])), parts)


def whole_of(parts: Sequence[PartScore]) -> float:
    """The overall score of part scores."""
    return float(overall_points(np.array([p.score for p in parts]), [p.weight for p in parts]))


def _yearly(evidence: Evidence, scored: tuple[PartScore, ...]) -> Band:
    """Spread of the overall score when the parts that differ from year to year are taken from one year at a time."""
    years, weights = evidence.season.years, [p.weight for p in scored]
    points = np.array([np.full(years, p.score) for p in scored])
    for i, part in enumerate(registry()):
        if part.by_year is not None:
            points[i] = part.by_year(evidence)
    return bands(overall_points(points.T, weights)[:, None])[0]


def _ranked(scored: Iterable[PartScore]) -> tuple[Reason, ...]:
    """All reasons, worst first: points of the part by its weight."""
    weight = {p.name: p.weight for p in scored}
    reasons = [reason for p in scored for reason in p.reasons if p.weight > 0.0]
    return tuple(sorted(reasons, key=lambda r: (-round(r.points * weight[r.part], DIGITS), r.part, r.cause, r.plantings)))
