"""Effective number, evenness and niche overlap against scikit-bio and second formulas.

Sources: Hill 1973 (order 1), Pielou 1966, Schoener 1970; scikit-bio's `skbio.diversity.alpha` as an independent
implementation; counts of the niche example: Krebs CJ (1999) Ecological Methodology, Box 13.2, as printed with R
code in public repositories.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixcraft.graph import schoener_overlap
from mixcraft.scoring.measures import effective_number, evenness

COUNTS = st.lists(st.integers(0, 500), min_size=2, max_size=12).filter(lambda counts: sum(c > 0 for c in counts) >= 2)
ONE_BILLIONTH = 1e-9


@given(COUNTS)
@settings(max_examples=100)
def test_effective_number_is_the_exponential_of_shannon(counts: list[int]) -> None:
    from skbio.diversity import alpha as skbio_alpha  # type: ignore[import-untyped]

    expected = math.exp(skbio_alpha.shannon(counts, base=math.e))
    assert effective_number(np.array(counts, dtype=float)) == pytest.approx(expected, rel=ONE_BILLIONTH)


@given(COUNTS)
@settings(max_examples=100)
def test_evenness_is_pielou_s(counts: list[int]) -> None:
    """scikit-bio leaves empty classes out of the number of classes; weeks without a picking are classes here."""
    from skbio.diversity import alpha as skbio_alpha  # type: ignore[import-untyped]

    present = [c for c in counts if c > 0]
    ours = evenness(np.array(present, dtype=float))
    assert ours == pytest.approx(skbio_alpha.pielou_e(present), rel=ONE_BILLIONTH)
    with_empty = evenness(np.array([*present, 0.0]))
    assert with_empty == pytest.approx(ours * math.log(len(present)) / math.log(len(present) + 1), rel=1e-6)


def test_effective_number_of_equal_kinds_is_their_number() -> None:
    """Hill 1973: n kinds of equal weight count as n, whatever the weight."""
    for number in (1, 2, 3, 7):
        assert effective_number(np.full(number, 0.3)) == pytest.approx(number)
    assert effective_number(np.zeros(3)) == 0.0
    assert effective_number(np.array([])) == 0.0


def test_effective_number_by_hand() -> None:
    """Half, a quarter, a quarter: entropy 1.5 bits, so 2 to the power 1.5 = 2.828 kinds."""
    assert effective_number(np.array([2.0, 1.0, 1.0])) == pytest.approx(2.0**1.5)


def test_evenness_at_its_ends() -> None:
    assert evenness(np.array([3.0])) == 1.0
    assert evenness(np.full(5, 2.0)) == pytest.approx(1.0)
    assert evenness(np.array([1.0, 0.0, 0.0])) == pytest.approx(0.0)
    assert evenness(np.zeros(4)) == 0.0
    assert evenness(np.array([])) == 0.0


KREBS = ([7, 1, 286, 71, 0, 0, 0], [0, 0, 38, 24, 30, 140, 5])


def test_niche_overlap_of_krebs_example() -> None:
    """Both use the third class (286 of 365, 38 of 237) and the fourth (71 of 365, 24 of 237).

    By hand: the smaller shares are 38/237 and 24/237, so the overlap is 62/237 = 0.2616.
    """
    a, b = (np.array(counts) / sum(counts) for counts in KREBS)
    assert schoener_overlap(a, b) == pytest.approx(62.0 / 237.0)


@given(st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.01, 1.0)), min_size=1, max_size=15))
@settings(max_examples=100)
def test_niche_overlap_by_a_second_formula(profiles: list[tuple[float, float]]) -> None:
    """Renkonen 1938: the sum of the smaller shares is the same number; it is symmetric and lies in 0..1."""
    a, b = (np.array(column) for column in zip(*profiles, strict=True))
    a, b = a / a.sum(), b / b.sum()
    found = schoener_overlap(a, b)
    assert found == pytest.approx(float(np.minimum(a, b).sum()), abs=1e-12)
    assert found == pytest.approx(schoener_overlap(b, a))
    assert -1e-12 <= found <= 1.0 + 1e-12
    assert schoener_overlap(a, a) == pytest.approx(1.0)
