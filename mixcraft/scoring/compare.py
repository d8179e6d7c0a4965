"""Two scores side by side: what the better one is better by, part by part, what only one of them complains of, and what each puts
on the plate week by week.  Facts, no sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixcraft.place.series import days_between

from .constants import constants
from .evidence import Evidence
from .model import PartScore, Reason, Score


@dataclass(frozen=True)
class PartDifference:
    """A part of two scores, and the points of the overall score by which the second leads through it."""

    name: str
    first: PartScore
    second: PartScore
    lead: float


@dataclass(frozen=True)
class Food:
    """What one of two recipes gives: kilograms of food in all, portions eaten in the wanted weeks, the wanted weeks and those of
    them that are served, and the different things eaten; middle or mean of the years."""

    kg: float
    portions: float
    wanted: int
    served: int
    kinds: float


@dataclass(frozen=True)
class WeekPair:
    """A week of the calendar with the kilograms (middle) and the share of the plate (mean) of both; None before and after a
    season."""

    start: np.datetime64
    kg: tuple[float | None, float | None]
    served: tuple[float | None, float | None]
    wanted: bool


@dataclass(frozen=True)
class Comparison:
    """Two scores: parts with what each is worth, what each gives, reasons that only one has, worst first, and the weeks."""

    scores: tuple[Score, Score]
    parts: tuple[PartDifference, ...]
    food: tuple[Food, Food]
    only: tuple[tuple[Reason, ...], tuple[Reason, ...]]
    weeks: tuple[WeekPair, ...]

    @property
    def lead(self) -> float:
        """Points by which the second is ahead."""
        return self.scores[1].overall - self.scores[0].overall


def compare(first: Score, second: Score) -> Comparison:
    """Set two scores side by side; they should be grown in the same bed, over as many years."""
    return Comparison(
        (first, second), _parts(first, second), (_food(first), _food(second)),
        (_only(first.reasons, second.reasons), _only(second.reasons, first.reasons)), _weeks(first, second),
    )  # fmt: skip


def _parts(first: Score, second: Score) -> tuple[PartDifference, ...]:
    """The parts with their leads, which sum to the lead of the whole: a product is shared out by logarithms."""
    floor, total = constants()["floor"], sum(p.weight for p in first.parts)
    logs = [
        a.weight / total * float(np.log(max(b.score, floor) / max(a.score, floor)))
        for a, b in zip(first.parts, second.parts, strict=True)
    ]
    lead, whole = second.overall - first.overall, sum(logs)
    worth = lead / whole if abs(whole) > 1e-12 else first.overall
    return tuple(PartDifference(a.name, a, b, worth * log) for a, b, log in zip(first.parts, second.parts, logs, strict=True))


def _food(score: Score) -> Food:
    """What a recipe puts on the plate."""
    evidence = Evidence(score.season)
    on = evidence.weeks.wanted
    eaten = evidence.eaten.portions[on]
    food = [h for kind in evidence.kinds for h in kind.harvests]
    served = np.median(evidence.eaten.served, axis=1)[on] >= constants()["week_enough"]
    return Food(
        float(np.median(score.season.picked_kg[:, :, food].sum(axis=(0, 2)))), float(eaten.sum(axis=(0, 2)).mean()),
        int(on.sum()), int(served.sum()), float((eaten.sum(axis=0) >= 1.0).sum(axis=1).mean()),
    )  # fmt: skip


def _only(mine: Sequence[Reason], theirs: Sequence[Reason]) -> tuple[Reason, ...]:
    """Reasons of one that the other has not: the same cause for the same plantings is the same reason."""
    known = {(r.part, r.cause, r.plantings) for r in theirs}
    return tuple(r for r in mine if (r.part, r.cause, r.plantings) not in known)


def _weeks(first: Score, second: Score) -> tuple[WeekPair, ...]:
    """Weeks of the calendar from the first of either season to the last, counted from the earlier one's first day."""
    origin = min(first.season.plan.start, second.season.plan.start)
    known = [{days_between(origin, week.start) // 7: week for week in score.strip} for score in (first, second)]
    found = []
    for number in range(max(max(k, default=-1) for k in known) + 1):
        a, b = (k.get(number) for k in known)
        if a is None and b is None:
            continue
        kg, served = (a.kg.middle if a else None, b.kg.middle if b else None), (a.served if a else None, b.served if b else None)
        found.append(WeekPair(origin + 7 * number, kg, served, any(week.wanted for week in (a, b) if week)))
    return tuple(found)
