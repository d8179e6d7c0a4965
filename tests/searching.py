"""A search that pulls at the score: random recipes, then random moves that are kept when they gain, begun anew many times."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from strategies import place

from mixcraft.crops import load_crop
from mixcraft.files import FileFaults
from mixcraft.recipe.layout import usual_density
from mixcraft.recipe.model import Bed, Density, Garden, HarvestUse, OnDate, Planting, Plate, Recipe, Span, Strip, Where, WholeBed
from mixcraft.recipe.moves import (
    AddPlanting,
    DropPlanting,
    Move,
    MoveError,
    SetAmount,
    SetHarvest,
    SetPlace,
    SetStart,
    ShiftStart,
    SplitIntoSuccessions,
    SwapCrop,
)
from mixcraft.recipe.rules import faults_of
from mixcraft.scoring.build import Points
from mixcraft.scoring.evidence import Evidence
from mixcraft.season.evaluator import Evaluator

CROPS = (
    "radish",
    "rocket",
    "lettuce-loose-leaf",
    "lettuce-cos",
    "lettuce-baby-leaf",
    "spinach",
    "chard",
    "mizuna",
    "beetroot",
    "carrot-maincrop",
    "turnip",
    "onion-salad",
    "pea-dwarf",
    "bean-bush",
    "kale",
    "cabbage-summer",
    "leek",
    "courgette",
    "tomato-bush",
    "sweet-corn",
    "parsnip",
    "potato-early",
    "garlic",
    "basil",
    "parsley",
    "corn-salad",
)
"""Crops that the search may use: common ones of every habit."""
YEARS = 4
"""Weather years of the search; chances of losses are taken from a hundred."""
SPARE = 2
"""Recipes kept more than are asked for."""
ISLANDS = 3
"""Searches side by side that know nothing of one another until half-way, so that not all that is found is alike."""


PLATE = Plate("05-15", "10-31", portions=10.0, people=2)
SCENES = {
    "Oxford": Garden("oxford", place("Oxford"), (Bed("bed", 3.0, 1.2, 90.0),), PLATE),
    "Rome": Garden("rome", place("Rome"), (Bed("bed", 2.4, 1.0, 0.0),), Plate("03-15", "11-30", portions=8.0)),
    "Winnipeg": Garden("winnipeg", place("Winnipeg"), (Bed("bed", 4.0, 1.2, 45.0),), Plate("06-15", "09-30", portions=12.0)),
}
"""Beds of three climates with what their households want."""


def scene(climate: str, bed: str) -> Garden:
    """The place and the plate of one scene with the bed of another."""
    return replace(SCENES[climate], beds=SCENES[bed].beds)


@dataclass(frozen=True)
class Found:
    """A recipe that the search has seen, with its overall score."""

    points: float
    recipe: Recipe


def search(garden: Garden, bed: str, evaluations: int, seed: int, best: int = 10) -> list[Found]:
    """The best recipes of a search with so many evaluations, best first: on each island a few random recipes, then moves of
    one of them; what comes of a move takes the place of the worst if it is better.  Half-way the best of all comes to every
    island, so that no third of the evaluations is lost on a poor bed."""
    chance = random.Random(seed)
    one, evaluator = garden.bed(bed), Evaluator(garden, bed, YEARS, seed)
    most = -(-(best + SPARE) // ISLANDS)
    islands: list[list[Found]] = [[] for _ in range(ISLANDS)]
    for turn in range(2 * ISLANDS):
        here = islands[turn % ISLANDS]
        if turn >= ISLANDS:
            here = _best([*here, *_best([f for island in islands for f in island], 1)], most)
        for _ in range(evaluations // (2 * ISLANDS)):
            full = len(here) == most
            recipe = _changed(chance.choice(here).recipe, chance) if full else _any(one.length_m, one.width_m, chance)
            points = _points(evaluator, recipe, here[-1].points if full else -1.0)
            if points is not None and recipe not in [f.recipe for f in here]:
                here = _best([*here, Found(points, recipe)], most)
        islands[turn % ISLANDS] = here
    return _best([f for island in islands for f in island], best)


def _best(found: list[Found], most: int) -> list[Found]:
    """The best of what was found, each once, best first."""
    once = [f for n, f in enumerate(found) if f.recipe not in [known.recipe for known in found[:n]]]
    return sorted(once, key=lambda f: -f.points)[:most]


def _points(evaluator: Evaluator, recipe: Recipe, least: float) -> float | None:
    """Overall score of a recipe by layered light; None if it is refused or has no more than `least`."""
    if faults_of(recipe):
        return None
    try:
        evidence = Evidence(evaluator.season(recipe, voxels=False))
    except FileFaults:
        return None
    if Points.at_most(evidence).overall <= least:
        return None
    points = Points.of(evidence).overall
    return points if points > least else None


def _any(length_m: float, width_m: float, chance: random.Random) -> Recipe:
    plantings = tuple(_planting(f"planting {i}", chance) for i in range(chance.randint(2, 6)))
    return Recipe("adversary", length_m, width_m, plantings)


def _planting(name: str, chance: random.Random) -> Planting:
    crop = load_crop(chance.choice(CROPS))
    way = chance.choice(crop.establish)
    per_m2 = usual_density(crop, way) * 2.0 ** chance.uniform(-2.0, 1.5)
    return Planting(name, crop, way, _place(chance), OnDate(_day(chance)), amount=Density(float(f"{per_m2:.3g}")))


def _place(chance: random.Random) -> Where:
    low = chance.choice((0.0, 0.25, 0.5, 0.75))
    share = chance.choice((0.25, 0.5, 1.0))
    return WholeBed() if share + low > 1.0 else Strip(x=(Span(low, True), Span(low + share, True)))


def _day(chance: random.Random) -> str:
    return f"{chance.randint(1, 12):02d}-{chance.choice((1, 8, 15, 22)):02d}"


def _changed(recipe: Recipe, chance: random.Random) -> Recipe:
    """One or two random moves on."""
    for _ in range(chance.randint(1, 2)):
        try:
            recipe = _move(recipe, chance).changed(recipe)
        except MoveError:
            continue
    return recipe


def _move(recipe: Recipe, chance: random.Random) -> Move:
    old = chance.choice(recipe.plantings)
    part = old.crop.main_part
    amount = old.amount
    usual = amount.per_m2 if isinstance(amount, Density) else usual_density(old.crop, old.establish)
    per_m2 = usual * 2.0 ** chance.uniform(-1.0, 1.0)
    crop = load_crop(chance.choice(CROPS))
    return chance.choice((
        ShiftStart(old.name, chance.choice((-6.0, -3.0, -1.0, 1.0, 3.0, 6.0))), SetStart(old.name, OnDate(_day(chance))),
        SetAmount(old.name, Density(float(f"{per_m2:.3g}"))), SetPlace(old.name, _place(chance)),
        SwapCrop(old.name, crop, amount=Density(float(f"{usual_density(crop, crop.establish[0]):.3g}"))),
        AddPlanting(_planting("one more", chance)), DropPlanting(old.name),
        SetHarvest(old.name, HarvestUse(part.name, chance.choice(part.methods))),
        SplitIntoSuccessions(old.name, chance.choice((2, 3)), chance.choice((14.0, 21.0))),
    ))  # fmt: skip
