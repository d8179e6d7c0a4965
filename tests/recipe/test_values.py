"""Recipes, crops, plans and seasons are values: equal by content, hashed by content, the same in another process."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import FrozenInstanceError, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given

from mixcraft.crops import all_crops, find_crop
from mixcraft.files import parse_document
from mixcraft.files.frozen import FrozenMap
from mixcraft.recipe.model import Count, Planting
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.scoring import score

from ..house.sources import ROOT
from ..strategies import grown, mixtures, planting, recipe

DEMO = ROOT / "recipes_demo"


@pytest.mark.parametrize("name", sorted(p.name for p in DEMO.glob("*.recipe.yaml")))
def test_a_recipe_is_equal_after_a_journey(name: str) -> None:
    sent = load_recipe(DEMO / name)
    back = pickle.loads(pickle.dumps(sent))
    assert back == sent
    assert hash(back) == hash(sent)
    assert (back.file, back.source_text) == (sent.file, sent.source_text)


def test_every_crop_is_equal_after_a_journey() -> None:
    for crop in all_crops():
        back = pickle.loads(pickle.dumps(crop))
        assert back == crop, crop.id
        assert hash(back) == hash(crop), crop.id


@given(mixture=mixtures(most=2))
def test_recipes_hash_by_content(mixture: tuple[Planting, ...]) -> None:
    one, same = recipe(*mixture), recipe(*(replace(p) for p in mixture))
    assert one is not same
    assert one == same
    assert hash(one) == hash(same)
    other = recipe(*mixture[1:], replace(mixture[0], amount=Count(7)))
    assert other != one


def test_garden_plan_season_and_score_go_to_another_process() -> None:
    garden = load_garden(DEMO / "kiln-lane.garden.yaml")
    assert pickle.loads(pickle.dumps(garden)).beds == garden.beds
    season = grown(planting("radish"), planting("kale", establish="module", count=2))
    back = pickle.loads(pickle.dumps(season))
    assert back.plan.recipe == season.plan.recipe
    assert np.array_equal(back.picked_kg, season.picked_kg)
    result = score(season)
    assert pickle.loads(pickle.dumps(result)).overall == result.overall
    assert score(back).overall == result.overall


def test_a_frozen_mapping_refuses_every_change() -> None:
    table = FrozenMap({"a": 1, "b": 2})
    assert table == {"b": 2, "a": 1}
    assert hash(table) == hash(FrozenMap({"b": 2, "a": 1}))
    changes: list[Any] = [
        lambda: table.__setitem__("a", 2), lambda: table.pop("a"), lambda: table.update(a=2), table.clear, table.popitem,
        lambda: table.setdefault("c", 3), lambda: table.__delitem__("a"), lambda: table.__ior__({"a": 3}),
    ]  # fmt: skip
    for change in changes:
        with pytest.raises(TypeError, match="cannot be changed"):
            change()
    assert table == {"a": 1, "b": 2}
    with pytest.raises(FrozenInstanceError):
        planting("radish").name = "other"  # type: ignore[misc]


def test_a_document_is_read_from_its_pickle() -> None:
    document = parse_document("a: {b: [1, 2]}\n", "some.yaml")
    back = pickle.loads(pickle.dumps(document))
    assert back == document
    assert back.mark(("a", "b", 1)) == document.mark(("a", "b", 1))


SLIPS = """
from mixcraft.crops import find_crop
crop = find_crop("radish")
crop["canopy.hieght"]
crop.number("seed.dpeth", 0.0)
crop.records["frost.gronw"]
crop.main_part.number("intervall")
crop["canopy.height"]
"""


@pytest.mark.slow
def test_a_misspelt_value_does_not_pass_the_type_checker(tmp_path: Any) -> None:
    (tmp_path / "slips.py").write_text(SLIPS, "utf-8")
    command = [sys.executable, "-m", "mypy", "--strict", str(tmp_path / "slips.py"), "--cache-dir", str(tmp_path)]
    told = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False).stdout
    lines = {line.split(":")[1] for line in told.splitlines() if "slips.py" in line and "error" in line}
    assert lines == {"4", "5", "6", "7"}, told
    assert "canopy.height" in find_crop("radish").records
