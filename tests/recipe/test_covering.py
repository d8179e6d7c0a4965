"""Covers over one planting on the same days: one inside the other, or one sheet named twice."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from mixcraft.place import cover, covers_together
from mixcraft.recipe.covering import shelter


class Lying(NamedTuple):
    kind: str
    on: int
    off: int


def test_two_kinds_at_once_are_what_they_make_together() -> None:
    found = shelter([Lying("polytunnel", 0, 8), Lying("fleece", 4, 12)], 12)
    both, tunnel, fleece = covers_together(frozenset({"fleece", "polytunnel"})), cover("polytunnel"), cover("fleece")
    for name, alone, together, after in (
        ("min_gain_c", tunnel.min_gain_c, both.min_gain_c, fleece.min_gain_c),
        ("mean_gain_c", tunnel.mean_gain_c, both.mean_gain_c, fleece.mean_gain_c),
        ("frost_gain", tunnel.frost_gain, both.frost_gain, fleece.frost_gain),
        ("sky", tunnel.sky, both.sky, fleece.sky),
        ("light", tunnel.light, both.light, fleece.light),
        ("rain", tunnel.rain, both.rain, fleece.rain),
        ("height_m", tunnel.height_m, both.height_m, fleece.height_m),
    ):
        values = getattr(found, name)
        assert values[:4] == pytest.approx(np.full(4, alone)), name
        assert values[4:8] == pytest.approx(np.full(4, together)), name
        assert values[8:] == pytest.approx(np.full(4, after)), name
    assert found.pests_out[4:].all()


def test_one_sheet_over_several_plantings_counts_once() -> None:
    twice = shelter([Lying("fleece", 0, 6), Lying("fleece", 3, 9)], 12)
    once = shelter([Lying("fleece", 0, 9)], 12)
    assert np.array_equal(twice.min_gain_c, once.min_gain_c)
    assert np.array_equal(twice.light, once.light)


def test_the_order_of_covers_does_not_matter() -> None:
    spans = [Lying("fleece", 0, 6), Lying("cold-frame", 3, 9), Lying("mesh", 5, 12)]
    here, there = shelter(spans, 12), shelter(spans[::-1], 12)
    assert here.mean_gain_c == pytest.approx(there.mean_gain_c)
    assert here.light == pytest.approx(there.light)


def test_days_before_the_first_are_cut_off() -> None:
    found = shelter([Lying("fleece", -5, 3)], 6, first=-2)
    assert (found.min_gain_c > 0).tolist() == [True, True, True, True, True, False]


def test_ground_under_a_closed_cover_makes_good_its_share_of_the_frost() -> None:
    found = shelter([Lying("polytunnel", 0, 2)], 3)
    tunnel, nights = cover("polytunnel"), np.array([[-20.0, 5.0, -20.0]])
    warmed = found.min_c(nights) - nights
    assert warmed[0] == pytest.approx([tunnel.min_gain_c + 20.0 * tunnel.frost_gain, tunnel.min_gain_c, 0.0])
    # of the frost that the tunnel leaves, a sheet within makes good its own share, and no share of none
    both = shelter([Lying("polytunnel", 0, 2), Lying("fleece", 0, 3)], 3)
    left = (1.0 - tunnel.frost_gain) * (1.0 - cover("fleece").frost_gain_inside)
    assert both.frost_gain == pytest.approx([1.0 - left, 1.0 - left, 0.0])
