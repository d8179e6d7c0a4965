"""Sentences in US units: each quantity by the definition of its unit (Refinement of values for the yard and the pound, 1959)."""

from __future__ import annotations

import pytest

from mixcraft.words.us import in_dates, in_units


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("a young plant dies at -2 C; 30 cm apart", "a young plant dies at 28 F; 12 in apart"),
        ("lowered by 1.4 C for it", "lowered by 2.5 F for it"), ("3 x 1.2 m", "9.8 x 3.9 ft"),
        ("20 plants/m2 (`density: 20 plants/m2`)", "1.9 plants/sq ft (`density: 20 plants/m2`)"),
        ("from 2.5 to 11 kg/m2", "from 0.51 to 2.3 lb/sq ft"), ("196 litres of compost", "52 US gal of compost"),
        ("9 weeks, 43 % of 5 beds", "9 weeks, 43 % of 5 beds"), ("136 km away", "85 mi away"), ("25 mm a week", "1 in a week"),
    ],
)  # fmt: skip
def test_quantities(metric: str, us: str) -> None:
    assert in_units(metric, "us") == us
    assert in_units(metric, "metric") == metric


def test_days() -> None:
    assert in_dates("from 19 April to 27 May, 3 Jun", "us") == "from April 19 to May 27, Jun 3"
    assert in_dates("19 April", "metric") == "19 April"
