"""Pairs of a better and a worse arrangement (common practice, no source; written down before they were run): the score must
put the better one ahead by five points.  Nothing of the score is fitted to a pair.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from arrangements import load_pairs, sides

from mixcraft.files import FileFaults
from mixcraft.recipe.plan import plan
from mixcraft.scoring.build import overall_of
from mixcraft.season.grow import grow

PAIRS = load_pairs()
YEARS = 3
AHEAD = 5.0
"""Points by which the better one must lead."""
WANTED = 0.95
"""Share of the pairs that is asked for; what is not reached yet stands in `NOT_YET` with the reason."""
NOT_YET: dict[str, str] = {}


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


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(PAIRS)), ids=[pair["id"] for pair in PAIRS])
def test_the_better_leads_by_five_points(number: int, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    pair: dict[str, Any] = PAIRS[number]
    if pair["id"] in NOT_YET:
        request.node.add_marker(pytest.mark.xfail(reason=NOT_YET[pair["id"]], strict=True))
    assert lead(number, tmp_path) >= AHEAD, pair.get("why", "")
