"""Cold, heat, seed in the ground and standing: what weather does to a crop beside its thermal time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.clock import frost_dieback, head_start, lives_below, run_clock
from mixcraft.crops.cold import (
    chill_dose,
    chilled,
    crown_temperature,
    felt_by_crown,
    ground_frozen,
    grows_again,
    hardened_share,
    leaf_limit,
    leaf_minimum,
    snow_depth,
)
from mixcraft.crops.constants import constant
from mixcraft.crops.development import NEVER, emergence_day, emergence_rate
from mixcraft.crops.habits import habit_records, habits
from mixcraft.crops.heat import pod_filling, pod_set, setting_share, unfit, worn_out
from mixcraft.crops.library import crop_ids
from mixcraft.crops.seedlings import come_up, normal_seedlings, seed_lost, stand
from mixcraft.crops.standing import holds_until, standing_days
from mixcraft.crops.windows import part_window
from mixcraft.season.course import warmth_factor

DAYS = 200


def steady(value: float, days: int = DAYS) -> NDArray[np.float64]:
    return np.full((1, days), value)


def test_a_crown_under_snow_by_the_formula_of_ceres_wheat() -> None:
    """T = 2 + T (0.4 + 0.0018 (snow - 15)^2), by hand: at -20 C without snow -14.1 C, under 15 cm or more -6 C; 3 C is 3 C."""
    air, snow = np.array([[-20.0, -20.0, -20.0, 3.0]]), np.array([[0.0, 15.0, 40.0, 0.0]])
    assert crown_temperature(air, snow)[0] == pytest.approx([-14.1, -6.0, -6.0, 3.0])


@given(st.floats(-40.0, 10.0), st.floats(0.0, 60.0))
def test_snow_never_cools_a_crown(air: float, snow: float) -> None:
    one, deep, bare = np.array([[air]]), np.array([[snow]]), np.array([[0.0]])
    assert felt_by_crown(one, deep)[0, 0] >= felt_by_crown(one, bare)[0, 0] - 1e-9
    assert felt_by_crown(one, bare)[0, 0] == pytest.approx(air)


def test_snow_lies_below_freezing_and_melts_by_degree_days() -> None:
    """20 mm at -5 C lie as 10 cm; at 2 C 6 mm (3 cm) melt a day."""
    depth = snow_depth(np.array([[-5.0, -5.0, 2.0, 2.0, 2.0, 2.0]]), np.array([[10.0, 10.0, 5.0, 0.0, 0.0, 0.0]]))
    assert depth[0] == pytest.approx([5.0, 10.0, 7.0, 4.0, 1.0, 0.0])


def test_leaves_harden_in_cold_nights_and_lose_it_in_mild_ones() -> None:
    assert hardened_share(steady(20.0)).max() == 0.0
    assert hardened_share(steady(0.0)).min() == 1.0
    kale = load_crop("kale")
    warm_then_cold = np.concatenate([steady(18.0, 50), steady(1.0, 50)], axis=1)
    limits = leaf_limit(kale, warm_then_cold)[0]
    assert limits[49] == -4.5
    assert limits[60] == kale["frost.grown"]
    assert (np.diff(limits) <= 1e-9).all()


def test_leaf_of_limits_measured_on_leaves_is_colder_than_the_air() -> None:
    """Leuning & Cremer 1988: 1 to 3 C; of potatoes and tender crops, not of kale, whose limits are told of the air."""
    for name, low, high in (("potato-early", 1.0, 3.0), ("tomato-cordon", 1.0, 3.0), ("kale", 0.0, 0.0)):
        below = float(leaf_minimum(load_crop(name), np.array(0.0)))
        assert low <= -below <= high, name


def test_a_night_of_frost_kills_under_the_open_sky_what_it_spares_under_glass() -> None:
    """Air at -0.5 C: leaves under a clear sky are 2 C colder (Leuning and Cremer 1988, abstract: 1 to 3 C), past the -1.1 C of
    tomato, and under glass as warm as the air."""
    tomato, days = load_crop("tomato-cordon"), np.full(DAYS, 15.0)
    nights = steady(8.0)
    nights[0, 60] = -0.5
    alive = {
        sky: int(run_clock(tomato, "module", 0, steady(14.0), nights, steady(14.0), days, sky=np.full(DAYS, sky)).death[0])
        for sky in (0.0, 1.0)
    }
    assert alive[1.0] == 60
    assert alive[0.0] > 60
    assert int(run_clock(tomato, "module", 0, steady(14.0), nights, steady(14.0), days).death[0]) == 60


def test_a_seedling_that_is_up_does_not_rot_in_frozen_ground() -> None:
    """Ground that thaws takes its toll of young rye by the day, frozen ground takes none."""
    rye, up = load_crop("winter-rye"), np.array([5])

    def lives(soil_c: float) -> float:
        return float(stand(rye, True, False, steady(soil_c), 0, up, np.array([120]))[0])

    assert lives(-2.0) > lives(2.0)
    assert lives(-2.0) == pytest.approx(lives(-9.0), abs=0.01)


def test_a_division_is_ahead_of_seed_and_never_of_a_plant_that_stood_the_winter() -> None:
    for name in ("chives", "welsh-onion", "sorrel", "mint"):
        crop = load_crop(name)
        assert 0.0 < head_start(crop, "division") <= min(head_start(crop, "standing"), head_start(crop, "plant"))
        assert head_start(crop, "drills") == 0.0
    # rhubarb and tarragon count their days from planting: a division has them before it
    assert head_start(load_crop("rhubarb"), "division") == head_start(load_crop("tarragon"), "division") == 0.0


def test_half_of_the_leaf_of_potatoes_dies_at_the_middle_of_their_limits() -> None:
    """Their LT50 of -2.4 C, in leaf that is 2 C colder than the air; all of it 1.5 C further down."""
    crop, warm = load_crop("potato-early"), steady(8.0)
    for night, share in ((-0.4, 0.5), (-2.0, 1.0), (1.2, 0.0)):
        nights = warm.copy()
        nights[0, 60] = night
        assert frost_dieback(crop, nights, steady(500.0), "tuber")[0, 60] == pytest.approx(share, abs=0.01)


def test_chill_ends_what_comes_from_the_tropics_and_not_what_does_not() -> None:
    """Days of 7 C cost basil (12 C) 5 C d each: seven of them end it, and none touches kale."""
    green = np.ones((1, DAYS), dtype=bool)
    dose = chill_dose(load_crop("basil"), steady(7.0), green)[0]
    assert dose[:3] == pytest.approx([5.0, 10.0, 15.0])
    assert chilled(load_crop("basil"), steady(7.0), green)[0].argmax() == 6
    assert not chilled(load_crop("kale"), steady(7.0), green).any()
    assert not chilled(load_crop("basil"), steady(20.0), green).any()


def test_cool_nights_chill_on_days_that_are_warm_on_the_mean() -> None:
    """Nights of 4 C below days of 20 C cost tomatoes (10 C) something at a mean at which steady warmth costs nothing; nights of
    2.5 C below days of 18.5 C end them within three weeks."""
    green, tomato = np.ones((1, DAYS), dtype=bool), load_crop("tomato-cordon")
    assert not chill_dose(tomato, steady(12.0), green).any()
    dose = chill_dose(tomato, steady(12.0), green, steady(4.0))[0]
    assert 1.0 < dose[0] < 3.0
    assert not chilled(tomato, steady(10.5), green).any()
    assert chilled(tomato, steady(10.5), green, steady(2.5))[0].any()
    assert not chilled(tomato, steady(16.0), green, steady(10.0)).any()


def test_the_ground_freezes_after_days_of_frost_and_later_under_snow() -> None:
    cold = np.concatenate([steady(3.0, 30), steady(-4.0, 60)], axis=1)
    bare, deep = ground_frozen(cold, np.zeros_like(cold))[0], ground_frozen(cold, np.full_like(cold, 30.0))[0]
    assert not bare[:31].any()
    assert bare[-1]
    assert deep.argmax() >= bare.argmax()


def test_pods_fill_slowly_in_heat() -> None:
    """CROPGRO's green bean (GBGRO048.SPE): all flowers set up to 25 C, pods grow at full pace up to 23 and not at all at 36 C, by
    the square of the way between."""
    bean = load_crop("bean-bush")
    assert pod_filling(bean, steady(23.0), steady(23.0)).min() == 1.0
    assert pod_filling(bean, steady(29.5), steady(29.5)).max() == pytest.approx(0.75)
    assert pod_filling(bean, steady(36.0), steady(36.0)).max() == pytest.approx(0.0, abs=1e-9)
    assert setting_share(bean, steady(24.0)).max() == pytest.approx(1.0 - (1.0 / 13.0) ** 2)
    assert setting_share(bean, steady(20.0), steady(12.0)).max() < 1.0
    assert pod_filling(load_crop("pea-dwarf"), steady(35.0), steady(35.0)).min() == 1.0


@pytest.mark.parametrize(
    ("name", "none", "all_from"), [("tomato-cordon", 6.0, 21.0), ("yardlong-bean", 14.0, 21.0), ("cowpea", 14.0, 21.0)]
)
def test_flowers_do_not_set_in_the_cool(name: str, none: float, all_from: float) -> None:
    """FNPDT of CROPGRO (TMGRO048 and CPGRO048.SPE), shape QDR: all set from one temperature on, three quarters half-way
    to that at which none do; the mean over the hours of a day of cool nights is below that of an even one."""
    crop, half = load_crop(name), 0.5 * (none + all_from)
    shares = [float(setting_share(crop, steady(at)).mean()) for at in (none, half, all_from)]
    assert shares == pytest.approx([0.0, 0.75, 1.0], abs=1e-9)
    assert setting_share(crop, steady(all_from), steady(none)).max() < 0.9


def test_okra_makes_few_pods_in_the_cool_of_autumn_and_a_pea_does_not_mind() -> None:
    """Cotton, of the same family (COGRO048.SPE): none at 17.3 C, all from 28.2 on; the library has no such limit for peas."""
    okra = load_crop("okra")
    assert setting_share(okra, steady(17.0)).max() == 0.0
    assert setting_share(okra, steady(28.5)).min() == pytest.approx(1.0)
    for name in ("pea-dwarf", "bean-bush", "broad-bean"):
        assert setting_share(load_crop(name), steady(8.0), steady(3.0)).min() == 1.0


def test_tomatoes_bear_next_to_nothing_at_a_mean_of_29_degrees() -> None:
    """Peet, Sato & Gardner 1998 (Plant, Cell and Environment 21:225-231, abstract): at a daily mean of 29 C the number of fruit
    was 10 % and their weight 6.4 % of those at 25 C, between which and as far below the line may come."""
    at = [float(setting_share(load_crop("tomato-cordon"), steady(mean)).mean()) for mean in (25.0, 27.0, 29.0)]
    assert at[2] / at[0] == pytest.approx(0.064, abs=0.04)
    assert at[0] > at[1] > at[2]


@pytest.mark.parametrize(("name", "lasts"), [("tomato-cordon", True), ("pepper-sweet", True), ("coriander", False)])
def test_fruit_of_warm_annuals_outlasts_the_heat(name: str, lasts: bool) -> None:
    """What is above the ground of a cool annual is spoilt after some days of heat; a tomato or pepper, which chill ends, bears
    again when they are over."""
    crop = load_crop(name)
    mean, daylength = steady(20.0), np.full(DAYS, 11.0)
    opens = int(part_window(crop, crop.main_part, run_clock(crop, "module", 0, mean, mean - 5.0, mean, daylength))[0][0])
    mean[:, opens + 5 : opens + 40] = 31.0
    closes = int(part_window(crop, crop.main_part, run_clock(crop, "module", 0, mean, mean - 5.0, mean, daylength))[1][0])
    assert (closes > opens + 40) == lasts


def test_light_is_used_by_the_mean_of_the_day_where_a_crop_has_its_temperatures() -> None:
    """APSIM's faba bean (Fababean.xml, x_ave_temp): none at 0 C, all from 12 to 20, none at 32."""
    used = warmth_factor(load_crop("broad-bean"), np.array([-3.0, 0.0, 6.0, 12.0, 20.0, 26.0, 32.0, 40.0]))
    assert used == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0, 0.5, 0.0, 0.0])
    assert warmth_factor(load_crop("pea-dwarf"), np.array([2.0, 10.0])) == pytest.approx([0.0, 1.0])


