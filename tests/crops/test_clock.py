"""Thermal time, emergence, bolting, death by frost and windows of picking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.clock import Clock, frost_death, frost_limit, part_window, run_clock
from mixcraft.crops.development import (
    NEVER,
    bolting_day,
    crop_thermal_rate,
    emergence_day,
    emergence_rate,
    first_day_reaching,
    thermal_rate,
)

DAYS = 300
CROPS = st.sampled_from(sorted(c.id for c in all_crops()))


def steady(value: float, days: int = DAYS, years: int = 1) -> np.ndarray:
    return np.full((years, days), value)


def clock(crop: str, mean_c: float = 16.0, daylength_h: float = 14.0, establish: str = "drills") -> Clock:
    """The clock of a crop started on day 0 in weather that never changes."""
    mean = steady(mean_c)
    return run_clock(load_crop(crop), establish, 0, mean, steady(8.0), mean, np.full(DAYS, daylength_h))


@given(st.floats(-20.0, 60.0))
@settings(max_examples=100)
def test_thermal_rate_is_a_triangle(t: float) -> None:
    """Nothing at 4 C and below, 20 at 24 C, nothing at 34 C and above."""
    rate = float(thermal_rate(np.array(t), 4.0, 24.0, 34.0))
    if t <= 4.0 or t >= 34.0:
        assert rate == 0.0
    elif t <= 24.0:
        assert rate == pytest.approx(t - 4.0)
    else:
        assert rate == pytest.approx(20.0 * (34.0 - t) / 10.0)


@given(CROPS, st.floats(-10.0, 50.0))
@settings(max_examples=100)
def test_rates_are_never_negative_and_have_no_jump(crop_id: str, t: float) -> None:
    crop = load_crop(crop_id)
    both = np.array([t, t + 1e-6])
    for rate in (crop_thermal_rate(crop, both), emergence_rate(crop, both)):
        assert (rate >= 0.0).all()
    assert abs(np.diff(crop_thermal_rate(crop, both))[0]) < 1e-3


@given(CROPS, st.floats(5.0, 30.0), st.integers(0, 50))
@settings(max_examples=60)
def test_later_sowing_is_later_by_as_much(crop_id: str, t: float, start: int) -> None:
    """In soil that never changes, emergence takes the same days whenever it is sown."""
    crop = load_crop(crop_id)
    soil = steady(t, 900)
    first, later = int(emergence_day(crop, soil, 0)[0]), int(emergence_day(crop, soil, start)[0])
    if first + start < 900:
        assert later == first + start
    assert first > 0


def test_first_day_reaching() -> None:
    progress = np.array([[0.0, 1.0, 2.0, 3.0], [0.0, 0.0, 0.0, 0.5]])
    assert first_day_reaching(progress, 2.0).tolist() == [2, NEVER]
    assert first_day_reaching(progress, 1.0, 3).tolist() == [3, NEVER]


@pytest.mark.parametrize("crop", ["radish", "carrot-maincrop", "lettuce-cos", "pea-dwarf", "kohlrabi"])
def test_events_follow_one_another(crop: str) -> None:
    found = clock(crop)
    emergence, ready, end = int(found.emergence[0]), int(found.ready[0]), int(found.end[0])
    assert 0 < emergence < ready <= end
    assert found.thermal[0, emergence - 1] < 0.0 <= found.thermal[0, emergence]
    assert (np.diff(found.thermal[0, emergence:]) >= 0.0).all()
    assert found.event("first harvest")[0] == ready
    assert found.event("start")[0] == 0
    with pytest.raises(KeyError):
        found.event("wedding")


def test_modules_are_up_at_once_and_ahead() -> None:
    sown, planted = clock("lettuce-cos"), clock("lettuce-cos", establish="module")
    assert planted.emergence[0] == 0
    assert planted.thermal[0, 0] > 0.0
    assert planted.ready[0] < sown.ready[0]


def test_warmer_is_quicker_up_to_the_optimum() -> None:
    ready = [int(clock("carrot-maincrop", mean_c=t).ready[0]) for t in (10.0, 14.0, 18.0, 22.0)]
    assert ready == sorted(ready, reverse=True)


def test_too_cold_never_comes_up() -> None:
    found = clock("sweet-corn", mean_c=3.0)
    assert found.emergence[0] == NEVER
    assert found.ready[0] == NEVER
    assert (found.thermal < 0.0).all()


def test_long_days_make_lettuce_bolt() -> None:
    crop = next(c for c in all_crops() if c.bolting == "long_day" and "leaf" in c.kinds)
    critical = crop["development.bolting.critical_daylength"]
    long, short = (int(clock(crop.id, daylength_h=critical + d).bolt[0]) for d in (1.0, -1.0))
    assert long < DAYS
    assert short == NEVER


def test_chilled_biennials_bolt() -> None:
    """Carrots bolt after nine weeks of cold, and not without them."""
    crop = load_crop("carrot-maincrop")
    assert crop.bolting == "chill"
    weeks = int(crop["development.bolting.chill_days"])
    cold = crop["development.bolting.chill_below"] - 3.0
    mean = np.concatenate([np.full(weeks + 5, cold), np.full(400, 17.0)])[None, :]
    warm = np.full_like(mean, 17.0)
    day = np.full(mean.shape[1], 14.0)
    bolts = [int(bolting_day(crop, m, crop_thermal_rate(crop, m), day, np.array([0]))[0]) for m in (mean, warm)]
    assert weeks < bolts[0] < NEVER
    assert bolts[1] == NEVER


def test_a_crop_without_a_bolting_rule_never_bolts() -> None:
    assert load_crop("pea-dwarf").bolting == "none"
    assert clock("pea-dwarf").bolt[0] == NEVER


def test_frost_kills_by_stage() -> None:
    """Before it is up nothing dies; the limit passes from the seedling's to the grown plant's."""
    crop = load_crop("bean-bush")
    thermal = np.array([[-1.0, 0.0, 60.0, 500.0]])
    limit = frost_limit(crop, thermal)[0]
    young, grown = crop["frost.seedling"], crop["frost.grown"]
    assert limit[0] == -np.inf
    assert limit[1] == young
    assert min(young, grown) <= limit[2] <= max(young, grown)
    assert limit[3] == grown
    low = np.array([[-30.0, 5.0, 5.0, grown - 0.1]])
    assert frost_death(crop, low, thermal)[0] == 3
    assert frost_death(crop, np.full((1, 4), 5.0), thermal)[0] == NEVER
    assert frost_death(crop, np.array([[-30.0, 5.0, 5.0, 5.0]]), thermal)[0] == NEVER


def test_hardier_crops_have_lower_limits() -> None:
    """Order only, as every list of hardiness has it: leek and kale under lettuce, lettuce under beans and basil."""
    limits = [load_crop(name)["frost.grown"] for name in ("kale", "lettuce-cos", "bean-bush")]
    assert limits == sorted(limits)
    assert load_crop("leek")["frost.grown"] < load_crop("basil")["frost.grown"]


def test_roots_keep_when_frost_has_killed_the_tops() -> None:
    crop = load_crop("carrot-maincrop")
    found = clock("carrot-maincrop")
    ready = int(found.ready[0])
    frost = replace(found, death=np.array([ready + 10]))
    opens, closes = part_window(crop, crop.main_part, frost)
    assert opens[0] == ready
    assert closes[0] > ready + 10
    leaves = load_crop("lettuce-cos")
    lettuce = clock("lettuce-cos")
    killed = replace(lettuce, death=np.array([int(lettuce.ready[0]) + 3]))
    assert part_window(leaves, leaves.main_part, killed)[1][0] <= int(lettuce.ready[0]) + 3


def test_a_window_that_never_opens() -> None:
    crop = load_crop("carrot-maincrop")
    opens, _ = part_window(crop, crop.main_part, clock("carrot-maincrop", mean_c=4.5))
    assert opens[0] == NEVER
