"""A garden over years: no rotation rule broken as the score itself sees it, one plate for all beds, bare ground covered."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from mixcraft.cli import main
from mixcraft.crops import load_crop
from mixcraft.design.rotation import rested, shared_out, years_apart
from mixcraft.design.years import GardenYear, broken_rotations, garden_years
from mixcraft.files import resource
from mixcraft.recipe.model import Bed, Garden
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_recipe
from mixcraft.recipe.rules import check
from mixcraft.scoring.parts.families import rotation_reasons

CROPS = (
    "radish", "lettuce-loose-leaf", "spinach", "beetroot", "bean-bush", "onion-salad", "courgette", "carrot-early", "kale",
    "pea-mangetout", "leek", "sweet-corn",
)  # fmt: skip


def small(garden: Garden) -> Garden:
    """The demonstration garden with two beds of the household's season."""
    return replace(garden, beds=(garden.bed("long bed"), garden.bed("trellis bed")))


@pytest.fixture(scope="module")
def made(garden: Garden) -> tuple[GardenYear, ...]:
    return garden_years(small(garden), 3, crops=[load_crop(key) for key in CROPS], seconds=4.0)


def test_the_advised_years_are_those_of_the_score(garden: Garden) -> None:
    """`years_apart` against the reasons of the score, for every pair of a few crops and every number of years."""
    recipe = load_recipe(resource("recipes_demo", "salad-and-roots.recipe.yaml"))
    for planting in recipe.plantings:
        for key in ("carrot-early", "potato-maincrop", "cabbage-summer", "onion", "bean-bush", "lettuce-cos", "radish"):
            for ago in range(1, 12):
                bed = replace(garden.bed("long bed"), history=((ago, (key,)),))
                there = replace(garden, beds=(bed,))
                told = {r.plantings[0] for r in rotation_reasons(plan(recipe, there, "long bed", draw=False))}
                assert (planting.name in told) is (years_apart(load_crop(key), planting.crop) >= ago), (planting.name, key, ago)
        break


def test_what_is_shared_out_keeps_the_rotation_whatever_is_chosen() -> None:
    crops = [load_crop(key) for key in CROPS]
    beds = [Bed("one", 3.0, 1.0, history=((1, ("kale",)),)), Bed("two", 3.0, 1.0), Bed("three", 3.0, 1.0)]
    found = shared_out(crops, beds, 3, dict.fromkeys(CROPS, 1.0))
    assert "radish" not in found[0][0]
    for b in range(3):
        for y, later in ((0, 1), (0, 2), (1, 2)):
            for first in found[y][b]:
                for second in found[later][b]:
                    assert years_apart(load_crop(first), load_crop(second)) < later - y
    for year in found:
        assert {load_crop(key).family for bed in year for key in bed} >= {"Fabaceae", "Asteraceae"}


def test_crops_are_shared_out_to_the_bed_in_which_they_give_most() -> None:
    """What gives half outside goes under the roof, what gives as much outside leaves it room, and what gives nothing outside is
    never there."""
    beds = [Bed("open", 3.0, 1.0), Bed("roofed", 3.0, 1.0, under="polytunnel")]
    keys = ("tomato-cordon", "melon", "kale", "leek", "beetroot", "lettuce-cos", "bean-bush")
    crops, worth = [load_crop(key) for key in keys], dict.fromkeys(keys, 1.0)
    outside = {**dict.fromkeys(keys, 1.0), "tomato-cordon": 0.5, "melon": 0.0}
    for roofed, homes in ((1, [outside, worth]), (0, [worth, outside])):
        (year,) = shared_out(crops, beds, 1, worth, homes)
        assert {"melon", "tomato-cordon"} <= year[roofed]
        assert not {"melon", "tomato-cordon"} & year[1 - roofed]
        assert {"kale", "leek", "beetroot", "lettuce-cos", "bean-bush"} <= year[roofed] | year[1 - roofed]


