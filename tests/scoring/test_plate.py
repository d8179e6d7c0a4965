"""What a household eats of what is picked: gluts, keeping, kinds, and that nothing is eaten that was not picked."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from mixcraft.scoring.plate import Wanted, eat, even_share, share_out

PORTION = 1e-9
SIX = Wanted(portions=6.0, kinds=3.0, most_of_one=0.5)


def weeks(*by_kind: list[float]) -> np.ndarray:
    """Portions (W, 1, K) of one year."""
    return np.array(by_kind).T[:, None, :]


def test_a_glut_serves_one_week_when_it_does_not_keep() -> None:
    """Forty portions of lettuce in one week: half of the plate that week, nothing before or after, the rest spoils."""
    eaten = eat(weeks([0.0, 40.0, 0.0, 0.0]), np.array([0]), SIX)
    assert eaten.served[:, 0] == pytest.approx([0.0, 0.5, 0.0, 0.0])
    assert eaten.spoiled.sum() == pytest.approx(37.0)


def test_what_keeps_leaves_no_gap() -> None:
    """Carrots pulled every second week and kept for two are on the plate each week."""
    eaten = eat(weeks([6.0, 0.0, 6.0, 0.0]), np.array([2]), SIX)
    assert eaten.served[:, 0] == pytest.approx([0.5, 0.5, 0.5, 0.5])
    assert eaten.spoiled.sum() == 0.0


def test_three_kinds_fill_the_plate_that_one_cannot() -> None:
    eaten = eat(weeks([2.0], [2.0], [2.0]), np.array([0, 0, 0]), SIX)
    assert eaten.served[0, 0] == pytest.approx(1.0)
    assert eaten.kinds[0, 0] == pytest.approx(3.0)
    assert eat(weeks([6.0]), np.array([0]), SIX).served[0, 0] == pytest.approx(0.5)


def test_an_even_share_is_eaten_of_each_kind() -> None:
    """Of ten lettuces and ten onions, three and a half portions each beside the half of a third; two kinds fill the plate."""
    taken = share_out(np.array([[10.0, 10.0, 0.5]]), 7.5, np.full(3, 5.0))
    assert taken[0] == pytest.approx([3.5, 3.5, 0.5])
    taken = share_out(np.array([[10.0, 10.0]]), 4.0, np.full(2, 3.0))
    assert taken[0] == pytest.approx([2.0, 2.0])


def test_weeks_without_the_household_eat_nothing_but_keep() -> None:
    """Squash of September is eaten when the plate begins in October."""
    eaten = eat(weeks([12.0, 0.0, 0.0]), np.array([20]), SIX, on=np.array([False, True, True]))
    assert eaten.served[:, 0] == pytest.approx([0.0, 0.5, 0.5])
    assert eaten.spoiled.sum() == 0.0


def test_what_is_in_store_is_eaten_after_the_plate_too() -> None:
    """Thirty onions of the last week for a plate of three: they keep for five weeks, in which fifteen are eaten, and in the week
    itself three; twelve spoil.  What is picked in a week that nobody asked for, after the last of the plate, is eaten as well."""
    eaten = eat(weeks([0.0, 30.0]), np.array([5]), SIX)
    assert eaten.served[:, 0] == pytest.approx([0.0, 0.5])
    assert eaten.spoiled[:, 0, 0] == pytest.approx([0.0, 12.0])
    late = eat(weeks([0.0, 6.0, 9.0]), np.array([0]), SIX, on=np.array([True, True, False]))
    assert late.spoiled[:, 0, 0] == pytest.approx([0.0, 3.0, 6.0])


def test_herbs_season_beyond_what_they_fill_of_the_plate() -> None:
    """Of twenty portions of parsley half a portion counts on the plate and fourteen are used; six wilt.  Of basil that is picked
    by less than is used nothing does, and nobody used what a glut of lettuce left."""
    wanted = Wanted(6.0, 3.0, np.array([0.5 / 6.0, 0.5 / 6.0, 0.5]), np.array([14.0, 14.0, 0.0]))
    eaten = eat(weeks([20.0], [9.0], [10.0]), np.zeros(3, dtype=np.int64), wanted)
    assert eaten.portions[0, 0] == pytest.approx([0.5, 0.5, 3.0])
    assert eaten.spoiled[0, 0] == pytest.approx([6.0, 0.0, 7.0])


def test_spoiled_is_put_down_to_the_week_of_its_picking() -> None:
    eaten = eat(weeks([10.0, 10.0, 0.0, 0.0]), np.array([1]), SIX)
    assert eaten.portions[:, 0, 0] == pytest.approx([3.0, 3.0, 3.0, 0.0])
    assert eaten.spoiled[:, 0, 0] == pytest.approx([4.0, 7.0, 0.0, 0.0])


@given(
    picked=hnp.arrays(float, st.tuples(st.integers(1, 9), st.integers(1, 3), st.integers(1, 5)), elements=st.floats(0.0, 30.0)),
    keeps=st.lists(st.integers(0, 12), min_size=5, max_size=5),
    portions=st.floats(0.5, 40.0),
)
def test_mass_is_closed_and_nobody_eats_more_than_wanted(picked: np.ndarray, keeps: list[int], portions: float) -> None:
    keep = np.array(keeps[: picked.shape[2]])
    eaten = eat(picked, keep, Wanted(portions, 3.0, 0.5))
    total = eaten.portions.sum(axis=0) + eaten.spoiled.sum(axis=0)
    assert (total <= picked.sum(axis=0) + 1e-6).all()
    assert (eaten.portions.sum(axis=2) <= portions + 1e-6).all()
    assert (eaten.portions <= 0.5 * portions + 1e-6).all()
    assert ((eaten.served >= 0.0) & (eaten.served <= 1.0)).all()
    fresh = keep == 0
    assert total[:, fresh] == pytest.approx(picked.sum(axis=0)[:, fresh], abs=1e-6)


def test_even_share_fills_the_portions() -> None:
    most = np.array([[1.0, 2.0, 9.0], [0.1, 0.1, 0.1]])
    share = even_share(most, 6.0)
    assert np.minimum(most, share[:, None]).sum(axis=1) == pytest.approx([6.0, 0.3], abs=PORTION)
