"""The season as a result: summaries, traits of the setting, sole-crop trials, light by month, the user's own weather."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import bed, grown, place, planned, planting

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.development import NEVER
from mixcraft.files import FileFaults, UsageError
from mixcraft.recipe.model import HarvestUse, OnDate
from mixcraft.season.columns import sole_density
from mixcraft.season.daylight import light_by_month
from mixcraft.season.grow import grow
from mixcraft.season.own_weather import own_weather
from mixcraft.season.result import Band
from mixcraft.season.setting import BEFORE_DAYS, height_share, needs_pollinators, start_leaf_m2, warmth_factor
from mixcraft.season.trial import best_year, judge, sole_trial, trial_way

YEARS = 4
CROPS = st.sampled_from(sorted(c.id for c in all_crops()))


def test_band() -> None:
    found = Band.of(np.arange(101.0))
    assert (found.low, found.middle, found.high) == (10.0, 50.0, 90.0)
    assert np.isnan(Band.of(np.array([])).middle)


def test_shapes_and_summaries() -> None:
    uses = (HarvestUse("root", "pull"), HarvestUse("carrot tops"))
    season = grown(planting("radish"), planting("carrot-maincrop", harvest=uses), years=YEARS)
    d, y, p, h = season.days, YEARS, 2, 3
    assert season.leaf_m2.shape == season.absorbed_mj.shape == season.growth_g.shape == (d, y, p)
    assert season.picked_kg.shape == season.sole_kg.shape == (d, y, h)
    assert season.taken_mj.shape == (d, p, p)
    assert season.emergence.shape == (y, p)
    assert season.opens.shape == (y, h)
    assert len(season.dates()) == d
    weekly = season.weekly_kg()
    assert weekly.shape == (-(-d // 7), y, h)
    assert weekly.sum() == pytest.approx(season.picked_kg.sum())
    by_planting = season.planting_kg()
    assert by_planting[:, 1] == pytest.approx(season.picked_kg[:, :, 1:].sum(axis=(0, 2)))
    assert season.planting_kg("sole").shape == (y, p)
    first, last = season.first_picking(), season.last_picking()
    picked = season.picked_kg[:, :, 0] > 0.0
    for year in range(y):
        days = np.nonzero(picked[:, year])[0]
        assert (first[year, 0], last[year, 0]) == (days[0], days[-1])
    held = season.field_days()
    assert (held >= 1.0).all()
    assert (held[:, 0] <= last[:, 0] - season.plan.plantings[0].start + 60).all()


def test_nothing_picked_is_never() -> None:
    season = grown(planting("okra", establish="drills", density_per_m2=3.0, start=OnDate("02-01")), years=2)
    assert (season.first_picking() == NEVER).all()
    assert (season.last_picking() == -1).all()
    assert np.isnan(season.partial_ler()).all()


def test_a_frame_of_daily_values() -> None:
    season = grown(planting("radish"), planting("spinach"), years=YEARS)
    frame = season.to_frame()
    assert len(frame) == season.days * 2
    assert set(frame["planting"]) == {p.name for p in season.plan.plantings}
    assert float(frame["picked_kg"].sum()) == pytest.approx(season.picked_kg.mean(axis=1).sum())


def test_best_density_alone() -> None:
    """A cutting stand when it is cut and sown thick, else the crop's own."""
    crop = load_crop("lettuce-baby-leaf")
    cut = planned(planting("lettuce-baby-leaf", density_per_m2=200.0)).plantings[0]
    assert sole_density(cut) == crop["spacing.cutting_density"]
    radish = planned(planting("radish", density_per_m2=10.0)).plantings[0]
    assert sole_density(radish) == load_crop("radish")["spacing.density"]


@given(CROPS, st.floats(-10.0, 45.0))
@settings(max_examples=80)
def test_warmth_is_a_share(crop_id: str, t: float) -> None:
    """Nothing at the base and at the ceiling, or where a crop's light use ends, all at the optimum, a share between."""
    crop = load_crop(crop_id)
    base = crop.number("development.light_use.none_below", crop["development.t_base"])
    top = crop.number("development.light_use.none_above", crop["development.t_ceiling"])
    factor = float(warmth_factor(crop, np.array(t)))
    assert 0.0 <= factor <= 1.0
    assert float(warmth_factor(crop, np.array(base))) == 0.0
    assert float(warmth_factor(crop, np.array(top))) == 0.0
    middle = float(warmth_factor(crop, np.linspace(base, top, 200)).max())
    assert middle == pytest.approx(1.0, abs=0.02)


@given(CROPS)
@settings(max_examples=30)
def test_height_grows_to_full_and_stays(crop_id: str) -> None:
    share = height_share(load_crop(crop_id), np.linspace(-1.0, 5000.0, 300))
    assert share[0] == 0.0
    assert share[-1] == 1.0
    assert (np.diff(share) >= 0.0).all()


def test_modules_start_with_more_leaf_than_seedlings() -> None:
    for crop in ("lettuce-cos", "cabbage-summer", "tomato-cordon", "leek"):
        seedling = planned(planting(crop, establish="stations", count=4)).plantings[0]
        module = planned(planting(crop, establish="module", count=4)).plantings[0]
        assert 0.0 < start_leaf_m2(seedling) < start_leaf_m2(module) < 0.05


def test_which_crops_need_pollinators() -> None:
    assert needs_pollinators(load_crop("courgette"))
    assert not needs_pollinators(load_crop("carrot-maincrop"))
    assert not needs_pollinators(load_crop("spinach"))


