"""Repairs: what is offered has been tried, gains what it says, and can be written into the file."""

from __future__ import annotations

import pickle
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from strategies import place, planting

import mixcraft
from mixcraft.cli.demo import BEDS
from mixcraft.place import reference_place
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.model import Bed, Feeding, Garden, OnDate, Plate, Recipe, Span, Strip, Watering
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.recipe.saving import save_recipe
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.model import Score
from mixcraft.scoring.remedies import water_or_feed
from mixcraft.scoring.repairs import text_edits, with_repairs
from mixcraft.season.grow import grow
from mixcraft.words import repair_sentence

DEMO = Path(__file__).parents[2] / "recipes_demo"
YEARS = 4


@lru_cache(maxsize=4)
def repaired(name: str) -> tuple[Score, Score]:
    """A demo recipe's score, and the same with repairs."""
    recipe = load_recipe(DEMO / f"{name}.recipe.yaml")
    garden = load_garden(DEMO / "kiln-lane.garden.yaml")
    plain = score(grow(plan(recipe, garden, BEDS[name]), YEARS))
    return plain, with_repairs(plain)


def test_repairs_change_nothing_but_the_repairs() -> None:
    plain, mended = repaired("what-not-to-do")
    assert mended.overall == plain.overall
    assert [p.score for p in mended.parts] == [p.score for p in plain.parts]
    assert [replace(r, repair=None) for r in mended.reasons] == list(plain.reasons)
    assert all(r.repair is None for r in plain.reasons)


def test_a_bad_plan_has_repairs_that_gain() -> None:
    _, mended = repaired("what-not-to-do")
    repairs = [r.repair for r in mended.reasons if r.repair is not None]
    assert repairs
    for repair in repairs:
        assert repair.gain >= constants()["repair_least"]
        assert repair_sentence(repair).endswith(".")
        assert repair_sentence(repair)[0].islower()
        assert pickle.loads(pickle.dumps(repair)) == repair
        assert hash(repair) == hash(pickle.loads(pickle.dumps(repair)))


def test_part_reasons_carry_the_same_repairs() -> None:
    _, mended = repaired("what-not-to-do")
    for part in mended.parts:
        assert list(part.reasons) == [r for r in mended.reasons if r.part == part.name]


@pytest.mark.parametrize("name", ["what-not-to-do", pytest.param("trellis-summer", marks=pytest.mark.slow)])
def test_a_repair_gives_what_it_promises(name: str, tmp_path: Path) -> None:
    """Each repair, written into the file and read again, scores what it said, over the same years and in the same light; it takes
    nothing from the part of its reason; comments of the file that are not in its place stay."""
    plain, mended = repaired(name)
    garden, before = load_garden(DEMO / "kiln-lane.garden.yaml"), (DEMO / f"{name}.recipe.yaml").read_text("utf-8")
    found = [reason for reason in mended.reasons if reason.repair is not None]
    assert found
    for reason in found:
        repair = reason.repair
        assert repair is not None
        path = tmp_path / "mended.recipe.yaml"
        save_recipe(repair.recipe, path)
        text = path.read_text("utf-8")
        after = score(grow(plan(load_recipe(path), garden, BEDS[name]), YEARS))
        assert repair.overall_before == plain.overall
        assert repair.overall_after == pytest.approx(after.overall, abs=1e-6)
        assert repair.gain == pytest.approx(after.overall - plain.overall, abs=1e-6)
        assert after.part(reason.part).score >= plain.part(reason.part).score
        removed = [line for edit in text_edits(plain.season.plan.recipe, repair.recipe) for line in edit.removed]
        assert [line for line in before.splitlines() if line.strip().startswith("#") and line not in removed] == [
            line for line in text.splitlines() if line.strip().startswith("#")
        ]


def test_the_lines_of_a_repair_make_the_new_file_from_the_old() -> None:
    """Removed and added in their places, last first, they are the file that is written."""
    plain, mended = repaired("what-not-to-do")
    recipe = plain.season.plan.recipe
    for reason in mended.reasons:
        if reason.repair is None:
            continue
        lines = recipe.source_text.splitlines()
        for edit in reversed(text_edits(recipe, reason.repair.recipe)):
            start = edit.line - 1
            assert tuple(lines[start : start + len(edit.removed)]) == edit.removed
            lines[start : start + len(edit.removed)] = edit.added
        assert "\n".join(lines) == recipe_text(reason.repair.recipe).rstrip("\n")


