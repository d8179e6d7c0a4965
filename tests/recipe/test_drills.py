"""Drills by hand: how many lie side by side, and which of them run through large plants that stand there."""

from __future__ import annotations

import pytest
from strategies import bed, planned, planting, recipe

from mixcraft.crops import load_crop
from mixcraft.recipe.constants import constant
from mixcraft.recipe.drills import drill_notes, through_standing
from mixcraft.recipe.model import AtAge, OnDate, Planting, Points, Rows, Span, Strip
from mixcraft.words.notes import note_sentence

NEAR = constant("drill_hand")


def kale(*at: tuple[float, float], start: str = "04-01", **more: object) -> Planting:
    """Kale on drawn points [m]."""
    spots = tuple((Span(x), Span(y)) for x, y in at)
    return planting("kale", "kale", Points(spots), OnDate(start), establish="module", **more)


def radish(at_m: float = 0.5, start: str = "05-01") -> Planting:
    """A drill of radish along the bed at so much of its width [m]."""
    return planting("radish", "radish", Rows("length", (Span(at_m),)), OnDate(start), establish="drills", count=40)


def met(*plantings: Planting) -> list[tuple[str, str, int]]:
    return through_standing(planned(*plantings, one=bed()).plantings)


def test_a_drill_meets_what_stands_within_a_hand_of_it() -> None:
    """Two kales on the line, one just within a hand's breadth, one just beyond it."""
    spots = ((0.5, 0.5), (1.0, 0.5), (1.5, 0.5 + 0.9 * NEAR), (0.7, 0.5 - 1.1 * NEAR))
    assert met(kale(*spots), radish()) == [("radish", "kale", 3)]
    assert met(kale((0.5, 0.9)), radish(0.1)) == []


@pytest.mark.parametrize(("sown", "found"), [("03-20", []), ("04-01", []), ("04-02", [("radish", "kale", 1)])])
def test_it_meets_nothing_that_comes_later_or_on_the_same_day(sown: str, found: list[tuple[str, str, int]]) -> None:
    assert met(kale((1.0, 0.5)), radish(start=sown)) == found


def test_it_meets_nothing_that_has_gone() -> None:
    gone = kale((1.0, 0.5), end=AtAge(30.0))  # cleared on 1 May
    assert met(gone, radish(start="04-30")) == [("radish", "kale", 1)]
    assert met(gone, radish(start="05-01")) == []


def test_small_plants_are_no_hindrance() -> None:
    spots = Points(((Span(1.0), Span(0.5)),))
    small = planting("onion", "onions", spots, OnDate("04-01"), establish="set")
    assert small.crop["canopy.spread"] < constant("drill_large_plant")
    assert met(small, radish()) == []


def test_it_is_told_in_words() -> None:
    told = [
        list(map(note_sentence, drill_notes(planned(kale(*spots), radish(), one=bed()).plantings)))
        for spots in (((1.0, 0.5),), ((0.5, 0.5), (1.0, 0.5)))
    ]
    assert [len(one) for one in told] == [1, 1]
    assert "through a plant of kale" in told[0][0]
    assert "through 2 plants of kale" in told[1][0]


def test_a_recipe_knows_its_plantings_by_name() -> None:
    made = recipe(planting("radish", "first"), planting("kale", "second"), planting("radish", "third"))
    assert [made.planting(name) for name in ("third", "first", "second")] == [made.plantings[i] for i in (2, 0, 1)]
    with pytest.raises(KeyError):
        made.planting("fourth")


@pytest.mark.parametrize(("low", "high"), [(0.0, 2.0), (1.0, 2.0), (0.5, 1.0)])
def test_drills_lie_as_far_apart_as_is_usual_wherever_their_strip_lies(low: float, high: float) -> None:
    """Beetroot across the bed: as many drills as the strip has row distances, evenly, half a distance from its ends."""
    (one,) = planned(planting("beetroot", where=Strip(x=(Span(low), Span(high))), establish="drills"), one=bed()).plantings
    usual = one.planting.crop["spacing.between_rows"] / 100.0
    at = [line[0][0] for line in one.stand.rows]
    apart = (high - low) / len(at)
    assert usual / 1.5 < apart <= 1.1 * usual
    assert at == pytest.approx([low + (n + 0.5) * apart for n in range(len(at))])
    assert {(line[0][1], line[1][1]) for line in one.stand.rows} == {(0.0, 1.0)}


def test_few_plants_stand_in_few_drills() -> None:
    """As many as fill two and a half drills of 1.25 m at the thinnest at which drills are sown stand in two; one in one."""
    thinnest_m = constant("drill_thinnest") * load_crop("beetroot")["spacing.in_row"] / 100.0
    for count, drills in ((int(2.5 * 1.25 / thinnest_m), 2), (1, 1)):
        (one,) = planned(planting("beetroot", establish="drills", count=count), one=bed(2.0, 1.25)).plantings
        assert len(one.stand.rows) == drills
