"""Twelve broken recipes, mended: lifted above 80, or what holds them back is told.

`python tests/bench/test_mending.py one_family --time 20` mends those named and prints a line each.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from broken_recipes import BROKEN

from mixcraft.design.mend import Mended, mend
from mixcraft.files import resource
from mixcraft.recipe.model import Recipe
from mixcraft.recipe.reading import load_garden
from mixcraft.words.designs import move_words
from mixcraft.words.reasons import reason_sentence

GARDEN = load_garden(resource("recipes_demo", "kiln-lane.garden.yaml"))


def line(name: str, mended: Mended) -> str:
    """Before and after, what was done, and what holds it back."""
    head = f"{name:26s} {mended.before.overall:5.1f} to {mended.after.overall:5.1f}, {mended.tried} tried {mended.stopped}"
    steps = [f"    + {move_words(step.move)}" for step in mended.sequence]
    return "\n".join([head, *steps, *(f"    - {reason_sentence(r)}" for r in mended.held_back)])


@pytest.mark.bench
@pytest.mark.parametrize("broken", BROKEN, ids=lambda broken: broken.__name__)
def test_a_broken_recipe_is_lifted_or_it_is_told_why_not(broken: Callable[[], Recipe]) -> None:
    mended = mend(broken(), GARDEN, "trellis bed", seconds=60.0, patience=10.0)
    print(line(broken.__name__, mended))
    assert mended.after.overall > mended.before.overall
    assert mended.after.overall > 80.0 or mended.held_back


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("names", nargs="*")
    parser.add_argument("--time", type=float, default=30.0)
    parser.add_argument("--years", type=int, default=10)
    given = parser.parse_args()
    for one in BROKEN:
        if not given.names or one.__name__ in given.names:
            found = mend(one(), GARDEN, "trellis bed", seconds=given.time, years=given.years, patience=20.0)
            print(line(one.__name__, found), flush=True)
