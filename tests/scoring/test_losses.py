"""What takes growth: shares that sum to the whole, each cause where it alone is at work, and the same said in words."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.recipe.model import AtAge, AtEvent, CoverUse, Feeding, HarvestUse, OnDate, OnDay, Planting, Span, Strip, Watering
from mixcraft.scoring import score
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.losses import GROWTH_CAUSES, growth_factors, growth_losses, light_takers, room_takers
from mixcraft.scoring.measures import growth_kept, middles
from mixcraft.scoring.model import Reason
from mixcraft.scoring.shortfall import CAUSES, shortfalls
from mixcraft.scoring.shortfall import _own_way as own_way
from mixcraft.season.overlaps import bed_overlaps
from mixcraft.season.result import Season
from mixcraft.words.reasons import reason_sentence

DEMO = Path(__file__).parents[2] / "recipes_demo"
LIGHT, WATER, NUTRIENTS, ROOM = range(4)
CORN = planting("sweet-corn", "corn", start=OnDate("05-05"), establish="stations", density_per_m2=8.0)
LETTUCE = planting("lettuce-cos", "lettuce", start=OnDate("07-01"), establish="module", count=16)


def losses(season: Season) -> np.ndarray:
    """Share of the growth alone that is lost, by planting and cause."""
    return growth_losses(season, middles(growth_kept(season)))


def test_losses_sum_to_the_whole_and_a_planting_alone_loses_nothing() -> None:
    season = grown(CORN, LETTUCE, planting("radish"), years=3)
    kept = middles(growth_kept(season))
    assert losses(season).shape == (3, len(GROWTH_CAUSES))
    assert losses(season).sum(axis=1) == pytest.approx(np.maximum(1.0 - kept, 0.0))
    assert (losses(season) >= 0.0).all()
    assert losses(grown(LETTUCE)) == pytest.approx(np.zeros((1, 4)), abs=1e-9)


def test_corn_takes_the_light_of_lettuce_planted_under_it() -> None:
    """The logarithm of the light lost is found by hand from the season's own light; most of the loss is shade."""
    season = grown(CORN, LETTUCE, years=1)
    alone, absorbed, weight = season.alone_mj[:, 0, 1], season.absorbed_mj[:, 0, 1], season.lone_growth_g[:, 0, 1]
    up = alone > 0.0
    expected = float((np.log(alone[up] / absorbed[up]) * weight[up]).sum() / weight[up].sum())
    assert growth_factors(season)[1, LIGHT] == pytest.approx(expected)
    assert losses(season)[1, LIGHT] > 0.8 * losses(season)[1].sum() > 0.2
    assert light_takers(season, 1) == [(0, pytest.approx(1.0))]
    assert light_takers(grown(LETTUCE), 0) == []


def test_hungry_neighbours_take_nitrogen_and_thirsty_ones_water() -> None:
    """Beside kale on the same ground radish lacks nitrogen on poor soil but not on a fed one, and water on rain alone only."""
    pair = (planting("kale", start=OnDate("04-01"), density_per_m2=8.0), planting("beetroot", start=OnDate("05-01")))
    poor, fed = (
        growth_factors(grown(*pair, one=bed(feeding=feeding))) for feeding in (Feeding("none"), Feeding("compost", 30.0))
    )
    assert poor[:, NUTRIENTS].max() > 0.02
    assert fed[:, NUTRIENTS].max() < poor[:, NUTRIENTS].max()
    dry = growth_factors(grown(*pair, one=bed(soil="sand", watering=Watering("rain")), where="Rome"))
    assert dry[:, WATER].max() > 0.0
    assert poor[:, WATER].max() == 0.0


def test_what_stands_apart_takes_no_room() -> None:
    halves = [Strip(x=(Span(low, True), Span(low + 0.5, True))) for low in (0.0, 0.5)]
    a, b = (planting("lettuce-cos", name, where, establish="module", count=12) for name, where in zip("ab", halves, strict=True))
    apart = grown(a, b)
    assert growth_factors(apart)[:, ROOM] == pytest.approx([0.0, 0.0])
    assert room_takers(apart, bed_overlaps(apart.plan), 0) == []
    mixed = grown(*(planting("lettuce-cos", name, establish="module", count=24) for name in "ab"))
    assert growth_factors(mixed)[:, ROOM].min() > 0.0
    assert room_takers(mixed, bed_overlaps(mixed.plan), 0) == [(1, pytest.approx(1.0))]


