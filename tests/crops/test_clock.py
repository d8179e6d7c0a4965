"""Thermal time, emergence, bolting, death by frost and windows of picking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import place

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.checking import bloom, bolting, cardinals, crown, tables
from mixcraft.crops.clock import Clock, frost_death, frost_dieback, frost_limit, run_clock
from mixcraft.crops.development import (
    NEVER,
    bolting_day,
    crop_thermal_rate,
    development_rate,
    emergence_day,
    emergence_rate,
    first_day_reaching,
    thermal_rate,
    vernalisation_rate,
)
from mixcraft.crops.model import Crop, Record
from mixcraft.crops.windows import part_window
from mixcraft.place import soil_temperature, weather_years

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
def test_thermal_rate_rises_to_the_optimum_and_falls_to_the_ceiling(t: float) -> None:
    """Nothing at 4 C and below, 20 at 24 C, nothing at 34 C and above; beyond the optimum Yan & Hunt 1999, eq. 4."""
    rate = float(thermal_rate(np.array(t), 4.0, 24.0, 34.0))
    if t <= 4.0 or t >= 34.0:
        assert rate == 0.0
    elif t <= 24.0:
        assert rate == pytest.approx(t - 4.0)
    else:
        assert rate == pytest.approx(20.0 * (34.0 - t) / 10.0 * ((t - 4.0) / 20.0) ** 2.0)


@given(CROPS, st.floats(-10.0, 50.0))
@settings(max_examples=100)
def test_rates_are_never_negative_and_have_no_jump(crop_id: str, t: float) -> None:
    crop = load_crop(crop_id)
    both = np.array([t, t + 1e-6])
    for rate in (crop_thermal_rate(crop, both), development_rate(crop, both), emergence_rate(crop, both)):
        assert (rate >= 0.0).all()
    for rate in (crop_thermal_rate(crop, both), development_rate(crop, both)):
        assert abs(np.diff(rate)[0]) < 1e-3


def test_warmth_hastens_development_less_and_less_within_the_best_range() -> None:
    """Beetroot by hand: base 5, best from 15 to 25 C, days told at 18.2 C.  Above 15 C the line loses (T - 15)^2 / 20: at 20 C
    1.25 of 15, at 25 C 5 of 20, and at 18.2 C .512 of 13.2, whose pace stays 13.2."""
    crop = load_crop("beetroot")
    told = 13.2 / (13.2 - 0.512)
    at = np.array([4.0, 10.0, 15.0, 18.2, 20.0, 25.0])
    by_hand = [0.0, 5.0 * told, 10.0 * told, 13.2, 13.75 * told, 15.0 * told]
    assert development_rate(crop, at) == pytest.approx(by_hand)
    assert float(development_rate(crop, np.array(27.5))) == pytest.approx(
        0.75 * told * float(crop_thermal_rate(crop, np.array(27.5)))
    )


@given(CROPS)
@settings(max_examples=80)
def test_days_are_kept_at_the_temperature_that_they_are_told_for(crop_id: str) -> None:
    crop = load_crop(crop_id)
    usual = np.array(crop["development.reference_temperature"])
    assert float(development_rate(crop, usual)) == pytest.approx(float(crop_thermal_rate(crop, usual)))


@given(CROPS)
@settings(max_examples=80)
def test_the_pace_rises_to_the_optimum_at_no_growing_slope(crop_id: str) -> None:
    crop = load_crop(crop_id)
    pace = development_rate(crop, np.linspace(crop["development.t_base"], crop["development.t_optimum"], 60))
    assert (np.diff(pace) >= -1e-9).all()
    assert (np.diff(pace, 2) <= 1e-9).all()


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
    """Carrots past their juvenile phase bolt after nine weeks at 5 to 7 C, and not without them (abstract of atherton_1990)."""
    crop = load_crop("carrot-maincrop")
    assert crop.bolting == "chill"
    weeks = int(crop["development.bolting.chill_days"])
    assert weeks <= 63
    mean = np.repeat([17.0, 6.5, 17.0], [40, weeks + 5, 400])[None, :]
    warm = np.full_like(mean, 17.0)
    day = np.full(mean.shape[1], 14.0)
    bolts = [int(bolting_day(crop, m, crop_thermal_rate(crop, m), day, np.array([0]))[0]) for m in (mean, warm)]
    assert 40 + weeks < bolts[0] < NEVER
    assert bolts[1] == NEVER


def test_a_day_of_cold_counts_by_its_temperature() -> None:
    """Carrot rises from -1 to 6.5 C and falls to 16 C (abstract of atherton_1990); rape by VERNRTB of wofost_rapeseed; onion has
    the threshold of seed_garden_2015 alone."""
    at = np.array([-5.0, -1.0, 2.75, 6.5, 11.25, 16.0, 20.0])
    np.testing.assert_allclose(vernalisation_rate(load_crop("carrot-early"), at), [0.0, 0.0, 0.5, 1.0, 0.5, 0.0, 0.0])
    at = np.array([-8.0, -4.0, -0.5, 3.0, 10.0, 13.5, 17.0, 20.0])
    np.testing.assert_allclose(vernalisation_rate(load_crop("swede"), at), [0.0, 0.0, 0.5, 1.0, 1.0, 0.5, 0.0, 0.0])
    np.testing.assert_allclose(vernalisation_rate(load_crop("onion"), np.array([-5.0, 9.9, 10.1])), [1.0, 1.0, 0.0])


def test_sets_feel_the_cold_before_they_sprout() -> None:
    """Ten weeks at 5 C in the ground before anything is up count for a set (Brewster 2008: sets are vernalised in store), and for
    a seed nothing: in days of 16 h the one shoots and the other does not."""
    onion = load_crop("onion")
    mean = np.full((1, 200), 16.0)
    mean[0, :70] = 5.0
    up, rate, day = np.array([70]), crop_thermal_rate(onion, mean), np.full(200, 16.0)
    as_set = bolting_day(onion, mean, rate, day, up, np.inf, cold_from=0)
    from_seed = bolting_day(onion, mean, rate, day, up)
    assert 70 < as_set[0] < 200
    assert from_seed[0] == NEVER


@pytest.mark.parametrize(
    ("cold_c", "days", "bolts"), [(1.0, 15 * 7, True), (5.0, 63, True), (5.0, 28, False), (17.0, 400, False)]
)
def test_rape_asks_for_weeks_of_cold(cold_c: float, days: int, bolts: bool) -> None:
    """Biennial rape flowers after 15 to 19 weeks at 1 C (Hodgson 1978, Aust. J. Agric. Res. 29:693, abstract), winter rape after
    56 to 63 days at 5 C (abstract of dubert_filek_1994); swede is of the same species."""
    mean = np.repeat([cold_c, 18.0], [days, 60])[None, :]
    crop = load_crop("swede")
    bolt = bolting_day(crop, mean, crop_thermal_rate(crop, mean), np.full(mean.shape[1], 16.0), np.array([0]))
    assert (bolt[0] < NEVER) is np.bool_(bolts)


HAND = {
    "t_base": 4.0, "bolting.chill_least": 0.0, "bolting.chill_from": 1.0, "bolting.chill_until": 12.0,
    "bolting.chill_below": 12.1, "bolting.chill_days": 63.0, "bolting.thermal_time": 450.0,
}  # fmt: skip
HAND_C = np.repeat([3.0, 14.0, 6.0, 14.0], [80, 10, 63, 100])[None, :]


def bolts_by_hand(juvenile: float, head_start: float = 0.0) -> int:
    """Bolting day of a carrot with the numbers of `HAND` in the temperatures `HAND_C`, green from day 0."""
    values = {f"development.{key}": value for key, value in {**HAND, "bolting.juvenile": juvenile}.items()}
    made = load_crop("carrot-maincrop").with_values(values, "made up")
    rate = crop_thermal_rate(made, HAND_C)
    return int(bolting_day(made, HAND_C, rate, np.full(HAND_C.shape[1], 14.0), np.array([0]), head_start)[0])


def test_cold_does_not_count_before_the_juvenile_phase_is_over() -> None:
    """By hand, carrot with base 4 C: 80 days of 3 C, 10 of 14 C (10 C d each), 63 of 6 C (2 C d each), then 14 C.

    From emergence on: the 63rd cold day is day 62; 0 C d until day 79, 100 until day 89, 126 until day 152; the last
    224 of 450 C d take 23 days, so day 175.  With a juvenile phase of 100 C d, over on day 89: the 63rd cold day is day
    152, which gives 2 C d itself; the other 448 take 45 days, so day 197.  With 101 C d the phase ends on day 90, which
    is cold and counts: day 197 again; with 103 it ends on day 91, and only 62 cold days follow.
    """
    assert bolts_by_hand(0.0) == 175
    assert bolts_by_hand(100.0) == 197
    assert bolts_by_hand(101.0) == 197
    assert bolts_by_hand(103.0) == NEVER


def test_a_head_start_shortens_the_juvenile_phase() -> None:
    """Days of 3 C add nothing: plants that are past the phase count cold at once, plants 1 C d short only after the warmth."""
    assert bolts_by_hand(100.0, head_start=100.0) == bolts_by_hand(100.0, head_start=np.inf) == 175
    assert bolts_by_hand(100.0, head_start=99.0) == 197


def test_sets_are_no_seedlings() -> None:
    """Onions from sets count cold from sprouting, sown ones not before they have reached their size."""
    mean = np.repeat([14.0, 7.0, 15.0], [25, 80, 60])[None, :]
    soil = np.maximum(mean, 10.0)
    found = {
        way: run_clock(load_crop("onion"), way, 0, mean, mean, soil, np.full(mean.shape[1], 12.0)) for way in ("set", "drills")
    }
    assert found["set"].bolt[0] < NEVER
    assert found["drills"].emergence[0] < 25
    assert found["drills"].bolt[0] == NEVER


def test_small_celery_is_not_vernalised() -> None:
    """Nine weeks of 5 C do nothing to seedlings and make plants past 731 C d above 3 C bolt (abstract of celery_juvenility)."""
    crop = load_crop("celery")
    bolts = []
    for warm_days in (10, 731 // 15 + 1):
        mean = np.repeat([18.0, 5.0, 18.0], [warm_days, 63, 100])[None, :]
        bolts.append(int(bolting_day(crop, mean, crop_thermal_rate(crop, mean), np.full(mean.shape[1], 14.0), np.array([0]))[0]))
    assert bolts[0] == NEVER
    assert bolts[1] < NEVER


OXFORD_START = np.datetime64("2023-01-01")


def in_oxford(crop: str, sown: str, years: int = 40) -> tuple[Clock, np.ndarray]:
    """Clock of a crop sown in drills at Oxford in weather years, and the days' mean temperatures (Y, D)."""
    weather = weather_years(place("Oxford"), str(OXFORD_START), 640, years, 3)
    soil = soil_temperature(weather.tmean_c, load_crop(crop)["seed.depth"] / 100.0)
    start = int((np.datetime64(sown) - OXFORD_START).astype(int))
    mean = weather.tmean_c
    return run_clock(load_crop(crop), "drills", start, mean, weather.tmin_c, soil, weather.daylength_h), mean


