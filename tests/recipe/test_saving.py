"""Saving: what is written reads as an equal recipe; a file keeps its comments; nothing is half written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import mixcraft
from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.mapping import crop_to_mapping
from mixcraft.crops.model import crop_from_mapping
from mixcraft.files import FileFaults, UsageError, parse_document
from mixcraft.recipe.edits import recipe_text, without_document
from mixcraft.recipe.model import (
    After,
    Again,
    Amount,
    AtAge,
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Border,
    Count,
    CoverUse,
    Density,
    End,
    Harvested,
    HarvestUse,
    Moment,
    OnDate,
    OnDay,
    Planting,
    Points,
    Recipe,
    Rows,
    SeedRate,
    Serves,
    Span,
    SpringFrost,
    Start,
    Strip,
    Thinning,
    Times,
    Until,
    Usual,
    WarmSoil,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.reading import load_recipe, read_recipe
from mixcraft.recipe.rules import faults_of
from mixcraft.recipe.writing import canonical_text

from ..house.sources import ROOT

DEMO = sorted((ROOT / "recipes_demo").glob("*.recipe.yaml"))
CROPS = ("radish", "lettuce-cos", "carrot-maincrop", "kale", "bean-climbing", "garlic", "sweet-potato")
words = st.text(st.characters(exclude_categories=["Cc", "Cf", "Cs", "Cn", "Zl", "Zp"]), min_size=1, max_size=20).filter(str.strip)
dates = st.tuples(st.integers(1, 12), st.integers(1, 28)).map(lambda d: f"{d[0]:02d}-{d[1]:02d}")
weeks = st.floats(-26.0, 20.0)


def spans(high: float = 2.0) -> st.SearchStrategy[Span]:
    return st.floats(0.0, high).map(Span) | st.floats(0.0, 1.0).map(lambda share: Span(share, share=True))


def places() -> st.SearchStrategy[Where]:
    pair = st.tuples(spans(), spans())
    edge = st.sampled_from(["north", "east", "south", "west"])
    return st.one_of(
        st.just(WholeBed()), pair.map(Strip), st.builds(Zone, pair, pair), st.builds(Border, edge, st.floats(0.01, 2.0)),
        st.builds(Rows, st.sampled_from(["length", "width"]), st.lists(spans(), min_size=1, max_size=4).map(tuple)),
        st.lists(pair, min_size=1, max_size=4).map(lambda at: Points(tuple(at))),
        st.builds(AtTrellis, st.sampled_from(["any", "north"])),
    )  # fmt: skip


def moments() -> st.SearchStrategy[Moment]:
    events = st.sampled_from(["start", "emergence", "first harvest", "flower", "last harvest", "end"])
    return dates.map(OnDay) | st.builds(AtEvent, events, st.floats(-300.0, 300.0) | st.integers(-40, 40).map(lambda w: 7.0 * w))


def starts() -> st.SearchStrategy[Start]:
    return st.one_of(
        st.builds(OnDate, dates, st.sampled_from(["", "north", "south"])), weeks.map(SpringFrost), weeks.map(AutumnFrost),
        st.builds(WarmSoil, st.floats(-5.0, 30.0), st.just("") | dates),
    )  # fmt: skip


def ends() -> st.SearchStrategy[End]:
    ages = st.floats(1.0, 420.0).map(AtAge)
    return st.one_of(st.just(Harvested()), st.builds(OnDate, dates), ages, weeks.map(AutumnFrost))


def untils() -> st.SearchStrategy[Until]:
    return st.one_of(dates.map(OnDate), weeks.map(AutumnFrost), st.integers(2, 20).map(Times))


def amounts() -> st.SearchStrategy[Amount]:
    return st.one_of(
        st.integers(1, 500).map(Count), st.floats(0.01, 30.0).map(Density), st.floats(0.001, 9.0).map(SeedRate), st.just(Usual())
    )


@st.composite
def written(draw: st.DrawFn, name: str) -> Planting:
    """A planting that may be written: any kinds, any numbers within bounds."""
    crop = load_crop(draw(st.sampled_from(CROPS)))
    if draw(st.booleans()):
        crop = crop.with_values({"canopy.height": draw(st.floats(0.05, 3.0)), "root.depth": draw(st.floats(0.1, 2.0))}, "recipe")
    where = draw(places())
    cover = st.builds(CoverUse, st.sampled_from(["fleece", "mesh"]), moments(), moments())
    part = HarvestUse(crop.main_part.name, None, draw(st.none() | st.floats(1.0, 90.0)), draw(st.none() | st.integers(1, 9)))
    return Planting(
        name=name, crop=crop, establish=draw(st.sampled_from(crop.establish)), where=where, start=draw(starts()),
        end=draw(ends()), again=draw(st.none() | st.builds(Again, st.floats(3.0, 60.0), untils())),
        amount=Usual() if isinstance(where, Points) else draw(amounts()), cultivar=draw(st.just("") | words),
        thin=draw(st.none() | st.builds(Thinning, st.floats(0.5, 80.0), st.none() | moments())),
        covers=tuple(draw(st.lists(cover, max_size=2))), support=draw(st.sampled_from(["", "canes"])),
        harvest=draw(st.sampled_from([(), (part,)])), depth_m=draw(st.none() | st.floats(0.0, 0.5)),
        note=draw(st.just("") | words),
    )  # fmt: skip


@st.composite
def recipes(draw: st.DrawFn) -> Recipe:
    """Recipes that break no rule."""
    names = draw(st.lists(words, min_size=1, max_size=3, unique=True))
    plantings = [draw(written(name)) for name in names]
    if len(plantings) > 1 and draw(st.booleans()):
        wait = After(names[0], draw(st.sampled_from(["start", "end"])), draw(st.floats(0.0, 60.0)))
        plantings[1] = replace(plantings[1], start=wait)
    sides = draw(st.floats(0.2, 9.0)), draw(st.floats(0.2, 9.0))
    made = Recipe(draw(words), *sides, tuple(plantings), about=draw(st.just("") | words))
    bad = {p for fault in faults_of(made) for p in range(len(names)) if fault.path.startswith(f"plantings[{p}]")}
    kept = tuple(p for i, p in enumerate(plantings) if i not in bad and not isinstance(p.start, After))
    return made if not bad else replace(made, plantings=kept or (replace(plantings[0], **PLAIN),))


PLAIN = {
    "thin": None, "covers": (), "amount": Usual(), "start": OnDate("04-15"), "end": Harvested(), "establish": "drills",
    "crop": load_crop("radish"), "harvest": (),
}  # fmt: skip


@given(made=recipes())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_recipe_in_memory_is_written_and_read_back(made: Recipe) -> None:
    text = recipe_text(made)
    assert read_recipe(parse_document(text, "file.yaml")) == made, text


@pytest.mark.parametrize("path", DEMO, ids=lambda p: p.name)
def test_a_file_unchanged_is_the_same_file_and_a_new_one_means_the_same(path: Path) -> None:
    recipe = load_recipe(path)
    assert recipe_text(recipe) == path.read_text("utf-8")
    assert read_recipe(parse_document(canonical_text(recipe), "new")) == recipe
    assert recipe_text(without_document(recipe)) == canonical_text(recipe)


def test_crops_of_the_recipes_own_are_written_with_it() -> None:
    for crop in all_crops():
        assert crop_from_mapping(crop_to_mapping(crop)) == crop, crop.id
    own = replace(load_crop("radish"), id="oca-small", about="made up", shade="bears")
    made = Recipe("own", 2.0, 1.0, (
        Planting("a", own, "drills", WholeBed(), OnDate("04-15")),
        Planting("b", load_crop("radish"), "drills", WholeBed(), OnDate("04-15")),
    ))  # fmt: skip
    back = read_recipe(parse_document(recipe_text(made), "file.yaml"))
    assert back == made
    assert [p.crop.about for p in back.plantings] == ["made up", load_crop("radish").about]


@given(made=recipes(), path=st.sampled_from(DEMO))
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_changed_file_reads_as_the_changed_recipe(made: Recipe, path: Path) -> None:
    """The file's first planting takes on everything of another, and one is added."""
    old = load_recipe(path)
    first = replace(made.plantings[0], name=old.plantings[0].name, path=old.plantings[0].path)
    more = replace(made.plantings[-1], name="quite another", start=OnDate("05-01"))
    new = replace(old, plantings=(first, *old.plantings[1:], more))
    if faults_of(new):
        return
    text = recipe_text(new)
    assert read_recipe(parse_document(text, "file.yaml")) == new