def test_the_figures_of_a_sentence_sum_to_the_loss() -> None:
    """Every smothered planting of a crowd: what it keeps and the parts of its loss make a hundred, takers make their part."""
    names = ("radish", "rocket", "lettuce-loose-leaf", "carrot-maincrop", "beetroot", "onion-salad")
    result = score(grown(*(planting(name) for name in names), years=3))
    told = [r for r in result.part("canopy").reasons if r.cause in ("light", "crowding")]
    assert len(told) >= 3
    for reason in told:
        sentence = reason_sentence(reason)
        kept = int(re.search(r"(\d+) % of the growth", sentence).group(1))  # type: ignore[union-attr]
        parts = [int(number) for number in re.findall(r"(\d+) % to ", sentence)]
        assert kept + sum(parts) == 100
        for part, takers in re.findall(r"(\d+) % to [a-z ]+ \(([^)]*%)\)", sentence):
            assert 0 < sum(int(n) for n in re.findall(r"(\d+) %", takers)) <= int(part)


def whole(reason: Reason) -> float:
    """Sum of what is lacking by cause."""
    return sum(reason.numbers[cause] for cause in CAUSES)


def test_what_a_yield_lacks_is_told_by_cause_and_sums_to_the_whole() -> None:
    """Lettuce planted under corn in July: what it gives and what it lacks are what good practice gives on its ground."""
    told = [r for r in score(grown(CORN, LETTUCE, years=3)).reasons if r.cause in ("little", "nothing")]
    assert told
    for reason in told:
        reached = min(reason.numbers["share"] / reason.numbers["ground"], 1.0)
        assert whole(reason) == pytest.approx(1.0 - reached)
        assert all(reason.numbers[cause] >= 0.0 for cause in CAUSES)
        said = reason_sentence(reason)
        assert "(corn)" in said
        assert sum(int(n) for n in re.findall(r"(\d+) %", re.sub(r"\(.*?\)", "", said))) == 100


def test_each_cause_takes_a_yield_where_it_alone_is_at_work() -> None:
    """Courgettes of March freeze, and so does sweet corn of late July before it is ripe; a few radishes stand too thin."""
    strips = [Strip(x=(Span(a / 3, True), Span((a + 1) / 3, True))) for a in range(3)]
    plantings = (
        planting("courgette", "courgette", strips[0], OnDate("03-15"), establish="module", count=1),
        planting("sweet-corn", "corn", strips[1], OnDate("07-25"), establish="stations"),
        planting("radish", "radish", strips[2], OnDate("04-15"), density_per_m2=15.0),
    )
    evidence = Evidence(grown(*plantings, years=3))
    gives, ground = np.median(evidence.land_use[0], axis=0), np.full(3, 1.0 / 3.0)
    lacks = dict(zip(CAUSES, shortfalls(evidence, gives, ground).T, strict=True))
    assert lacks["cold"][0] > 0.9
    assert lacks["season"][1] + lacks["cold"][1] > 0.5
    assert lacks["stand"][2] > 0.1
    assert lacks["light"].max() < 0.05


def lacking(*plantings: Planting, years: int = 3) -> list[dict[str, float]]:
    """What each planting lacks of good practice by cause."""
    season = grown(*plantings, years=years)
    gives = np.median(Evidence(season).land_use[0], axis=0)
    ground = np.array([p.stand.area_m2 / season.plan.bed.area_m2 for p in season.plan.plantings])
    return [dict(zip(CAUSES, row.tolist(), strict=True)) for row in shortfalls(Evidence(season), gives, np.minimum(ground, 1.0))]


def test_a_poor_start_and_a_poor_way_of_picking_are_told_apart() -> None:
    """Spinach of June runs to seed before it has given what that of August gives: the start; chard that is cut down once gives a
    fraction of what it gives by the leaf: the picking; a crop grown by good practice lacks little of either."""
    (spinach,) = lacking(planting("spinach", "spinach", start=OnDate("06-05"), density_per_m2=43.0))
    assert spinach["start"] + spinach["heat"] > 0.25
    leaf, once = (HarvestUse("leaves", method) for method in ("leaf", "once"))
    (chard,), (cut,) = (
        lacking(planting("chard", "chard", start=OnDate("04-20"), density_per_m2=10.5, harvest=(use,))) for use in (leaf, once)
    )
    assert cut["picking"] > chard["picking"] + 0.2
    assert chard["start"] + chard["picking"] + chard["growing"] < 0.1


