"""Continuity: whether the household eats from the bed in every week in which it wants to, enough and of several kinds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part

Floats = NDArray[np.float64]


def longest_run(empty: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Length of the longest run of true values along the first axis of (W, ...)."""
    place = np.arange(1, len(empty) + 1).reshape(-1, *([1] * (empty.ndim - 1)))
    stopped = np.maximum.accumulate(np.where(empty, 0, place), axis=0)
    return np.asarray((place - stopped).max(axis=0, initial=0))


def shares(evidence: Evidence) -> tuple[Floats, Floats, Floats, Floats]:
    """What continuity rests on, each 0..1 by year (Y,): portions served of those wanted, kinds on the plate of those wanted,
    what the longest gap leaves, and what is eaten in time of all that is picked."""
    on, eaten, wanted = evidence.weeks.wanted, evidence.eaten, evidence.wanted
    served = eaten.served[on]
    kinds = np.minimum(eaten.kinds[on] / wanted.kinds, 1.0)
    longest = longest_run(served < constants()["gap_served"])
    gaps = 1.0 - np.minimum(longest / constants()["gap_worst_weeks"], 1.0)
    grams = evidence.portion_g
    picked = evidence.portions.sum(axis=0) @ grams
    spoiled = np.divide(eaten.spoiled.sum(axis=0) @ grams, picked, out=np.zeros_like(picked), where=picked > 0.0)
    return served.mean(axis=0), kinds.mean(axis=0), gaps, 1.0 - spoiled


def points_of(served: Floats, kinds: Floats, gaps: Floats, used: Floats) -> Floats:
    """Points for the shares of `shares`; what is used in time counts only as far as there is something to use."""
    c = constants()
    return np.asarray(
        100.0 * (c["share_of_weeks"] * served + c["share_of_kinds"] * kinds + c["longest_gap"] * gaps + c["used"] * used * served)
    )


def continuity(evidence: Evidence) -> Judged:
    """Mean of the years."""
    if not evidence.weeks.wanted.any():
        return Judged(0.0, Facts(wanted=0.0))
    each = shares(evidence)
    served, kinds, gaps, used = (float(values.mean()) for values in each)
    weeks = [week for week in evidence.strip if week.wanted]
    numbers = Facts(
        picked=float(sum(week.picked for week in weeks)), wanted=float(evidence.weeks.wanted.sum()),
        longest=float(max((gap.weeks for gap in evidence.gaps), default=0)), portions=evidence.wanted.portions,
        people=float(evidence.plate.people), served=served, kinds=float(evidence.eaten.kinds[evidence.weeks.wanted].mean()),
        enough=float((np.median(evidence.eaten.served, axis=1)[evidence.weeks.wanted] >= constants()["week_enough"]).sum()),
    )  # fmt: skip
    reasons = (*_gaps(evidence, gaps), *_short(evidence), *_few_kinds(evidence, kinds), *_glut(evidence, used * served, served))
    return Judged(float(points_of(*each).mean()), numbers, Facts(), reasons)


def _gaps(evidence: Evidence, left: float) -> list[Reason]:
    """Weeks with next to nothing on the plate; the longest gap also answers for the points of gaps."""
    c, weeks = constants(), float(evidence.weeks.wanted.sum())
    longest = max((gap.weeks for gap in evidence.gaps), default=0)
    reasons = []
    for gap in evidence.gaps:
        points = 100.0 * (c["share_of_weeks"] + c["used"]) * gap.weeks / weeks
        if gap.weeks == longest:
            points += 100.0 * c["longest_gap"] * (1.0 - left)
        reasons.append(Reason("continuity", "gap", points, (), (gap.start, gap.end), Facts(weeks=float(gap.weeks))))
    return reasons


def _short(evidence: Evidence) -> list[Reason]:
    """Weeks that put something on the plate, but less than the household wants."""
    c, on = constants(), evidence.weeks.wanted
    served = evidence.eaten.served.mean(axis=1)
    filled = np.median(evidence.eaten.served, axis=1)
    short = on & (filled >= c["gap_served"]) & (filled < c["week_enough"])
    if not short.any():
        return []
    least = int(np.nonzero(short)[0][np.argmin(served[short])])
    points = 100.0 * (c["share_of_weeks"] + c["used"]) * float((1.0 - served[short]).sum()) / float(on.sum())
    day = evidence.season.plan.date((least - evidence.weeks.before) * 7)
    portions = evidence.wanted.portions
    numbers = Facts(weeks=float(short.sum()), portions=portions, least=float(served[least] * portions))
    return [Reason("continuity", "short weeks", points, (), (day, day), numbers)]


def _few_kinds(evidence: Evidence, kinds: float) -> list[Reason]:
    """Too few different things on the plate in the weeks that have anything on it."""
    c, on, eaten = constants(), evidence.weeks.wanted, evidence.eaten
    filled = on & (np.median(eaten.served, axis=1) >= c["gap_served"])
    if not filled.any() or kinds > c["kinds_named"]:
        return []
    mean = float(eaten.kinds[filled].mean())
    points = 100.0 * c["share_of_kinds"] * (1.0 - kinds)
    return [Reason("continuity", "few kinds", points, (), None, Facts(kinds=mean, wanted=evidence.wanted.kinds))]


def _glut(evidence: Evidence, used: float, served: float) -> list[Reason]:
    """The week in which most is picked that nobody eats in time, of the kind that spoils most."""
    c, plan = constants(), evidence.season.plan
    spoiled = evidence.eaten.spoiled.mean(axis=1)
    heavy = spoiled * np.array([0.0 if kind.herb else 1.0 for kind in evidence.kinds])
    if not heavy.size or heavy.max() < c["glut_named"] * evidence.wanted.portions:
        return []
    week, k = np.unravel_index(int(np.argmax(heavy)), heavy.shape)
    kind = evidence.kinds[int(k)]
    kg = float(evidence.weekly_kg[week - evidence.weeks.before, :, list(kind.harvests)].sum(axis=0).mean())
    names = tuple(dict.fromkeys(evidence.names[evidence.season.harvests[h].planting] for h in kind.harvests))
    day = plan.date(int(week - evidence.weeks.before) * 7)
    share = float(spoiled.sum() / max(evidence.portions.mean(axis=1).sum(), 1e-9))
    numbers = Facts(kg=kg, portions=float(spoiled[week, k]), share=share)
    return [Reason("continuity", "glut", 100.0 * c["used"] * max(served - used, 0.0), names, (day, day), numbers)]


def _by_year(evidence: Evidence) -> Floats:
    if not evidence.weeks.wanted.any():
        return np.zeros(evidence.season.years)
    return points_of(*shares(evidence))


PART = Part("continuity", continuity, _by_year)
