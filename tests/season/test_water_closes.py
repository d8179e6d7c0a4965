"""The run-time check of the soil's water: what came, less what left, is what is there, and no soil holds more than it can."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from mixcraft.season.water import BALANCE_MM, closes


def balanced(
    given: float, drained: float, evaporated: float, transpired: float, lacks: float, before: float = 5.0, followed: int = 1
) -> bool:
    """Whether a soil closes that lacks `before` mm at first and `lacks` at last; two years of two beds, the last of them so."""
    sums = np.zeros((2, 2, 5))
    sums[:, :, 4] = before
    sums[1, 1] = given, drained, evaporated, transpired, lacks
    soil = SimpleNamespace(followed=followed, depletion=np.full((2, 3), before / 3.0))
    return closes(SimpleNamespace(soil=soil, daily=np.zeros(1)), sums)  # type: ignore[arg-type]


def test_what_is_gained_is_given_less_what_leaves() -> None:
    """20 mm given, 4 drained, 6 evaporated, 7 transpired: 3 of the 5 mm that lacked are there."""
    assert balanced(20.0, 4.0, 6.0, 7.0, 2.0)


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize("off", [-1e-3, 1e-3])
def test_a_thousandth_that_comes_from_nowhere_is_found(place: int, off: float) -> None:
    sums = [20.0, 4.0, 6.0, 7.0, 2.0]
    sums[place] += off
    assert not balanced(*sums)


def test_no_soil_holds_more_than_it_can() -> None:
    """A balance that closes only because the soil lacks less than nothing is none; rounding is let pass."""
    assert not balanced(23.0, 4.0, 6.0, 7.0, -1.0)
    assert balanced(22.0 + BALANCE_MM / 2, 4.0, 6.0, 7.0, -BALANCE_MM / 2)


def test_what_is_not_followed_need_not_close() -> None:
    assert balanced(99.0, 0.0, 0.0, 0.0, 0.0, followed=0)