def test_a_trial_does_not_sow_lettuce_in_december() -> None:
    trial = sole_trial(load_crop("lettuce-loose-leaf"), place("Oxford"), years=2)
    assert trial.start is not None
    assert "02-01" <= trial.start <= "09-30"


def test_a_trial_takes_the_quicker_of_starts_that_it_cannot_tell_apart() -> None:
    """Winter cabbage set out in January gives no tenth more at Oxford than in spring, and waits for ten weeks longer."""
    trial = sole_trial(load_crop("cabbage-winter"), place("Oxford"), years=2)
    assert trial.start is not None
    assert "03-22" <= trial.start <= "07-22"


def test_a_trial_finds_what_a_crop_gives() -> None:
    """Lettuce at Oxford grows within published times; okra at Lerwick gives next to nothing."""
    lettuce = load_crop("lettuce-loose-leaf")
    trial = sole_trial(lettuce, place("Oxford"), years=2)
    assert trial.days is not None
    assert 20 <= trial.days <= 120
    verdict = judge(lettuce, trial)
    assert verdict.grows
    assert verdict.yield_range[0] < verdict.yield_range[1]
    assert verdict.days_range[0] < verdict.days_range[1]
    okra = sole_trial(load_crop("okra"), place("Lerwick"), years=1)
    assert okra.yield_kg_m2 < 0.2


def test_trials_establish_as_the_published_days_are_counted() -> None:
    for crop in all_crops():
        way = trial_way(crop)
        assert way in crop.establish
        if crop.counted_from == "sowing" and "drills" in crop.establish:
            assert way in ("drills", "broadcast", "stations")


def test_light_by_month() -> None:
    tall = planting("sweet-corn", name="corn", establish="stations", density_per_m2=8.0, start=OnDate("05-05"))
    low = planting("lettuce-cos", name="lettuce", establish="module", count=12, start=OnDate("06-20"))
    season = grown(tall, low, years=2, voxels=True, one=bed(3.0, 2.0))
    months = light_by_month(season)
    assert [str(m.month)[5:] for m in months][:3] == ["05", "06", "07"]
    july = next(m for m in months if str(m.month).endswith("-07"))
    assert july.share[1] < july.share[0] <= 1.0
    assert july.mol == pytest.approx(july.share * july.open_mol)
    assert 20.0 < july.open_mol < 60.0  # a summer day's light, 5-60 mol m-2 d-1 outdoors
    assert july.ground is not None
    assert july.ground.shape == (season.plan.grid.nx, season.plan.grid.ny)
    assert 0.0 <= july.ground.min() <= july.ground.max() <= 1.0 + 1e-6
    assert np.isnan(months[0].share[1])


def daily_csv(path: Path, first: str, days: int) -> Path:
    """A file of the same mild day again and again."""
    dates = np.datetime64(first) + np.arange(days)
    rows = [f"{d},8.0,18.0,2.0,15.0" for d in dates]
    path.write_text("date,tmin_c,tmax_c,rain_mm,radiation_mj\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def test_own_weather(tmp_path: Path) -> None:
    plan = planned(planting("radish"))
    path = daily_csv(tmp_path / "mine.csv", "2019-01-01", 3 * 365 + 1)
    weather = own_weather(str(path), plan)
    assert weather.tmean_c.shape[0] >= 2
    assert weather.tmean_c.shape[1] == plan.days + BEFORE_DAYS
    season = grow(plan, weather=weather, voxels=False)
    assert season.years == weather.tmean_c.shape[0]
    assert np.ptp(season.picked_kg.sum(axis=(0, 2))) == pytest.approx(0.0, abs=1e-9)  # every year is the same


def test_own_weather_that_is_none(tmp_path: Path) -> None:
    plan = planned(planting("radish"))
    with pytest.raises(UsageError, match=r"daily \.csv or an \.epw"):
        own_weather("weather.xls", plan)
    (tmp_path / "bad.csv").write_text("when,hot\n2019-01-01,yes\n", "utf-8")
    with pytest.raises(FileFaults):
        own_weather(str(tmp_path / "bad.csv"), plan)
    with pytest.raises((FileFaults, UsageError)):
        own_weather(str(daily_csv(tmp_path / "short.csv", "2019-01-01", 20)), plan)


def test_a_trial_counts_the_best_year_of_the_yield() -> None:
    """Picked every 100 days for 800 days, 1 to 8 kg: 365 days hold four pickings, the last four 26 kg; short trials hold all."""
    kg = np.zeros((800, 1, 1))
    kg[99::100, 0, 0] = np.arange(1.0, 9.0)
    assert best_year(kg)[0, 0] == 5.0 + 6.0 + 7.0 + 8.0
    assert best_year(kg[:350])[0, 0] == 1.0 + 2.0 + 3.0


def test_weather_of_the_other_hemisphere_is_refused(tmp_path: Path) -> None:
    """Its January is the garden's July: nothing good would come of it, so the first line is pointed at, with the repair."""
    path = tmp_path / "south.epw"
    path.write_text("LOCATION,Southtown,-,AUS,-,0,-37.8,145.0,10.0,31.0\n")
    with pytest.raises(FileFaults, match="the seasons are opposite") as caught:
        own_weather(str(path), planned(planting("radish")))
    assert caught.value.faults[0].line == 1
    assert "own hemisphere" in caught.value.faults[0].repair
