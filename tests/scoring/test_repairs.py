"""Repairs: what is offered has been tried, gains what it says, and can be written into the file."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from mixcraft.cli.demo import BEDS
from mixcraft.files import REMOVE, edit_document, load_document, parse_document
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe, read_recipe
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.model import Score
from mixcraft.scoring.repairs import with_repairs
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
        assert repair.overall_after - repair.overall_before >= constants()["repair_least"]
        assert repair_sentence(repair).endswith(".")
        assert repair_sentence(repair)[0].islower()
        assert repair.changes


def test_part_reasons_carry_the_same_repairs() -> None:
    _, mended = repaired("what-not-to-do")
    for part in mended.parts:
        assert list(part.reasons) == [r for r in mended.reasons if r.part == part.name]


@pytest.mark.parametrize("name", ["what-not-to-do"])
def test_repairs_can_be_written_and_gain(name: str) -> None:
    """Each repair, written into the file's text and read again, is a good recipe that scores better than before."""
    plain, mended = repaired(name)
    garden = load_garden(DEMO / "kiln-lane.garden.yaml")
    document = load_document(DEMO / f"{name}.recipe.yaml")
    tried = 0
    for reason in mended.reasons:
        if reason.repair is None:
            continue
        changes = [(path, REMOVE if value is None else value) for path, value in reason.repair.changes]
        text = edit_document(document.text, changes)
        assert text != document.text
        changed = read_recipe(parse_document(text, "changed.yaml"))
        after = score(grow(plan(changed, garden, BEDS[name]), YEARS))
        # other weather years and the other light model than the trial's: the sign must hold, the size may differ
        assert after.overall > plain.overall - 1.0, repair_sentence(reason.repair)
        tried += 1
    assert tried >= 1