def test_heat_stops_setting_spoils_leaves_and_wears_out() -> None:
    tomato, lettuce = load_crop("tomato-cordon"), load_crop("lettuce-cos")
    sweet = load_crop("sweet-corn")
    assert setting_share(sweet, steady(35.0)).max() == pytest.approx(1.0)
    assert setting_share(load_crop("tomatillo"), steady(26.7)).max() == pytest.approx(0.5)
    assert setting_share(tomato, steady(24.0)).min() == 1.0
    assert setting_share(tomato, steady(29.2)).max() == pytest.approx(0.0, abs=1e-9)
    beans = load_crop("bean-bush")
    assert pod_set(beans, steady(30.5), steady(30.5)).max() == pytest.approx(0.75)
    assert pod_set(beans, steady(36.0), steady(36.0)).max() == pytest.approx(0.0, abs=1e-9)
    assert setting_share(lettuce, steady(26.4)).max() == pytest.approx(0.5)
    assert unfit(lettuce, steady(27.0)).all()
    assert not unfit(lettuce, steady(25.0)).any()
    green = np.ones((1, DAYS), dtype=bool)
    assert worn_out(lettuce, steady(27.9), green)[0].argmax() == 74
    assert not worn_out(load_crop("okra"), steady(30.0), green).any()


