"""Soil water: the stress coefficient, roots in layers, the soil before the season, and a balance that closes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season.oracle.water import (
    FALLOW_YEARS,
    SOILS,
    BedWater,
    Profile,
    available_water_m3_m3,
    fallow_states,
    ground_cover,
    layer_bounds,
    root_layers,
    soil_before,
    stress,
)
from strategies import bed, grown, place, planned, planting

from mixcraft.place.series import day_of_year
from mixcraft.recipe.model import OnDate, Span, Strip, Watering
from mixcraft.season.grow import grow
from mixcraft.season.setting import BEFORE_DAYS, season_weather, settle

YEARS = 3
A_DAY_MM = 5.0
ROUNDING = 1e-12
"""Shares that sum to one may come out by so much above it."""


def test_stress_of_a_tomato_by_hand() -> None:
    """FAO-56 eq. 84 with the soil of its example 37 (from memory): 200 mm/m over 0.8 m is 160 mm, p 0.40.

    Readily available: 64 mm.  At 55 mm depletion nothing is felt; at 65 mm (160 - 65) / (160 - 64) = 0.99; at 112 mm 0.5; at
    160 mm nothing is left.
    """
    ks = stress(np.array([0.0, 55.0, 64.0, 65.0, 112.0, 160.0]), np.array(160.0), np.array(0.4))
    assert ks == pytest.approx([1.0, 1.0, 1.0, 0.98958, 0.5, 0.0], abs=1e-4)


@given(st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.floats(0.1, 0.8))
@settings(max_examples=60)
def test_stress_is_a_share_and_falls_as_soil_dries(a: float, b: float, p: float) -> None:
    low, high = sorted((min(a, 160.0), min(b, 160.0)))
    ks = stress(np.array([low, high]), np.array(160.0), np.array(p))
    assert 0.0 <= ks[1] <= ks[0] <= 1.0


@given(st.floats(0.03, 1.0))
@settings(max_examples=40)
def test_roots_in_layers(depth: float) -> None:
    """All roots lie in the layers, most of them on top, none below the rooting depth."""
    bounds = np.linspace(0.1, 1.0, 10)
    share = root_layers(np.array(depth), bounds)
    assert share.sum() == pytest.approx(1.0)
    assert (np.diff(share) <= 1e-12).all()
    assert (share[bounds - 0.1 >= depth] == 0.0).all()


def test_clay_and_loam_hold_more_than_sand() -> None:
    """Order of FAO-56 Table 19."""
    water = available_water_m3_m3()
    assert water["sand"] < water["loamy sand"] < water["sandy loam"] < water["loam"] <= water["silt loam"]
    assert water["sand"] < water["clay"]
    assert all(0.03 < value < 0.25 for value in water.values())


def spinach_and_lettuce(
    soil: str, watering: Watering, years: int = YEARS, where: str = "Oxford", start: str = "04-15"
) -> BedWater:
    """The bed's water of two crops over a bed of 2 m2."""
    rule = OnDate(start)
    crops = planting("spinach", start=rule), planting("lettuce-cos", start=rule, density_per_m2=8.0)
    plan = planned(*crops, one=bed(soil=soil, watering=watering), where=where)
    return BedWater(settle(plan, season_weather(plan, years, 5)))


@pytest.mark.parametrize("watering", [Watering("rain"), Watering("weekly", 20.0)], ids=["rain", "weekly"])
@pytest.mark.parametrize("soil", SOILS)
def test_the_balance_closes(soil: str, watering: Watering) -> None:
    """Rain and watering = what evaporates, transpires and drains + what the soil lacks less than before."""
    water = spinach_and_lettuce(soil, watering)
    days = len(water.et0)
    factors = np.stack([water(day, np.full((YEARS, 2), 2.0)) for day in range(days)])
    out = water.evaporated + water.transpired + water.drained
    gain = water.start.sum(axis=1) - water.profile.depletion.sum(axis=1)
    assert water.added - out == pytest.approx(gain, abs=1e-6)
    gift = 20.0 * len(range(0, days, 7)) if watering.kind == "weekly" else 0.0
    plan = planned(planting("spinach"), planting("lettuce-cos", density_per_m2=8.0), one=bed(soil=soil, watering=watering))
    rain = season_weather(plan, YEARS, 5).rain_mm[:, BEFORE_DAYS:].sum(axis=1)
    assert water.added == pytest.approx(rain + gift)
    assert (factors >= 0.0).all()
    assert (factors <= 1.0 + ROUNDING).all()
    assert water.transpired.min() > 0.0


