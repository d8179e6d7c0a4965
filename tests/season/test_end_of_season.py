"""The end of a season: what is ripe by then, what is brought in as it is, and what the cold finds half-grown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from alone import Alone, alone_of, grow_alone, planting

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.clock import frost_death, run_clock
from mixcraft.crops.constants import constant as crop_constant
from mixcraft.crops.development import NEVER
from mixcraft.crops.model import Crop
from mixcraft.crops.windows import part_window
from mixcraft.place.places import reference_place
from mixcraft.season.course import unripe_share
from mixcraft.season.trial import sole_trial

YEARS = 8
Range = tuple[str, str]
OXFORD = reference_place("Oxford")


def grown(crop: str, how: str, start: str) -> Alone:
    return grow_alone(load_crop(crop), OXFORD, how, [start], YEARS)


def eaten_unripe(crop: Crop) -> Crop:
    """The same crop, if its unripe fruit were food."""
    return replace(crop, parts=tuple(replace(part, ripe_only=False) for part in crop.parts))


def test_fruit_that_can_poison_unripe_is_no_harvest_unripe() -> None:
    for crop in all_crops():
        for part in crop.parts:
            assert part.ripe_only or "physalis-unripe" not in part.cautions, crop.id


@pytest.mark.parametrize(("crop", "how", "start"), [
    ("ground-cherry", "module", "05-28"), ("melon", "module", "05-28"), ("strawberry-everbearing", "plant", "04-01"),
])  # fmt: skip
def test_what_the_cold_finds_unripe_is_no_harvest(crop: str, how: str, start: str) -> None:
    """With all that hangs on the plants counted, the last picking would be the largest of the autumn."""
    one = load_crop(crop)
    ripe = grown(crop, how, start).kg_m2[:, :, 0]
    plants = (planting(eaten_unripe(one), how, start, "trial"),)
    all_of_it = alone_of(eaten_unripe(one), OXFORD, plants, YEARS, 7).kg_m2[:, :, 0]
    assert (all_of_it.sum(axis=0) >= ripe.sum(axis=0)).all()
    assert all_of_it.sum() > 1.05 * ripe.sum()


def test_green_tomatoes_and_beans_are_food() -> None:
    for name in ("tomato-cordon", "courgette", "bean-bush", "pepper-sweet", "cucumber"):
        assert not load_crop(name).main_part.ripe_only


def test_the_last_fruit_that_sets_is_ripe_at_the_end_of_the_life() -> None:
    melon, mean = load_crop("melon"), np.full((1, 250), 22.0)
    clock = run_clock(melon, "module", 0, mean, mean - 4.0, mean, np.full(250, 15.0))
    left = unripe_share(melon, clock)[0]
    assert clock.end[0] < 250
    assert left[clock.end[0]] < 0.02
    assert left[(clock.ready[0] + clock.organ[0]) // 2] > 0.5


def test_roots_of_yacon_are_lifted_when_the_cold_ends_its_tops_ripe_or_not() -> None:
    """The season at Oxford is shorter than yacon wants; it is dug in October and November all the same."""
    one = grown("yacon", "plant", "05-25")
    clock = one.clocks[0]
    assert (clock.ready == NEVER).mean() > 0.5
    opens, _ = part_window(one.crop, one.crop.main_part, clock)
    assert (opens < NEVER).all()
    assert (opens[clock.ready == NEVER] == clock.rest[clock.ready == NEVER]).all()
    assert np.median(one.yields) > 0.5


def test_tubers_that_have_not_begun_are_not_lifted() -> None:
    one = grown("yacon", "plant", "08-20")
    assert np.median(one.yields) == 0.0


def test_a_plant_without_tubers_dies_with_its_tops_and_a_crown_does_not() -> None:
    yacon = load_crop("yacon")
    air = np.full((1, 40), 6.0)
    air[0, 20] = -4.0
    young, old = np.full_like(air, 300.0), np.full_like(air, yacon["harvest.organ_start"] + 100.0)
    mild, none_yet, begun = np.full_like(air, 8.0), np.array([NEVER]), np.array([10])
    assert frost_death(yacon, air, young, "plant", mild, None, none_yet)[0] == 20
    assert frost_death(yacon, air, young, "crown", mild, None, none_yet)[0] == NEVER
    assert frost_death(yacon, air, old, "plant", mild, None, begun)[0] == NEVER


def test_an_onion_without_a_bulb_dies_with_its_tops_and_a_set_does_not() -> None:
    """Sown in August it has leaf alone in its first winter; a night of -17 C over ground that a mild day has warmed kills it."""
    onion = load_crop("onion")
    air = np.full((1, 60), 3.0)
    air[0, 30] = -17.0
    grown_up, mild = np.full_like(air, 700.0), np.full_like(air, 5.0)
    assert frost_death(onion, air, grown_up, "drills", mild, None, np.array([50]))[0] == 30
    assert frost_death(onion, air, grown_up, "drills", mild, None, np.array([20]))[0] == NEVER
    assert frost_death(onion, air, grown_up, "set", mild, None, np.array([50]))[0] == NEVER


def test_squash_that_has_filled_is_brought_in_before_the_cold() -> None:
    """Set out at the end of May, butternuts at Oxford are seldom ripe when chill ends them, and are cut the day before."""
    one = grown("butternut", "module", "05-28")
    clock = one.clocks[0]
    opens, _ = part_window(one.crop, one.crop.main_part, clock)
    late = (clock.ready >= clock.death) & (opens < NEVER)
    assert late.sum() >= 2
    assert (opens[late] == clock.death[late] - 1).all()
    assert np.median(one.yields) > 0.5


def test_grain_that_is_nearly_dry_when_frost_comes_is_harvested() -> None:
    """Chickpeas of May at Winnipeg are dry at the end of September, when frost has killed the plants of many years; those that
    are past the dough dry all the same, and those that are not are lost."""
    one = grow_alone(load_crop("chickpea"), reference_place("Winnipeg"), "seed", ["05-10"], 20)
    clock = one.clocks[0]
    opens, _ = part_window(one.crop, one.crop.main_part, clock)
    killed = clock.ready >= clock.death
    assert killed.sum() >= 3
    assert (opens[killed & (opens < NEVER)] == clock.death[killed & (opens < NEVER)] - 1).all()
    assert (killed & (opens < NEVER)).any()
    assert one.yields[killed & (opens == NEVER), 0].sum() == 0.0
    assert (one.yields[killed & (opens < NEVER), 0] > 0.0).all()


def test_squash_that_has_only_set_is_left() -> None:
    assert np.median(grown("butternut", "module", "07-20").yields) == 0.0


def test_jerusalem_artichokes_wait_for_the_cold_though_they_are_full_grown() -> None:
    one = grown("jerusalem-artichoke", "tuber", "03-20")
    clock = one.clocks[0]
    opens, _ = part_window(one.crop, one.crop.main_part, clock)
    assert (clock.ready < clock.rest).all()
    assert (opens >= np.minimum(clock.rest, clock.old)).all()
    assert (opens < NEVER).all()


def test_a_rosette_that_waits_for_long_days_is_no_seedling_to_the_frost() -> None:
    """Chamomile of September stands the winter as a rosette and flowers in the next early summer, with the leaf it has."""
    one = grown("chamomile", "drills", "09-10")
    clock = one.clocks[0]
    flowers = np.median(clock.flower) + one.starts[0]
    assert (clock.death == NEVER).mean() > 0.7
    assert 240 < flowers < 290
    assert np.median(one.yields) > 0.1


def test_herbs_that_are_set_out_root_before_they_are_cut() -> None:
    """Balm of June had been cut six days after it was planted; what is sown has its time from the ground up."""
    month = int(crop_constant("plants_root"))
    for name in ("lemon-balm", "thyme", "oregano"):
        first = grown(name, "plant", "06-08").first()
        assert np.nanmin(first) >= month
        assert np.nanmedian(first) < month + 20


@pytest.mark.parametrize(("crop", "first", "last"), [
    ("asparagus", ("04-10", "05-20"), ("06-10", "07-15")), ("rhubarb", ("03-10", "04-25"), ("05-15", "07-25")),
    ("sea-kale", ("03-10", "05-10"), ("04-15", "06-10")),
])  # fmt: skip
def test_rootstocks_rest_until_midwinter_and_are_picked_in_spring(
    crop: str, first: tuple[str, str], last: tuple[str, str]
) -> None:
    """Common practice, no source: when they are picked in the south of England, whether set out in August or in November."""
    for start in ("08-22", "11-15"):
        one = grown(crop, "crown", start)
        up = one.setting.plan.date(int(one.clocks[0].emergence.min()))
        assert "01-01" < str(up)[5:] < "06-01"
        for days, (low, high) in ((one.first(), first), (one.last(), last)):
            day = str(one.setting.plan.date(int(np.nanmedian(days) + one.starts[0])))[5:]
            assert low <= day <= high, (crop, start, day)


@pytest.mark.parametrize("crop", ["asparagus", "rhubarb", "sea-kale"])
def test_rootstocks_are_set_out_dormant(crop: str) -> None:
    """Common practice, no source: none is to be had in June, when those that stand have been picked; set out then, it comes up
    in the next spring, and no trial's best start lies in summer."""
    june, november = (grown(crop, "crown", start) for start in ("06-15", "11-15"))
    days = [one.setting.plan.date(int(np.nanmedian(one.first()) + one.starts[0])) for one in (june, november)]
    assert abs((days[0] - days[1]).astype(int)) % 365 < 7
    assert np.nanmedian(june.first()) > 250
    assert "01-01" < str(sole_trial(load_crop(crop), reference_place("Oxford")).start) < "05-01"