def comes_up(name: str, soil: NDArray[np.float64]) -> float:
    """Share of a sowing on the first day that comes up normal."""
    return float(come_up(load_crop(name), soil, 0, emergence_day(load_crop(name), soil, 0))[0])


def test_lettuce_comes_up_badly_in_hot_soil_and_tomatoes_not_in_cold() -> None:
    """Harrington & Minges: 12 of 99 % at 30 C; 82 of 98 % of tomatoes at 10 C, 47 of 98 % of sweet corn; 17 of 96 %
    of melons that have not come up at 15 C when a lima bean has, after 31 days."""
    assert comes_up("lettuce-cos", steady(30.0)) == pytest.approx(12 / 99)
    assert comes_up("tomato-bush", steady(10.0)) == pytest.approx(82 / 98)
    assert comes_up("sweet-corn", steady(10.0)) == pytest.approx(47 / 98)
    assert comes_up("rosemary", steady(2.0)) == 1.0
    assert comes_up("winter-squash", steady(10.0)) < 0.01
    melon = load_crop("melon")
    assert np.exp(-31.0 * seed_lost(melon, normal_seedlings()["melon"], np.array(15.0))) == pytest.approx(17 / 96)


def test_seed_that_waits_in_cold_soil_rots_though_it_comes_up_in_warm() -> None:
    """Beans of which 1 of 97 % is left at 10 C after the 43 days that a tomato takes there, half of which they wait:
    (1 / 97)^0.5; sweet corn that comes up after 22 days at 10 C, half of the way: (47 / 98)^0.5; peas lose next to nothing."""
    beans = np.concatenate([steady(10.0, 22), steady(20.0, 40)], axis=1)
    assert comes_up("bean-bush", beans) == pytest.approx((1 / 97) ** 0.5, abs=0.02)
    corn = np.concatenate([steady(10.0, 12), steady(20.0, 40)], axis=1)
    assert comes_up("sweet-corn", corn) == pytest.approx((47 / 98) ** 0.5, abs=0.02)
    assert comes_up("pea-tall", beans) > 0.95