@pytest.mark.parametrize(
    ("change", "own"),
    [
        ({}, False),
        ({"establish": "drills"}, False),
        ({"establish": "module"}, True),
        ({"end": AtAge(60.0)}, True),
        ({"covers": (CoverUse("fleece", AtEvent("start"), AtEvent("start", 20.0)),)}, True),
        ({"harvest": (HarvestUse("leaves", "cut"),)}, True),
        ({"harvest": (HarvestUse("root", "pull", until=OnDay("07-01")),)}, True),
    ],
)
def test_a_planting_of_its_own_way(change: dict[str, object], own: bool) -> None:
    """Beetroot is sown and its roots are pulled, in a trial of the crop alone; another way of raising, clearing, covering or
    picking is told of as what yields less."""
    (usual,) = planned(planting("beetroot", **change)).plantings
    assert usual.planting.crop.main_part.name == "root"
    assert own_way(usual) == own


def test_a_perennial_too_young_says_so() -> None:
    """Asparagus planted this year is not cut in its first springs, and that is no fault of its timing."""
    asparagus = planting("asparagus", "asparagus", start=OnDate("04-05"), establish="crown", density_per_m2=4.0, years=1)
    (young,) = lacking(asparagus)
    assert young["young"] > 0.9
    result = score(grown(asparagus, years=3))
    assert result.part("timing").score == pytest.approx(100.0)
    (nothing,) = (r for r in result.reasons if r.cause == "nothing")
    assert "too young to be picked" in reason_sentence(nothing)


def test_whose_lifting_disturbs_it_is_named() -> None:
    """Early potatoes are dug in July among the leeks of June on the same ground."""
    potato = planting("potato-early", "potatoes", start=OnDate("03-28"), establish="tuber", density_per_m2=4.5)
    leek = planting("leek", "leeks", start=OnDate("06-01"), establish="module", density_per_m2=22.0)
    said = [reason_sentence(r) for r in score(grown(potato, leek, years=2)).reasons if r.cause == "little"]
    assert any("to the fork of neighbours (potatoes)" in text for text in said), said


def test_potatoes_dug_among_leeks_disturb_them() -> None:
    """Leeks of June stand when early potatoes are dug in July on the same ground, and not beside them."""
    potato = planting("potato-early", "potatoes", start=OnDate("03-28"), establish="tuber", density_per_m2=4.5)
    leek = planting("leek", "leeks", start=OnDate("06-01"), establish="module", density_per_m2=12.0)
    halves = [Strip(x=(Span(a / 2, True), Span((a + 1) / 2, True))) for a in range(2)]
    among = Evidence(grown(potato, leek, years=2))
    apart = Evidence(grown(replace(potato, where=halves[0]), replace(leek, where=halves[1]), years=2))
    assert among.lifted[1, 0] > 0.2
    assert among.lifted[0, 1] == 0.0
    assert apart.undisturbed == pytest.approx(np.ones(2))
    told = [reason for reason in score(among.season).reasons if reason.cause == "lifting"]
    assert [reason.plantings for reason in told] == [("leeks", "potatoes")]
    assert reason_sentence(told[0]).startswith("leeks: when potatoes are lifted among them")


def test_who_stands_on_its_ground_while_a_planting_has_leaf_takes_its_room() -> None:
    """Two neighbours in one strip, of which one comes when the radishes are long gone: reckoned day for day."""
    half = Strip(x=(Span(0.0, True), Span(0.5, True)))
    season = grown(
        planting("radish", start=OnDate("04-10")), planting("spinach", where=half, start=OnDate("04-05")),
        planting("bean-bush", where=half, start=OnDate("07-15")),
    )  # fmt: skip
    overlaps, leaf = bed_overlaps(season.plan), season.leaf_m2
    days = [day for day in range(season.days) if leaf[day, :, 0].sum() > 0.0]
    assert 0 < len(days) < season.days
    taken = {
        other: overlaps[0, other] * sum(leaf[day, :, other].sum() for day in days) / season.plan.plantings[other].stand.area_m2
        for other in (1, 2)
    }
    found = dict(room_takers(season, overlaps, 0))
    assert found[1] == pytest.approx(taken[1] / (taken[1] + taken[2]))
    assert found.get(2, 0.0) == pytest.approx(taken[2] / (taken[1] + taken[2]))
    assert found[1] > 0.95


def test_sets_of_november_are_said_to_run_to_seed() -> None:
    """Onion sets that lie in the ground over a winter shoot in spring: that is the reason told, and no season too short."""
    result = score(
        grown(planting("onion", "onion", start=OnDate("11-20"), establish="set", density_per_m2=40.0), where="Chicago")
    )
    told = {r.cause for r in result.reasons if r.part == "timing"}
    assert "bolting" in told
    assert "short season" not in told
