"""The third list of published mixtures, grown: vegetables by preference, on whichever side of 1.

The figures and their sources are in data/experiments_third.yaml, written down before the engine was run on any of them; nothing
is fitted to them. Blind, with the layered canopy and two years, the median error of the partial ratios was 0.16, their mean
error 0.26 and that of the ratios 0.16: seedlings between plants that were set out came to nothing (spinach 0.03 of itself beside
cabbages, rocket 0.03 beside lettuces, beetroot 0.06), since they stopped growing by warmth alone as soon as a neighbour's leaves
met above them; that mended, it was 0.17, the mean 0.23. Since young leaf of cabbages, cauliflowers, carrots and beetroot grows as
fast as one published table has it, it was 0.15, the mean 0.20; with the library of later 0.19 and 0.22. Since seedlings of low
crops are as low as their leaf is small (turnips of two leaves had stood half a metre high), it is 0.17 and 0.21. What is left:
heads of cauliflower and cabbage that stay below the least size where winters are as warm as in Bengal, whose own kinds the trials
grew, and a low crop under a tall one keeps less than trials found. By all that is lifted, as trials weigh it, 18 of the 19 that
gained gain and not 15, the mean error of the parts is 0.19 and not 0.21, their median 0.19 and not 0.17; in the first list the
mean is 0.12 and not 0.13.
"""

from __future__ import annotations

import numpy as np
import pytest
from experiments import lifted, lines_of, mixture, parts_off, third

PARTS_OFF = 0.25
MEAN_OFF = 0.30

pytestmark = pytest.mark.slow


def gains() -> dict[str, bool]:
    """Whether mixtures gain that gained in their trials."""
    return {name: mixture(name).ratio > 1.0 for name, spec in third().items() if spec["side"] == "above"}


def test_partial_ratios_of_the_third_list() -> None:
    print("\n".join(lines_of(third())))
    off = np.abs(parts_off(third()))
    assert len(off) >= 28
    assert np.median(off) < PARTS_OFF
    assert off.mean() < MEAN_OFF


def test_a_crop_between_larger_ones_is_not_lost() -> None:
    """What trials found to keep a fifth to two thirds of itself keeps something: a twentieth at least in nine of ten."""
    low = [
        got
        for name, spec in third().items()
        for c, got in zip(spec["crops"], mixture(name).kept, strict=True)
        if c.get("kept", 0.0) > 0.2
    ]
    assert np.mean(np.array(low) > 0.05) >= 0.9


def test_most_that_gained_gain() -> None:
    assert np.mean(list(gains().values())) >= 0.75


def test_most_that_gained_gain_by_all_that_is_lifted() -> None:
    """Three of four, as asked for of all lists; roots and heads below the least size are weighed too."""
    above = [name for name, spec in third().items() if spec["side"] == "above"]
    assert np.mean([lifted(name).sum() > 1.0 for name in above]) >= 0.75


def test_partial_ratios_of_the_third_list_by_all_that_is_lifted() -> None:
    off = [
        abs(got - c["kept"])
        for name, spec in third().items()
        for c, got in zip(spec["crops"], lifted(name), strict=True)
        if "kept" in c
    ]
    assert np.median(off) < PARTS_OFF
    assert np.mean(off) < MEAN_OFF
