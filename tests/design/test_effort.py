"""What a design is asked for beside its crops: processes, an interrupt, a recipe to start from, covers, a plate, one tin."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.design.brief import Brief, Effort, load_brief
from mixcraft.design.climbing import climb_all
from mixcraft.design.compose import Design, breaches, compose
from mixcraft.design.search import Budget, Climb, Trial, moves
from mixcraft.design.tin import tin_of
from mixcraft.files import resource
from mixcraft.recipe.model import Garden, Plate, Recipe, WholeBed
from mixcraft.recipe.moves import AddCover
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_recipe
from mixcraft.scoring.build import overall_of
from mixcraft.season.grow import grow
from mixcraft.tasks import Here
from mixcraft.tasks.local import Processes
from mixcraft.words.design_file import designed_text

CROPS = ("radish", "lettuce-loose-leaf", "spinach", "beetroot", "bean-bush", "carrot-early")
YEARS = 2


def quiet(*_: object) -> None:
    """Tells nobody."""


@pytest.fixture(scope="module")
def brief(garden: Garden) -> Brief:
    return Brief(garden, "long bed", at_hand=tuple(load_crop(key) for key in CROPS), effort=Effort(6))


@pytest.fixture(scope="module")
def poor() -> Recipe:
    return load_recipe(resource("recipes_demo", "salad-and-roots.recipe.yaml"))


@pytest.fixture(scope="module")
def made(brief: Brief) -> Design:
    return compose(brief, seconds=1.0, years=YEARS, patience=np.inf)[0]


def climbs(garden: Garden, recipe: Recipe) -> list[Climb]:
    trial = Trial(garden, "long bed", YEARS)
    return [Climb(recipe, trial, (), (), bool, np.random.default_rng(n)) for n in range(2)]


@pytest.mark.slow
def test_side_by_side_ends_where_one_after_the_other_does(garden: Garden, poor: Recipe) -> None:
    turn, stopped = climb_all(climbs(garden, poor), Budget(24), quiet, Here())
    side, _ = climb_all(climbs(garden, poor), Budget(24), quiet, Processes(2))
    whole = climbs(garden, poor)
    points = [climb.run(Budget(24), quiet) for climb in whole]
    assert not stopped
    assert [(c.recipe, c.points, c.steps) for c in side] == [(c.recipe, c.points, c.steps) for c in turn]
    assert [(c.recipe, c.points) for c in turn] == [(c.recipe, p) for c, p in zip(whole, points, strict=True)]
    assert any(c.steps for c in turn)


@pytest.mark.slow
def test_a_design_is_the_same_from_one_process_and_from_two(brief: Brief) -> None:
    asked = {"seconds": 1.0, "years": YEARS, "alternatives": 2, "patience": np.inf}
    one, two = (compose(brief, **asked, runner=runner) for runner in (Here(), Processes(2)))
    assert [(made.recipe, made.steps) for made in one] == [(made.recipe, made.steps) for made in two]
    assert [made.score.overall for made in one] == pytest.approx([made.score.overall for made in two], abs=1e-6)


def test_an_interrupt_keeps_the_best_so_far(brief: Brief) -> None:
    def told(what: str, done: int, of: int, best: float) -> None:
        if what == "improving" and done >= 5:
            raise KeyboardInterrupt

    made = compose(brief, seconds=4.0, years=YEARS, told=told, patience=np.inf)
    assert made[0].stopped == "user"
    assert made[0].recipe.plantings
    assert made[0].score.overall > 0.0


@pytest.mark.slow
def test_a_recipe_to_start_from_is_completed_and_not_thrown_away(brief: Brief, garden: Garden, poor: Recipe) -> None:
    first = replace(poor, plantings=poor.plantings[:2])
    made = compose(replace(brief, start_from=first), seconds=2.0, years=YEARS, patience=np.inf)[0]
    before = overall_of(grow(plan(first, garden, "long bed"), YEARS))
    assert made.choice is None
    assert made.score.overall > before
    assert {p.crop.id for p in first.plantings} & {p.crop.id for p in made.recipe.plantings}


def test_only_covers_that_are_owned_are_used(made: Design, poor: Recipe) -> None:
    bare = replace(poor, plantings=tuple(replace(p, covers=()) for p in poor.plantings))
    none = [m for m in moves(bare, (), ()) if isinstance(m, AddCover)]
    mesh = {m.cover.kind for m in moves(bare, (), ("mesh",)) if isinstance(m, AddCover)}
    assert none == []
    assert mesh == {"mesh"}
    assert all(p.covers == () for p in made.recipe.plantings)


@pytest.mark.slow
def test_a_plate_of_its_own_is_told_beside_the_gardens(brief: Brief, garden: Garden) -> None:
    asked = replace(brief, plate=Plate("06-01", "09-30", kinds=5))
    made = compose(asked, seconds=1.0, years=YEARS, patience=np.inf)[0]
    assert made.recipe.serves is not None
    assert (made.recipe.serves.start, made.recipe.serves.until) == ("06-01", "09-30")
    plain = overall_of(grow(plan(made.recipe, garden, "long bed"), YEARS))
    assert made.plain == pytest.approx(plain, abs=0.05)
    assert made.plain > made.score.overall + 0.05
    assert f"# {plain:.1f} for the garden's own plate" in designed_text(made, asked)


def test_a_brief_that_says_nothing_of_the_plate_scores_the_same(made: Design) -> None:
    assert made.plain == pytest.approx(made.score.overall, abs=1e-6)


def test_what_a_brief_demands_is_kept_or_told_how_far_it_is(brief: Brief, poor: Recipe) -> None:
    assert breaches(poor, replace(brief, effort=Effort(60), at_hand=())) == 0
    assert breaches(poor, replace(brief, musts=(load_crop("leek"),))) >= 1
    assert breaches(poor, replace(brief, nevers=(poor.plantings[0].crop,))) >= 1
    assert breaches(poor, replace(brief, height_limit_m=0.05)) >= 1


def test_once_sown_is_one_tin_over_the_whole_bed(brief: Brief, tmp_path: Path) -> None:
    once = replace(brief, style="sown once")
    made = compose(once, seconds=2.0, years=YEARS, patience=np.inf)[0]
    assert all(isinstance(p.where, WholeBed) and p.establish == "broadcast" for p in made.recipe.plantings)
    tin = tin_of(made.score.season.plan)
    assert tin is not None
    assert tin.total_g == pytest.approx(sum(p.seed_g for p in made.score.season.plan.plantings))
    text = designed_text(made, once)
    assert "# One tin for" in text
    assert all(f"{p.name} " in text for p in made.recipe.plantings)
    path = tmp_path / "once.recipe.yaml"
    path.write_text(text, "utf-8")
    assert load_recipe(path) == made.recipe


def test_a_recipe_of_several_days_has_no_tin(garden: Garden, poor: Recipe) -> None:
    summer = load_recipe(resource("recipes_demo", "trellis-summer.recipe.yaml"))
    assert tin_of(plan(summer, garden, "trellis bed", draw=False)) is None
    everywhere = replace(poor, plantings=tuple(replace(p, where=WholeBed()) for p in poor.plantings))
    assert tin_of(plan(everywhere, garden, "long bed", draw=False)) is not None


def test_the_briefs_of_the_demonstration_are_valid() -> None:
    found = sorted(resource("recipes_demo", "kiln-lane.garden.yaml").parent.glob("*.brief.yaml"))
    assert len(found) >= 1
    for path in found:
        assert load_brief(path).garden.name == "Kiln Lane"
