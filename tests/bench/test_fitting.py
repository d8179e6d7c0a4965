"""Each recipe of the demonstration fitted to five other places and beds, beside a design from scratch.

`python tests/bench/test_fitting.py trellis-summer Rome --time 20` prints the line of a recipe at a place.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from mixcraft.design.brief import Brief
from mixcraft.design.compose import compose
from mixcraft.design.fit import Fitted, fit
from mixcraft.files import resource
from mixcraft.place import reference_place
from mixcraft.recipe.model import Bed, Garden, Plate, Trellis
from mixcraft.recipe.reading import load_recipe
from mixcraft.words.designs import loss_sentence
from mixcraft.words.reasons import reason_sentence

RECIPES = ("salad-and-roots", "trellis-summer", "winter-greens")
BOTH = (Trellis("north", 1.8), Trellis("south", 1.8))
PLACES = {
    "Chicago": Bed("bed", 3.0, 1.0, 90.0), "Rome": Bed("bed", 4.0, 1.2, 0.0, BOTH), "New Orleans": Bed("bed", 2.4, 1.2, 90.0),
    "Melbourne": Bed("bed", 4.0, 1.2, 0.0, BOTH), "Nairobi": Bed("bed", 3.0, 1.2, 45.0),
}  # fmt: skip
WITHIN = 5.0
"""Points by which the fitted recipe may lie below a design from scratch."""


def measured(recipe: str, place: str, seconds: float, years: int = 30) -> tuple[Fitted, float]:
    """The fitted recipe and the score of a design from scratch for the same bed, both for the recipe's part of the year."""
    read = load_recipe(resource("recipes_demo", f"{recipe}.recipe.yaml"))
    bed, serves = PLACES[place], read.serves
    garden = Garden(recipe, reference_place(place), (replace(bed, plate=Plate()),))
    fitted = fit(read, garden, "bed", seconds=seconds, years=years, patience=20.0)
    plate = Plate(serves.start, serves.until) if serves else Plate()
    made = compose(Brief(garden, "bed", plate=plate), seconds=seconds, years=years, patience=20.0)
    return fitted, made[0].score.overall


def line(recipe: str, place: str, fitted: Fitted, scratch: float) -> str:
    """Both scores, what was lost on the way and, where it lies far below, why."""
    said = [f"{recipe:18s} {place:12s} fitted {fitted.score.overall:5.1f}  from scratch {scratch:5.1f} {fitted.stopped}"]
    said += [f"    {loss_sentence(loss)}" for loss in fitted.losses]
    if fitted.score.overall < scratch - WITHIN:
        said += [f"    - {reason_sentence(r)}" for r in fitted.held_back]
    return "\n".join(said)


@pytest.mark.bench
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("recipe", RECIPES)
def test_a_fitted_recipe_is_near_a_design_from_scratch_or_says_why_not(recipe: str, place: str) -> None:
    fitted, scratch = measured(recipe, place, 60.0)
    print(line(recipe, place, fitted, scratch))
    assert fitted.score.overall >= scratch - WITHIN or fitted.losses or fitted.held_back


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("recipe", choices=RECIPES)
    parser.add_argument("place", choices=sorted(PLACES))
    parser.add_argument("--time", type=float, default=30.0)
    parser.add_argument("--years", type=int, default=10)
    given = parser.parse_args()
    print(line(given.recipe, given.place, *measured(given.recipe, given.place, given.time, given.years)))