@given(st.lists(st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 9.0), st.floats(0.0, 1.0)), min_size=5, max_size=40))
@settings(max_examples=40, deadline=None)
def test_any_weather_keeps_the_soil_between_its_bounds(days: list[tuple[float, float, float]]) -> None:
    """Whatever falls, evaporates and grows: no layer below wilting point but the surface, none above field capacity; what is
    taken is no more than asked, and every millimetre is accounted for."""
    soil = Profile("clay", np.zeros((1, len(layer_bounds()))), np.zeros(1))
    rooting = soil.roots(np.array([[0.3, 1.0]]))
    balance = 0.0
    for rain, et0, cover in days:
        balance += rain - float(soil.wet(np.array([rain]))[0])
        kcb = np.array([[0.6, 0.4]]) * cover
        drawn = soil.draw(np.array([et0]), kcb, np.array([cover]), rooting, np.array([0.3, 0.5]))
        balance -= float(drawn.evaporation[0] + drawn.uptake.sum())
        assert drawn.uptake.sum() == pytest.approx(float((kcb * drawn.stress).sum() * et0), abs=1e-9)
        assert (drawn.stress >= 0.0).all()
        assert (drawn.stress <= 1.0).all()
        assert drawn.evaporation[0] + kcb.sum() * et0 <= 1.2 * et0 + 1e-9
        assert (drawn.evaporation >= -1e-12).all()
        assert (soil.depletion >= -1e-9).all()
        assert (soil.depletion[:, 1:] <= soil.capacity[1:] + 1e-9).all()
        assert soil.depletion[0, 0] <= soil.evaporable + 1e-9
        assert soil.surface[0] >= soil.depletion[0, 0] - 1e-9
    assert -soil.depletion.sum() == pytest.approx(balance, abs=1e-6)


def test_water_fills_from_the_top_and_drains_at_the_end() -> None:
    layers = len(layer_bounds())
    soil = Profile("loam", np.full((2, layers), 4.0), np.array([9.0, 9.0]))
    drained = soil.wet(np.array([6.0, 4.0 * layers + 3.0]))
    assert drained == pytest.approx([0.0, 3.0])
    assert soil.depletion[0] == pytest.approx([0.0, 2.0, *[4.0] * (layers - 2)])
    assert soil.depletion[1] == pytest.approx(0.0)
    assert soil.surface == pytest.approx([3.0, 0.0])


