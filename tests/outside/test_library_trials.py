"""Every crop of the library grown alone: inside its published yield and days at three reference places at least.

Sources: the ranges of each crop's `harvest.yield_sole` and `development.days_to_harvest` with the source in its
record; the climates of the reference places (`mixcraft.place`). A trial starts the crop on a day of every month in the
layered light model and keeps the best yield and the quickest start (`mixcraft.season.trial`, which also allows published
days to be counted in a season a fifth faster or a third slower); where that does not fit, and everywhere in `-m bench`, on
twenty-four days of a year. Places are tried in the order of trial_places.yaml and no longer than it takes to find three
that fit. Where the list names no more than three, all must fit.
"""

from __future__ import annotations

import csv
import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from looping import each
from numpy.typing import NDArray
from strategies import place

from mixcraft.crops import all_crops, crop_ids, load_crop
from mixcraft.season.trial import STARTS, Verdict, judge, sole_trial, trial_places

ENOUGH_PLACES = 3
OFF_FILE = Path(__file__).parent / "data" / "library_trials_off.csv"
OFF: dict[str, str] = {row["crop"]: row["how"] for row in csv.DictReader(OFF_FILE.read_text("utf-8").splitlines())}
"""Crops that do not yet fit at three places, and how."""


def said(found: Verdict) -> str:
    """A verdict in short."""
    t = found.trial
    (low, high), (early, late) = found.yield_range, found.days_range
    yields = "" if found.yield_fits else f" {t.yield_kg_m2:.2f} kg/m2, not {low:g} to {high:g}"
    days = "" if found.days_fit else f" {t.days} d, not {early:.0f} to {late:.0f}"
    return f"{t.place}:{yields}{days}"


GROUPS = 16
"""The library in so many groups, which workers share."""


MONTHLY = STARTS[::2]
"""A start in every month, as those of the yardstick of yields (`mixcraft.season.trial.sole_crops`)."""


def half_of_the_groups() -> list[Any]:
    """Every other group in usual runs, the rest with `-m bench`: all of them take more than a minute."""
    return [pytest.param(group, marks=pytest.mark.bench if group % 2 else pytest.mark.slow) for group in range(GROUPS)]


@pytest.mark.parametrize("group", half_of_the_groups())
def test_crops_alone_fit_what_is_published(group: int) -> None:
    all_fit(crop_ids()[group::GROUPS], MONTHLY, STARTS)


@pytest.mark.bench
@pytest.mark.parametrize("group", range(GROUPS))
def test_crops_alone_fit_from_twenty_four_starts(group: int) -> None:
    all_fit(crop_ids()[group::GROUPS], STARTS)


def all_fit(names: tuple[str, ...], *starts: tuple[str, ...]) -> None:
    """Of these crops all that are not known to be off fit, from one of these lists of starts at each place."""
    found = {name: misfit(name, *starts) for name in names}
    assert {name: words for name, words in found.items() if words and name not in OFF} == {}
    assert [name for name in OFF if name in found and not found[name]] == [], "these fit by now"


def misfit(name: str, *starts: tuple[str, ...]) -> str:
    """Why a crop does not fit at enough places, or nothing."""
    crop = load_crop(name)
    fits, others = 0, []
    for where in trial_places(crop):
        tried = (judge(crop, sole_trial(crop, place(where), starts=some)) for some in starts)
        for found in tried:
            if found.yield_fits and found.days_fit:
                fits += 1
                break
        else:
            others.append(said(found))
        if fits == ENOUGH_PLACES:
            return ""
    return f"{fits} of {len(trial_places(crop))} places fit; {'; '.join(others)}"


def months(name: str) -> NDArray[np.float64]:
    """Monthly mean temperatures of a reference place [C], from January in the north and from July in the south."""
    normals = place(name).normals
    mean = (np.asarray(normals.tmax_c) + np.asarray(normals.tmin_c)) / 2.0
    return mean if place(name).latitude_deg >= 0.0 else np.roll(mean, -6)


ANOTHER_CLIMATE_C = 1.0
"""Two places are different if some month's mean differs by that much (common practice, no source)."""


@each("name", crop_ids())
def test_a_crop_is_tried_in_three_climates(name: str) -> None:
    names = trial_places(load_crop(name))
    assert len(names) >= ENOUGH_PLACES
    for one, other in itertools.combinations(names, 2):
        assert float(np.abs(months(one) - months(other)).max()) > ANOTHER_CLIMATE_C, (one, other)


def test_few_crops_are_off() -> None:
    assert len(OFF) <= 0.05 * len(crop_ids())


WIDEST = 12.0


def test_ranges_judge_something() -> None:
    """A range that holds everything judges nothing: the highest published yield is at most twelve times the lowest."""
    wide = {}
    for crop in all_crops():
        for name in ("harvest.yield_sole", "development.days_to_harvest"):
            record = crop.records[name]
            if record.low is not None and record.high is not None and record.high > WIDEST * record.low:
                wide[crop.id, name] = (record.low, record.high)
    assert wide == {}
