"""Light sharing against closed forms and a second implementation.

Sources: Monsi & Saeki 1953 (Beer's law in a canopy); for two species in one layer the exact solution A_i = k_i
L_i / (k_1 L_1 + k_2 L_2) (1 - exp(-k_1 L_1 - k_2 L_2)), e.g. Keating & Carberry 1993 and the arbitration of
APSIM's CANOPY module (apsim.info, model documentation, canopy intercropping), which divides a mixed canopy at
every crop's top. The second implementation here marches down a canopy in thin slices, which needs no formula
for a layer.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from mixcraft.season.light_layers import LightShares, absorb_layers, overlaps

Floats = NDArray[np.float64]

ONE_MILLIONTH = 1e-6
THIN_SLICES = 4000
SLICE_ERROR = 1e-3  # first order in the slice: half of 12 k L / 4000


@st.composite
def canopies(draw: st.DrawFn, least: int = 1) -> tuple[Floats, Floats, Floats]:
    """Leaf area indices, heights [m] and extinction coefficients of plantings on the same ground."""
    count = draw(st.integers(least, 5))

    def some(low: float, high: float) -> Floats:
        return np.array(draw(st.lists(st.floats(low, high), min_size=count, max_size=count)))

    return some(0.0, 6.0), some(0.02, 2.5), some(0.3, 0.9)


def share(lai: Floats, height: Floats, k: Floats, area: Floats | None = None, overlap: Floats | None = None) -> LightShares:
    """`absorb_layers` for one year."""
    count = len(lai)
    area = np.ones(count) if area is None else area
    overlap = np.ones((count, count)) if overlap is None else overlap
    return absorb_layers(lai[None], height[None], k, area, overlap, attribute=True)


def marched(lai: Floats, height: Floats, k: Floats) -> Floats:
    """Second implementation: march down in thin slices, each taking its share of what is left."""
    top = float(height.max())
    light = 1.0
    absorbed = np.zeros(len(lai))
    step = top / THIN_SLICES
    for n in range(THIN_SLICES):
        middle = top - (n + 0.5) * step
        rate = np.where(middle < height, k * lai / height, 0.0) * step
        absorbed += light * rate
        light *= 1.0 - rate.sum()
    return absorbed


@pytest.mark.parametrize(("lai", "k"), [(0.1, 0.5), (1.0, 0.65), (3.0, 0.5), (8.0, 0.9)])
def test_one_uniform_canopy_is_beer_lambert(lai: float, k: float) -> None:
    found = share(np.array([lai]), np.array([0.4]), np.array([k]), area=np.array([2.5]))
    assert found.absorbed[0, 0] == pytest.approx(2.5 * (1.0 - np.exp(-k * lai)), abs=ONE_MILLIONTH)
    assert found.alone[0, 0] == pytest.approx(found.absorbed[0, 0], abs=ONE_MILLIONTH)


@given(st.floats(0.01, 6.0), st.floats(0.01, 6.0), st.floats(0.3, 0.9), st.floats(0.3, 0.9), st.floats(0.1, 2.0))
@settings(max_examples=100)
def test_two_species_of_one_height(la: float, lb: float, ka: float, kb: float, height: float) -> None:
    found = share(np.array([la, lb]), np.array([height, height]), np.array([ka, kb]))
    total = ka * la + kb * lb
    caught = 1.0 - np.exp(-total)
    assert found.absorbed[0, 0] == pytest.approx(caught * ka * la / total, abs=ONE_MILLIONTH)
    assert found.absorbed[0, 1] == pytest.approx(caught * kb * lb / total, abs=ONE_MILLIONTH)


def test_tall_over_short_by_hand() -> None:
    """Maize of 2 m, L 2, k 0.5 over beans of 1 m, L 3, k 0.6.

    By hand: half of the maize stands above the beans, k L = 0.5: it takes 1 - exp(-0.5) = 0.393469 of the light
    and passes 0.606531. Below, k L is 0.5 of maize and 1.8 of beans, 2.3 together: 1 - exp(-2.3) = 0.899741 of
    0.606531 is 0.545721, of which maize takes 0.5 / 2.3 = 0.118635 and beans 1.8 / 2.3 = 0.427086. Maize has
    0.512104 in all.
    """
    found = share(np.array([2.0, 3.0]), np.array([2.0, 1.0]), np.array([0.5, 0.6]))
    assert found.absorbed[0, 0] == pytest.approx(0.512104, abs=2e-6)
    assert found.absorbed[0, 1] == pytest.approx(0.427086, abs=2e-6)
    assert found.alone[0, 0] == pytest.approx(0.632121, abs=ONE_MILLIONTH)  # 1 - exp(-1.0)
    assert found.alone[0, 1] == pytest.approx(0.834701, abs=ONE_MILLIONTH)  # 1 - exp(-1.8)
    assert found.taken is not None
    assert found.taken[0, 1, 0] == pytest.approx(0.834701 - 0.427086, abs=3e-6)
    assert found.taken[0, 0, 1] == pytest.approx(0.632121 - 0.512104, abs=3e-6)


@given(canopies())
@settings(max_examples=12)
def test_thin_slices_give_the_same(canopy: tuple[Floats, Floats, Floats]) -> None:
    lai, height, k = canopy
    found = share(lai, height, k)
    assert np.allclose(found.absorbed[0], marched(lai, height, k), atol=SLICE_ERROR, rtol=0.0)


@given(canopies())
@settings(max_examples=150)
def test_energy_is_conserved(canopy: tuple[Floats, Floats, Floats]) -> None:
    """What all absorb is what does not reach the ground: 1 - exp(-sum k L), whatever the heights."""
    lai, height, k = canopy
    found = share(lai, height, k)
    assert (found.absorbed >= 0.0).all()
    assert found.absorbed.sum() == pytest.approx(1.0 - np.exp(-(k * lai).sum()), abs=ONE_MILLIONTH)


@given(canopies(least=2), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_the_order_of_plantings_does_not_matter(canopy: tuple[Floats, Floats, Floats], rng: object) -> None:
    lai, height, k = canopy
    order = list(range(len(lai)))
    rng.shuffle(order)  # type: ignore[attr-defined]
    one, other = share(lai, height, k), share(lai[order], height[order], k[order])
    assert one.taken is not None
    assert other.taken is not None
    assert np.allclose(one.absorbed[0][order], other.absorbed[0], atol=1e-12)
    assert np.allclose(one.taken[0][np.ix_(order, order)], other.taken[0], atol=1e-9)


@given(canopies(least=2))
@settings(max_examples=150)
def test_losses_are_attributed_in_full(canopy: tuple[Floats, Floats, Floats]) -> None:
    """Each planting's row of `taken` sums to what it lost; nobody takes from itself; nothing is negative."""
    found = share(*canopy)
    assert found.taken is not None
    assert (found.taken >= 0.0).all()
    assert np.allclose(np.diagonal(found.taken[0]), 0.0)
    assert np.allclose(found.taken[0].sum(axis=1), found.alone[0] - found.absorbed[0], atol=ONE_MILLIONTH)