def test_rootstocks_do_not_rest_where_there_is_no_winter_or_in_spring() -> None:
    nairobi = grow_alone(load_crop("rhubarb"), reference_place("Nairobi"), "crown", ["09-15"], YEARS)
    assert np.median(nairobi.clocks[0].emergence - nairobi.starts[0]) < 15
    spring = grown("rhubarb", "crown", "03-05")
    assert np.median(spring.clocks[0].emergence - spring.starts[0]) < 25


def test_spears_come_of_the_crown_and_not_of_the_season() -> None:
    """As many from crowns of November, which have no fern before they are cut, as of April; none in the first years."""
    kg = [float(np.median(grown("asparagus", "crown", start).yields)) for start in ("11-15", "04-01")]
    assert kg[0] == pytest.approx(kg[1], rel=0.02)
    young = replace(planting(load_crop("asparagus"), "crown", "11-15", "bed"), years=1)
    assert alone_of(load_crop("asparagus"), OXFORD, (young,), YEARS, 7).yields.max() == 0.0


def test_chard_that_has_come_through_the_winter_is_picked_in_spring() -> None:
    """Sown in April, it gives again from March until it runs to seed about the end of May, some hundred grams to the square
    metre in most weeks (common practice, no source; written down when the engine gave nothing); half of what it had in summer
    is not what it is spared by then."""
    chard = grown("chard", "drills", "04-20")
    dates = np.datetime64("2001-04-20") + np.arange(chard.kg_m2.shape[0]) - chard.starts[0]
    spring = chard.kg_m2[(dates >= np.datetime64("2002-03-10")) & (dates < np.datetime64("2002-05-25")), :, 0]
    assert 0.2 < np.median(spring.sum(axis=0)) < 2.0
    assert np.median((spring > 0.0).sum(axis=0)) >= 5


def test_growth_goes_on_once_after_a_winter() -> None:
    """At Oxford from January to April, whatever mild weeks there are before; a second winter has its own."""
    setting = grown("chard", "drills", "04-20").setting
    turns = setting.courses[0].daily.anew
    assert (turns.sum(axis=1) <= 2).all()
    for year in range(YEARS):
        for day in np.flatnonzero(turns[year]):
            months = setting.plan.date(int(day)).astype("datetime64[M]").astype(int) % 12 + 1
            assert months in (1, 2, 3, 4)
