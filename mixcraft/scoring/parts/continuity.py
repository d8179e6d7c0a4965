"""Continuity: whether the household eats from the bed in every week in which it wants to, enough and of several kinds."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts, Names
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import geometric_means, told_losses
from mixcraft.scoring.model import Reason
from mixcraft.scoring.portions import Kind
from mixcraft.scoring.registry import Judged, Part

Floats = NDArray[np.float64]


def longest_run(empty: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Length of the longest run of true values along the first axis of (W, ...)."""
    place = np.arange(1, len(empty) + 1).reshape(-1, *([1] * (empty.ndim - 1)))
    stopped = np.maximum.accumulate(np.where(empty, 0, place), axis=0)
    return np.asarray((place - stopped).max(axis=0, initial=0))


def shares(evidence: Evidence) -> tuple[Floats, ...]:
    """What continuity rests on, each 0..1 by year (Y,), in the order of `SHARES`: portions served of those wanted, weeks that put
    something on the plate, kinds on the plate of those wanted (in a week, times those over the season), what the longest gap
    leaves, and what is eaten or given away of all that is picked."""
    on, eaten, wanted = evidence.weeks.wanted, evidence.eaten, evidence.wanted
    served = eaten.served[on]
    kinds = np.minimum(eaten.kinds[on] / wanted.kinds, 1.0).mean(axis=0)
    empty = served < constants()["gap_served"]
    longest = longest_run(empty)
    gaps = np.exp(-longest / constants()["gap_scale"])
    grams = evidence.portion_g
    picked = evidence.portions.sum(axis=0) @ grams
    lost = (evidence.wasted + (1.0 - constants()["given_counts"]) * evidence.given).sum(axis=0) @ grams
    wasted = np.divide(lost, picked, out=np.zeros_like(picked), where=picked > 0.0)
    return served.mean(axis=0), 1.0 - empty.mean(axis=0), kinds * variety(evidence), gaps, 1.0 - wasted


def variety(evidence: Evidence) -> Floats:
    """Different things eaten over the whole season of those wanted, (Y,), 0..1: `season_kinds_times` as many as in a week, a
    thing of which less than `kind_portions` are eaten counting as that part, so that the same three all year are not all.
    With fewer than `season_kinds_more` beyond those of a week the plate cannot change at all, and what is short of that counts
    again."""
    c, eaten, weekly = constants(), evidence.eaten.portions[evidence.weeks.wanted].sum(axis=0), evidence.wanted.kinds
    found = np.minimum(eaten / c["kind_portions"], 1.0).sum(axis=1)
    changing = np.minimum(found / (weekly + c["season_kinds_more"]), 1.0)
    return np.asarray(np.minimum(found / (c["season_kinds_times"] * weekly), 1.0) * changing)


SHARES = {
    "served": "share_of_weeks", "filled": "filled_weeks", "kinds": "share_of_kinds", "gaps": "longest_gap", "used": "used",
}  # fmt: skip
"""What continuity rests on, with the constant that is its power."""


def points_of(*each: Floats) -> Floats:
    """Points for the shares of `shares`, of the same shape: their weighted geometric mean, so that neither one thing all the year
    nor much at once makes up for the weeks without; none where nothing is served."""
    points = geometric_means(100.0 * np.stack(each, axis=-1), _powers())
    return np.asarray(np.where(np.asarray(each[0]) > 0.0, points, 0.0))


def _powers() -> list[float]:
    return [constants()[power] for power in SHARES.values()]


def continuity_score(evidence: Evidence) -> float:
    """Mean of the years; none where no week is wanted."""
    return _score(shares(evidence)) if evidence.weeks.wanted.any() else 0.0


def _score(each: tuple[Floats, ...]) -> float:
    return float(points_of(*each).mean())


def continuity(evidence: Evidence) -> Judged:
    """The score, with a reason for every gap, short week and glut."""
    if not evidence.weeks.wanted.any():
        return Judged(0.0, Facts(wanted=0.0))
    each = shares(evidence)
    score = _score(each)
    mean = dict(zip(SHARES, (float(values.mean()) for values in each), strict=True))
    losses = told_losses(np.maximum(list(mean.values()), constants()["floor"] / 100.0) ** np.array(_powers()), score)
    lost = dict(zip(SHARES, losses.tolist(), strict=True))
    weeks = [week for week in evidence.strip if week.wanted]
    numbers = Facts(
        picked=float(sum(week.picked for week in weeks)), wanted=float(evidence.weeks.wanted.sum()),
        longest=float(max((gap.weeks for gap in evidence.gaps), default=0)), portions=evidence.wanted.portions,
        people=float(evidence.plate.people), served=mean["served"],
        kinds=float(evidence.eaten.kinds[evidence.weeks.wanted].mean()),
        enough=float((np.median(evidence.eaten.served, axis=1)[evidence.weeks.wanted] >= constants()["week_enough"]).sum()),
    )  # fmt: skip
    reasons = [*_gaps(evidence, lost), *_short(evidence, lost), *_few_kinds(evidence, mean["kinds"], lost)]
    return Judged(score, numbers, Facts(), (*reasons, *_glut(evidence, lost)))


def _missing(evidence: Evidence) -> tuple[Floats, Floats]:
    """Share of all portions that are missing, and of all kinds, that are missing in each week, (W,); mean of the years."""
    on, eaten = evidence.weeks.wanted, evidence.eaten
    portions = np.where(on, 1.0 - eaten.served.mean(axis=1), 0.0)
    kinds = np.where(on, 1.0 - np.minimum(eaten.kinds / evidence.wanted.kinds, 1.0).mean(axis=1), 0.0)
    return portions / max(float(portions.sum()), 1e-9), kinds / max(float(kinds.sum()), 1e-9)


