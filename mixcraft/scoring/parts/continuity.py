"""Continuity: whether something can be picked in every week in which the household wants it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.recipe.model import Plate
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import evenness, evennesses
from mixcraft.scoring.model import Gap, Reason, StripWeek
from mixcraft.scoring.registry import Judged, Part
from mixcraft.season.result import LEAST_PICKING_KG

Floats = NDArray[np.float64]


def _points(share: Floats | float, longest: NDArray[np.int64] | int, even: Floats | float) -> Floats:
    c = constants()
    return np.asarray(100.0 * (c["share_of_weeks"] * share + c["longest_gap"] * _gap_part(longest) + c["evenness"] * even))


def _gap_part(longest: NDArray[np.int64] | int) -> Floats:
    """What the longest gap [weeks] leaves of the points for gaps, 0..1."""
    return np.asarray(1.0 - np.minimum(1.0, longest / constants()["gap_worst_weeks"]))


def continuity_points(weekly_kg: Floats, wanted_kg: float = 0.0) -> Floats:
    """Points of single years' wanted weeks, (W, ...) [kg] to (...): weeks with a picking, longest gap, evenness.

    Where the household wants `wanted_kg` a week, a week counts by the share of it that it gives.
    """
    if len(weekly_kg) == 0:
        return np.zeros(weekly_kg.shape[1:])
    picked = weekly_kg >= LEAST_PICKING_KG
    served = np.minimum(weekly_kg / wanted_kg, 1.0) if wanted_kg > 0.0 else picked
    return _points(served.mean(axis=0), longest_run(~picked), evennesses(weekly_kg))


def longest_run(empty: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Length of the longest run of true values along the first axis of (W, ...)."""
    place = np.arange(1, len(empty) + 1).reshape(-1, *([1] * (empty.ndim - 1)))
    stopped = np.maximum.accumulate(np.where(empty, 0, place), axis=0)
    return np.asarray((place - stopped).max(axis=0, initial=0))


def continuity(strip: Sequence[StripWeek], gaps: Sequence[Gap], plate: Plate | None = None) -> Judged:
    """Weeks of the wanted window with a picking, or with the amount that the plate asks for; the longest gap; evenness."""
    wanted = [week for week in strip if week.wanted]
    if not wanted:
        return Judged(0.0, Facts(wanted=0.0))
    chance = float(np.mean([week.chance if week.served is None else week.served for week in wanted]))
    longest = max((gap.weeks for gap in gaps), default=0)
    even = evenness(np.array([week.kg.middle for week in wanted]))
    amount, people = (plate.weekly_kg, plate.people) if plate is not None else (0.0, 0)
    reasons = [_gap(gap, len(wanted), longest) for gap in gaps]
    reasons += _short(wanted, amount)
    if even < constants()["evenness_named"]:
        reasons.append(_uneven(wanted, even))
    numbers = Facts(
        picked=float(sum(week.picked for week in wanted)), wanted=float(len(wanted)), longest=float(longest), wanted_kg=amount,
        people=float(people), enough=float(sum(week.kg.middle >= amount for week in wanted)),
    )  # fmt: skip
    return Judged(float(_points(chance, longest, even)), numbers, Facts(), tuple(reasons))


def _gap(gap: Gap, weeks: int, longest: int) -> Reason:
    """Weeks without a picking; the longest gap also answers for the points of gaps."""
    c = constants()
    points = 100.0 * c["share_of_weeks"] * gap.weeks / weeks
    if gap.weeks == longest:
        points += 100.0 * c["longest_gap"] * (1.0 - float(_gap_part(longest)))
    return Reason("continuity", "gap", points, (), (gap.start, gap.end), Facts(weeks=float(gap.weeks)))


def _short(wanted: Sequence[StripWeek], amount_kg: float) -> list[Reason]:
    """Weeks with a picking that is less than the household wants."""
    short = [week for week in wanted if week.picked and week.served is not None and week.kg.middle < amount_kg]
    if not short:
        return []
    least = min(short, key=lambda week: week.kg.middle)
    missing = sum(week.chance - (week.served or 0.0) for week in short)
    points = max(100.0 * constants()["share_of_weeks"] * missing / len(wanted), 0.0)
    numbers = Facts(weeks=float(len(short)), wanted_kg=amount_kg, least_kg=least.kg.middle)
    return [Reason("continuity", "short weeks", points, least.plantings[:2], (least.start, least.start), numbers)]


def _uneven(wanted: Sequence[StripWeek], even: float) -> Reason:
    """The week with the greatest share of the harvest."""
    heavy = max(wanted, key=lambda week: week.kg.middle)
    share = heavy.kg.middle / (sum(week.kg.middle for week in wanted) or 1.0)
    points = 100.0 * constants()["evenness"] * (1.0 - even)
    return Reason("continuity", "uneven", points, heavy.plantings[:2], (heavy.start, heavy.start), Facts(share=share))


def _judge(evidence: Evidence) -> Judged:
    return continuity(evidence.strip, evidence.gaps, evidence.plate)


def wanted_weeks(weeks: int, window: tuple[int, int]) -> NDArray[np.bool_]:
    """Which of so many weeks of the season have their middle day in the window of day indices, (W,)."""
    middle = np.arange(weeks) * 7 + 3
    return np.asarray((middle >= window[0]) & (middle <= window[1]))


def _by_year(evidence: Evidence) -> Floats:
    weekly = evidence.weekly_kg.sum(axis=2)
    wanted = weekly[wanted_weeks(len(weekly), evidence.window)]
    return continuity_points(wanted, evidence.plate.weekly_kg)


PART = Part("continuity", _judge, _by_year)
