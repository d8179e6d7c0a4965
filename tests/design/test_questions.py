"""Questions without a recipe: what can go here, may two crops share a bed, how much to sow.  What a grower expects was written
down before the engine was asked (common practice, no source, unless said)."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from mixcraft.cli import main
from mixcraft.crops import find_crop, load_crop
from mixcraft.design.amounts import amounts, area_of_plants, area_of_seed, from_ground
from mixcraft.design.fill import fill, fill_recipe, gap_on, largest_gap
from mixcraft.design.pair import pair, published
from mixcraft.files import resource
from mixcraft.place import reference_place
from mixcraft.recipe.model import Garden, Zone
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_recipe

GARDEN = str(resource("recipes_demo", "kiln-lane.garden.yaml"))
SUMMER = str(resource("recipes_demo", "trellis-summer.recipe.yaml"))


def crops(*names: str) -> tuple:  # type: ignore[type-arg]
    return tuple(find_crop(name) for name in names)


# What can go here -----------------------------------------------------------------------------------


def test_in_mid_july_quick_leaves_come_and_long_crops_do_not(garden: Garden) -> None:
    answer = fill(garden, "long bed", "07-15", area_m2=1.0)
    names = [f.grown.crop.id for f in answer.found]
    assert {"radish", "lettuce-loose-leaf", "kohlrabi", "mizuna"} <= set(names)
    assert "parsnip" not in names
    assert "aubergine" in {find_crop(n).id for n in answer.nothing}
    assert len(names) == len(set(names))
    for filler in answer.found:
        assert filler.grown.start <= filler.grown.first <= filler.grown.last
        assert filler.band[0] <= filler.portions <= filler.band[1]


def test_what_grew_here_speaks_against_its_family(garden: Garden) -> None:
    answer = fill(garden, "winter bed", "06-01", area_m2=1.0, crops=crops("kale", "lettuce", "chard"), history=crops("cabbage"))
    against = {f.grown.crop.id: {a.reason.cause for a in f.against if a.reason} for f in answer.found}
    assert against["kale"] & {"rotation", "family again"}
    assert not against["chard"]
    assert [f.grown.crop.id for f in answer.found][-1] == "kale"


@pytest.fixture(scope="module")
def kept_in_shade(garden: Garden) -> dict[str, float]:
    """Share of its portions that lettuce and courgette keep in 40 % of the light."""
    both = crops("lettuce", "courgette")
    open_sky, shade = (fill(garden, "long bed", "06-01", area_m2=1.0, crops=both, light=light) for light in (1.0, 0.4))
    kept = {}
    for crop in both:
        given = [next(f.portions for f in answer.found if f.grown.crop.id == crop.id) for answer in (open_sky, shade)]
        kept[crop.id] = given[1] / given[0]
    return kept


def test_less_light_gives_less(kept_in_shade: dict[str, float]) -> None:
    assert max(kept_in_shade.values()) < 0.9


def test_fruit_suffers_more_from_shade_than_leaf(kept_in_shade: dict[str, float]) -> None:
    assert kept_in_shade["courgette"] < kept_in_shade["lettuce-loose-leaf"] - 0.05


def test_a_gap_is_free_ground_and_ends_when_the_next_comes(garden: Garden) -> None:
    recipe = load_recipe(SUMMER)
    settled = plan(recipe, garden, "trellis bed", draw=False)
    gap = largest_gap(settled)
    assert gap is not None
    day = int((gap.start - settled.start).astype(int))
    assert isinstance(gap.where, Zone)
    x = [span.metres(4.0) for span in gap.where.x]
    y = [span.metres(1.2) for span in gap.where.y]
    columns = slice(round(x[0] / settled.grid.dx_m), round(x[1] / settled.grid.dx_m))
    rows = slice(round(y[0] / settled.grid.dy_m), round(y[1] / settled.grid.dy_m))
    for p in settled.plantings:
        if p.start <= day <= p.end:
            assert p.stand.cells[columns, rows].max() < 1e-6
    assert gap_on(settled, str(gap.start)[5:10]) is not None


def test_a_gap_is_filled_by_what_raises_the_score(garden: Garden) -> None:
    answer = fill_recipe(load_recipe(SUMMER), garden, "trellis bed", crops=crops("lettuce", "parsley", "pumpkin", "chard"))
    gains = [f.gain for f in answer.found if f.grown.rotation is None and f.gain is not None]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0.0


# Pairs ----------------------------------------------------------------------------------------------


def test_a_low_crop_stands_on_the_sunny_side_of_a_tall_one(garden: Garden) -> None:
    answer = pair(*crops("lettuce", "climbing bean"), garden)
    assert answer.best_order
    near = {r.first_sunny: r.kept[0] for r in answer.rows if r.distance_m == min(a.distance_m for a in answer.rows)}
    assert near[True] > near[False]


@pytest.mark.slow
def test_farther_apart_they_trouble_one_another_less(garden: Garden) -> None:
    answer = pair(*crops("lettuce", "courgette"), garden)
    for sunny in (True, False):
        worst = [min(r.kept) for r in answer.rows if r.first_sunny is sunny]
        assert all(a <= b + 0.01 for a, b in pairwise(worst))
    assert answer.near_m is not None
    assert all(e.evidence in ("computed", "published trial", "common practice") for e in answer.edges)


@pytest.mark.slow
def test_the_hemisphere_turns_the_sun(garden: Garden) -> None:
    there = replace(garden, place=reference_place("Melbourne"), plate=replace(garden.plate, start="", until=""))
    answer = pair(*crops("lettuce", "climbing bean"), there)
    assert answer.best_order


def test_published_trials_are_found_whatever_the_order() -> None:
    leek, celery = crops("leek", "celery")
    there, back = published(leek, celery), published(celery, leek)
    assert [p.ratio for p in there] == [1.10]
    assert [p.source for p in there] == [p.source for p in back]
    maize = published(load_crop("popcorn"), load_crop("okra"))
    assert maize[0].kept == (0.905, 0.86)
    assert published(*crops("radish", "leek")) == ()


# Amounts --------------------------------------------------------------------------------------------


def test_twice_the_portions_take_about_twice_the_ground(garden: Garden) -> None:
    once, twice = (amounts(find_crop("carrot"), garden, n) for n in (3.0, 6.0))
    assert twice.area_m2 == pytest.approx(2.0 * once.area_m2, rel=0.15)
    assert once.unserved == twice.unserved


def test_what_does_not_keep_is_sown_again_and_again(garden: Garden) -> None:
    """Radish every few weeks; carrots keep, so that one or two sowings serve."""
    radish, carrot = (amounts(find_crop(name), garden, 2.0) for name in ("radish", "carrot"))
    assert len(radish.sowings) >= 4
    assert len(carrot.sowings) <= 2
    assert len(radish.unserved) <= 2


def test_there_and_back(garden: Garden) -> None:
    crop = find_crop("potato")
    sowing = from_ground(crop, garden, area_of_seed(crop, 3000.0)).sowings[0]
    assert sowing.seed_g == pytest.approx(3000.0, rel=0.05)
    lettuce = find_crop("lettuce")
    assert from_ground(lettuce, garden, area_of_plants(lettuce, 16.0)).sowings[0].plants == 16


def test_weeks_that_can_be_served_are(garden: Garden) -> None:
    answer = amounts(find_crop("lettuce"), garden, 4.0)
    served = np.array([day for day in answer.weeks if day not in answer.unserved])
    assert len(served) > 15
    for day in served:
        assert any(s.first <= day + 6 and s.last + 8 >= day for s in answer.sowings)
    assert all(s.plants >= 1 and s.area_m2 > 0.0 and math.isfinite(s.seed_g) for s in answer.sowings)


# The commands ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        ["fill", GARDEN, "-b", "long bed", "--on", "07-15", "--crops", "lettuce, kale", "--light", "60%"],
        pytest.param(["fill", SUMMER, "-g", GARDEN, "-b", "trellis bed", "--crops", "lettuce, chard"], marks=pytest.mark.slow),
        pytest.param(["pair", "lettuce", "courgette"], marks=pytest.mark.slow),
        pytest.param(["amounts", "radish,", "carrot", "--portions", "2", "--at", GARDEN], marks=pytest.mark.slow),
        ["amounts", "potato", "--seed", "2 kg", "--at", "Oxford"],
    ],
)
def test_the_commands_answer_in_text_and_in_json(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 0
    said = capsys.readouterr().out
    assert len(said.splitlines()) >= 2
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["pair", "lettuce", "letuce"], "lettuce"),
        (["pair", "lettuce", "lettuce"], "two crops"),
        (["pair", "lettuce", "leek", "--at", "Oxfrod"], "Oxford"),
        (["fill", GARDEN, "--on", "07-15"], "long bed"),
        (["fill", GARDEN, "-b", "long bed"], "--on"),
        (["fill", SUMMER], "--garden"),
        (["amounts", "carrot", "--at", GARDEN, "--area", "1 m2", "--plants", "3"], "one of"),
        (["amounts", "carrot", "--at", GARDEN, "--area", "much"], "m2"),
        (["amounts", "carrot", "--at", GARDEN, "--seed", "2 m"], "--seed"),
    ],
)
def test_a_question_that_makes_no_sense_ends_with_2(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err
