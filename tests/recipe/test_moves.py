"""Moves: the edited text of a file reads as exactly the changed recipe, whatever the move; comments stay."""

from __future__ import annotations

import pickle
import re
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixcraft.crops import load_crop
from mixcraft.files import edit_document, parse_document
from mixcraft.recipe import moves
from mixcraft.recipe.edits import recipe_text, without_document
from mixcraft.recipe.model import (
    After,
    Again,
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Border,
    Count,
    CoverUse,
    Density,
    Harvested,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Points,
    Recipe,
    SeedRate,
    Span,
    SpringFrost,
    Strip,
    Usual,
    WarmSoil,
    WholeBed,
    Zone,
)
from mixcraft.recipe.moves import (
    AddCover,
    AddPlanting,
    DropPlanting,
    Move,
    MoveError,
    Moves,
    RemoveCover,
    SetAgain,
    SetAmount,
    SetCover,
    SetEnd,
    SetEstablishment,
    SetHarvest,
    SetPlace,
    SetStart,
    ShiftStart,
    SplitIntoSuccessions,
    SwapCrop,
)
from mixcraft.recipe.reading import load_recipe, read_recipe
from mixcraft.recipe.rules import faults_of

from ..house.sources import ROOT

DEMO = sorted((ROOT / "recipes_demo").glob("*.recipe.yaml"))
HALF = (Span(0.25, share=True), Span(0.75, share=True))
FLEECE = CoverUse("fleece", AtEvent(), AtEvent("start", 42.0))
COMMENTED = """\
# A bed for the tests, with comments in odd places
format: mixcraft-recipe/1
name: "Odd bed"   # quoted
bed:
  length: 8 ft
  width: 36 in   # in inches
plantings:
  # first of all
  - crop: lettuce   # of any kind
    establish: module
    count: 12      # a dozen
    place: {kind: trellis, edge: south}   # under it
    start: {kind: frost, weeks: -2}
    cover:
      - {kind: fleece, on: start, off: start + 4 weeks}   # first
      # between
      - kind: mesh
        on: 05-01
        off: 07-01
    harvest: [{part: leaves, method: leaf}]
  - establish: drills
    crop: radish
    place:
      kind: strip
      from: 1 ft   # from the foot
      to: 50 %
    start:
      kind: after
      planting: lettuce     # by the name of its crop
      event: start
    overrides:
      canopy.height: 8 in
  - {crop: radish, establish: broadcast, density: 5 plants/ft2, place: {kind: whole}, start: {kind: soil, at_least: 45 F}}
  # the end
"""


def recipes() -> list[Recipe]:
    """The demonstration, a file full of comments, and one made in memory."""
    read = read_recipe(parse_document(COMMENTED, "odd.yaml"))
    return [*(load_recipe(path) for path in DEMO), read, without_document(load_recipe(DEMO[0]))]


FILES = recipes()


@st.composite
def any_move(draw: st.DrawFn, recipe: Recipe) -> Move:
    """A move of any kind, for any planting of a recipe."""
    name = draw(st.sampled_from([p.name for p in recipe.plantings]))
    amount = draw(st.sampled_from([Count(5), Density(12.5), SeedRate(0.7), Usual(), Density(1 / 3)]))
    where = draw(
        st.sampled_from([
            WholeBed(), Strip(HALF), Zone(HALF, HALF), Points((HALF, HALF)), Border("west", 0.4), AtTrellis("north"), AtTrellis(),
        ])
    )  # fmt: skip
    start = draw(st.sampled_from([OnDate("05-10"), SpringFrost(1.5), AutumnFrost(-9.0), WarmSoil(11.0, "04-20")]))
    cover = draw(st.sampled_from([FLEECE, CoverUse("low-tunnel", OnDay("10-01"), OnDay("03-15"))]))
    crop = load_crop(draw(st.sampled_from(["radish", "kale", "lettuce-cos", "garlic", "bean-climbing"])))
    special = crop.with_values({"canopy.height": 0.61}, "recipe")
    more = Planting(crop.name, special, crop.establish[0], where, start, harvest=(HarvestUse(crop.main_part.name),))
    part = draw(st.sampled_from([p.name for p in recipe.planting(name).crop.parts]))
    return draw(
        st.sampled_from([
            SetAmount(name, amount), SetPlace(name, where), SetEstablishment(name, recipe.planting(name).crop.establish[-1]),
            SetStart(name, start), ShiftStart(name, 2.0), ShiftStart(name, -1.0), SetEnd(name, AutumnFrost(-1.0)),
            SetEnd(name, Harvested()), AddCover(name, cover), SetCover(name, 0, cover), RemoveCover(name, 0),
            SetHarvest(name, HarvestUse(part, every_days=9.0)), SwapCrop(name, crop), SwapCrop(name, special, amount=amount),
            AddPlanting(more), DropPlanting(name), SplitIntoSuccessions(name, 3, 14.0), SetAgain(name, None),
            SetAgain(name, Again(21.0, OnDate("08-15"))),
        ])
    )  # fmt: skip


@given(data=st.data(), number=st.integers(0, len(FILES) - 1), times=st.integers(1, 3))
@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_edited_text_reads_as_the_changed_recipe(data: st.DataObject, number: int, times: int) -> None:
    """One move, or several one after another on the same recipe."""
    recipe = FILES[number]
    for _ in range(times):
        move = data.draw(any_move(recipe))
        try:
            changed = move.changed(recipe)
        except MoveError:
            continue  # said elsewhere why
        if faults_of(changed):
            continue  # a rule is broken: no file says it
        text = edit_document(recipe_text(recipe), move.edits(recipe))
        assert read_recipe(parse_document(text, "edited")) == changed, text
        assert read_recipe(parse_document(recipe_text(changed), "text")) == changed
        recipe = changed


