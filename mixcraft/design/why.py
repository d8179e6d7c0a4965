"""Why each planting of a design is there, as facts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.recipe.model import AtTrellis, Planting
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.model import Score

from .brief import Brief
from .constants import constant


@dataclass(frozen=True)
class Why:
    """Why a planting is there: what it gives and when, and what else speaks for it.

    `causes`, strongest first: must, wish, trellis, tall behind, quick among, before (it clears its ground for another), after;
    `first` and `last` picking days, None if it is never picked; `portions` of the season; `weeks` in which it is on the plate
    together with fewer kinds than are wanted.
    """

    planting: str
    causes: tuple[str, ...]
    others: tuple[str, ...]
    portions: float
    first: np.datetime64 | None
    last: np.datetime64 | None


def reasons_of(score: Score, brief: Brief) -> tuple[Why, ...]:
    """`Why` of each planting of a scored design, in its order."""
    return tuple(_why(planting, score, brief) for planting in score.season.plan.recipe.plantings)


def _why(planting: Planting, score: Score, brief: Brief) -> Why:
    mine = [y for y in score.yields if y.planting == planting.name]
    grams = planting.crop.main_part.number("portion", scoring_constants()["portion_usual_g"])
    firsts, lasts = [y.first for y in mine if y.first is not None], [y.last for y in mine if y.last is not None]
    causes, others = _causes(planting, score, brief)
    return Why(
        planting.name, causes, others, sum(y.kg.middle for y in mine) * 1000.0 / grams, min(firsts, default=None),
        max(lasts, default=None),
    )  # fmt: skip


def _causes(planting: Planting, score: Score, brief: Brief) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Causes, and the plantings whose ground it takes over."""
    causes, plan = [], score.season.plan
    if any(crop.id == planting.crop.id for crop in brief.musts):
        causes.append("must")
    elif any(crop.id == planting.crop.id for crop in brief.wishes):
        causes.append("wish")
    if isinstance(planting.where, AtTrellis):
        causes.append("trellis")
    me = next(p for p in plan.plantings if p.name == planting.name)
    quick = me.last_harvest - me.start <= constant("intercrop_days")
    shared = [p for p in plan.plantings if p.name != me.name and (np.minimum(p.stand.cells, me.stand.cells) > 0.5).any()]
    if quick and any(p.start < me.last_harvest and p.end > me.last_harvest + 14 and p.start <= me.start for p in shared):
        causes.append("among")
    before = [p.name for p in shared if p.end <= me.start + 7]
    if before:
        causes.append("after")
    return tuple(causes), tuple(before)
