"""Day length and the flower; tubers that outlive their tops."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml
from numpy.typing import NDArray

from mixcraft.crops import Crop, load_crop
from mixcraft.crops.clock import Clock, run_clock
from mixcraft.crops.development import NEVER, bolting_day, crop_degree_days, daylength_factor, podding_factor
from mixcraft.crops.library import DATA
from mixcraft.crops.windows import part_window
from mixcraft.files import check_schema, load_document
from mixcraft.files.frozen import FrozenMap

DAYS = 330


def in_days_of(crop: str | Crop, establish: str, daylength_h: float, mean_c: float = 15.0) -> Clock:
    mean = np.full((1, DAYS), mean_c)
    grown = load_crop(crop) if isinstance(crop, str) else crop
    return run_clock(grown, establish, 0, mean, mean - 5.0, mean, np.full(DAYS, daylength_h))


def test_pace_of_a_long_day_plant_is_that_of_cropgro() -> None:
    """FBGRO048.CUL: CSDL 24 h, PPSEN -0.031: at 10 h 0.566 of the greatest, at the 14 h of the records 0.69."""
    found = daylength_factor(load_crop("broad-bean"), np.array([10.0, 14.0, 16.0, 24.0]))
    assert found == pytest.approx([0.566 / 0.69, 1.0, 0.752 / 0.69, 1.0 / 0.69])
    assert (daylength_factor(load_crop("tomato-bush"), np.array([8.0, 16.0])) == 1.0).all()


@pytest.mark.parametrize("hours", [10.0, 12.0, 14.0, 16.0, 18.0])
def test_peas_flower_in_short_days_as_late_as_in_monica(hours: float) -> None:
    """MONICA's field pea (field-pea/24.json): 160 C d to the flower bud and 210 from there, each at (P - base) / (20 - base)
    of the pace of long days, base 0 and 7 h; one straight line for both comes within 5 % from 10 to 18 h."""

    def takes(p: float) -> float:
        return 160.0 * 20.0 / p + 210.0 * 13.0 / (p - 7.0)

    ours = float(daylength_factor(load_crop("pea-tall"), np.array(hours)))
    assert 1.0 / ours == pytest.approx(takes(hours) / takes(14.2), rel=0.05)


@pytest.mark.parametrize("crop", ["turnip", "radish", "rocket"])
def test_brassicas_shoot_after_a_winter_whatever_the_days(crop: str) -> None:
    """By hand: so many weeks at 5 C, all of which count, then warmth for the stem, both in days of nine hours; a mild winter at
    12 C, which counts nothing, leaves them waiting for long days."""
    grown = load_crop(crop)
    weeks, takes = grown["development.bolting.winter_days"], grown["development.bolting.winter_time"]
    spring = 15.0 - grown["development.t_base"]
    cold = 5.0 - grown["development.t_base"]

    def stem(winter_c: float, winter: int) -> int:
        mean = np.where(np.arange(DAYS) < winter, winter_c, 15.0)[np.newaxis]
        passed = crop_degree_days(grown, mean)
        return int(bolting_day(grown, mean, passed, np.full(DAYS, 9.0), np.array([0]))[0])

    winter = int(weeks) + 10
    assert stem(5.0, winter) == pytest.approx(winter + (takes - 11 * cold) / spring, abs=1.5)
    assert stem(12.0, winter) == NEVER
    assert stem(5.0, int(weeks) - 3) == NEVER


def test_corn_salad_shoots_after_a_winter_when_the_days_are_long_enough() -> None:
    """By hand: ten days at 5 C, all of which count; then warmth in days of twelve hours or more; none comes in shorter ones."""
    grown = load_crop("corn-salad")
    takes, least = grown["development.bolting.winter_time"], grown["development.bolting.winter_daylength"]
    mean = np.where(np.arange(DAYS) < 60, 5.0, 9.0)[np.newaxis]
    passed = crop_degree_days(grown, mean)

    def stem(hours: NDArray[np.float64]) -> int:
        return int(bolting_day(grown, mean, passed, hours, np.array([0]))[0])

    lengthen = np.where(np.arange(DAYS) < 80, least - 1.0, least + 0.5)
    assert stem(lengthen) == pytest.approx(79 + takes / (9.0 - grown["development.t_base"]), abs=1.0)
    assert stem(np.full(DAYS, least - 1.0)) == NEVER


def test_oca_begins_its_tubers_when_days_get_short_and_not_before() -> None:
    """pacific_bulb_oca: only in days under about twelve hours; planted sooner or later, they begin on one day."""
    oca, mean = load_crop("oca"), np.full((1, DAYS), 15.0)
    fill = oca["development.ready"] - oca["harvest.organ_start"]
    days = np.where(np.arange(DAYS) < 200, 14.0, 11.5)
    for start in (0, 20):
        found = run_clock(oca, "tuber", start, mean, mean - 5.0, mean, days)
        assert found.organ[0] == 200
        assert found.ready[0] - 200 == pytest.approx(fill / (15.0 - oca["development.t_base"]), abs=1.0)
    assert in_days_of("oca", "tuber", 14.0).ready[0] == NEVER
    young = run_clock(oca, "tuber", 150, mean, mean - 5.0, mean, days)
    assert young.organ[0] > 200  # too small on the first short day


def test_short_days_put_off_the_flower_and_what_follows_it() -> None:
    """Emergence to flower of broad bean takes 574 C d in days of 14 h, 700 in days of 10 h; from the flower on (APSIM's ILB1814)
    2350 in days of 12 h with twilight, 1000 in those of 15 h 15 min, over 1478 in those in which it is told."""
    short, usual = in_days_of("broad-bean", "drills", 10.0), in_days_of("broad-bean", "drills", 14.0)
    wait = (short.flower - short.emergence)[0] / (usual.flower - usual.emergence)[0]
    assert wait == pytest.approx(0.69 / 0.566, abs=0.03)
    pace = podding_factor(load_crop("broad-bean"), np.array([9.0, 11.1, 13.2, 14.4, 16.5]))
    assert pace == pytest.approx([1478 / 2350, 1478 / 2350, 1.0, 1.478, 1.478], abs=0.02)
    assert (podding_factor(load_crop("pea-dwarf"), np.array([9.0, 16.0])) == 1.0).all()
    long = in_days_of("broad-bean", "drills", 16.0)
    drawn_out = (short.ready - short.flower)[0] / (long.ready - long.flower)[0]
    assert drawn_out == pytest.approx(2.35, abs=0.1)


def test_pods_mind_the_days_where_the_flower_does_not() -> None:
    """Both stand in the same crop so far; neither leans on the other."""
    bean = load_crop("broad-bean")
    crop = replace(bean, records=FrozenMap({key: r for key, r in bean.records.items() if ".photoperiod." not in key}))
    short, long = in_days_of(crop, "drills", 10.0), in_days_of(crop, "drills", 16.0)
    assert short.flower == long.flower
    assert (short.ready - short.flower)[0] / (long.ready - long.flower)[0] == pytest.approx(2.35, abs=0.1)


@pytest.mark.parametrize("table", ["photoperiod", "podding"])
def test_what_minds_the_days_about_its_flower_has_one(table: str, tmp_path: Path) -> None:
    """One error, at the table that needs it, that says what to add."""
    text = (DATA / "broad-bean.yaml").read_text(encoding="utf-8")
    data = yaml.safe_load(text)["development"]
    other = {"photoperiod": "podding", "podding": "photoperiod"}[table]
    path = tmp_path / "broad-bean.yaml"
    path.write_text(yaml.safe_dump(yaml.safe_load(text) | {"development": without(data, "flower", other)}), encoding="utf-8")
    (fault,) = check_schema(load_document(str(path)), "crop")
    assert fault.path == f"development.{table}"
    assert "flower" in fault.message + fault.repair


def without(table: dict[str, object], *names: str) -> dict[str, object]:
    return {key: value for key, value in table.items() if key not in names}


def test_ripe_tubers_lie_in_the_ground_when_their_tops_are_dead() -> None:
    """Maincrop potatoes are lifted some six weeks of summer weather after the haulm has died, and have no leaf by then."""
    crop, clock = load_crop("potato-maincrop"), in_days_of("potato-maincrop", "tuber", 14.0)
    opens, closes = part_window(crop, crop.main_part, clock)
    tops = int(clock.tops[0])
    assert opens[0] < tops < NEVER
    assert 40 <= closes[0] - tops <= 65
    assert clock.dieback[0, tops:].all()
    assert not clock.dieback[0, :tops].any()


def test_a_crop_that_is_no_tuber_ends_with_its_tops() -> None:
    assert in_days_of("carrot-early", "drills", 14.0).tops[0] == NEVER
