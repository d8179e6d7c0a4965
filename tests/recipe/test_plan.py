"""Covers, supports, seed amounts and harvest plans of a settled recipe."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import planned, planting, trellis_bed

from mixcraft.crops import load_crop
from mixcraft.place import cover
from mixcraft.recipe.model import AtEvent, AtTrellis, CoverUse, HarvestUse, OnDate, OnDay, Span, Strip, Where
from mixcraft.recipe.plan import SEASON_DAYS_MAX, covered_air
from mixcraft.words.notes import note_sentence

FLEECE = CoverUse("fleece", AtEvent("start"), AtEvent("start", 28.0))


def half(low: float) -> Where:
    return Strip(x=(Span(low, True), Span(low + 0.5, True)))


def test_a_cover_lies_between_its_moments() -> None:
    found = planned(planting("radish", covers=(FLEECE,))).plantings[0]
    (span,) = found.covers
    assert (span.kind, span.on, span.off, span.owner) == ("fleece", 0, 28, "radish")


def test_cover_from_emergence_to_a_date() -> None:
    use = CoverUse("mesh", AtEvent("emergence", 7.0), OnDay("06-30"))
    plan = planned(planting("carrot-maincrop", covers=(use,)))
    found = plan.plantings[0]
    (span,) = found.covers
    assert span.on == int(found.clock.emergence[0]) + 7
    assert str(plan.date(span.off))[5:10] == "06-30"


def test_a_cover_that_ends_before_it_begins_is_left_out() -> None:
    use = CoverUse("fleece", AtEvent("emergence", 30.0), OnDay("04-20"))
    assert planned(planting("radish", covers=(use,))).plantings[0].covers == ()


def test_a_cover_reaches_the_plantings_below_it() -> None:
    """It counts for plantings that it covers by half or more, and not for those beside it."""
    own = planting("radish", name="covered", where=half(0.0), covers=(FLEECE,))
    same = planting("rocket", name="same", where=half(0.0))
    most = planting("rocket", name="most", where=half(0.2))
    beside = planting("rocket", name="beside", where=half(0.5))
    plan = planned(own, same, most, beside)
    assert [bool(p.covers) for p in plan.plantings] == [True, True, True, False]
    assert {c.owner for p in plan.plantings for c in p.covers} == {"covered"}


def test_a_cover_hurries_emergence_and_later_plantings_meet_it_in_their_own_days() -> None:
    """Under glass a March sowing comes up sooner; day indices of covers are those of the plan."""
    early = OnDate("03-10")
    glass = CoverUse("cold-frame", AtEvent("start"), AtEvent("start", 60.0))
    bare = planned(planting("radish", start=early)).plantings[0]
    plan = planned(planting("beetroot", start=OnDate("02-20")), planting("radish", start=early, covers=(glass,)))
    covered = plan.plantings[1]
    own = next(c for c in covered.covers if c.owner == "radish")
    assert own.on == covered.start == 18
    assert int(covered.clock.emergence[0]) - covered.start < int(bare.clock.emergence[0]) - bare.start


def test_covers_of_two_kinds_warm_together() -> None:
    plan = planned(planting("radish", name="a", covers=(FLEECE, CoverUse("cold-frame", AtEvent("start"), AtEvent("start", 7.0)))))
    spans = plan.plantings[0].covers
    weather = plan.almanac.weather
    mean, low = covered_air(weather, spans)
    both, one = cover("cold-frame"), cover("fleece")
    assert mean[0, 3] - weather.tmean_c[0, 3] == pytest.approx(both.mean_gain_c + one.mean_gain_c)
    assert low[0, 20] - weather.tmin_c[0, 20] == pytest.approx(one.min_gain_c)
    assert mean[0, 28] == weather.tmean_c[0, 28]
    assert (low >= weather.tmin_c - 1e-9).all()


def test_supports() -> None:
    area = trellis_bed()
    on_trellis = planting("bean-climbing", name="a", where=AtTrellis(), establish="stations", count=4)
    own_height = planting("bean-climbing", name="b", where=AtTrellis(), establish="stations", count=4, support_height_m=1.5)
    stake = planting("tomato-cordon", name="c", establish="module", count=2, support="stake", support_height_m=1.6)
    canes = planting("pea-tall", name="d", establish="drills", support="canes", where=half(0.0))
    none = planting("radish", name="e")
    found = planned(on_trellis, own_height, stake, canes, none, one=area).plantings
    assert [p.support_m for p in found] == [2.0, 1.5, 1.6, 1.8, None]


def test_amounts_by_seed_rate_and_density_agree() -> None:
    """A gram of seed, less what does not germinate or emerge, makes the plants that the density asks for."""
    crop = load_crop("carrot-maincrop")
    by_rate = planned(planting("carrot-maincrop", seed_rate_g_m2=0.5)).plantings[0]
    back = planned(planting("carrot-maincrop", density_per_m2=by_rate.density_per_m2)).plantings[0]
    assert back.seed_g == pytest.approx(0.5 * 2.0)
    assert by_rate.stand.plants == pytest.approx(
        1.0 * crop["seed.per_gram"] * crop["seed.germination"] / 100.0 * crop["seed.field_factor"]
    )


def test_depth_is_the_recipes_or_the_crops() -> None:
    assert planned(planting("radish")).plantings[0].depth_m == pytest.approx(load_crop("radish")["seed.depth"] / 100.0)
    assert planned(planting("radish", depth_m=0.04)).plantings[0].depth_m == 0.04


def test_harvest_plans() -> None:
    """Nothing said: the main part in its usual way; said: as said, with moments as days."""
    plain = planned(planting("carrot-maincrop")).harvests
    assert [(h.part.name, h.method) for h in plain] == [("root", load_crop("carrot-maincrop").main_part.methods[0])]
    use = HarvestUse("root", "pull", every_days=10.0, start=AtEvent("first harvest", 7.0), until=OnDay("09-15"))
    plan = planned(planting("carrot-maincrop", harvest=(use,)))
    (said,) = plan.harvests
    assert (said.method, said.interval_days) == ("pull", 10.0)
    assert said.start == int(plan.plantings[0].clock.ready[0]) + 7
    assert said.until is not None
    assert str(plan.date(said.until))[5:10] == "09-15"


def test_cuts_are_counted() -> None:
    use = HarvestUse(load_crop("lettuce-baby-leaf").main_part.name, "cut", cuts=1)
    dense = load_crop("lettuce-baby-leaf")["spacing.cutting_density"]
    (once,) = planned(planting("lettuce-baby-leaf", harvest=(use,), density_per_m2=dense)).harvests
    assert once.cuts == 1
    (pulled,) = planned(planting("radish")).harvests
    assert pulled.cuts > 12


def test_a_plan_follows_the_last_harvest() -> None:
    plan = planned(planting("radish"), planting("carrot-maincrop"))
    assert plan.days >= max(p.last_harvest for p in plan.plantings)
    assert plan.days <= SEASON_DAYS_MAX
    for p in plan.plantings:
        assert 0 <= p.start <= p.first_harvest <= p.last_harvest <= p.end
        assert np.asarray(p.clock.emergence)[0] >= p.start


def test_what_must_establish_first_says_so() -> None:
    """Rhubarb one year, asparagus two (common practice, no source); radish says nothing."""
    plan = planned(
        planting("rhubarb", name="rhubarb", establish="crown", count=1), planting("radish"),
        planting("asparagus", name="asparagus", establish="crown", count=4),
    )  # fmt: skip
    said = [said for said in map(note_sentence, plan.notes) if "established plant" in said]
    assert len(said) == 2
    assert said[0].startswith("rhubarb: pick little or nothing in the year it is planted")
    assert said[1].startswith("asparagus: pick little or nothing in its first 2 years")


def test_days_and_dates_are_one_axis() -> None:
    """A day index is that of its date, in a plan, in the normal year and in weather."""
    plan = planned(planting("radish"))
    for axis in (plan, plan.almanac):
        assert [axis.day(axis.date(day)) for day in (-40, 0, 17)] == [-40, 0, 17]
    weather = plan.almanac.weather
    assert [weather.day(weather.dates[day]) for day in (0, 17, weather.days - 1)] == [0, 17, weather.days - 1]
    assert weather.day(weather.dates[0] - 3) == -3


def test_a_harvest_is_as_often_as_the_recipe_says_else_as_is_usual() -> None:
    lettuce = planting("lettuce-loose-leaf", establish="module")
    part = lettuce.crop.main_part.name
    usual, often = (
        planned(replace(lettuce, harvest=(HarvestUse(part, "cut", **more),))).plantings[0].harvests[0]
        for more in ({}, {"every_days": 17.0, "cuts": 5})
    )
    assert (often.interval_days, often.cuts) == (17.0, 5)
    assert usual.interval_days > 0.0
    assert (usual.interval_days, usual.cuts) != (17.0, 5)
