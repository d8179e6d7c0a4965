"""Remedies for each kind of reason: the change is what was meant, it gains, and it takes nothing from what was complained of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.files.facts import Facts
from mixcraft.recipe.density import densest
from mixcraft.recipe.model import (
    AtTrellis,
    Border,
    Density,
    HarvestUse,
    OnDate,
    Planting,
    Plate,
    Points,
    Rows,
    Span,
    Strip,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.scoring import score
from mixcraft.scoring.candidates import candidates
from mixcraft.scoring.model import Reason, Score
from mixcraft.scoring.remedies import in_goes, mirrored, other_crop, thin_itself
from mixcraft.scoring.repairs import with_repairs
from mixcraft.words import repair_sentence
from mixcraft.words.repairs import SENTENCES

HALVES = [Strip(x=(Span(a, True), Span(a + 0.5, True))) for a in (0.0, 0.5)]
PLATE = Plate("05-15", "10-15", portions=4.0)


@pytest.mark.parametrize(
    ("where", "along", "across"),
    [
        (WholeBed(), WholeBed(), WholeBed()),
        (HALVES[0], HALVES[1], HALVES[0]),
        (Zone((Span(0.0), Span(1.0)), (Span(0.2), Span(0.5))), Zone((Span(2.0), Span(3.0)), (Span(0.2), Span(0.5))),
         Zone((Span(0.0), Span(1.0)), (Span(0.5), Span(0.8)))),
        (Rows("width", (Span(0.4),)), Rows("width", (Span(2.6),)), Rows("width", (Span(0.4),))),
        (Rows("length", (Span(0.4),)), Rows("length", (Span(0.4),)), Rows("length", (Span(0.6),))),
        (Points(((Span(0.5), Span(0.25)),)), Points(((Span(2.5), Span(0.25)),)), Points(((Span(0.5), Span(0.75)),))),
        (Border("north"), Border("south"), Border("south")),
        (AtTrellis("any"), AtTrellis("any"), AtTrellis("any")),
    ],
)  # fmt: skip
def test_places_mirrored(where: Where, along: Where, across: Where) -> None:
    """In a bed of 3 x 1 m."""
    assert mirrored(where, 3.0, 1.0, along=True) == along
    assert mirrored(where, 3.0, 1.0, along=False) == across


def scored(*plantings: Planting, **more: object) -> Score:
    return score(grown(*plantings, one=bed(plate=PLATE, **more), years=3))  # type: ignore[arg-type]


def kinds_for(result: Score, cause: str) -> tuple[Reason, set[str]]:
    """The first reason of a cause, and the kinds of change that are tried against it."""
    reason = next(r for r in result.reasons if r.cause == cause)
    found = list(candidates(reason, result.season))
    assert {c.kind for c in found} <= set(SENTENCES)
    assert all(c.recipe != result.season.plan.recipe for c in found)
    return reason, {c.kind for c in found}


CORN = planting("sweet-corn", "corn", HALVES[0], OnDate("05-10"), establish="stations", density_per_m2=6.0)
LETTUCE = planting("lettuce-cos", "lettuce", HALVES[1], OnDate("07-01"), establish="module", count=8)


def test_the_tall_on_the_sunny_side_is_moved() -> None:
    """Both in each other's place: what was lost to the shadow comes back."""
    result = scored(CORN, LETTUCE)
    reason, kinds = kinds_for(result, "sunny side")
    assert {"mirror", "exchange"} <= kinds
    both = next(c for c in candidates(reason, result.season) if c.kind == "exchange")
    assert [p.where for p in both.recipe.plantings] == HALVES[::-1]
    after = scored(*both.recipe.plantings)
    assert not [r for r in after.reasons if r.cause == "sunny side"]
    assert after.part("canopy").score > result.part("canopy").score + 5.0


def test_a_thick_stand_is_thinned_to_the_usual() -> None:
    high = planned(planting("carrot-maincrop")).plantings[0].planting.crop.records["spacing.density"].high or 0.0
    result = scored(planting("carrot-maincrop", "carrots", density_per_m2=1.6 * high), planting("lettuce-cos", "a", count=6,
                    establish="module"))  # fmt: skip
    reason, kinds = kinds_for(result, "too thick")
    assert "thin" in kinds
    first = next(c for c in candidates(reason, result.season) if c.kind == "thin")
    after = scored(*first.recipe.plantings)
    assert not [r for r in after.reasons if r.cause == "too thick"]


