"""Bulbs: kinds that suit the days of a place, cold before they divide, heat that ripens them, leaf that ends."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.crops.bulbs import (
    bulb_cold,
    in_leaf,
    leaf_goes_on,
    ripened_by_heat,
    spoilt_by_shooting,
    swelling_daylength,
    swells_by_age,
)
from mixcraft.crops.clock import run_clock
from mixcraft.crops.development import NEVER
from mixcraft.crops.windows import part_window

DAYS = 200


def steady(value: float) -> np.ndarray:
    return np.full((1, DAYS), value)


@pytest.mark.parametrize(("longest_h", "critical_h"), [(16.7, 14.0), (14.0, 12.5), (12.1, 12.0)])
def test_garlic_of_a_place_swells_before_its_longest_days(longest_h: float, critical_h: float) -> None:
    """In the north in days of 14 h (del Pozo & Gonzalez 2005), southwards an hour and a half before the longest, near the equator
    in the shortest days that any kind takes."""
    assert swelling_daylength(load_crop("garlic"), np.array([10.0, longest_h])) == pytest.approx(critical_h)


def test_garlic_without_cold_stays_small_where_its_kinds_ask_for_it() -> None:
    garlic, long_days, organ = load_crop("garlic"), np.full(DAYS, 16.0), np.array([100])
    assert bulb_cold(garlic, steady(5.0), 0, organ, long_days).item() == 1.0
    assert bulb_cold(garlic, steady(5.0), 80, organ, long_days).item() == pytest.approx(0.75)
    assert bulb_cold(garlic, steady(18.0), 0, organ, long_days).item() == 0.5
    assert bulb_cold(garlic, steady(18.0), 0, organ, np.full(DAYS, 12.1)).item() == 1.0
    assert bulb_cold(load_crop("onion"), steady(18.0), 0, organ, long_days).item() == 1.0


def test_onions_that_shoot_are_no_harvest() -> None:
    """Sets of August are up and grown by the winter, shoot in spring and make no bulb; those of March do not."""
    assert spoilt_by_shooting(load_crop("onion"))
    assert not any(spoilt_by_shooting(load_crop(name)) for name in ("garlic", "shallot", "leek"))
    crop, days = load_crop("onion"), np.arange(700)
    mean = 10.0 - 8.0 * np.cos(2.0 * np.pi * (days - 15.0) / 365.0)[None, :]
    light = 12.0 - 4.0 * np.cos(2.0 * np.pi * (days + 10.0) / 365.0)
    for start, comes in ((75, True), (220, False)):
        found = run_clock(crop, "set", start, mean, mean - 4.0, mean, light)
        assert found.ready[0] < NEVER
        assert (part_window(crop, crop.main_part, found)[0][0] < NEVER) == comes


@pytest.mark.parametrize(("long_d", "stays"), [(95, False), (110, True)])
def test_onions_that_short_days_find_in_leaf_begin_anew(long_d: int, stays: bool) -> None:
    """Aoba 1964 (abstract): what long days have begun, short days undo, less easily the thicker the bulb.

    By hand: at 15 C a sown onion gains 10 C d above 5 C a day, begins to swell after 600 C d, so 59 days after the first, ends
    its leaf after 0.57 x 730 C d, 42 days later, and is ripe 73 days after it has begun.  Days of 16 h up to day 95 or 110 from
    emergence, 60 of 10 h, and days of 16 h again.
    """
    crop, days = load_crop("onion"), np.arange(400)
    mean = np.full((1, 400), 15.0)
    first = int(run_clock(crop, "drills", 0, mean, mean - 4.0, mean, np.full(400, 16.0)).emergence[0])
    light = np.where((days >= first + long_d) & (days < first + long_d + 60), 10.0, 16.0)
    found = run_clock(crop, "drills", 0, mean, mean - 4.0, mean, light)
    begins = first + (59 if stays else long_d + 60)
    assert found.organ[0] == begins
    assert found.ready[0] == begins + 73


def test_sets_swell_and_ripen_some_weeks_before_onions_sown_with_them() -> None:
    """Common practice, no source: about three weeks at 17 C, where both are up on one day."""
    onion = load_crop("onion")
    mean, days = np.full((1, 300), 17.0), np.full(300, 16.0)
    grown = {way: run_clock(onion, way, 0, mean, mean - 6.0, mean, days) for way in ("set", "drills")}
    three_weeks = 21
    for event in ("organ", "ready"):
        ages = {way: int((getattr(clock, event) - clock.emergence)[0]) for way, clock in grown.items()}
        assert ages["drills"] - ages["set"] == pytest.approx(three_weeks, abs=1.0), event


def test_garlic_goes_on_in_short_days() -> None:
    garlic, days = load_crop("garlic"), np.arange(400)
    mean = np.full((1, 400), 15.0)
    light = np.where(days < 60, 16.0, 10.0)
    found = [run_clock(garlic, "clove", 0, mean, mean - 4.0, mean, hours) for hours in (light, np.full(400, 16.0))]
    assert found[0].organ[0] < 60 < found[0].ready[0] == found[1].ready[0]


@pytest.mark.parametrize(("crop", "longest_h", "by_age"), [
    ("garlic", 12.2, True), ("garlic", 14.0, False), ("garlic", 16.5, False), ("onion-short-day", 12.2, False),
])  # fmt: skip
def test_garlic_of_the_equator_swells_by_age(crop: str, longest_h: float, by_age: bool) -> None:
    """No day there is short; elsewhere winter has short ones, and onions wait for their own `least` anywhere."""
    hours = 12.1 + (longest_h - 12.1) * np.sin(2.0 * np.pi * np.arange(365) / 365.0)
    assert swells_by_age(load_crop(crop), hours) == by_age


def test_garlic_of_the_equator_is_ripe_as_late_as_in_the_highlands_of_ethiopia() -> None:
    """At 15 C in days of 12.1 h: 1420 C d after it is up, not 35 days sooner; kinds are ripe there 135 to 176 days after planting
    (Ayalew et al. 2015)."""
    garlic, mean = load_crop("garlic"), np.full((1, 400), 15.0)
    found = run_clock(garlic, "clove", 0, mean, mean - 4.0, mean, np.full(400, 12.1))
    assert found.ready[0] - found.emergence[0] == pytest.approx(1420.0 / 11.0, abs=2.0)
    assert 130 <= found.ready[0] <= 176


def test_late_onions_are_ripened_by_heat_before_short_days_turn_them_back() -> None:
    """Bulbs that have begun and are worn out by heat (200 C d above 29.4 C) within the long days are lifted small."""
    crop, days = load_crop("onion"), np.arange(400)
    mean = np.where(days < 70, 15.0, 45.0)[None, :]
    light = np.where(days < 100, 16.0, 10.0)
    found = run_clock(crop, "set", 0, mean, mean - 4.0, mean, light)
    assert found.organ[0] < 70 < found.ready[0] < 100


def test_heat_ripens_bulbs_that_have_begun_and_kills_those_that_have_not() -> None:
    ready, heat = ripened_by_heat(np.array([50, 90]), np.array([120, 160]), np.array([80, 80]))
    assert ready.tolist() == [80, 160]
    assert heat.tolist() == [NEVER, 80]


def test_leaf_ends_rather_more_than_half_way_from_swelling_to_ripeness() -> None:
    thermal = np.arange(DAYS, dtype=float)[None, :] * 10.0
    share = leaf_goes_on(thermal, np.array([50]), np.array([150]))[0]
    assert share[:51].min() == 1.0
    assert share[75] == pytest.approx(1.0 - 0.25 / 0.57)
    assert share[108:].max() == 0.0
    assert (leaf_goes_on(thermal, np.array([NEVER]), np.array([NEVER])) == 1.0).all()


def test_what_a_frost_has_left_without_leaf_makes_new_leaf_before_it_swells() -> None:
    """Ten degree days a day: able from the 20th day on, and again 25 days after the night of the 60th that took its tops; a night
    that takes half of them puts nothing off."""
    thermal = np.cumsum(np.full((3, DAYS), 10.0), axis=1)
    dieback = np.zeros((3, DAYS))
    dieback[1, 60], dieback[2, 60] = 1.0, 0.5
    leafy = in_leaf(thermal, np.full(3, 20), dieback, 250.0)
    days = np.arange(DAYS)
    np.testing.assert_array_equal(leafy[0], days >= 20)
    np.testing.assert_array_equal(leafy[1], ((days >= 20) & (days < 60)) | (days >= 85))
    np.testing.assert_array_equal(leafy[2], leafy[0])


def test_garlic_whose_tops_a_winter_takes_swells_as_what_comes_up_in_spring() -> None:
    """By hand: up on the first day at 14 C, 10 degree days a day; a night of -25 C on the 100th takes the leaf and long days
    follow on the 110th, so that it swells 250 C d after the frost and not at once."""
    garlic = load_crop("garlic")
    mean, low = steady(14.0), steady(8.0)
    frosty = low.copy()
    frosty[0, 100] = -25.0
    day = np.where(np.arange(DAYS) < 110, 11.0, 16.0)
    mild, killed = (run_clock(garlic, "clove", 0, mean, nights, mean, day) for nights in (low, frosty))
    assert mild.organ[0] == 110
    assert killed.dieback[0, 100] == 1.0
    assert killed.organ[0] == pytest.approx(100 + 25, abs=1)
