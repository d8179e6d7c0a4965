"""Successions: a planting that is sown again is, in a place, what the same planting written several times would be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from mixcraft.files import FileFaults, parse_document
from mixcraft.recipe.model import After, Again, AutumnFrost, Count, Density, OnDate, Points, Span, Times
from mixcraft.recipe.moves import MoveError, SplitIntoSuccessions
from mixcraft.recipe.plan import Plan
from mixcraft.recipe.reading import read_recipe
from mixcraft.recipe.rules import faults_of
from mixcraft.scoring import score
from mixcraft.season.grow import grow

from ..strategies import planned, planting, recipe

LETTUCE = planting("lettuce-cos", "lettuce", establish="module", count=6, start=OnDate("04-20"))


def again(every_days: float, until: Any) -> Plan:
    return planned(replace(LETTUCE, again=Again(every_days, until)))


def test_so_many_times() -> None:
    plan = again(21.0, Times(4))
    assert [p.name for p in plan.plantings] == ["lettuce", "lettuce 2", "lettuce 3", "lettuce 4"]
    assert np.diff([p.start for p in plan.plantings]).tolist() == [21, 21, 21]
    assert [p.stand.plants for p in plan.plantings] == [6.0] * 4
    assert [p.index for p in plan.plantings] == [0, 1, 2, 3]
    assert plan.recipe.plantings[0].again == Again(21.0, Times(4))
    assert len(plan.recipe.plantings) == 1


@pytest.mark.parametrize(
    ("every", "last", "number"), [(21.0, "06-22", 4), (21.0, "06-21", 3), (10.5, "05-31", 4), (200.0, "06-01", 1)]
)
def test_until_a_date(every: float, last: str, number: int) -> None:
    """20 April and 21 days on: 11 May, 1 June, 22 June; every 10.5 days: 30 April, 11 May, 21 May, 1 June."""
    assert len(again(every, OnDate(last)).plantings) == number


def test_until_weeks_from_the_autumn_frost() -> None:
    plan = again(28.0, AutumnFrost(-8.0))
    frost = plan.almanac.first_autumn_frost
    assert frost is not None
    first = int((plan.start - plan.almanac.start).astype(int))
    last = plan.plantings[-1].start + first
    assert last <= frost - 56 < last + 28


def test_a_succession_grows_as_the_plantings_written_out_do() -> None:
    short = grow(again(21.0, Times(3)), 2, 1, voxels=False)
    each = [replace(LETTUCE, name=f"l{n}", start=OnDate(day)) for n, day in enumerate(("04-20", "05-11", "06-01"))]
    long = grow(planned(*each), 2, 1, voxels=False)
    assert np.array_equal(short.picked_kg, long.picked_kg)
    assert score(short).overall == pytest.approx(score(long).overall)


def test_others_keep_their_places_and_wait_for_the_last_sowing() -> None:
    """Plantings of the recipe come first, in its order; who waits for the end waits for the end of all."""
    kale = planting("kale", "kale", establish="module", count=2, start=After("lettuce", "last-harvest", 7.0))
    soon = planting("radish", "radish", start=After("lettuce", "start", 7.0))
    plan = planned(replace(LETTUCE, again=Again(14.0, Times(2))), kale, soon)
    assert [p.name for p in plan.plantings] == ["lettuce", "kale", "radish", "lettuce 2"]
    by_name = {p.name: p for p in plan.plantings}
    alone = planned(LETTUCE, kale)
    assert by_name["kale"].start > {p.name: p for p in alone.plantings}["kale"].start
    assert by_name["radish"].start == by_name["lettuce"].start + 7


def test_names_that_are_taken_are_passed_over() -> None:
    other = planting("radish", "lettuce 2")
    assert [p.name for p in planned(replace(LETTUCE, again=Again(14.0, Times(2))), other).plantings][2] == "lettuce 3"


@pytest.mark.parametrize(
    ("rule", "path"),
    [
        (Again(float("nan"), Times(3)), "again.every"), (Again(1.0, Times(3)), "again.every"),
        (Again(14.0, Times(1)), "again.until.times"), (Again(14.0, OnDate("02-30")), "again.until.on"),
        (Again(14.0, AutumnFrost(99.0)), "again.until.weeks"), (Again(14.0, "soon"), "again.until"),  # type: ignore[arg-type]
    ],
)  # fmt: skip
def test_what_is_no_succession_is_refused(rule: Again, path: str) -> None:
    assert [f.path for f in faults_of(recipe(replace(LETTUCE, again=rule)))] == [f"plantings[0].{path}"]


def test_too_many_sowings_are_refused_with_the_planting() -> None:
    many = [replace(LETTUCE, name=f"l{n}", again=Again(7.0, Times(20))) for n in range(4)]
    with pytest.raises(FileFaults) as caught:
        planned(*many)
    (fault,) = caught.value.faults
    assert (fault.path, fault.rule, fault.found) == ("plantings[0].again", "again.many", "80")


def test_in_a_file() -> None:
    text = (
        "format: mixcraft-recipe/1\nname: test\nbed: {length: 2 m, width: 1 m}\nplantings:\n"
        "  - crop: radish\n    establish: drills\n    place: {kind: whole}\n    start: {kind: date, on: 04-15}\n"
        "    again: {every: 2 weeks, until: {kind: date, on: 08-15}}\n"
    )
    made = read_recipe(parse_document(text, "file.yaml"))
    assert made.plantings[0].again == Again(14.0, OnDate("08-15"))


def test_splitting_shares_the_amount_out() -> None:
    split = SplitIntoSuccessions("lettuce", 3, 14.0).changed(recipe(LETTUCE)).plantings[0]
    assert split.amount == Count(2)
    assert split.again == Again(14.0, Times(3))
    dense = SplitIntoSuccessions("radish", 4, 14.0).changed(recipe(planting("radish", "radish", density_per_m2=40.0)))
    assert dense.plantings[0].amount == Density(10.0)
    drawn = replace(planting("kale", "kale", where=Points(((Span(0.5), Span(0.5)),)), establish="module"))
    with pytest.raises(MoveError, match="drawn points"):
        SplitIntoSuccessions("kale", 2, 14.0).changed(recipe(drawn))