def test_thinning_never_sows_more() -> None:
    """Above the densest usual stand both it and the usual one are tried; between the two the usual one; below it nothing."""
    season = grown(planting("spinach", "spinach"), years=1)
    (planned,) = season.plan.plantings
    most, usual = densest(planned), planned.planting.crop["spacing.density"]
    assert usual < most
    for density, count in ((1.5 * most, 2), (0.5 * (usual + most), 1), (0.8 * usual, 0)):
        reason = Reason("canopy", "too thick", 5.0, ("spinach",), None, Facts(density=density))
        found = list(thin_itself(reason, season))
        assert len(found) == count
        assert all(change.numbers["per_m2"] < planned.density_per_m2 for change in found)


def test_a_gap_is_bridged_by_quick_crops_at_a_quarter_of_their_stand() -> None:
    """Each is sown so early that it is ready a week before the gap, the bed's own quick crop first; none before the season."""
    season = grown(planting("radish", "radish", where=HALVES[0]), years=1)
    first = season.plan.start + np.timedelta64(120, "D")
    reason = Reason("continuity", "gap", 5.0, (), (first, first + np.timedelta64(20, "D")))
    found = [c for c in candidates(reason, season) if c.kind == "sow"]
    assert [c.recipe.plantings[-1].crop.id for c in found] == ["radish", "lettuce-baby-leaf"]
    assert [c.recipe.plantings[-1].name for c in found] == ["radish again", "baby-leaf lettuce"]
    for change in found:
        crop, added = change.recipe.plantings[-1].crop, change.recipe.plantings[-1]
        assert isinstance(added.amount, Density)
        assert added.amount.per_m2 == change.numbers["per_m2"] == pytest.approx(crop["spacing.density"] / 4.0, rel=0.05)
        ready = np.timedelta64(int(crop["development.days_to_harvest"]) + 7, "D")
        assert np.datetime64(change.names["date"][0]) + ready == first
        assert added.start == OnDate(change.names["date"][0][5:])
    early = replace(reason, weeks=(season.plan.start + np.timedelta64(7, "D"), first))
    assert not [c for c in candidates(early, season) if c.kind == "sow"]


def test_two_on_one_spot_are_moved_apart() -> None:
    spots = Points(((Span(0.5), Span(0.5)), (Span(1.5), Span(0.5))))
    a, b = (planting("cabbage-summer", n, spots, OnDate(d), establish="module") for n, d in (("a", "05-01"), ("b", "05-20")))
    result = scored(a, b)
    reason, kinds = kinds_for(result, "one spot")
    assert kinds == {"spread", "shift", "drop"}
    for change in candidates(reason, result.season):
        assert not [r for r in scored(*change.recipe.plantings).reasons if r.cause == "one spot"], change.kind


def test_a_glut_is_sown_in_goes_or_picked_otherwise() -> None:
    lettuce = planting("lettuce-cos", "lettuce", establish="module", count=30, start=OnDate("04-25"),
                       harvest=(HarvestUse("head", "once"),))  # fmt: skip
    result = scored(lettuce)
    _, kinds = kinds_for(result, "glut")
    assert "split" in kinds


@pytest.mark.parametrize(
    ("harvest", "ways"),
    [
        ((), {("leaves", "cut")}), ((HarvestUse("leaves", "cut"),), {("leaves", "leaf")}),
        ((HarvestUse("leaves", "once"),), {("leaves", "leaf"), ("leaves", "cut")}), ((HarvestUse("thinnings", "thin"),), set()),
    ],
)  # fmt: skip
def test_a_glut_is_picked_in_the_other_ways_of_its_part(harvest: tuple[HarvestUse, ...], ways: set[tuple[str, str]]) -> None:
    """Loose-leaf lettuce is picked leaf by leaf where a recipe says nothing; it can be cut as well, and never pulled."""
    season = grown(planting("lettuce-loose-leaf", "lettuce", harvest=harvest), years=1)
    found = list(in_goes(Reason("continuity", "glut", 5.0, ("lettuce",)), season))
    goes = [(change.numbers["sowings"], change.numbers["days"]) for change in found if change.kind == "split"]
    assert goes == [(2.0, 21.0), (3.0, 14.0)]
    assert {(c.names["part"][0], c.names["method"][0]) for c in found if c.kind == "method"} == ways
    for change in found:
        if change.kind == "method":
            (use,) = change.recipe.plantings[0].harvest
            assert (use.part, use.method) in ways