def test_an_edit_keeps_comments_and_order(tmp_path: Path) -> None:
    path = next(p for p in DEMO if p.name.startswith("trellis"))
    text = path.read_text("utf-8") + "# the last word\n"
    (tmp_path / "mine.yaml").write_text(text, "utf-8")
    recipe = mixcraft.load_recipe(tmp_path / "mine.yaml")
    changed = replace(recipe, plantings=(replace(recipe.plantings[0], start=SpringFrost(3.0)), *recipe.plantings[1:]))
    mixcraft.save_recipe(changed, tmp_path / "mine.yaml")
    after = (tmp_path / "mine.yaml").read_text("utf-8")
    assert mixcraft.load_recipe(tmp_path / "mine.yaml") == changed
    before_lines, after_lines = text.splitlines(), after.splitlines()
    assert sum(a != b for a, b in zip(before_lines, after_lines, strict=True)) == 1
    assert after.endswith("# the last word\n")


def test_what_cannot_be_saved_is_refused_and_nothing_is_lost(tmp_path: Path) -> None:
    recipe = load_recipe(DEMO[0])
    with pytest.raises(UsageError, match="folder"):
        mixcraft.save_recipe(recipe, tmp_path)
    with pytest.raises(UsageError, match="no folder"):
        mixcraft.save_recipe(recipe, tmp_path / "nowhere" / "a.yaml")
    broken = replace(recipe, plantings=(replace(recipe.plantings[0], amount=Density(float("nan"))),))
    (tmp_path / "a.yaml").write_text("kept", "utf-8")
    with pytest.raises(FileFaults):
        mixcraft.save_recipe(broken, tmp_path / "a.yaml")
    assert (tmp_path / "a.yaml").read_text("utf-8") == "kept"
    mixcraft.save_recipe(recipe, tmp_path / "a.yaml")
    assert load_recipe(tmp_path / "a.yaml") == recipe
    assert [p.name for p in tmp_path.iterdir()] == ["a.yaml"]