@pytest.mark.slow
def test_a_seed_of_its_own_is_kept() -> None:
    """Repairs of a season grown with another seed are re-scored with that seed."""
    recipe, garden = load_recipe(DEMO / "what-not-to-do.recipe.yaml"), load_garden(DEMO / "kiln-lane.garden.yaml")
    bed = BEDS["what-not-to-do"]
    plain = mixcraft.score(mixcraft.grow(recipe, garden, bed, years=3, seed=99))
    mended = mixcraft.with_repairs(plain, seed=99)
    repair = next(r.repair for r in mended.reasons if r.repair is not None)
    after = mixcraft.score(mixcraft.grow(repair.recipe, garden, bed, years=3, seed=99))
    assert after.overall == pytest.approx(repair.overall_after, abs=1e-6)


def mixed_bed(bed: Bed) -> Plan:
    """Chard, lettuces, beans, a courgette and carrots after the lettuces at Rome, where next to no rain falls in summer."""

    def strip(low: float, high: float) -> Strip:
        return Strip(x=(Span(low, True), Span(high, True)))

    plantings = (
        planting("chard", "chard", strip(0.0, 0.2), OnDate("03-10"), establish="module", density_per_m2=10.0),
        planting("lettuce-loose-leaf", "lettuce", strip(0.2, 0.35), OnDate("03-01"), establish="module", density_per_m2=14.0),
        planting("bean-bush", "beans", strip(0.35, 0.6), OnDate("04-20"), establish="stations", density_per_m2=16.0),
        planting("courgette", "courgette", strip(0.6, 1.0), OnDate("05-01"), establish="module", count=1),
        planting("carrot-maincrop", "carrots", strip(0.2, 0.35), OnDate("07-15"), establish="drills"),
    )
    return plan(Recipe("mixed", 2.4, 1.0, plantings), Garden("rome", place("Rome"), (bed,), Plate("04-15", "10-31")), "bed")


def test_a_dry_bed_is_watered() -> None:
    """The repair is one of the garden: it says what to write there, leaves the recipe, and promises what that gives then."""
    settled = mixed_bed(Bed("bed", 2.4, 1.0, watering=Watering("rain")))
    result = with_repairs(score(grow(settled, YEARS, voxels=False)), most=4)
    found = [r.repair for r in result.reasons if r.repair is not None and r.repair.kind == "water"]
    assert found
    repair = found[0]
    assert repair.bed == Bed("bed", 2.4, 1.0)
    assert repair.recipe == settled.recipe
    after = score(grow(mixed_bed(repair.bed), YEARS, voxels=False))
    assert repair.overall_after == pytest.approx(after.overall, abs=1e-6)
    assert repair.gain > 10.0
    assert "`watering: watered`" in repair_sentence(repair)


def test_a_hungry_bed_is_fed() -> None:
    """A bed that is never fed lacks nitrogen: the usual feeding is tried for that, and gains; a fed bed is not fed again."""
    hungry = score(grow(mixed_bed(Bed("bed", 2.4, 1.0, feeding=Feeding("none"))), YEARS, voxels=False))
    (reason,) = (r for r in hungry.reasons if r.cause == "ground half used")
    (candidate,) = water_or_feed(reason, hungry.season)
    assert candidate.kind == "feed"
    assert candidate.bed == Bed("bed", 2.4, 1.0)
    fed = score(grow(mixed_bed(candidate.bed), YEARS, voxels=False))
    assert fed.overall > hungry.overall + 1.0
    assert list(water_or_feed(reason, fed.season)) == []


def test_greens_that_stop_in_winter_are_covered_through_it() -> None:
    """Corn salad and spinach of Warsaw give nothing from December on in the open, and are picked on under hoops with film."""
    bed = Bed("bed", 3.0, 1.2, plate=Plate("10-15", "03-31"))
    halves = [Strip((Span(0.0), Span(1.5))), Strip((Span(1.5), Span(3.0)))]
    sown = [
        planting(crop, where=half, start=OnDate(day), density_per_m2=per_m2)
        for crop, half, day, per_m2 in zip(("spinach", "corn-salad"), halves, ("08-27", "09-03"), (50.0, 150.0), strict=True)
    ]
    garden = Garden("here", reference_place("Warsaw"), (bed,))
    plain = score(grow(plan(Recipe("greens", 3.0, 1.2, tuple(sown)), garden, "bed"), 6))
    gap = next(r for r in with_repairs(plain).reasons if r.cause == "gap")
    assert gap.repair is not None
    assert gap.repair.kind == "winter"
    assert repair_sentence(gap.repair).startswith("cover ")
    assert gap.repair.gain > 3.0