def test_two_years_of_one_bed(garden: Garden) -> None:
    """The least that three years of two beds show at length: the second year knows the first, and no rule is broken."""
    one = replace(garden, beds=(garden.bed("long bed"),))
    first, second = garden_years(one, 2, crops=[load_crop(key) for key in CROPS[:6]], seconds=1.0)
    assert broken_rotations((first, second)) == []
    assert first.beds[0].recipe is not None
    assert dict(second.beds[0].bed.history)[1] == first.beds[0].crops


@pytest.mark.slow
def test_no_rotation_rule_is_broken(garden: Garden, made: tuple[GardenYear, ...]) -> None:
    assert broken_rotations(made) == []
    for year in made:
        for one in year.beds:
            assert one.recipe is not None
            there = replace(garden, beds=(one.bed,))
            assert rotation_reasons(plan(one.recipe, there, one.bed.name, draw=False)) == []
            assert all(rested(load_crop(key), one.bed) for key in one.crops)


@pytest.mark.slow
def test_the_history_grows_with_the_years(made: tuple[GardenYear, ...]) -> None:
    for before, after in pairwise(made):
        for old, new in zip(before.beds, after.beds, strict=True):
            assert dict(new.bed.history)[1] == old.crops
            assert len(new.bed.history) > len(old.bed.history)


@pytest.mark.slow
def test_all_beds_together_serve_the_plate(made: tuple[GardenYear, ...]) -> None:
    for year in made:
        high = [i for i, day in enumerate(year.weeks) if str(day)[5:7] in ("07", "08", "09")]
        assert np.mean([year.served[i] for i in high]) > 0.6
        assert np.mean([year.kinds[i] for i in high]) > 2.0
        assert len({key for one in year.beds for key in one.crops}) > max(len(one.crops) for one in year.beds)


@pytest.mark.slow
def test_a_green_manure_does_not_stand_where_something_grows(made: tuple[GardenYear, ...]) -> None:
    for year in made:
        for one in year.beds:
            if not one.cover or one.recipe is None or one.season is None:
                continue
            cover = one.recipe.plantings[-1]
            assert "green-manure" in cover.crop.kinds
            settled = plan(one.recipe, Garden("g", one.season.plan.place, (one.bed,)), one.bed.name, draw=False)
            green = settled.plantings[-1]
            for other in settled.plantings[:-1]:
                if other.end > green.start + 28:
                    assert np.minimum(other.stand.cells, green.stand.cells).max() < 1e-6


@pytest.mark.slow
def test_the_command_writes_a_recipe_for_each_bed_and_year(
    garden: Garden, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["plan", str(resource("recipes_demo", "kiln-lane.garden.yaml")), "-o", str(tmp_path / "plan"), "--years", "1",
             "--crops", "radish, loose-leaf lettuce, chard, leek, bush bean, kale", "--time", "2s", "--json"]  # fmt: skip
    assert main(words) == 0
    data = json.loads(capsys.readouterr().out)
    beds = data["years"][0]["beds"]
    assert {bed["bed"] for bed in beds} == {bed.name for bed in garden.beds}
    for bed in beds:
        recipe = load_recipe(bed["recipe"])
        check(recipe)
        plan(recipe, garden, bed["bed"], draw=False)
        assert {p.crop.id for p in recipe.plantings} == set(bed["crops"])
    assert main(["plan", words[1], "-o", words[1]]) == 2
    assert main(["crops", "radish"]) == 0


def test_a_bed_in_a_tunnel_is_planned_as_one(garden: Garden) -> None:
    """Of the same crops the bed in the tunnel is begun sooner than one under the sky."""
    plain = replace(garden.bed("long bed"), name="plain", history=())
    beds = (plain, replace(plain, name="tunnel", under="polytunnel"))
    (year,) = garden_years(replace(garden, beds=beds), 1, crops=[load_crop("tomato-bush"), load_crop("bean-bush")], seconds=2.0)
    first = {one.bed.name: one.season.plan.start for one in year.beds if one.season is not None}
    assert (first["plain"] - first["tunnel"]).astype(int) >= 7
