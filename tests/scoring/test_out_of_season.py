"""What a grower weighs besides what is picked: heads that stand, climbers that nothing holds, stands too thin for ground of their
own, starts out of season and leaves that heat has made bitter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, grown, place, planned, planting, trellis_bed

from mixcraft.crops import crop_ids, load_crop
from mixcraft.crops.clock import PLANTED
from mixcraft.crops.development import NEVER
from mixcraft.recipe.density import usual_range
from mixcraft.recipe.model import AtTrellis, HarvestUse, OnDate, Planting, Plate, Span, Strip
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.cutting import cut_as_wanted, stands_to_be_cut
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.fates import bitterness, fates
from mixcraft.scoring.model import Reason
from mixcraft.scoring.reference import best_start, references
from mixcraft.season.result import Season
from mixcraft.season.trial import sole_crops
from mixcraft.words import reason_sentence

HALVES = [Strip(x=(Span(low, True), Span(low + 0.5, True))) for low in (0.0, 0.5)]
COS = planting("lettuce-cos", "cos", HALVES[0], OnDate("04-20"), establish="module", count=8)


def weeks_of(season: Season, h: int, year: int = 0) -> tuple[list[int], list[int]]:
    """Weeks in which a harvest is picked, and those in which it is cut as it is wanted."""
    evidence = Evidence(season)
    return tuple(np.nonzero(kg[:, year, h])[0].tolist() for kg in (evidence.weekly_kg, evidence.cut_kg))  # type: ignore[return-value]


def test_heads_are_eaten_as_long_as_they_stand() -> None:
    """Cos lettuce stands for two weeks or so: from the week in which it is ready to that of the last day on which it is good."""
    season = grown(COS)
    picked, cut = weeks_of(season, 0)
    assert len(picked) == 1
    assert cut == list(range(picked[0], int(season.closes[0, 0]) // 7 + 1))
    assert len(cut) in (2, 3)
    evidence = Evidence(season)
    assert evidence.cut_kg.sum(axis=0) == pytest.approx(evidence.weekly_kg.sum(axis=0))


def test_what_can_be_pulled_as_it_is_wanted_is_lifted_at_once_if_it_is_lifted_at_once() -> None:
    """Kohlrabi and beetroot have a way of picking for it, garlic keeps dry; leaves that are cut down are cut."""
    uses = (("kohlrabi", "stem"), ("beetroot", "root"), ("garlic", "bulb"), ("chard", "leaves"))
    for crop, part in uses:
        way = "clove" if crop == "garlic" else "drills"
        season = grown(planting(crop, establish=way, harvest=(HarvestUse(part, "once"),)))
        assert not any(stands_to_be_cut(season, harvest) for harvest in season.harvests), crop


def test_heads_stand_until_the_next_crop_wants_their_ground() -> None:
    season = grown(COS)
    ready = int(np.argmax(season.picked_kg[:, 0, 0] > 0.0))
    day = season.plan.date(7 * (ready // 7) + 8)
    follow = planting("radish", "radish", HALVES[0], OnDate(str(day)[5:]))
    beside = replace(follow, where=HALVES[1])
    for second, weeks in ((follow, 2), (beside, len(weeks_of(season, 0)[1]))):
        both = grown(COS, second)
        evidence = Evidence(both)
        cut = cut_as_wanted(both, evidence.overlaps, evidence.weekly_kg)
        assert np.nonzero(cut[:, 0, 0])[0].tolist() == list(range(ready // 7, ready // 7 + weeks))


def reasons(part: str, *plantings: Planting, where: str = "Oxford") -> list[Reason]:
    """Reasons of a part for plantings in a bed of a place."""
    one = bed(plate=Plate("05-15", "10-31", portions=6.0))
    return list(score(grown(*plantings, one=one, where=where)).part(part).reasons)


@pytest.mark.parametrize(
    ("crop", "left"), [("bean-climbing", 0.5), ("tomato-cordon", 0.5), ("pea-dwarf", 1.0), ("cucumber", 1.0)]
)
def test_climbers_want_something_to_climb(crop: str, left: float) -> None:
    """Dwarf peas hold one another, cucumbers bear on the ground."""
    loose = grown(planting(crop, "climber", start=OnDate("05-28"), establish="module"))
    assert Evidence(loose).held.tolist() == [left]
    told = [r for r in score(loose).part("canopy").reasons if r.cause == "no support"]
    assert len(told) == (left < 1.0)
    assert all("nothing holds it" in reason_sentence(r) for r in told)


def test_a_trellis_a_stake_or_corn_holds_a_climber() -> None:
    beans = planting("bean-climbing", "beans", start=OnDate("05-28"), establish="stations", density_per_m2=8.0)
    corn = planting("sweet-corn", "corn", start=OnDate("05-15"), establish="stations", density_per_m2=6.0)
    staked = replace(beans, support="canes", support_height_m=1.8)
    on_trellis = replace(beans, where=AtTrellis("north"), amount=staked.amount)
    assert Evidence(grown(staked)).held.tolist() == [1.0]
    assert Evidence(grown(corn, beans)).held.tolist() == [1.0, 1.0]
    assert Evidence(grown(on_trellis, one=trellis_bed())).held.tolist() == [1.0]


def test_more_plants_are_asked_of_a_stand_that_has_its_ground_to_itself() -> None:
    """At 0.3 of the thinnest usual stand: a power of 0.3 / 0.75 is left alone, 0.3 / 0.25 and so all of them among others."""
    low = usual_range(planned(planting("carrot-maincrop")).plantings[0])[0]
    thin = planting("carrot-maincrop", "carrots", density_per_m2=0.3 * low)
    alone, among = Evidence(grown(thin)), Evidence(grown(thin, planting("beetroot"), planting("chard")))
    assert alone.there == pytest.approx([(0.3 / constants()["thin_apart"]) ** constants()["thinness_power"]])
    assert among.there[0] == pytest.approx(1.0)


def test_two_thin_stands_do_not_make_one_that_uses_the_ground() -> None:
    """Carrots and beetroot on the same ground, each at a quarter of its thinnest usual stand: half of the ground lies open, and
    neither excuses the other by more than the quarter that it stands for."""
    crops = ("carrot-maincrop", "beetroot")
    low = [usual_range(planned(planting(crop, establish="drills")).plantings[0])[0] for crop in crops]
    thin = [planting(crop, establish="drills", density_per_m2=0.25 * per_m2) for crop, per_m2 in zip(crops, low, strict=True)]
    usual = [planting(crop, f"usual {crop}", establish="drills") for crop in ("beetroot", "chard")]
    both, beside = Evidence(grown(*thin)), Evidence(grown(thin[0], *usual))
    assert beside.there[0] > 0.9
    assert both.there.max() < 0.1


def told(cause: str, *plantings: Planting, where: str) -> list[Reason]:
    """Reasons of the timing for one cause."""
    return [r for r in reasons("timing", *plantings, where=where) if r.cause == cause]


def test_a_start_out_of_season_is_no_full_planting() -> None:
    """Carrots sown at Gainesville in mid-April swell in the heat of June, not at all or hardly; those of January have nothing
    said of them, nor have those of April at Oxford."""
    april = planting("carrot-maincrop", "carrots", start=OnDate("04-15"), establish="drills")
    (late,) = told("out of season", april, where="Gainesville")
    assert late.plantings == ("carrots",)
    assert "out of its season" in reason_sentence(late)
    assert told("out of season", replace(april, start=OnDate("01-15")), where="Gainesville") == []
    assert told("out of season", april, where="Oxford") == []


@pytest.mark.xfail(strict=True, reason="they give a fifth, since heat is taken from what swells once and wears carrots out later")
def test_carrots_of_april_give_hardly_anything_in_florida() -> None:
    april = planting("carrot-maincrop", "carrots", start=OnDate("04-15"), establish="drills")
    (late,) = told("out of season", april, where="Gainesville")
    assert late.numbers["share"] < constants()["failed_share"] + 0.05


def test_young_plants_are_measured_by_young_plants() -> None:
    """Courgettes set out at Winnipeg in the middle of July, five weeks before their first fruit and less than ten before the
    first frost, give a fifth of what plants of June give, and a third of what seed of May does; of plants of June
    nothing is said."""
    july = planting("courgette", "courgettes", start=OnDate("07-15"), establish="module")
    (late,) = told("out of season", july, where="Winnipeg")
    assert late.numbers["share"] < constants()["out_of_season_share"]
    assert told("out of season", replace(july, start=OnDate("06-08")), where="Winnipeg") == []
    here, crop = place("Winnipeg"), load_crop("courgette")
    usual = max(references([crop], here)[crop.id].by_start)
    assert best_start(crop, "drills", here) == best_start(crop, "stations", here) == usual
    assert best_start(crop, "module", here) > 1.2 * usual


@pytest.mark.slow
def test_every_crop_that_can_be_set_out_has_a_best_start_as_plants() -> None:
    """Those that are sown to be cut young are set out as thinly as others are."""
    here = place("Oxford")
    for crop in map(load_crop, crop_ids()):
        usual = max(references([crop], here)[crop.id].by_start)
        for establish in set(PLANTED) & set(crop.establish):
            assert best_start(crop, establish, here) >= usual
            (alone,) = sole_crops([crop], here, establish=establish)
            assert alone.kg_m2.max() > 0.0 or usual == 0.0, crop.id


def test_salad_of_a_hot_july_is_bitter() -> None:
    """At Gainesville, with months of 27 C, and not at Oxford; tomatoes bear it."""
    salad = planting("lettuce-loose-leaf", "salad", HALVES[0], OnDate("05-25"), establish="module", density_per_m2=12.0)
    tomato = planting("tomato-bush", "tomato", HALVES[1], OnDate("05-01"), establish="module", count=2)
    (hot,) = told("bitter", salad, tomato, where="Gainesville")
    assert hot.plantings == ("salad",)
    assert "bitter" in reason_sentence(hot)
    assert told("bitter", salad, tomato, where="Oxford") == []


def test_the_days_of_bitterness_by_hand() -> None:
    """Of the days from the first picking to the last, those on which heat has made it unfit; of heads that are cut once, the
    first; a planting that is never ready has none."""
    season = grown(planting("lettuce-loose-leaf", "salad", start=OnDate("05-01")))
    clock, planned_one = season.clocks[0], season.plan.plantings[0]
    unfit = np.zeros_like(clock.unfit)
    unfit[:, 100:110] = True
    hot, opens = replace(clock, unfit=unfit), np.full(len(unfit), 91)
    assert bitterness(planned_one, hot, opens, opens + 19) == pytest.approx(0.5)
    assert bitterness(planned_one, hot, np.full(len(unfit), NEVER), opens) == 0.0
    once = replace(planned_one, harvests=(replace(planned_one.harvests[0], method="once"),))
    assert bitterness(once, hot, opens, opens + 19) == 0.0
    assert bitterness(once, hot, opens + 9, opens + 19) == 1.0
    assert fates(season).bitter.shape == (1,)
