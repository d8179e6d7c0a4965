"""Yield: what the ground gives over the time that it is used, beside the same crops grown alone by good practice, and how much of
it is under leaves while the household wants to eat."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts, Numbers
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.losses import takers
from mixcraft.scoring.measures import middles, told_losses
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part
from mixcraft.scoring.shortfall import CAUSES, shortfalls
from mixcraft.season.result import BAND

Floats = NDArray[np.float64]


def yield_points(efficiency: Floats | float) -> Floats:
    """Points for efficiencies of the use of land, of the same shape."""
    c = constants()
    return np.asarray(100.0 * np.clip(np.asarray(efficiency) / c["land_use_full"], 0.0, 1.0))


def use_points(evidence: Evidence) -> Floats:
    """Points for the use of land and for the ground covered, (Y,), their weighted geometric mean, less what the planting lacks
    that gives least of what is due from it: a row that fails is not hidden by what the others give."""
    c = constants()
    whole = yield_points(evidence.land_use[1]) ** (1.0 - c["covered_share"]) * _cover_points(evidence) ** c["covered_share"]
    return np.asarray(whole * _least_given(evidence) ** c["yield_worst_share"])


def _least_given(evidence: Evidence) -> Floats:
    """What the planting gives of what is due from it that gives least, (Y,); one that gives next to nothing is missed in the use
    of land and, if the weather takes it, in the timing too, and counts no less than `yield_worst_least`."""
    return np.asarray(np.maximum(evidence.due_given.min(axis=1), constants()["yield_worst_least"]))


def _cover_points(evidence: Evidence) -> Floats:
    return np.asarray(100.0 * np.minimum(evidence.covered / constants()["covered_full"], 1.0))


def yield_score(evidence: Evidence) -> float:
    """Points in the middle year."""
    return float(middles(use_points(evidence)))


def yields(evidence: Evidence) -> Judged:
    """The score; plantings that give little or nothing are named, and ground that lies open."""
    share, efficiency = evidence.land_use
    middle, low, high = (float(q) for q in np.quantile(efficiency, (0.5, BAND[0], BAND[2])))
    score = yield_score(evidence)
    power, cover = constants()["covered_share"], float(np.median(_cover_points(evidence))) / 100.0
    land = float(yield_points(middle)) / 100.0
    least = float(np.median(_least_given(evidence)))
    left = [land ** (1.0 - power), cover**power, least ** constants()["yield_worst_share"]]
    lost, bare, poor = (float(p) for p in told_losses(left, score))
    due = middles(evidence.due_given)
    worst = int(np.argmin(due))
    numbers = Facts(
        land_use=middle, low=low, high=high, ler=float(np.median(share.sum(axis=1))), covered=float(np.median(evidence.covered)),
        least=float(due[worst]),
    )  # fmt: skip
    gives, plan = np.median(share, axis=0), evidence.season.plan
    ground = np.minimum([p.stand.area_m2 / plan.bed.area_m2 for p in plan.plantings], 1.0)
    lacks = shortfalls(evidence, gives, ground)
    reasons = [*_little(evidence, gives, ground, lacks, middle, worst, (lost, poor)), *_open_ground(bare, numbers)]
    if middle < constants()["land_use_named"]:
        told = sum(reason.points for reason in reasons if reason.cause != "open ground") - poor
        reasons.append(Reason("yield", "ground half used", max(lost - told, 0.0), (), None, _lacking(ground, lacks, numbers)))
    return Judged(score, numbers, Facts(worst=(evidence.names[worst],)), tuple(reasons))


def _little(
    evidence: Evidence, gives: Floats, ground: Floats, lacks: Floats, middle: float, worst: int, lost: tuple[float, float]
) -> list[Reason]:
    """Plantings that give nothing, or little of what is due from their ground, each with its part of what is missing; `lost` are
    the points of the use of land and those of the `worst`, that gives least of what is due and is named for them."""
    c, plan = constants(), evidence.season.plan
    short = np.maximum(ground * c["partial_due"] - gives, 0.0)
    points = lost[0] * short / max(c["land_use_full"] - middle, float(short.sum()), 1e-9)
    points[worst] += lost[1]
    reasons = []
    for i, planned in enumerate(plan.plantings):
        lacking = dict(zip(CAUSES, lacks[i].tolist(), strict=True))
        taken, who = takers(evidence.season, evidence.overlaps, i, lacking)
        if lacking["lifting"] > 0.0:
            taken["lifting_taker_0"] = lacking["lifting"]
            who["lifting_takers"] = (evidence.names[int(np.argmax(evidence.lifted[i]))],)
        numbers, names = Facts({"share": float(gives[i]), "ground": float(ground[i]), **lacking, **taken}), Facts(who)
        cost, name = float(points[i]), (planned.name,)
        if not any(h.part.food for h in planned.harvests):
            reasons.append(Reason("yield", "no food", cost, name, None, numbers))
        elif gives[i] <= 0.0:
            reasons.append(Reason("yield", "nothing", cost, name, None, numbers, names))
        elif gives[i] < ground[i] * c["partial_due"] * c["partial_named"] or (i == worst and lost[1] > 0.0):
            reasons.append(Reason("yield", "little", cost, name, None, numbers, names))
    return reasons


def _lacking(ground: Floats, lacks: Floats, numbers: Numbers) -> Numbers:
    """What the plantings lack by cause, each by its ground: shares of what they would give by good practice; and `numbers`."""
    each = (ground @ lacks / ground.sum()).tolist()
    return Facts({**numbers, **dict(zip(CAUSES, each, strict=True))})


def _open_ground(points: float, numbers: Numbers) -> list[Reason]:
    """Ground on which nothing grows while the household wants to eat from it."""
    if points < constants()["open_ground_named"]:
        return []
    return [Reason("yield", "open ground", points, (), None, Facts(covered=numbers["covered"]))]


def _by_year(evidence: Evidence) -> Floats:
    return use_points(evidence)


PART = Part("yield", yields, _by_year, yield_score)
