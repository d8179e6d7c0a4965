"""The bed's year by hand: "20 October" and "10 April" in one recipe are read in the order that brings all to harvest soonest,
unless plants that share their ground would then stand on it together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, planned, planting, recipe

from mixcraft.crops.development import NEVER
from mixcraft.recipe.bed_year import shared_ground, years_later
from mixcraft.recipe.constants import constant
from mixcraft.recipe.layout import Stand
from mixcraft.recipe.model import After, OnDate, Span, Strip

GARLIC, SALAD = (292, 562, 570), (99, 150, 160)
"""Start, first picking and end of garlic of 20 October and of a salad of 10 April, days of a year that begins in January."""


def later(dates: tuple[tuple[int, int, int], ...], shared: float, *more: object) -> tuple[int, ...]:
    """Days by which plantings with such dates start later, all of them sharing so much ground."""
    plantings = [planting("radish", f"planting {n}") for n in range(len(dates) - len(more))]
    starts, ready, ends = zip(*dates, strict=True)
    ground = np.where(np.eye(len(dates), dtype=bool), 1.0, shared)
    return years_later(recipe(*plantings, *more), starts, ready, ends, ground)  # type: ignore[arg-type]


def test_garlic_of_the_autumn_before_stands_among_the_salads_of_spring() -> None:
    """In 270 days all is picked, the salad a year later; salads first would take 463."""
    assert later((GARLIC, SALAD), 0.0) == (0, 365)
    assert later((SALAD, GARLIC), 0.0) == (365, 0)


def test_on_the_same_ground_salads_go_before_garlic() -> None:
    assert later((GARLIC, SALAD), 1.0) == (0, 0)
    assert later((GARLIC, SALAD), constant("bed_year_shared")) == (0, 365)  # so little in common is none


def test_what_stands_together_anyway_may_stand_together_as_long() -> None:
    """A salad that would meet the garlic on its ground for so many days in either order is read in the quicker one."""
    long_salad = (99, 150, 353)  # 61 days with the garlic of 20 October; 60 a year later, which ends before
    garlic = (292, 515, 524)
    assert later((garlic, long_salad), 1.0) == (0, 365)


def test_a_month_gained_is_no_reason_to_read_dates_backwards() -> None:
    """Day 100 to 150, and day 300 to so much after 315: read backwards, the first begins on day 465 and is ready on 515, 215 days
    after the other began; read forwards, the other is ready 215 days and so much after the first began."""
    gain = int(constant("bed_year_gain_days"))
    assert later(((100, 150, 150), (300, 315 + gain, 320)), 0.0) == (0, 0)
    assert later(((100, 150, 150), (300, 316 + gain, 320)), 0.0) == (365, 0)


def test_three_dates_are_turned_where_the_year_has_its_gap() -> None:
    """Autumn, winter and spring: the two that are sown before the spring's end come a year later, together."""
    autumn, early, late = (280, 540, 560), (60, 120, 130), (110, 180, 190)
    assert later((autumn, early, late), 0.0) == (0, 365, 365)


def test_what_waits_for_another_moves_with_it() -> None:
    waiting = planting("spinach", "next", start=After("planting 1", "end", 0.0))
    assert later((GARLIC, SALAD, (160, 200, 210)), 0.0, waiting) == (0, 365, 365)


def test_a_whole_plan_is_read_so() -> None:
    """Garlic beside lettuce, each on its half of the bed, and one after the other on the same half."""
    halves = [Strip(x=(Span(a, True), Span(a + 0.5, True))) for a in (0.0, 0.5)]

    def starts(where: Strip) -> list[str]:
        settled = planned(
            planting("garlic", "garlic", halves[0], OnDate("10-20"), establish="plant", count=20),
            planting("lettuce-loose-leaf", "lettuce", where, OnDate("04-10"), establish="module", count=10), one=bed(),
        )  # fmt: skip
        return [str(settled.date(p.start))[:7] for p in settled.plantings]

    (garlic, lettuce), (after, before) = starts(halves[1]), starts(halves[0])
    assert garlic < lettuce
    assert before < after


def test_ground_in_common_is_that_of_the_smaller() -> None:
    cells = [np.array([[1.0, 1.0, 0.0, 0.0]]), np.array([[0.0, 1.0, 1.0, 1.0]]), np.array([[0.0, 0.0, 0.0, 0.5]])]
    found = shared_ground([Stand(one, 1.0, 1.0) for one in cells])
    assert found == pytest.approx(np.array([[1.0, 0.5, 0.0], [0.5, 1.0, 1.0], [0.0, 1.0, 1.0]]))


def test_what_never_comes_is_never_on_every_count_of_days() -> None:
    """Okra is not picked in Lerwick, whose plan counts its days from the sowing and not from January."""
    settled = planned(planting("okra", start=OnDate("06-01")), where="Lerwick")
    assert settled.plantings[0].start == 0
    assert (settled.plantings[0].first_harvest, settled.plantings[0].last_harvest) == (NEVER, -1)


def test_what_stands_makes_nobody_wait_for_its_harvest() -> None:
    """Lavender of July that stands, and whose turn comes next July, leaves the salad of April where it is; newly planted it is
    among the salads of the spring after it."""
    lavender, salad = (200, 556, 590), (99, 150, 160)
    plantings = [planting("lavender", "stands", establish="plant", start=OnDate("07-20")), planting("radish", "salad")]
    plain = years_later(recipe(*plantings), *zip(lavender, salad, strict=True), np.eye(2))
    standing = [replace(plantings[0], years=3), plantings[1]]
    assert plain == (0, 365)
    assert years_later(recipe(*standing), *zip(lavender, salad, strict=True), np.eye(2)) == (0, 0)