def dried(depths_m: list[float], dry_layers: slice, depletion: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Stress and uptake by layer on a day of 5 mm, with some layers of a loam dried to this share of their water."""
    soil = Profile("loam", np.zeros((1, len(layer_bounds()))), np.zeros(1))
    soil.depletion[:, dry_layers] = depletion * soil.capacity[dry_layers]
    kcb = np.full((1, len(depths_m)), 0.9 / len(depths_m))
    p = np.full(len(depths_m), 0.4)
    drawn = soil.draw(np.array([A_DAY_MM]), kcb, np.array([0.9]), soil.roots(np.array([depths_m])), p)
    return drawn.stress[0], drawn.uptake[0]


def test_roots_in_wet_layers_make_good_for_those_in_dry_ones() -> None:
    """The top 30 cm at wilting point, the next 50 cm full: a crop rooted to 80 cm wants for nothing, for less than p of its
    root zone is used; one rooted to 30 cm gets nothing (FAO-56 eq. 84 over the root zone)."""
    deep, taken = dried([0.8], slice(0, 3))
    shallow, none = dried([0.3], slice(0, 3))
    assert deep[0] == pytest.approx(1.0)
    assert taken[:3].sum() == pytest.approx(0.0, abs=1e-9)
    assert taken[3:].sum() == pytest.approx(0.9 * A_DAY_MM)
    assert shallow[0] == 0.0
    assert none.sum() == 0.0


def test_rain_on_dry_soil_is_felt_at_once() -> None:
    """All at wilting point but the top 10 cm: the crop takes its fill there, although its root zone as a whole is dry."""
    felt, taken = dried([0.8], slice(1, None))
    assert felt[0] == pytest.approx(1.0)
    assert taken[0] == pytest.approx(0.9 * A_DAY_MM)


def test_deep_roots_do_not_help_a_shallow_neighbour_nor_take_from_below_it() -> None:
    both, taken = dried([0.8, 0.3], slice(0, 3), 0.8)
    assert both[0] > both[1]
    assert taken[3:].sum() > taken[:3].sum()


def test_two_crops_empty_a_thin_layer_no_further_than_it_goes() -> None:
    """Where more is asked of a layer than it holds, the uptake is cut, and the stress says so."""
    stressed, taken = dried([0.1, 0.1, 0.1], slice(0, 1), 0.75)
    assert taken.sum() <= 0.25 * 0.155 * 100.0 + 1e-9
    assert (stressed < 1.0).all()


def test_ground_cover_side_by_side_and_mixed() -> None:
    """Two plantings of two square metres: apart their covers add up; one over the other Beer's law holds for the sum."""
    dense = np.array([[1.0, 2.0]])
    _, apart = ground_cover(dense, np.array([1.0, 1.0]), 2.0)
    each, mixed = ground_cover(dense, np.array([2.0, 2.0]), 2.0)
    assert apart[0] == pytest.approx((1.0 - np.exp(-1.0)) / 2.0 + (1.0 - np.exp(-2.0)) / 2.0)
    assert each[0] == pytest.approx([1.0 - np.exp(-0.5), 1.0 - np.exp(-1.0)])
    assert mixed[0] == pytest.approx(1.0 - np.exp(-1.5))


def test_days_without_plants_are_followed_all_the_same() -> None:
    """The day loop asks for nothing while nothing grows; rain and evaporation of those days count."""
    one, other = (spinach_and_lettuce("loam", Watering("rain")) for _ in range(2))
    bare, leaf = np.zeros((YEARS, 2)), np.full((YEARS, 2), 2.0)
    for day in range(20):
        one(day, bare)
    assert np.array_equal(one(20, leaf), other(20, leaf))
    assert np.array_equal(one.profile.depletion, other.profile.depletion)
    assert np.array_equal(one.evaporated, other.evaporated)
    assert one.evaporated.min() > 0.0


# the soil before the season


def test_late_summer_starts_far_drier_than_early_spring() -> None:
    """Rome in August against Oxford in March, over the top 50 cm, after their own 30 days: less than half the water."""

    def left(where: str, start: str) -> float:
        water = spinach_and_lettuce("loam", Watering("rain"), FALLOW_YEARS, where, start)
        inside = layer_bounds() <= 0.5
        return 1.0 - float(water.start[:, inside].sum(axis=1).mean() / water.profile.capacity[inside].sum())

    spring, summer = left("Oxford", "03-10"), left("Rome", "08-10")
    assert spring > 0.8
    assert summer < 0.4


def test_the_given_weather_counts_before_the_start() -> None:
    """Thirty days of downpour fill the soil of Rome in August; thirty dry ones leave it dry."""
    plan = planned(planting("spinach", start=OnDate("08-10")), one=bed(watering=Watering("rain")), where="Rome")
    weather = season_weather(plan, YEARS, 5)
    lacking = []
    for rain in (0.0, 20.0):
        made = weather.rain_mm.copy()
        made[:, :BEFORE_DAYS] = rain
        lacking.append(soil_before(settle(plan, replace(weather, rain_mm=made))).depletion.sum())
    assert lacking[1] < 0.1 * lacking[0]


def test_years_start_from_fallow_years_and_a_single_year_from_their_mean() -> None:
    """With 30 days of neither rain nor evaporation in front, the soil starts as the fallow left it."""
    plan = planned(planting("spinach"), one=bed(watering=Watering("rain")))
    for years in (1, FALLOW_YEARS + 2):
        weather = season_weather(plan, years, 5)
        still = weather.rain_mm.copy(), weather.et0_mm.copy()
        for made in still:
            made[:, :BEFORE_DAYS] = 0.0
        start = soil_before(settle(plan, replace(weather, rain_mm=still[0], et0_mm=still[1]))).depletion
        left = fallow_states(plan.place, "loam")[0][day_of_year(weather.dates[:1])[0] - 1]
        expected = left.mean(axis=0, keepdims=True) if years == 1 else np.concatenate([left, left[:2]])
        assert start == pytest.approx(expected)


def test_fallow_is_the_same_each_time_and_forgets_its_beginning() -> None:
    """Kept states are not changed by the seasons that begin from them; a wet climate's soil is full at the end of winter
    although the run begins dry."""
    depletion, surface = fallow_states(place("Oxford"), "loam")
    copy = depletion.copy(), surface.copy()
    water = spinach_and_lettuce("loam", Watering("rain"))
    for day in range(60):
        water(day, np.full((YEARS, 2), 2.0))
    again = fallow_states(place("Oxford"), "loam")
    assert np.array_equal(copy[0], again[0])
    assert np.array_equal(copy[1], again[1])
    assert depletion.shape == (365, FALLOW_YEARS, len(layer_bounds()))
    assert np.median(depletion[45].sum(axis=1)) < 10.0


def test_more_water_is_never_worse() -> None:
    def growth(watering: Watering, soil: str) -> float:
        lettuce = planting("lettuce-cos", establish="module", count=16, start=OnDate("06-01"))
        return float(grown(lettuce, one=bed(soil=soil, watering=watering), years=YEARS).growth_g.sum())

    rain, some, much = (growth(w, "sand") for w in (Watering("rain"), Watering("weekly", 10.0), Watering("weekly", 40.0)))
    assert rain < some <= much <= growth(Watering("watered"), "sand") * (1.0 + 1e-9)
    assert growth(Watering("rain"), "sand") < growth(Watering("rain"), "silt loam")


def test_neighbours_share_the_water() -> None:
    """On rain alone, lettuce with thirsty neighbours dries out more than lettuce alone."""
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=8, start=OnDate("06-01"))
    kale = planting("kale", name="kale", establish="module", count=6, start=OnDate("05-01"))
    one = bed(soil="sand", watering=Watering("rain"))
    mixed, alone = planned(lettuce, kale, one=one), planned(lettuce, one=one)
    a = grow(mixed, YEARS, 5, voxels=False)
    b = grow(alone, YEARS, 5, voxels=False)
    growing = a.leaf_m2[:, :, 0] > 0.0
    assert a.water[:, :, 0][growing].mean() < b.water[:, :, 0][b.leaf_m2[:, :, 0] > 0.0].mean()


