"""Beds that a grower would laugh at, written down before they were scored: each stays under forty points (common practice, no
source).  Two of them did not at first: courgettes on the spots of tomatoes, 46, and eight herbs, 41."""

from __future__ import annotations

import pytest
from searching import SCENES
from strategies import planting

from mixcraft.files import FileFaults
from mixcraft.recipe.model import Border, HarvestUse, OnDate, Planting, Points, Recipe, Span, Strip, Where
from mixcraft.scoring.build import overall_of
from mixcraft.season.evaluator import Evaluator

MOST = 40.0
YEARS = 6
SPOTS = Points(tuple((Span(x), Span(0.6)) for x in (0.5, 1.5, 2.5)))
HERBS = ("thyme", "sage", "rosemary", "mint", "oregano", "lavender", "chives", "tarragon")


def shares(count: int) -> list[Strip]:
    """The bed in so many equal strips along its length."""
    return [Strip(x=(Span(i / count, True), Span((i + 1) / count, True))) for i in range(count)]


def day(crop: str, start: str, establish: str, where: Where | None = None, **more: object) -> Planting:
    """A planting named after its crop, started on a day."""
    return planting(crop, crop, where, OnDate(start), establish=establish, **more)


ABSURD: dict[str, tuple[Planting, ...]] = {
    "beans of August as thick as they are not refused": (day("bean-bush", "08-01", "stations", density_per_m2=129.0),),
    "courgettes on the spots of tomatoes": (
        day("tomato-cordon", "05-28", "module", SPOTS, support="canes", support_height_m=1.6),
        day("courgette", "05-28", "module", SPOTS),
    ),
    "tomatoes bare in April": (day("tomato-cordon", "04-10", "module", count=8, support="canes", support_height_m=1.6),),
    "comfrey alone": (day("comfrey", "04-10", "plant", count=10),),
    "mint alone": (day("mint", "04-10", "plant", count=12),),
    "cabbages in the shade of corn": (
        day("sweet-corn", "05-15", "stations", Border("south", 0.5), density_per_m2=8.0),
        day("cabbage-summer", "06-01", "module", Border("north", 0.7), count=20),
    ),
    "all ready in one week of August": tuple(
        planting(crop, crop, where, OnDate(start), establish=way, harvest=(HarvestUse(part, "once"),))
        for where, (crop, start, way, part) in zip(shares(4), (
            ("radish", "07-10", "drills", "root"), ("lettuce-cos", "06-20", "module", "heads"),
            ("kohlrabi", "06-15", "module", "stem"), ("rocket", "07-10", "drills", "leaves"),
        ), strict=True)
    ),
    "dill alone": (day("dill", "04-20", "drills"),),
    "eight herbs for a household that wants vegetables": tuple(
        day(crop, "04-20", "plant", where, count=3) for crop, where in zip(HERBS, shares(8), strict=True)
    ),
    "all that is tender bare in April": tuple(
        day(crop, "04-10", "module", where, count=2)
        for crop, where in zip(("tomato-cordon", "courgette", "cucumber", "pepper-sweet", "basil"), shares(5), strict=True)
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def evaluator() -> Evaluator:
    """Grows recipes in the bed at Oxford."""
    return Evaluator(SCENES["Oxford"], "bed", YEARS, 99)


@pytest.mark.parametrize("name", sorted(ABSURD))
def test_what_a_grower_laughs_at_has_under_forty_points(name: str, evaluator: Evaluator) -> None:
    bed = SCENES["Oxford"].bed("bed")
    season = evaluator.season(Recipe(name, bed.length_m, bed.width_m, ABSURD[name]), voxels=False)
    assert 0.0 <= overall_of(season) < MOST


def test_two_hundred_beans_to_the_square_metre_are_refused(evaluator: Evaluator) -> None:
    bed = SCENES["Oxford"].bed("bed")
    beans = day("bean-bush", "08-01", "stations", density_per_m2=200.0)
    with pytest.raises(FileFaults, match="200 plants to the square metre"):
        evaluator.season(Recipe("beans", bed.length_m, bed.width_m, (beans,)), voxels=False)
