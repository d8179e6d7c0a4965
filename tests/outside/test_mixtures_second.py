"""The second list of published mixtures, grown: most of them lost ground.

The figures and their sources are in data/experiments_second.yaml, written down before the engine was run on any of them;
nothing is fitted to them. Of the seven that lost, the engine has three below 1, three between 1.03 and 1.07 and one, corn among
sweet potatoes that had been planted three weeks before, at 1.25: what trials measured below 1 it has near 1. Of
the five that gained, all gain. What their abstracts say of the losses: pumpkins are the weaker and maize gains little by it (it
sets no more than an ear: before the engine knew that, these three stood at 1.15 to 1.27; and while small pumpkins were left to
fill for longer than large ones, at 1.05 to 1.07); onions and peppers lose at full
stands of both and gain where the one that is added stands wider; of the others no reason was found. That the list was chosen
for ratios below 1 draws it away from what these mixtures are worth (the same treatment differs by 0.19 between years, see
`test_mixtures_ratios`), and some of it no light makes (lettuce at a tenth of itself beside half a stand of broccoli).
"""

from __future__ import annotations

import numpy as np
import pytest
from experiments import lines_of, mixture, parts_off, second

PARTS_OFF = 0.25
GROWN_LESS = 0.05
"""What lost in trials is worth less than what gained by so much at least; 0.22 as they stand."""

pytestmark = pytest.mark.slow


def sides() -> dict[str, bool]:
    """Whether the engine has a mixture on the side of 1 on which its trial lay."""
    return {
        name: (mixture(name).ratio < 1.0) == (spec["side"] == "below")
        for name, spec in second().items()
        if spec["side"] != "even"
    }  # fmt: skip


def test_partial_ratios_of_the_second_list() -> None:
    off = parts_off(second())
    assert len(off) >= 20
    assert np.median(np.abs(off)) < PARTS_OFF


def test_what_lost_is_worth_less_than_what_gained() -> None:
    ratio = {side: [mixture(name).ratio for name, s in second().items() if s["side"] == side] for side in ("below", "above")}
    print("\n".join(lines_of(second())))
    assert np.mean(ratio["below"]) < np.mean(ratio["above"]) - GROWN_LESS


@pytest.mark.xfail(strict=True, reason="eight of twelve are on the right side: four of the seven that lost come out above 1")
def test_most_of_the_second_list_are_on_the_right_side_of_one() -> None:
    assert np.mean(list(sides().values())) >= 0.75


def test_mixtures_that_gained_gain() -> None:
    above = [name for name, spec in second().items() if spec["side"] == "above"]
    assert np.mean([sides()[name] for name in above]) >= 0.75