def test_the_part_of_the_year_that_a_recipe_serves_is_read_and_written(tmp_path: Path) -> None:
    """From a file and back, and changed in the text of the file with its comments."""
    text = (
        "format: mixcraft-recipe/1\nname: Spring\nserves: {from: 05-01, until: 06-15}  # leaves room for squash\n"
        "bed: {length: 2 m, width: 1 m}\nplantings:\n  - {crop: radish, establish: drills, density: 100 plants/m2,\n"
        "     place: {kind: whole}, start: {kind: date, on: 04-01}}\n"
    )
    path = tmp_path / "spring.recipe.yaml"
    path.write_text(text, "utf-8")
    recipe = mixcraft.load_recipe(path)
    assert recipe.serves == Serves("05-01", "06-15")
    mixcraft.save_recipe(recipe, path)
    assert path.read_text("utf-8") == text
    mixcraft.save_recipe(replace(recipe, serves=Serves("05-01", "06-30")), path)
    assert mixcraft.load_recipe(path).serves == Serves("05-01", "06-30")
    mixcraft.save_recipe(replace(mixcraft.load_recipe(path), serves=None), path)
    assert mixcraft.load_recipe(path).serves is None
    mixcraft.save_recipe(replace(recipe, document=None), path)
    assert mixcraft.load_recipe(path) == recipe
    wrong = text.replace("06-15", "02-30")
    path.write_text(wrong, "utf-8")
    with pytest.raises(FileFaults, match=r"spring.recipe.yaml:3"):
        mixcraft.load_recipe(path)
