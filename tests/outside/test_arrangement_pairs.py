"""Pairs of a better and a worse arrangement (common practice, no source; written down before they were run): the score must
put the better one ahead by five points.  Nothing of the score is fitted to a pair.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from arrangements import SECOND_FILE, THIRD_FILE, load_pairs, sides

from mixcraft.files import FileFaults
from mixcraft.recipe.plan import plan
from mixcraft.scoring.build import overall_of
from mixcraft.season.grow import grow

PAIRS = [*load_pairs(), *load_pairs(SECOND_FILE), *load_pairs(THIRD_FILE)]
YEARS = 3
AHEAD = 5.0
"""Points by which the better one must lead."""
REACHED = 123
"""Pairs ranked right; the number may only grow.  95 % of them is what is asked for; what fails stands in `NOT_YET` with the
reason, and leaves the list when it is mended."""
NOT_YET = {
    "spinach-not-at-midsummer": "spinach of early June gives leaves for as long before it bolts as that of August; 3.3 points",
    "garlic-in-autumn": "garlic of late April gives a quarter of that of October, for less long; -1.5 points",
    "broad-bean-early": "summers at Oxford are too cool to take flowers of beans sown in June; rust is not followed",
    "rome-lettuce-spring": "lettuce planted in June at Rome gives a third of the heads of March; 1.6 points",
    "beans-in-two-goes": "one sowing of beans is picked for six weeks, two for ten; 3.3 points",
    "lettuce-beside-not-under-squash": "a courgette and the lettuces around it keep four fifths of their growth; 2.3 points",
    "rome-cucumbers-on-the-north-trellis": "the noon sun of Rome in summer is so high that cucumbers shade little; 3.9 points",
    "lettuce-beside-not-under-corn": "lettuce of June is picked before the corn closes over it; 2.0 points",
    "onion-thick": "sets at 300 to the square metre are within the range published for pickling; 1.6 points",
    "moscow-salad-cut-in-goes": "one sowing of baby leaf is cut again, and gives as much; 4.7 points",
    "dublin-peas-then-leeks": "leeks planted in July are not ready before April; 3.9 points",
    "florida-tomato-spring": "ground frost takes tomatoes of 15 March in 42 % of years; -3.9 points",
    "dublin-spinach-before-sprouts": "sprouts planted in June give nearly all; spinach before them fills few weeks; 4.7 points",
    "rome-carrots-thin": "a dozen carrots grow to a quarter of a kilogram each and are eaten; 1.9 points",
    "dublin-butterheads-in-three-goes": "thirty heads of which most is wasted give a tenth less to eat than in goes; 3.2 points",
    "carrots-not-among-pumpkins": "pumpkins that are set out stay low for weeks; 4.1 points",
    "lettuce-in-three-sowings-at-rome": "heads of one sowing stand for three weeks; 4.4 points",
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
    """123 of 140 are ranked right, 88 %: 74 of the first 85, which the score was looked at with, 36 of the second 40 and 13 of
    the third 15, which were written down before they were run, 29 and 13 of them right then; 95 % are asked for."""
    assert set(NOT_YET) <= {pair["id"] for pair in PAIRS}
    assert len({pair["id"] for pair in PAIRS}) == len(PAIRS) >= 140
    assert len(PAIRS) - len(NOT_YET) >= REACHED


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(PAIRS)), ids=[pair["id"] for pair in PAIRS])
def test_the_better_leads_by_five_points(number: int, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    pair: dict[str, Any] = PAIRS[number]
    if pair["id"] in NOT_YET:
        request.node.add_marker(pytest.mark.xfail(reason=NOT_YET[pair["id"]], strict=True))
    assert lead(number, tmp_path) >= AHEAD, pair.get("why", "")