def test_a_planting_that_comes_after_the_days_that_are_followed_is_not_watered_in() -> None:
    plan = planned(planting("kale", establish="module"), one=bed(watering=Watering("rain")))
    late = replace(plan, plantings=(replace(plan.plantings[0], start=plan.days + 3),))
    assert not grow(late, YEARS, 5, voxels=False).growth_g.any()


def test_twins_know_no_neighbours() -> None:
    """On rain alone, lettuce without the others and lettuce alone on the bed are the same beside thirsty kale and beside a
    radish; and one planting is its own lone twin."""
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=8, start=OnDate("06-01"))
    one, early = bed(soil="sand", watering=Watering("rain")), OnDate("05-01")
    kale = planting("kale", name="other", establish="stations", count=6, start=early)
    radish = planting("radish", name="other", establish="stations", count=1, start=early)
    a, b = (grow(planned(lettuce, other, one=one), YEARS, 5, voxels=False) for other in (kale, radish))
    days = min(a.days, b.days)
    assert a.growth_g[:, :, 0].sum() < a.lone_growth_g[:, :, 0].sum()
    assert a.lone_growth_g[:days, :, 0] == pytest.approx(b.lone_growth_g[:days, :, 0], rel=1e-9)
    assert a.sole_kg[:days, :, 0] == pytest.approx(b.sole_kg[:days, :, 0], rel=1e-9)
    by_itself = grow(planned(lettuce, one=one), YEARS, 5, voxels=False)
    assert (by_itself.water < 1.0).any()
    assert by_itself.growth_g == pytest.approx(by_itself.lone_growth_g, rel=1e-9)


def test_what_is_planted_out_is_watered_in() -> None:
    """A can of 10 litres to the square metre on the day and on the planting's share of the bed; seed gets none."""
    half = Strip(x=(Span(0.0, True), Span(0.5, True)))
    item = planting("lettuce-cos", establish="module", count=24, where=half, start=OnDate("06-15"))
    one = bed(watering=Watering("rain"))
    for establish, gift in (("module", 5.0), ("stations", 0.0)):
        plan = planned(replace(item, establish=establish), one=one)
        setting = settle(plan, season_weather(plan, YEARS, 1))
        water, start = BedWater(setting), setting.plan.plantings[0].start
        rain = setting.weather.rain_mm[:, BEFORE_DAYS:].T
        assert water.water[start] == pytest.approx(rain[start] + gift)
        assert np.delete(water.water, start, axis=0) == pytest.approx(np.delete(rain, start, axis=0))