def share(found: Clock) -> float:
    """Share of years in which it has bolted by the end of the weather, in October of the second year."""
    return float((found.bolt < NEVER).mean())


def test_onions_bolt_by_their_sowing_date() -> None:
    """Southern England: early August many bolters, early September plants too small (Brewster, brewster_2008, page 289).

    Mid-August hangs on the autumn: a warm one brings the plants to the critical size, a cool one not before spring (290).
    """
    dates = ("2023-07-15", "2023-08-01", "2023-08-15", "2023-09-01")
    july, early, middle, late = (in_oxford("onion", date) for date in dates)
    assert share(july[0]) >= share(early[0]) > 0.9
    assert share(early[0]) > share(middle[0]) > share(late[0])
    assert share(late[0]) < 0.1
    bolted = middle[0].bolt < NEVER
    autumn = slice(*(int((np.datetime64(d) - OXFORD_START).astype(int)) for d in ("2023-08-22", "2023-12-01")))
    warmth = middle[1][:, autumn].mean(axis=1)
    assert warmth[bolted].mean() > warmth[~bolted].mean() + 0.3


@pytest.mark.parametrize("crop", ["cabbage-summer", "cabbage-winter", "brussels-sprouts", "kale-tuscan"])
def test_cabbages_of_july_flower_and_those_of_late_august_do_not(crop: str) -> None:
    """Outdoors in Britain July sowings all flowered in spring, August sowings mostly stayed leafy (brassica_juvenile)."""
    assert share(in_oxford(crop, "2023-07-15")[0]) == 1.0
    assert share(in_oxford(crop, "2023-08-20")[0]) < 0.25


