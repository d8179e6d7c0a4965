"""Every crop alone in six climates: the start with the best yield, its pickings, and its yield beside the published range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mixcraft.crops.model import Crop
from mixcraft.place import Place, reference_place

from .trial import STARTS, Verdict, judge, sole_season, trial_of

CLIMATES = {
    "cool oceanic": "Oxford", "cold continental": "Winnipeg", "Mediterranean": "Rome", "humid subtropical": "Gainesville",
    "southern": "Melbourne", "tropical highland": "Nairobi",
}  # fmt: skip
"""A reference place for each climate."""
YEARS = 3


@dataclass(frozen=True)
class Line:
    """A crop at one place: `verdict`; month-days of the first and last picking from its best start, and the weeks between, in the
    middle year; empty and 0 where nothing is picked."""

    climate: str
    verdict: Verdict
    first: str
    last: str
    weeks: float


def in_six_climates(crop: Crop) -> Iterator[Line]:
    """The lines of a crop, one for each of `CLIMATES`."""
    for climate, name in CLIMATES.items():
        yield at_place(crop, reference_place(name), climate)


def at_place(crop: Crop, place: Place, climate: str = "") -> Line:
    """The line of a crop at a place."""
    season = sole_season(crop, place, YEARS)
    verdict = judge(crop, trial_of(crop, place, season))
    if verdict.trial.start is None:
        return Line(climate, verdict, "", "", 0.0)
    picked = season.sole_kg[:, :, STARTS.index(verdict.trial.start)] > 0.0
    years = picked.any(axis=0)
    first = np.median(picked[:, years].argmax(axis=0))
    last = np.median(season.days - 1 - picked[::-1, years].argmax(axis=0))
    days = [season.plan.date(int(day)).astype(object).strftime("%m-%d") for day in (first, last)]
    return Line(climate, verdict, days[0], days[1], float(last - first) / 7.0)