def commented() -> Recipe:
    return FILES[-2]


@pytest.mark.parametrize(
    ("move", "lines"),
    [
        (SetAmount("lettuce", Count(6)), 1), (SetPlace("lettuce", AtTrellis("north")), 1),
        (ShiftStart("lettuce", 3.0), 1), (SetCover("lettuce", 1, replace(FLEECE, kind="mesh")), 2),
        (SetEstablishment("radish", "broadcast"), 1), (SetStart("lettuce", OnDate("05-01")), 1),
        (SetPlace("radish", Strip((Span(0.3048), Span(0.6, share=True)))), 1),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, Move) else str(value),
)  # fmt: skip
def test_only_the_lines_that_change_are_written(move: Move, lines: int) -> None:
    """And every comment stays."""
    text = edit_document(COMMENTED, move.edits(commented()))
    before, after = COMMENTED.splitlines(), text.splitlines()
    assert len(before) == len(after)
    assert sum(a != b for a, b in zip(before, after, strict=True)) == lines
    assert text.count("#") == COMMENTED.count("#")


def test_dropping_is_refused_while_others_wait() -> None:
    with pytest.raises(MoveError, match="radish wait for lettuce; give them a start of their own"):
        DropPlanting("lettuce").changed(commented())
    both = Moves((SetStart("radish", OnDate("05-01")), DropPlanting("lettuce")))
    text = edit_document(COMMENTED, both.edits(commented()))
    assert [p.name for p in read_recipe(parse_document(text, "x")).plantings] == ["radish", "radish 2"]
    alone = replace(commented(), plantings=commented().plantings[:1])
    with pytest.raises(MoveError, match="the only planting"):
        DropPlanting("lettuce").changed(alone)


def test_a_dropped_first_of_two_leaves_the_other_its_name() -> None:
    recipe = commented()
    text = edit_document(COMMENTED, DropPlanting("radish").edits(recipe))
    assert [p.name for p in read_recipe(parse_document(text, "x")).plantings] == ["lettuce", "radish 2"]


UNNAMED = """\
format: mixcraft-recipe/1
name: Without names
bed: {length: 2 m, width: 1 m}
plantings:
  - {crop: radish, establish: drills, place: {kind: whole}, start: {kind: date, on: 04-10}}
  - {crop: rocket, establish: drills, place: {kind: whole}, start: {kind: date, on: 04-20}}
"""


@pytest.mark.parametrize(("crop", "named"), [("kale", 1), ("radish", 2)])
def test_a_name_is_written_out_only_where_leaving_it_out_would_give_another(crop: str, named: int) -> None:
    """A second radish beside one without a name: both say theirs; a kale changes nothing of the others."""
    recipe = read_recipe(parse_document(UNNAMED, "unnamed.yaml"))
    move = AddPlanting(replace(recipe.plantings[1], name=f"late {crop}", crop=load_crop(crop), establish="drills"))
    text = edit_document(UNNAMED, move.edits(recipe))
    assert read_recipe(parse_document(text, "edited.yaml")) == move.changed(recipe)
    assert len(re.findall(r"\bname: (?!Without)", text)) == named
    assert UNNAMED.splitlines()[-1] in text.splitlines()


def test_whoever_waits_for_a_swapped_crop_waits_for_the_new_one() -> None:
    changed = SwapCrop("lettuce", load_crop("kale")).changed(commented())
    assert changed.plantings[0].name == "kale"
    assert changed.plantings[1].start == After("kale", "start")


@pytest.mark.parametrize(
    ("move", "said"),
    [
        (SetAmount("nobody", Count(2)), "no planting is called 'nobody'; there are lettuce"),
        (RemoveCover("radish", 0), "radish has no covers; there is no number 0"),
        (ShiftStart("radish", -2.0), "would start before lettuce"), (ShiftStart("radish 2", 1.0), "soil is warm"),
        (SetHarvest("radish", HarvestUse("petals")), "has no part 'petals'"),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, Move) else "",
)  # fmt: skip
def test_a_move_that_does_not_fit_says_why(move: Move, said: str) -> None:
    with pytest.raises(MoveError, match=said):
        move.changed(commented())


def test_dates_are_shifted_round_the_year() -> None:
    assert moves.shifted_month_day("12-28", 7) == "01-04"
    assert moves.shifted_month_day("02-25", 7) == "03-04"
    assert moves.shifted_month_day("03-01", -1) == "02-28"


def test_moves_are_values() -> None:
    """Equal, hashable and the same after a journey to another process; each kind adds the two readings and nothing else."""
    kinds = [cls for cls in vars(moves).values() if isinstance(cls, type) and issubclass(cls, Move) and cls is not Move]
    assert len(kinds) >= 14
    assert all(is_dataclass(cls) and fields(cls) for cls in kinds)
    move = SwapCrop("a", load_crop("kale"))
    assert pickle.loads(pickle.dumps(move)) == move
    assert len({move, SwapCrop("a", load_crop("kale")), ShiftStart("a", 1.0)}) == 2


def test_the_module_is_kept_small() -> None:
    assert len(Path(moves.__file__).read_text("utf-8").splitlines()) < 500