@pytest.mark.parametrize("crop", ["leek", "parsnip", "carrot-maincrop", "carrot-early", "onion", "cabbage-winter"])
@pytest.mark.parametrize("sown", ["2023-03-15", "2023-05-01"])
def test_biennials_of_spring_stand_through_their_first_autumn(crop: str, sown: str) -> None:
    found = in_oxford(crop, sown)[0]
    assert (found.emergence < NEVER).all()
    assert (found.bolt > int((np.datetime64("2024-02-01") - OXFORD_START).astype(int))).all()


def test_crops_vernalised_as_seed_have_no_juvenile_phase() -> None:
    """Chinese cabbage, winter rape and red beet respond from the germinating seed on; onion, leek and celery do not."""
    key = "development.bolting.juvenile"
    assert not any(key in load_crop(name).records for name in ("chinese-cabbage", "swede", "beetroot", "winter-rye"))
    assert all(key in load_crop(name).records for name in ("onion", "leek", "celery", "carrot-early", "cabbage-savoy"))
    assert load_crop("celeriac")[key] < load_crop("celery")[key]


class Faults:
    """A document that only remembers the rules broken."""

    def fault(self, path: object, message: str, *, rule: str, **rest: str) -> str:
        return rule


@pytest.mark.parametrize(
    ("table", "rules"),
    [
        ({"kind": "none"}, []),
        ({"kind": "chill", "chill_below": 1, "chill_days": 1, "thermal_time": 1, "juvenile": 1}, []),
        ({"kind": "chill", "chill_below": 1, "thermal_time": 1}, ["bolting.missing"]),
        ({"kind": "long_day", "juvenile": 1}, ["bolting.missing"] * 2 + ["bolting.juvenile"]),
        ({"kind": "none", "winter_days": 1, "winter_time": 1}, ["bolting.winter"]),
        ({"kind": "long_day", "critical_daylength": 1, "thermal_time": 1, "winter_days": 1}, ["bolting.winter"]),
        ({"kind": "long_day", "critical_daylength": 1, "thermal_time": 1, "winter_daylength": 1}, ["bolting.winter"]),
    ],
)
def test_bolting_has_the_numbers_its_kind_needs(table: dict[str, object], rules: list[str]) -> None:
    assert list(bolting(Faults(), {"development": {"bolting": table}})) == rules  # type: ignore[arg-type, comparison-overlap]