def _gap_weeks(evidence: Evidence) -> NDArray[np.bool_]:
    """Wanted weeks in which most years put next to nothing on the plate, (W,)."""
    return evidence.weeks.wanted & (np.median(evidence.eaten.served, axis=1) < constants()["gap_served"])


def _gaps(evidence: Evidence, lost: Mapping[str, float]) -> list[Reason]:
    """Weeks with next to nothing on the plate, with the portions and the kinds that they lack; all answer by their length for the
    points of empty weeks, the longest also for those of the longest gap."""
    before = evidence.weeks.before
    portions, kinds = _missing(evidence)
    longest = max((gap.weeks for gap in evidence.gaps), default=0)
    as_long, empty = sum(gap.weeks == longest for gap in evidence.gaps), sum(gap.weeks for gap in evidence.gaps)
    reasons = []
    for gap in evidence.gaps:
        first = evidence.season.plan.day(gap.start) // 7 + before
        points = lost["served"] * float(portions[first : first + gap.weeks].sum())
        points += lost["kinds"] * float(kinds[first : first + gap.weeks].sum())
        points += lost["filled"] * gap.weeks / empty + (lost["gaps"] / as_long if gap.weeks == longest else 0.0)
        reasons.append(Reason("continuity", "gap", points, (), (gap.start, gap.end), Facts(weeks=float(gap.weeks))))
    return reasons


def _short(evidence: Evidence, lost: Mapping[str, float]) -> list[Reason]:
    """Weeks that put something on the plate, but less than the household wants."""
    filled = np.median(evidence.eaten.served, axis=1)
    gaps = _gap_weeks(evidence)
    short = evidence.weeks.wanted & ~gaps & (filled < constants()["week_enough"])
    if not short.any():
        return []
    served = evidence.eaten.served.mean(axis=1)
    least = int(np.nonzero(short)[0][np.argmin(served[short])])
    points = lost["served"] * float(_missing(evidence)[0][~gaps].sum())
    day = evidence.season.plan.date((least - evidence.weeks.before) * 7)
    portions = evidence.wanted.portions
    numbers = Facts(weeks=float(short.sum()), portions=portions, least=float(served[least] * portions))
    return [Reason("continuity", "short weeks", points, (), (day, day), numbers)]


def _few_kinds(evidence: Evidence, kinds: float, lost: Mapping[str, float]) -> list[Reason]:
    """Too few different things on the plate in the weeks that have anything on it."""
    filled = evidence.weeks.wanted & ~_gap_weeks(evidence)
    if not filled.any() or kinds > constants()["kinds_named"]:
        return []
    mean = float(evidence.eaten.kinds[filled].mean())
    points = lost["kinds"] * float(_missing(evidence)[1][filled].sum())
    over_all = float((evidence.eaten.portions[evidence.weeks.wanted].sum(axis=0) >= 1.0).sum(axis=1).mean())
    wanted = evidence.wanted.kinds
    numbers = Facts(kinds=mean, wanted=wanted, season=over_all, season_wanted=constants()["season_kinds_times"] * wanted)
    return [Reason("continuity", "few kinds", points, (), None, numbers)]


def _glut(evidence: Evidence, lost: Mapping[str, float]) -> list[Reason]:
    """The week in which most is picked that nobody eats in time, of the kind that spoils most."""
    c, plan = constants(), evidence.season.plan
    spoiled = evidence.wasted.mean(axis=1)
    heavy = spoiled * np.array([0.0 if kind.herb else 1.0 for kind in evidence.kinds])
    if not heavy.size or heavy.max() < c["glut_named"] * evidence.wanted.portions:
        return _surplus(evidence, lost)
    week, k = np.unravel_index(int(np.argmax(heavy)), heavy.shape)
    kind = evidence.kinds[int(k)]
    kg = float(evidence.weekly_kg[week - evidence.weeks.before, :, list(kind.harvests)].sum(axis=0).mean())
    names = tuple(dict.fromkeys(evidence.names[evidence.season.harvests[h].planting] for h in kind.harvests))
    day = plan.date(int(week - evidence.weeks.before) * 7)
    share = float(spoiled.sum() / max(evidence.portions.mean(axis=1).sum(), 1e-9))
    numbers = Facts(kg=kg, portions=float(spoiled[week, k]), share=share)
    return [Reason("continuity", "glut", lost["used"], names, (day, day), numbers, _methods(evidence, kind))]


def _methods(evidence: Evidence, kind: Kind) -> Names:
    """Ways in which a kind is picked, as a fact."""
    return Facts(methods=tuple(sorted({evidence.season.harvests[h].method for h in kind.harvests})))


def _surplus(evidence: Evidence, lost: Mapping[str, float]) -> list[Reason]:
    """The kind of which most is given away, where no week is a glut and yet much is more than the household eats."""
    if lost["used"] < constants()["surplus_named"]:
        return []
    given = evidence.given.sum(axis=0).mean(axis=0)
    kind = evidence.kinds[int(np.argmax(given))]
    names = tuple(dict.fromkeys(evidence.names[evidence.season.harvests[h].planting] for h in kind.harvests))
    over = (evidence.given + evidence.wasted).sum(axis=(0, 2)).mean()
    numbers = Facts(share=float(over / max(float(evidence.portions.sum(axis=(0, 2)).mean()), 1e-9)), portions=float(given.max()))
    return [Reason("continuity", "surplus", lost["used"], names, None, numbers, _methods(evidence, kind))]


def _by_year(evidence: Evidence) -> Floats:
    if not evidence.weeks.wanted.any():
        return np.zeros(evidence.season.years)
    return points_of(*shares(evidence))


PART = Part("continuity", continuity, _by_year, continuity_score)