def test_between_the_temperatures_of_the_table_the_share_lies_between() -> None:
    """Half-way from 25 to 30 C, 99 and 12 % of lettuce: the middle of the two."""
    crop = load_crop("lettuce-cos")
    table = normal_seedlings()[crop.id]
    lost = seed_lost(crop, table, np.array([27.5])) / emergence_rate(crop, np.array([27.5]))
    assert np.exp(-lost) == pytest.approx((99 + 12) / 2 / 99)


def test_seed_is_lost_in_cold_soil_and_not_in_warm() -> None:
    days = np.full(DAYS, 14.0)
    for air, comes in ((3.0, False), (12.0, True)):
        found = run_clock(load_crop("beetroot"), "drills", 0, steady(air), steady(air - 2.0), steady(air), days)
        assert (found.emergence[0] < NEVER) == comes


def test_seedlings_too_small_for_the_winter_are_lost() -> None:
    """Onions sown in late August stand the winter, those of late September do not (Brewster 2008); broad beans do."""
    days = np.arange(400)
    year = (10.5 - 6.5 * np.cos(2.0 * np.pi * (days + 232 - 25) / 365.0))[None, :]
    for name, start, comes in (("onion", 0, True), ("onion", 35, False), ("broad-bean", 35, True)):
        found = run_clock(load_crop(name), "drills", start, year, year - 4.0, year, np.full(400, 10.0))
        assert (found.emergence[0] < NEVER) == comes, (name, start)