@pytest.mark.parametrize(
    ("corners", "rules"),
    [
        ({"chill_below": 12}, []),
        ({"chill_least": 0, "chill_from": 4, "chill_until": 7, "chill_below": 12}, []),
        ({"chill_least": -1, "chill_from": 6.5, "chill_until": 6.5, "chill_below": 16}, []),
        ({"chill_until": 7, "chill_below": 12}, ["bolting.cardinals"]),
        ({"chill_least": 0, "chill_from": 7, "chill_until": 4, "chill_below": 12}, ["bolting.cardinals"]),
        ({"chill_least": 0, "chill_from": 4, "chill_until": 12, "chill_below": 12}, ["bolting.cardinals"]),
    ],
)
def test_cardinal_temperatures_of_cold_are_whole_and_rise(corners: dict[str, float], rules: list[str]) -> None:
    table = {"kind": "chill"} | {name: {"value": value} for name, value in corners.items()}
    assert list(cardinals(Faults(), {"development": {"bolting": table}})) == rules  # type: ignore[arg-type, comparison-overlap]


@pytest.mark.parametrize(
    ("turns", "rules"),
    [
        ({"none_below": 0, "all_from": 12, "all_until": 20, "none_above": 32}, []),
        ({"none_below": 0, "all_from": 12, "all_until": 12, "none_above": 32}, []),
        ({"none_below": 12, "all_from": 12, "all_until": 20, "none_above": 32}, ["light_use.order"]),
        ({"none_below": 0, "all_from": 12, "all_until": 33, "none_above": 32}, ["light_use.order"]),
        ({"none_below": 0, "all_from": 22, "all_until": 12, "none_above": 32}, ["light_use.order"]),
    ],
)
def test_temperatures_of_light_use_rise(turns: dict[str, float], rules: list[str]) -> None:
    table = {name: {"value": value} for name, value in turns.items()}
    assert list(tables(Faults(), {"development": {"light_use": table}})) == rules  # type: ignore[arg-type, comparison-overlap]


@pytest.mark.parametrize(
    ("turns", "rules"),
    [
        ({"none_below": 6, "all_from": 21}, []),
        ({"all_until": 26, "none_above": 33}, []),
        ({"none_below": 21, "all_from": 6}, ["setting.order"]),
        ({"none_below": 6, "all_from": 27, "all_until": 26, "none_above": 33}, ["setting.order"]),
    ],
)
def test_temperatures_of_setting_rise_on_either_side_alone(turns: dict[str, float], rules: list[str]) -> None:
    table = {name: {"value": value} for name, value in turns.items()}
    assert list(tables(Faults(), {"development": {"setting": table}})) == rules  # type: ignore[arg-type, comparison-overlap]


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