def test_what_is_no_food_is_swapped_or_left_out() -> None:
    result = scored(planting("phacelia", "phacelia", HALVES[0]), planting("radish", "radish", HALVES[1]))
    _, kinds = kinds_for(result, "no food")
    assert kinds == {"drop", "swap"}


def test_after_a_host_another_family_is_tried() -> None:
    kale, peas = planting("kale", "kale", establish="module", count=4), planting("pea-dwarf", "peas")
    result = scored(kale, peas, history=((1, ("cabbage-winter",)),))
    reason, kinds = kinds_for(result, "rotation")
    assert kinds == {"swap", "drop"}
    for change in candidates(reason, result.season):
        if change.kind == "swap":
            assert change.recipe.plantings[0].crop.family != "Brassicaceae"


@pytest.mark.parametrize(
    ("cause", "plantings", "replaced"),
    [
        ("little", ("kale",), {"kale"}), ("bolting", ("kale",), {"kale"}), ("rotation", ("kale",), {"kale"}),
        ("shared soil", ("kale", "peas"), {"peas"}), ("shared pests", ("kale", "radish"), {"radish"}),
        ("few families", ("kale", "radish"), {"radish"}), ("few families", ("kale",), set()),
        ("few kinds", (), {"more radish"}), ("too thick", ("kale",), set()),
    ],
)  # fmt: skip
def test_who_is_replaced(cause: str, plantings: tuple[str, ...], replaced: set[str]) -> None:
    """The one that suffers; of a pair, or of several of a family, the last; the second planting of a crop where kinds are few; a
    single planting of a family is the only one that there is."""
    season = grown(
        planting("kale", "kale", establish="module", count=4), planting("pea-dwarf", "peas"), planting("radish", "radish"),
        planting("radish", "more radish"), years=1,
    )  # fmt: skip
    found = list(other_crop(Reason("families", cause, 5.0, plantings), season))
    assert {name for change in found for name in change.plantings} == replaced
    names = [p.name for p in season.plan.recipe.plantings]
    for change in found:
        assert change.recipe.plantings[names.index(change.plantings[0])].crop.name == change.names["crop"][0]


def test_what_is_offered_gains_and_takes_nothing_from_its_part() -> None:
    """Corn on the sunny side of lettuce: the repair that is offered is what was re-scored."""
    result = scored(CORN, LETTUCE)
    mended = with_repairs(result)
    offered = [r for r in mended.reasons if r.repair is not None]
    assert offered
    for reason in offered:
        repair = reason.repair
        assert repair is not None
        after = scored(*repair.recipe.plantings)
        assert repair.overall_after >= result.overall + 0.5
        assert after.part(reason.part).score >= result.part(reason.part).score - 1e-9
        assert repair_sentence(repair).endswith(".")


@pytest.mark.parametrize(("plants", "left"), [(1, []), (2, [1.0]), (10, [6.0, 4.0])])
def test_counted_plants_are_thinned_to_shares_of_them(plants: int, left: list[float]) -> None:
    """Corn that takes the light of lettuce: six and four of ten are tried, one of two, and the last one stays."""
    corn = planting("sweet-corn", "corn", start=OnDate("05-05"), establish="stations", count=plants)
    season = grown(corn, planting("lettuce-cos", "lettuce", start=OnDate("06-15"), establish="module", count=6))
    reason = Reason("canopy", "light", 5.0, ("lettuce",), None, Facts(), Facts(), ("corn", "lettuce", "takes light"))
    found = [one.numbers["count"] for one in candidates(reason, season) if one.kind == "fewer" and one.plantings == ("corn",)]
    assert list(dict.fromkeys(found)) == left
