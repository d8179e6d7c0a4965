"""Moves that change who stands where, and climbs that go on from the top."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.design.curves import Option, good_starts, options, wanted_starts, window_of, winter_sheets, worth_covering
from mixcraft.design.search import Budget, Climb, Trial, moves
from mixcraft.design.wider import Wider, _covered
from mixcraft.place import reference_place
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import (
    AtEvent,
    Bed,
    Count,
    CoverUse,
    Density,
    Garden,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Plate,
    Recipe,
    Span,
    Strip,
    Zone,
)
from mixcraft.recipe.moves import AddCover, AddPlanting, DropPlanting, Exchange, Moves, RemoveCover, Resize, SetHarvest
from mixcraft.recipe.plan import plan
from mixcraft.scoring.sunny_side import on_the_sunny_side
from mixcraft.words.designs import move_words

BED = Bed("bed", 2.4, 1.2, 90.0, plate=Plate("10-01", "03-31"))
HERE = Garden("here", reference_place("Oxford"), (BED,))


def strip(crop: str, first: float, last: float, day: str, amount: Count | Density) -> Planting:
    return Planting(
        crop, load_crop(crop), load_crop(crop).establish[0], Strip((Span(first), Span(last))), OnDate(day), amount=amount
    )


@pytest.fixture(scope="module")
def recipe() -> Recipe:
    leek = strip("leek", 0.0, 0.8, "06-18", Count(16))
    carrot = replace(
        strip("carrot-maincrop", 0.8, 1.4, "06-04", Density(100.0)),
        covers=(CoverUse("fleece", AtEvent(), AtEvent("start", 42.0)),),
    )
    return Recipe("winter", 2.4, 1.2, (leek, carrot, strip("beetroot", 1.4, 2.4, "07-02", Density(60.0))))


@pytest.fixture(scope="module")
def trial() -> Trial:
    return Trial(HERE, "bed", 1)


def option(crop: str, day: str, week: int, kg: dict[int, float]) -> Option:
    weekly = np.zeros(104)
    for at, value in kg.items():
        weekly[at] = value
    return Option(load_crop(crop), load_crop(crop).establish[0], day, week, max(kg), weekly)


@pytest.fixture(scope="module")
def found(trial: Trial, recipe: Recipe) -> list[Recipe]:
    """All that comes of the wider moves with one further crop."""
    chicory = option("chicory-radicchio", "07-02", 26, {42: 1.0})
    return [move.changed(recipe) for move in Wider(trial, (chicory,), ("low-tunnel",))(recipe)]


def test_two_change_places_and_keep_their_density(trial: Trial, recipe: Recipe) -> None:
    exchanges = [move for move in Wider(trial, (), ())(recipe) if isinstance(move, Exchange)]
    assert len(exchanges) == 3
    one = next(move for move in exchanges if set(move.placed) == {"leek", "beetroot"})
    leek, beetroot = (one.changed(recipe).plantings[n] for n in (0, 2))
    assert leek.where == recipe.plantings[2].where
    assert beetroot.where == recipe.plantings[0].where
    assert leek.amount == Count(20)  # a metre in the place of 80 cm
    assert beetroot.amount == recipe.plantings[2].amount
    assert move_words(one) == "leek and beetroot change places"
    borders = [move_words(move) for move in Wider(trial, (), ())(recipe) if isinstance(move, Resize)]
    assert borders == [
        *["another border between leek and carrot-maincrop"] * 2,
        *["another border between carrot-maincrop and beetroot"] * 2,
    ]


def test_a_border_moves_for_both_and_nobody_loses_ground(found: list[Recipe], recipe: Recipe) -> None:
    moved = [
        r for r in found
        if len(r.plantings) == 3 and r.plantings[0].where == Strip((Span(0.0), Span(0.9)))
    ]  # fmt: skip
    assert len(moved) == 1
    assert moved[0].plantings[1].where == Strip((Span(0.9), Span(1.4)))
    assert moved[0].plantings[2] == recipe.plantings[2]
    assert moved[0].plantings[0].amount == Count(18)


def test_a_neighbour_takes_over(trial: Trial, recipe: Recipe) -> None:
    taken = [move for move in Wider(trial, (), ())(recipe) if isinstance(move, Moves) and isinstance(move.moves[0], DropPlanting)]
    ends = {tuple((p.name, p.where) for p in move.changed(recipe).plantings) for move in taken}
    carrot_out = (("leek", Strip((Span(0.0), Span(1.4)))), ("beetroot", recipe.plantings[2].where))
    assert len(taken) == 4
    assert carrot_out in ends


def test_half_of_the_ground_goes_to_another_crop(found: list[Recipe]) -> None:
    shared = [r for r in found if len(r.plantings) == 4]
    halved = [r for r in shared if r.plantings[2].where == Strip((Span(1.4), Span(1.9)))]
    assert [r.plantings[3].where for r in halved] == [Strip((Span(1.9), Span(2.4)))]
    assert halved[0].plantings[3].crop.id == "chicory-radicchio"


def test_a_place_too_short_for_a_border_to_move_keeps_it(trial: Trial, recipe: Recipe) -> None:
    """Else what lies on the other side of the border would stand on it, or leave a gap."""
    narrow = replace(recipe.plantings[1], where=Strip((Span(0.8), Span(1.0))))
    three = (recipe.plantings[0], narrow, replace(recipe.plantings[2], where=Strip((Span(1.0), Span(2.4)))))
    close = replace(recipe, plantings=three)
    for move in Wider(trial, (), ())(close):
        if isinstance(move, Resize):
            ends = [p.where.x for p in move.changed(close).plantings if isinstance(p.where, Strip)]
            assert all(abs(a[1].value - b[0].value) < 1e-6 for a, b in pairwise(ends))


def test_another_crop_has_a_name_of_its_own(trial: Trial, recipe: Recipe) -> None:
    lamb = option("corn-salad", "07-02", 26, {42: 1.0})
    swapped = [move.changed(recipe) for move in Wider(trial, (lamb,), ())(recipe)]
    names = {p.name for r in swapped for p in r.plantings if p.crop.id == "corn-salad"}
    assert names == {"corn salad"}


def test_what_is_ready_before_it_is_wanted_may_wait(trial: Trial, recipe: Recipe) -> None:
    waits = [move for move in Wider(trial, (), ())(recipe) if isinstance(move, SetHarvest)]
    settled = plan(recipe, HERE, "bed")
    wanted = np.datetime64("2000-10-01")
    early = {
        p.name
        for p in settled.plantings
        if settled.date(p.first_harvest).astype(object).replace(year=2000) < wanted.astype(object)
    }
    assert early
    assert {move.planting for move in waits} == early
    assert all(move.use.start is not None and move.use.start.month_day == "10-01" for move in waits)  # type: ignore[union-attr]


def test_a_cover_goes_away_or_comes_for_the_winter(trial: Trial, recipe: Recipe) -> None:
    every = list(Wider(trial, (), ("low-tunnel",))(recipe))
    assert [move.planting for move in every if isinstance(move, RemoveCover)] == ["carrot-maincrop"]
    over = [move for move in every if isinstance(move, AddCover)]
    assert {move.planting for move in over} == {"leek", "beetroot"}
    assert move_words(over[0]) == "low tunnel over leek through the winter"
    assert [move for move in Wider(trial, (), ())(recipe) if isinstance(move, AddCover)] == []


def test_a_gap_is_filled(trial: Trial, recipe: Recipe) -> None:
    bare = replace(recipe, plantings=recipe.plantings[:1])
    salad = option("corn-salad", "08-27", 34, {42: 1.0})
    filled = [move for move in Wider(trial, (salad,), ())(bare) if isinstance(move, AddPlanting)]
    assert len(filled) == 1
    where = filled[0].planting.where
    assert isinstance(where, Zone)
    assert where.x[0].value >= 0.8 - 1e-6


def test_a_climb_goes_on_from_its_top_and_never_ends_lower(trial: Trial, recipe: Recipe) -> None:
    def climb(kicks: int) -> Climb:
        bare = replace(recipe, plantings=tuple(replace(p, covers=()) for p in recipe.plantings[:2]))
        return Climb(bare, trial, (), (), lambda _: True, np.random.default_rng(3), kicks=kicks)

    ending, going_on = climb(0), climb(2)
    short, long = Budget(300), Budget(300)
    top, best = (one.run(budget, lambda *_: None) for one, budget in ((ending, short), (going_on, long)))
    assert ending.ended
    assert short.used < 300
    assert long.used == 300
    assert best >= top
    assert going_on.steps[-1].after == pytest.approx(best, abs=1e-9)
    replayed = replace(recipe, plantings=tuple(replace(p, covers=()) for p in recipe.plantings[:2]))
    for step in going_on.steps:
        replayed = step.move.changed(replayed)
    assert replayed == going_on.recipe


def test_a_climb_from_which_no_move_leads_ends(trial: Trial, recipe: Recipe) -> None:
    climb = Climb(recipe, trial, (), (), lambda _: False, np.random.default_rng(3), kicks=3)
    budget = Budget(50)
    climb.run(budget, lambda *_: None)
    assert climb.ended
    assert budget.used == 0
    assert list(moves(recipe, (), ()))


def test_a_late_start_is_as_good_where_only_late_weeks_are_wanted() -> None:
    """A leek of July gives as much from October on as one of March, which is half eaten by then."""
    early = option("leek", "03-26", 12, {32: 2.0, 42: 1.0})
    late = option("leek", "07-16", 28, {42: 1.0})
    assert good_starts((early, late)) == (early,)
    assert wanted_starts((early, late), (39 * 7, 60 * 7)) == (early, late)


def test_in_a_bed_that_lies_aslant_a_shadow_falls_beside() -> None:
    """Heading north-east, the noon sun comes over the right side and the foot: what stands to the left of all along the bed
    throws its shadow out of it."""
    aslant = Garden("here", reference_place("Oxford"), (replace(BED, heading_deg=45.0),))

    def sides(tall: Zone, low: Zone) -> list[tuple[str, str]]:
        corn = replace(strip("sweet-corn", 0.0, 2.4, "05-21", Count(4)), where=tall)
        salad = replace(strip("purslane-winter", 0.0, 2.4, "08-27", Density(60.0)), where=low)
        return list(on_the_sunny_side(plan(Recipe("aslant", 2.4, 1.2, (corn, salad)), aslant, "bed"), 7.0))

    def zone(x: tuple[float, float], y: tuple[float, float]) -> Zone:
        return Zone((Span(x[0]), Span(x[1])), (Span(y[0]), Span(y[1])))

    assert sides(zone((0.0, 2.4), (0.8, 1.2)), zone((1.6, 2.4), (0.0, 0.4))) == []
    assert sides(zone((0.8, 1.6), (0.0, 0.4)), zone((1.6, 2.4), (0.4, 1.2))) == [("sweet-corn", "purslane-winter")]


def test_a_second_sheet_is_tried_within_a_closed_cover_alone(recipe: Recipe) -> None:
    """Fleece under a low tunnel makes good a share of its frost, and so do they the other way; over fleece
    in the open none is tried."""
    sky = plan(recipe, HERE, "bed").almanac
    leek, *others = recipe.plantings

    def added(*kinds: str) -> list[tuple[str, str]]:
        covers = tuple(CoverUse(kind, OnDay("10-20"), OnDay("04-15")) for kind in kinds)
        tried = replace(recipe, plantings=(replace(leek, covers=covers), *others))
        found = _covered(tried, ("fleece", "low-tunnel"), sky)
        return [(m.planting, m.cover.kind) for m in found if isinstance(m, AddCover) and m.planting == "leek"]

    assert added() == [("leek", "fleece"), ("leek", "low-tunnel")]
    assert added("low-tunnel") == [("leek", "fleece")]
    assert added("fleece") == added("low-tunnel", "fleece") == []


def test_winter_greens_are_thought_of_under_the_hoops_that_the_household_owns() -> None:
    """At Chicago spinach gives nothing in February in the open, and some under film with fleece within; a plate of summer, or
    fleece alone, is no reason to lay a cover."""
    garden = Garden("there", reference_place("Chicago, IL"), (replace(BED, plate=Plate("10-15", "03-31")),))
    spinach, sky = load_crop("spinach"), almanac(garden.place)
    window = window_of(garden, garden.beds[0], sky, 6.0)
    owned = ("fleece", "low-tunnel")
    sheets = winter_sheets(spinach, owned, window, sky)
    assert [use.kind for use in sheets] == ["low-tunnel", "fleece"]
    assert winter_sheets(spinach, ("fleece",), window, sky) == winter_sheets(spinach, owned, (120, 240), sky) == ()
    assert winter_sheets(load_crop("kale"), owned, window, sky) == ()  # too tall for them
    february = slice(56, 60)

    def given(covers: tuple[str, ...]) -> float:
        found = options(spinach, garden, window, trellis=False, every=True, way="drills", covers=covers)
        return max((float(o.kg_m2[february].sum()) for o in found), default=0.0)

    assert given(()) < 0.01 < 0.1 < given(owned)


def test_a_start_is_covered_where_that_is_worth_it() -> None:
    weeks = np.zeros(104)
    weeks[45:50] = 0.1
    spinach = load_crop("spinach")
    bare = [Option(spinach, "drills", f"08-{day}", week, 50, weeks) for day, week in (("06", 31), ("20", 33))]
    sheets = (CoverUse("low-tunnel", OnDay("10-20"), OnDay("04-20")),)
    better = [replace(o, kg_m2=weeks * gain, covers=sheets) for o, gain in zip(bare, (1.2, 1.3), strict=True)]
    late = replace(better[0], week=37, month_day="09-17")
    found = worth_covering(bare, [*better, late], (300, 400))
    assert [(o.week, bool(o.covers)) for o in found] == [(31, False), (33, True), (37, True)]


def test_another_way_of_picking_is_told_in_words() -> None:
    """`pick leaves by None` was said of a move that only sets the day from which it is picked."""
    from_autumn = SetHarvest("spinach", HarvestUse("leaves", start=OnDay("11-15")))
    assert move_words(from_autumn) == "spinach: pick leaves from 11-15 on"
    assert move_words(SetHarvest("carrot", HarvestUse("root", "pull"))) == "carrot: pick root by pulling the largest"
