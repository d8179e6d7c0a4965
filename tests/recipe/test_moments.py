"""Moments as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixcraft.recipe.model import AtEvent, Moment, OnDay
from mixcraft.recipe.moments import EVENTS, MomentError, check_month_day, parse_moment


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("start", AtEvent("start")),
        ("emergence + 3 weeks", AtEvent("emergence", 21.0)),
        ("emergence+3weeks", AtEvent("emergence", 21.0)),
        ("First Harvest - 5 days", AtEvent("first harvest", -5.0)),
        ("first-harvest", AtEvent("first harvest")),
        ("last harvest + 1 wk", AtEvent("last harvest", 7.0)),
        ("flower + 10 d", AtEvent("flower", 10.0)),
        ("  end  ", AtEvent("end")),
        ("start + 1.5 weeks", AtEvent("start", 10.5)),
        ("10-15", OnDay("10-15")),
        ("02-28", OnDay("02-28")),
    ],
)
def test_what_is_understood(text: str, moment: Moment) -> None:
    assert parse_moment(text) == moment


@pytest.mark.parametrize(
    "text",
    ["", "soon", "3 weeks", "start + weeks", "start 3 weeks", "emergence + 3 months", "02-29", "02-30", "04-31", "13-01",
     "4-15", "start + -3 days", "start + 3", "10-15 + 2 weeks"],
)  # fmt: skip
def test_what_is_refused_with_help(text: str) -> None:
    with pytest.raises(MomentError) as caught:
        parse_moment(text)
    assert "write one of" in str(caught.value) or "every year" in str(caught.value)


@given(st.sampled_from(EVENTS), st.sampled_from("+-"), st.integers(1, 500), st.sampled_from([("days", 1), ("weeks", 7)]))
@settings(max_examples=50)
def test_offsets_are_days(event: str, sign: str, number: int, unit: tuple[str, int]) -> None:
    found = parse_moment(f"{event} {sign} {number} {unit[0]}")
    assert found == AtEvent(event, float(number * unit[1] * (1 if sign == "+" else -1)))


@pytest.mark.parametrize(("text", "pair"), [("01-31", (1, 31)), ("12-31", (12, 31)), ("06-30", (6, 30))])
def test_days_of_every_year(text: str, pair: tuple[int, int]) -> None:
    assert check_month_day(text) == pair