@given(canopies(least=2))
@settings(max_examples=100)
def test_a_neighbour_never_adds_light(canopy: tuple[Floats, Floats, Floats]) -> None:
    lai, height, k = canopy
    fewer = share(lai[:-1], height[:-1], k[:-1])
    more = share(lai, height, k)
    assert (more.absorbed[0, :-1] <= fewer.absorbed[0] + 1e-12).all()
    assert (more.absorbed <= more.alone + 1e-12).all()


@given(canopies(least=2), st.floats(0.05, 2.0))
@settings(max_examples=60)
def test_growing_taller_never_loses_light(canopy: tuple[Floats, Floats, Floats], gain: float) -> None:
    lai, height, k = canopy
    taller = height.copy()
    taller[0] += gain
    assert share(lai, taller, k).absorbed[0, 0] >= share(lai, height, k).absorbed[0, 0] - 1e-12


@given(canopies(least=2))
@settings(max_examples=60)
def test_plantings_on_ground_of_their_own_do_not_meet(canopy: tuple[Floats, Floats, Floats]) -> None:
    lai, height, k = canopy
    found = share(lai, height, k, overlap=np.eye(len(lai)))
    assert found.taken is not None
    assert np.allclose(found.absorbed, found.alone, atol=1e-12)
    assert np.allclose(found.taken, 0.0, atol=1e-12)


def test_overlap_of_cells() -> None:
    """A planting on all of four cells and one on half of the first: half a cell of four, all of the half cell."""
    cells = np.array([[[1.0, 1.0], [1.0, 1.0]], [[0.5, 0.0], [0.0, 0.0]]])
    assert overlaps(cells) == pytest.approx(np.array([[1.0, 0.125], [1.0, 1.0]]))


@given(canopies(least=2), st.floats(0.05, 1.0))
@settings(max_examples=60)
def test_a_strip_inside_a_mixture_gives_no_more_than_the_sky(canopy: tuple[Floats, Floats, Floats], part: float) -> None:
    """One planting stands on part of the ground of the others: together they never absorb more than falls on
    the ground.
    """
    lai, height, k = canopy
    count = len(lai)
    area = np.ones(count)
    area[0] = part
    overlap = np.ones((count, count))
    overlap[1:, 0] = part
    found = share(lai, height, k, area=area, overlap=overlap)
    assert found.absorbed.sum() <= 1.0 + 1e-9
    assert (found.absorbed[0] <= area + 1e-12).all()
