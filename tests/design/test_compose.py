"""Designs: valid, scored as they say, the same for the same seed, better than chance and than a greedy choice, and what a grower
would do.  Few crops, years and trials, so that the default run is short; `-m bench` takes more."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.design.brief import Brief, Effort
from mixcraft.design.climbing import Climbed
from mixcraft.design.compose import Design, _designed, _put_right, compose, task_of
from mixcraft.design.curves import Option
from mixcraft.design.drawing import drawn, planting_of, start_dates
from mixcraft.design.greedy import greedy
from mixcraft.design.ground import Ground
from mixcraft.design.mend import mend
from mixcraft.design.practice import weight
from mixcraft.design.rotation import rested
from mixcraft.design.search import Budget, Climb, Trial, silent
from mixcraft.files import resource
from mixcraft.recipe.density import usual_range
from mixcraft.recipe.model import Garden, Recipe
from mixcraft.recipe.moves import free_name
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_recipe
from mixcraft.recipe.rules import check
from mixcraft.scoring import score
from mixcraft.season.grow import grow
from mixcraft.tasks import Here
from mixcraft.words.design_file import designed_text

CROPS = (
    "radish", "lettuce-loose-leaf", "spinach", "beetroot", "bean-bush", "onion-salad", "courgette", "carrot-early",
    "bean-climbing",
)  # fmt: skip
YEARS, SECONDS = 4, 20.0
"""Of thirty seconds that a user gives it; twelve leave one seed in three with a bed that is not thought through (80 and 83 where
the others come to 91 and more, and all do from twenty on)."""


@pytest.fixture(scope="module")
def brief(garden: Garden) -> Brief:
    return Brief(garden, "trellis bed", at_hand=tuple(load_crop(key) for key in CROPS), effort=Effort(8))


@pytest.fixture(scope="module")
def made(brief: Brief) -> Design:
    return compose(brief, seconds=SECONDS, years=YEARS, patience=np.inf)[0]


@pytest.mark.bench  # in usual runs `test_twice` composes twice, and `test_effort` with one process and with two
def test_the_same_seed_gives_the_same_recipe(brief: Brief, made: Design) -> None:
    assert made.stopped == ""
    assert compose(brief, seconds=SECONDS, years=YEARS, patience=np.inf)[0].recipe == made.recipe


def test_a_design_is_valid_and_scores_what_it_says(brief: Brief, made: Design, tmp_path: Path) -> None:
    path = tmp_path / "made.yaml"
    path.write_text(designed_text(made, brief), "utf-8")
    again = load_recipe(path)
    check(again)
    scored = score(grow(plan(again, brief.garden, brief.bed), YEARS))
    assert scored.overall == pytest.approx(made.score.overall, abs=0.1)
    comments = [line for line in path.read_text("utf-8").splitlines() if line.startswith("  # ")]
    assert len(comments) >= len(again.plantings)


def random_recipe(options: tuple[Option, ...], ground: Ground, rng: np.random.Generator) -> Recipe:
    """A few crops at their own starts and densities on pieces drawn by lot."""
    plantings = []
    for cell, n in enumerate(rng.choice(len(options), ground.count)):
        option = options[n]
        name = free_name(option.crop.name, [p.name for p in plantings])
        plantings.append(planting_of(option, ground.where((cell,)), ground.area_m2(cell), name))
    return Recipe("by lot", ground.bed.length_m, ground.bed.width_m, tuple(plantings))


def best_by_lot(brief: Brief, count: int) -> float:
    """Score of the best of so many random recipes."""
    garden, bed = brief.asked()
    task, _ = task_of(brief, garden, bed)
    trial, rng = Trial(garden, bed.name), np.random.default_rng(5)
    return max(trial.score(random_recipe(task.options, task.ground, rng)) for _ in range(count))


@pytest.mark.slow
def test_a_design_beats_chance_and_greed(brief: Brief, made: Design) -> None:
    garden, bed = brief.asked()
    task, _ = task_of(brief, garden, bed)
    trial = Trial(garden, bed.name)
    mine = trial.score(made.recipe)
    assert mine > best_by_lot(brief, 12)
    assert mine >= trial.score(drawn(greedy(task), task.ground, "greedy"))


@pytest.mark.bench
def test_a_design_beats_the_best_of_many_random_recipes(brief: Brief, made: Design) -> None:
    best, mine = best_by_lot(brief, 300), Trial(brief.garden, brief.bed).score(made.recipe)
    print(f"design {mine:.1f}, best of 300 by lot {best:.1f}")
    assert mine > best


def test_a_grower_would_not_laugh(brief: Brief, made: Design) -> None:
    """Densities in range, climbers on the trellis away from the sun, families rested, few sowing days, usual months."""
    season = made.score.season
    assert len(start_dates(made.recipe)) <= brief.effort.sowing_days
    for planned in season.plan.plantings:
        _, high = usual_range(planned)
        assert planned.density_per_m2 <= 1.35 * high
        assert rested(planned.planting.crop, season.plan.bed)
        assert planned.stand.edge in ("", "north")
        month = int(str(season.plan.date(planned.start))[5:7])
        assert 2 <= month <= 9
    assert made.score.part("canopy").score > 75.0


def test_several_kinds_are_on_the_plate_in_high_season(made: Design) -> None:
    july = [week for week in made.score.strip if str(week.start)[5:7] in ("07", "08")]
    names = {name for week in july for name in week.plantings}
    crops = {p.crop.id for p in made.recipe.plantings if p.name in names}
    assert len(crops) >= 4  # of nine crops at hand


@pytest.mark.slow
def test_sown_once_is_sown_on_one_day(brief: Brief) -> None:
    once = compose(replace(brief, style="sown once"), seconds=1.0, years=2, patience=np.inf)[0]
    assert len({p.start for p in once.score.season.plan.plantings}) == 1
    assert len(once.recipe.plantings) > 1
    assert all(p.establish != "module" for p in once.recipe.plantings)


@pytest.mark.slow
def test_musts_are_there_and_nevers_are_not(brief: Brief) -> None:
    asked = replace(brief, musts=(load_crop("beetroot"),), nevers=(load_crop("radish"),), most_crops=4)
    crops = {p.crop.id for p in compose(asked, seconds=1.0, years=2, patience=np.inf)[0].recipe.plantings}
    assert "beetroot" in crops
    assert "radish" not in crops
    assert len(crops) <= 4


@pytest.mark.slow
def test_a_broken_recipe_is_mended(garden: Garden) -> None:
    recipe = load_recipe(resource("recipes_demo", "what-not-to-do.recipe.yaml"))
    mended = mend(recipe, garden, "trellis bed", seconds=3.0, years=2, patience=np.inf)
    assert mended.moves[0].gain > 1.0
    assert mended.after.overall > mended.before.overall + 3.0
    assert bool(mended.held_back) is (mended.after.overall < 80.0)
    assert [step.gain for step in mended.moves] == sorted((step.gain for step in mended.moves), reverse=True)
    assert score(grow(plan(mended.recipe, garden, "trellis bed"), 2)).overall == pytest.approx(mended.after.overall, abs=0.1)


@pytest.mark.slow
def test_what_many_years_object_to_is_put_right(brief: Brief) -> None:
    """Beetroot alone of early spring is picked after three months; a start in warmer days is nearer to the four weeks."""
    garden, bed = brief.asked()
    few = replace(brief, at_hand=tuple(load_crop(key) for key in ("radish", "beetroot", "spinach")))
    task, _ = task_of(few, garden, bed)
    strict = replace(task.practice, kinds=0, soon_days=28.0)
    late = next(o for o in task.options if o.crop.id == "beetroot")
    recipe = Recipe("late", bed.length_m, bed.width_m, (planting_of(late, task.ground.where((0, 1)), 0.6, "beetroot"),))
    climb = Climb(
        recipe, Trial(garden, bed.name, 2, strict), task.spare or task.options, (), lambda changed: True, np.random.default_rng(1)
    )
    before = _designed(Climbed(recipe, 0.0, (), False), climb, None, (), "", few, YEARS)
    assert {o.kind for o in before.objections} == {"first picking"}
    after = _put_right(before, climb, Budget(200), few, YEARS, silent, Here())
    assert weight(after.objections) < weight(before.objections) - 1.0
    assert after.steps
    sound = replace(before, objections=())
    assert _put_right(sound, climb, Budget(200), few, YEARS, silent, Here()) is sound