def test_seedlings_harden_in_cold_nights() -> None:
    """Seedlings of canola that have hardened withstand -8 to -9 C (North Dakota State University, Frost tolerance of spring
    seeded canola); those that have not are killed at -3 to -4 C (recalled); kale is of the same genus.  None is hardier than a
    grown plant."""
    kale, up = load_crop("kale"), np.zeros((1, 10))
    cold, mild = (frost_limit(kale, up, nights_c=np.full((1, 10), night))[0, -1] for night in (2.0, 16.0))
    assert -12.0 <= cold <= -8.0
    assert -4.0 <= mild <= -3.0
    for name in ("lettuce-loose-leaf", "spinach", "carrot-maincrop", "bean-bush", "broad-bean"):
        crop = load_crop(name)
        hard = frost_limit(crop, up, nights_c=np.full((1, 10), 0.0))[0, -1]
        assert hard >= min(crop["frost.grown"], crop["frost.seedling"]) - 1e-9
        assert hard <= crop["frost.seedling"]


def test_a_broad_bean_is_up_when_sowings_through_a_season_were() -> None:
    """Sowings from autumn to spring took on average 208 C d above 0 C to emerge (McDonald, Adisarwanto & Knight 1994)."""
    for soil in (8.0, 13.0):
        up = run_clock(
            load_crop("broad-bean"), "stations", 0, *(np.full((1, 60), soil) for _ in range(3)), np.full(60, 12.0)
        ).emergence[0]  # fmt: skip
        assert up == pytest.approx(208.0 / soil, abs=1.0)


def with_crown(crop: str, limit_c: float) -> Crop:
    """A crop whose rootstock lives down to a temperature [C]."""
    found = load_crop(crop)
    return replace(found, records={**found.records, "frost.crown": Record(limit_c, "C", "memory", "-", "memory")})


def test_a_rootstock_outlives_its_tops() -> None:
    """Tops go about the grown plant's limit, the plant at the rootstock's; one day of each by hand.

    Of fresh leaf a night at the limit takes half, 0.3 C from it 0.4 or 0.6 (3 C from none to all); what outlives the first of
    two takes a third of what is left: (0.6 - 0.4) / 0.6.
    """
    crop = with_crown("lettuce-cos", -20.0)
    tops = crop["frost.grown"]
    thermal = np.full((1, 5), 900.0)
    low = np.array([[5.0, tops + 0.3, tops - 0.3, -19.9, -20.1]])
    assert frost_dieback(crop, low, thermal)[0] == pytest.approx([0.0, 0.4, 1.0 / 3.0, 1.0, 1.0])
    assert frost_death(crop, low, thermal)[0] == 4
    assert frost_dieback(load_crop("lettuce-cos"), low, thermal)[0] == pytest.approx([0.0, 0.4, 1.0 / 3.0, 1.0, 1.0])
    assert frost_death(load_crop("lettuce-cos"), low, thermal)[0] == 3


@pytest.mark.parametrize(
    ("life", "grown", "limit", "rules"),
    [
        ("perennial", -8.0, -20.0, []), ("annual", -8.0, -20.0, ["frost.crown"]), ("perennial", -8.0, -7.0, ["frost.crown"]),
        ("biennial", -8.0, -7.0, ["frost.crown"] * 2),
    ],
)  # fmt: skip
def test_rootstocks_are_those_of_perennials_and_the_hardier_part(life: str, grown: float, limit: float, rules: list[str]) -> None:
    data = {"life": life, "frost": {"grown": {"value": grown}, "crown": {"value": limit}}}
    assert list(crown(Faults(), data)) == rules  # type: ignore[arg-type, comparison-overlap]


def test_a_frost_that_peas_outlive_as_plants_ends_them_in_flower() -> None:
    """Flowers and pods of peas are more sensitive than leaf (udel_pea_freeze; -2 to -4 C in frost_resistance_2023);
    broad beans, with thick pod walls, have no such limit."""
    pea, low = load_crop("pea-dwarf"), np.array([[4.0, -5.0, 4.0]])
    young = np.full((1, 3), pea["development.flower"] - 1.0)
    assert frost_death(pea, low, young)[0] == NEVER
    assert frost_death(pea, low, young + 2.0)[0] == 1
    assert frost_death(pea, low + 4.0, young + 2.0)[0] == NEVER
    bean = load_crop("broad-bean")
    assert frost_death(bean, low, np.full((1, 3), bean["development.flower"] + 2.0))[0] == NEVER