def test_what_is_ready_stands_longer_in_the_cool() -> None:
    opens = np.array([10])
    cool, warm = (int(holds_until(standing_days(steady(t)), opens, 20.0)[0]) for t in (7.0, 17.0))
    assert warm == 30
    assert cool in (60, 61)


def test_a_cover_does_not_shorten_a_life() -> None:
    days = np.full(DAYS, 10.0)
    crop = load_crop("lettuce-loose-leaf")
    bare = run_clock(crop, "module", 0, steady(10.0), steady(6.0), steady(10.0), days)
    warm = run_clock(crop, "module", 0, steady(15.0), steady(9.0), steady(15.0), days, open_c=steady(10.0))
    assert warm.ready[0] < bare.ready[0]
    assert warm.end[0] == pytest.approx(bare.end[0], abs=1)


def test_roots_bulbs_and_biennials_outlive_their_tops() -> None:
    assert all(lives_below(load_crop(name)) for name in ("garlic", "carrot-maincrop", "chard", "chives", "potato-early"))
    assert not any(lives_below(load_crop(name)) for name in ("lettuce-cos", "broad-bean", "kale", "okra"))


def test_only_what_is_in_the_soil_outlives_its_tops_there() -> None:
    """A tap root alone does not shield what stands above it: heads, stems and grain freeze with the leaf."""
    below, above = (
        ("peanut", "chicory-witloof", "salsify", "turnip"),
        ("lettuce-crisphead", "florence-fennel", "celtuce", "sunflower"),
    )
    assert all(load_crop(name).in_soil and lives_below(load_crop(name)) for name in below)
    assert not any(load_crop(name).in_soil or lives_below(load_crop(name)) for name in above)
    radicchio = load_crop("chicory-radicchio")
    assert lives_below(radicchio), "the root lives and sprouts again"
    assert not radicchio.in_soil, "the head is lost"


def test_habits_name_crops_of_the_library_and_none_twice() -> None:
    seen: set[tuple[str, str]] = set()
    for habit in habits():
        assert habit.crops <= set(crop_ids())
        for crop in habit.crops:
            assert (habit.name, crop) not in seen
            seen.add((habit.name, crop))
    assert set(normal_seedlings()) <= set(crop_ids())


def test_a_crop_of_a_recipe_has_the_habits_of_its_species() -> None:
    assert habit_records("my-lettuce", "Lactuca sativa")["development.heat_above"].value == pytest.approx(23.9)
    assert not habit_records("moss", "Bryum argenteum")


def test_a_mild_week_is_not_the_end_of_winter() -> None:
    """Growth rests below two degrees of thermal time a day; it goes on for good when no other rest follows within weeks."""
    rate = np.concatenate([np.full(60, 8.0), np.full(60, 0.5), np.full(25, 5.0), np.full(40, 0.5), np.full(100, 6.0)])[None]
    found = np.flatnonzero(grows_again(rate)[0])
    assert len(found) == 1
    assert 185 < found[0] < 185 + int(constant("rest_days"))
    assert not grows_again(np.full((1, 300), 8.0)).any()
