"""Starts of a crop that suit a place and the weeks in which something is wanted."""

from __future__ import annotations

import pytest

from mixcraft.crops import load_crop
from mixcraft.design.curves import options, start_days
from mixcraft.place import reference_place
from mixcraft.recipe.model import Bed, Garden


@pytest.mark.parametrize("window", [(59, 364), (0, 364), (244, 590)])
def test_something_may_be_wanted_for_most_of_a_year(window: tuple[int, int]) -> None:
    """Where no frost limits the starts they reach from half a year before to the end: more than the 400 days that one planting
    may wait for another, at which a design at Nairobi from March to December ended with a fault."""
    garden = Garden("all year", reference_place("Nairobi"), (Bed("bed", 4.0, 1.0),))
    assert start_days((244, 590))[-1] - start_days((244, 590))[0] > 400
    chard, radish = (options(load_crop(name), garden, window, trellis=False, every=True) for name in ("chard", "radish"))
    for found in (chard, radish):
        weeks = [o.week for o in found]
        assert weeks == sorted(weeks)
        assert weeks[-1] * 7 > window[1] - 120
    assert chard[0].week * 7 <= start_days(window)[0] + 28
    assert all(20 <= 7 * (o.last - o.week) <= 90 for o in radish)