@pytest.mark.parametrize(
    ("life", "development", "limit", "rules"),
    [
        ("annual", {"flower": {"value": 400.0}}, -3.0, 0), ("annual", {}, -3.0, 1),
        ("biennial", {"flower": {"value": 400.0}}, -3.0, 1), ("annual", {"flower": {"value": 400.0}}, -9.0, 1),
    ],
)  # fmt: skip
def test_frost_in_flower_is_milder_than_that_of_the_leaf_and_ends_annuals(
    life: str, development: dict[str, object], limit: float, rules: int
) -> None:
    data = {"life": life, "development": development, "frost": {"grown": {"value": -7.0}, "bloom": {"value": limit}}}
    assert list(bloom(Faults(), data)) == ["frost.bloom"] * rules  # type: ignore[arg-type, comparison-overlap]


def test_hardier_crops_have_lower_limits() -> None:
    """Order only, as every list of hardiness has it: leek and kale under lettuce, lettuce under beans and basil."""
    limits = [load_crop(name)["frost.grown"] for name in ("kale", "lettuce-cos", "bean-bush")]
    assert limits == sorted(limits)
    assert load_crop("leek")["frost.grown"] < load_crop("basil")["frost.grown"]


def test_roots_keep_when_frost_has_killed_the_tops() -> None:
    """Carrots are in the ground after the night that takes their leaves, and gone after one that freezes them there."""
    crop = load_crop("carrot-maincrop")
    thermal = np.full((1, 6), 1300.0)
    tops, roots = np.array([[4.0, -6.5, 3.0, 4.0, 4.0, 4.0]]), np.array([[4.0, -6.5, 3.0, -12.0, 4.0, 4.0]])
    assert frost_dieback(crop, tops, thermal)[0].tolist() == [False, True, False, False, False, False]
    assert frost_death(crop, tops, thermal)[0] == NEVER
    assert frost_death(crop, roots, thermal)[0] == 3
    lettuce = load_crop("lettuce-cos")
    assert frost_death(lettuce, tops, thermal)[0] == 1


def test_a_window_that_never_opens() -> None:
    crop = load_crop("carrot-maincrop")
    opens, _ = part_window(crop, crop.main_part, clock("carrot-maincrop", mean_c=4.5))
    assert opens[0] == NEVER


def test_an_onion_is_ripe_so_long_after_the_days_let_it_bulb() -> None:
    """Sown in August it is far enough by autumn, but bulbs only when the days of spring are long and is ripe in early summer;
    one of spring, whose days are long by the time it is far enough, swells when it is of size (Brewster: bulbing)."""
    crop = load_crop("onion")
    found, _ = in_oxford("onion", "2023-08-20", years=5)
    start = OXFORD_START
    bulbs, ripe = ((start + int(np.median(days))) for days in (found.organ, found.ready))
    assert np.datetime64("2024-03-20") < bulbs < np.datetime64("2024-05-15")
    assert np.datetime64("2024-06-01") < ripe < np.datetime64("2024-08-15")
    spring = clock("onion", mean_c=16.0, daylength_h=17.0)
    waits = crop["development.bulbing.least"] - crop["harvest.organ_start"]
    assert spring.thermal[0, spring.ready[0]] == pytest.approx(crop["development.ready"] + waits, abs=20.0)


def test_leeks_that_are_not_full_grown_are_lifted_when_growth_rests_for_the_winter() -> None:
    """Set out in July where the winter is cool, leeks are not ready before spring; growers lift them thin from November on."""
    leek, days = load_crop("leek"), np.arange(500)
    mean = 9.5 - 5.0 * np.cos(2.0 * np.pi * (days - 15.0) / 365.0)[None, :]
    light = 12.0 - 4.5 * np.cos(2.0 * np.pi * (days + 10.0) / 365.0)
    found = run_clock(leek, "module", 185, mean, mean - 3.0, mean, light)
    opens = part_window(leek, leek.main_part, found)[0][0]
    assert found.organ[0] < 250
    assert found.ready[0] > 400
    assert opens == found.rest[0]
    assert 300 <= opens <= 345
