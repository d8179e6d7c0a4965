"""Distances that are told to who plants: in the row, and between drawn places."""

from __future__ import annotations

import pytest
from strategies import planned, planting

from mixcraft.recipe.model import Points, Rows, Span, Strip
from mixcraft.recipe.steps import apart_m, in_row_m, sowing_steps


def at(*places: tuple[float, float]) -> Points:
    """Places drawn in metres."""
    return Points(at=tuple((Span(x), Span(y)) for x, y in places))


@pytest.mark.parametrize(
    ("places", "apart"),
    [
        (((0.5, 0.5),), None), (((0.4, 0.5), (0.8, 0.5)), 0.4),
        (((0.2, 0.5), (0.5, 0.5), (0.7, 0.5)), 0.2),  # to the next: 0.3, 0.2 and 0.2
    ],
)  # fmt: skip
def test_plants_on_drawn_places_are_as_far_apart_as_drawn(places: tuple[tuple[float, float], ...], apart: float | None) -> None:
    found = planned(planting("lettuce-cos", where=at(*places), establish="module")).plantings[0]
    assert in_row_m(found) is None
    assert apart_m(found) == (None if apart is None else pytest.approx(apart))


def test_plants_in_a_row_share_its_length() -> None:
    """Eight on a row of two metres."""
    found = planned(planting("leek", where=Rows(along="length", at=(Span(0.5),)), establish="module", count=8)).plantings[0]
    assert in_row_m(found) == pytest.approx(0.25)
    assert apart_m(found) == in_row_m(found)


def test_what_is_sown_is_told_by_the_square_metre_and_what_is_planted_by_the_piece() -> None:
    """Half of the bed of two square metres under carrots; modules are sown indoors and hardened before they are planted."""
    half = Strip(x=(Span(0.0, True), Span(0.5, True)))
    plan = planned(planting("carrot-maincrop", where=half), planting("lettuce-cos", establish="module", count=6))
    steps = {step.kind: step for step in sowing_steps(plan)}
    assert {"sow", "indoors", "harden", "plant"} <= set(steps)
    carrots, lettuces = plan.plantings
    assert steps["sow"].amounts["seed_g_per_m2"] == pytest.approx(carrots.seed_g / 1.0)
    assert steps["sow"].amounts["sown_per_m2"] == carrots.density_per_m2
    assert not {"seed_g_per_m2", "sown_per_m2"} & set(steps["plant"].amounts)
    assert steps["plant"].amounts["plants"] == 6.0
    assert steps["indoors"].amounts["modules"] >= lettuces.seeds
    assert steps["indoors"].day < steps["harden"].day < steps["plant"].day
