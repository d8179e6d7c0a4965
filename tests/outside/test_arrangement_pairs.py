"""Pairs of a better and a worse arrangement (common practice, no source; written down before they were run): the score must
put the better one ahead by five points.

No weight is fitted to a pair.  What was changed after pairs had been looked at, for a reason of its own: how thick onions and
celeriac may stand (ranges put together from the closest in the row and the closest rows of different sources; an onion pair
and a celeriac pair showed it), that herbs are used beyond what they fill of the plate and stored food is eaten after it (a
garlic pair), that plants too thin do not hold their ground (a carrot pair), that what is wasted counts a twentieth and no
longer a fifth, and the scale, on which 0 was a bed with nothing in it and is now near one that gives a tenth.  Before the fifth
file was written, and after the pairs of the first four that failed had been looked at: that heads are eaten as long as they stand
(pairs of butterheads and cos), that a climber that nothing holds loses half of its points (climbing beans at Auckland), that a
stand on ground of its own is thin below three quarters of the thinnest usual one and not below a quarter (carrots at Rome), and
that a start is out of season which gives less than three tenths.  After the fifth had been run once: that what is picked after
weeks of heat is bitter (broccoli at Raleigh and lettuce at Sacramento showed it), by limits that the crops had before.  Before
the sixth was run, and after those of the first five that failed had been looked at: that a planting fares as its growth or as its
picking, whichever keeps less; that less is asked of what shares its ground only as far as the bed has no more room; that the
planting shaded most on a sunny side counts more; and that a poor row is not hidden in the yield.  Two pairs that were right
before by less than half a point (spinach before sprouts, sunflowers) were not since.  After a search had liked beds of three
kinds and a stand at a quarter of the thinnest usual one: fewer kinds over the season than one more than a week wants count once
more, and a stand too thin loses as one too thick does; spinach before sprouts is right again.  After the seventh had been run
once: what a frost takes is not counted as out of season too, since winter squash at Winnipeg, of the first file, had come to
lead by less as its starts were set beside those of young plants; and chances of losses are taken from a hundred years, not forty,
since a search had found starts that were lucky in the forty (tomatoes at Houston are right since).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from arrangements import FILES, load_pairs, sides

from mixcraft.files import FileFaults
from mixcraft.recipe.plan import plan
from mixcraft.scoring.build import overall_of
from mixcraft.season.grow import grow

PAIRS = [pair for file in FILES for pair in load_pairs(file)]
YEARS = 3
AHEAD = 5.0
"""Points by which the better one must lead."""
REACHED = 210
"""Pairs ranked right; a change that makes them fewer says so.  95 % of them is what is asked for; what fails
stands in `NOT_YET` with the reason, and leaves the list when it is mended."""
NOT_YET = {
    "debrecen-peas-in-march": "some flowers of June's peas set in the warmth of July; 2.5 points, 4.9 in thirty years",
    "broad-bean-early": "summers at Oxford are too cool to take flowers of beans sown in June; rust is not followed; -1.9 points",
    "lettuce-beside-not-under-squash": "a courgette and the lettuces around it keep nine tenths of their growth; 2.1 points",
    "lettuce-beside-not-under-corn": "lettuce of June is half picked before the corn closes over it; 3.0 points",
    "porto-alegre-beans-beside-not-under-corn": "corn of September is cut as the beans of October fill out; 1.7 points",
    "columbia-peppers-beside-not-under-corn": "corn of April is cut before the peppers under it bear; 1.6 points",
    "bloemfontein-beets-beside-not-under-pumpkins": "the pumpkin leaves beetroot most of its light; 4.5 points",
    "durban-corn-at-the-south-end": "the sun of a Durban spring stands high over the corn; 4.9 points",
    "salem-kohlrabi-pulled-as-wanted": "both beds feed the household from their chard for most of the season; 4.99 points",
    "houston-tomatoes-in-march": "set out in mid-June they bear in October, when the nights are cool again; -0.2 points",
}


@cache
def lead(number: int, folder: Path) -> float:
    """Points by which the better side of a pair leads; a side that is refused has none."""
    points = {}
    for side, (recipe, garden) in sides(PAIRS[number], folder).items():
        try:
            points[side] = overall_of(grow(plan(recipe, garden, garden.beds[0].name), YEARS, voxels=True))
        except FileFaults:
            points[side] = 0.0
    return points["better"] - points["worse"]


def test_pairs_that_fail_are_pairs_and_the_rest_is_what_is_reached() -> None:
    """210 of 220 lead by five points, all but two by some (in thirty years, which take a minute, 207): 82 of the first 85,
    which the score was looked at with, the second 40, the third 15, 18 of the fourth 20, 18 of the fifth 20, 19 of the sixth
    20 and 18 of the seventh 20, which were written down before they were run, 29, 13, 15, 16, 19 and 17 of them right then;
    95 % are asked for."""
    assert set(NOT_YET) <= {pair["id"] for pair in PAIRS}
    assert len({pair["id"] for pair in PAIRS}) == len(PAIRS) >= 220
    assert len(PAIRS) - len(NOT_YET) >= REACHED


def one_of_three() -> list[Any]:
    """Pairs by their number; one of three and those that stand in `NOT_YET` in usual runs, the rest with `-m bench`, as all of
    them take more than a minute and a half."""

    def marks(number: int) -> list[pytest.MarkDecorator]:
        reason = NOT_YET.get(PAIRS[number]["id"])
        if reason:
            return [pytest.mark.slow, pytest.mark.xfail(reason=reason, strict=True)]
        return [pytest.mark.bench if number % 3 else pytest.mark.slow]

    return [pytest.param(number, id=pair["id"], marks=marks(number)) for number, pair in enumerate(PAIRS)]


@pytest.mark.parametrize("number", one_of_three())
def test_the_better_leads_by_five_points(number: int, tmp_path: Path) -> None:
    pair: dict[str, Any] = PAIRS[number]
    assert lead(number, tmp_path) >= AHEAD, pair.get("why", "")
