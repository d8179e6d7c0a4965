"""The score by hand where a slip would not show: the band of a year, rotation, the planting most at risk, who takes light."""

from __future__ import annotations

import pickle
from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from strategies import bed, garden, grown, planned, planting

from mixcraft.crops import load_crop
from mixcraft.graph import edges
from mixcraft.place.series import Weather
from mixcraft.recipe.model import OnDate, Plate, Span, Strip
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import mean_with_worst, overall_points, planting_weights, told_losses, worst_powers
from mixcraft.scoring.parts.continuity import _missing, longest_run, variety
from mixcraft.scoring.parts.families import rotation_reasons
from mixcraft.scoring.parts.timing import safety
from mixcraft.scoring.registry import registry
from mixcraft.season.grow import grow
from mixcraft.season.setting import season_weather

ROUNDING = 1e-9
CORN = planting("sweet-corn", "corn", start=OnDate("05-05"), establish="stations", density_per_m2=6.0)
LETTUCE = planting("lettuce-cos", "lettuce", start=OnDate("06-15"), establish="module", count=16)
MIXTURES = {
    "one sowing": (planting("radish"),),
    "two sowings": (planting("radish", "first"), planting("radish", "second", start=OnDate("06-20"))),
    "shaded": (CORN, LETTUCE),
}


@pytest.mark.parametrize("name", sorted(MIXTURES))
@pytest.mark.parametrize("plate", [Plate(), Plate("05-10", "08-31", 0.3)], ids=["any", "plate"])
def test_the_band_of_a_single_year_is_the_score(name: str, plate: Plate) -> None:
    """With one weather year its own points are the points, week for week."""
    result = score(grow(planned(*MIXTURES[name], one=bed(plate=plate)), 1, 5, voxels=False))
    band = result.overall_band
    assert (band.low, band.middle, band.high) == pytest.approx((result.overall,) * 3, abs=1e-6)


def only(weather: Weather, year: int) -> Weather:
    """One year of a weather."""
    yearly = {f.name: getattr(weather, f.name) for f in fields(weather) if np.ndim(getattr(weather, f.name)) == 2}
    return replace(weather, **{name: values[year : year + 1] for name, values in yearly.items()})


def test_points_by_year_are_those_of_each_year_grown_by_itself() -> None:
    """In the same order for every part, or the band would pair one year's harvest with another's canopy."""
    settled = planned(*MIXTURES["two sowings"], CORN, one=bed(plate=Plate("05-10", "08-31", 0.3)))
    weather = season_weather(settled, 3, 5)
    whole = Evidence(grow(settled, weather=weather, voxels=False))
    each = [Evidence(grow(settled, weather=only(weather, year), voxels=False)) for year in range(3)]
    judged = [part for part in registry() if part.by_year is not None]
    assert len(judged) >= 3
    for part in judged:
        found = part.by_year(whole)
        assert found == pytest.approx([float(part.by_year(one)[0]) for one in each], abs=1e-6), part.name
        assert len(set(np.round(found, 6))) > 1, f"{part.name} is the same in all years and shows no order"


def test_runs_of_empty_weeks() -> None:
    assert longest_run(np.array([True, True, False, True, True, True, False])) == 3
    assert longest_run(np.array([False, False])) == 0
    assert longest_run(np.array([], dtype=bool)) == 0
    assert longest_run(np.array([[True, False], [True, True]])).tolist() == [2, 1]


def after(crop: str, *history: tuple[int, str]) -> list[tuple[str, float, float]]:
    """Cause, points and years of the rotation reasons of `crop` in a bed with this history."""
    one = bed(history=tuple((ago, (name,)) for ago, name in history))
    found = rotation_reasons(planned(planting(crop, establish=load_crop(crop).establish[0]), one=one))
    return [(r.cause, r.points, r.numbers.get("years", 0.0)) for r in found]


def test_rotation_ends_with_the_published_interval() -> None:
    """Kale after cabbage: the longest interval of the diseases they share, to the year; then nothing."""
    kale, cabbage = load_crop("kale"), load_crop("cabbage-winter")
    soil_borne = {d.name: d.years or 0.0 for d in kale.diseases if d.soil_borne}
    years = max(max(soil_borne[d.name], d.years or 0.0) for d in cabbage.diseases if d.name in soil_borne)
    assert years >= 4  # clubroot
    loss = constants()["rotation_loss"]
    last = int(np.ceil(years)) - 1
    assert after("kale", (last, "cabbage-winter")) == [("rotation", pytest.approx(loss * (1 - last / (years + 1))), years)]
    assert after("kale", (1, "cabbage-winter")) == [("rotation", pytest.approx(loss * (1 - 1 / (years + 1))), years)]
    assert after("kale", (int(np.ceil(years)), "cabbage-winter")) == []


def test_rotation_of_a_family_ends_with_the_usual_interval() -> None:
    """Two crops of a family without a soil-borne disease in common: three years, half the loss."""
    c = constants()
    assert c["rotation_family_years"] == 3
    first, second = "amaranth-grain", "amaranth-leaf"
    assert load_crop(first).family == load_crop(second).family
    assert not any(d.soil_borne for d in load_crop(second).diseases)
    found = {ago: after(second, (ago, first)) for ago in (1, 2, 3)}
    for ago in (1, 2):
        points = 0.5 * c["rotation_loss"] * (1 - ago / 4)
        assert found[ago] == [("family again", pytest.approx(points), 0.0)]
    assert found[3] == []


def test_timing_weighs_a_planting_half_by_its_ground_and_half_alike() -> None:
    """Four tomatoes on a fifth of the bed, planted out in March, beside carrots on the rest: the tomatoes weigh
    0.5 x 0.2 + 0.5 / 2 = 0.35 of a geometric mean, of which half counts, and half goes to the planting most at risk: 0.675;
    each reason costs what its share of years leaves, to that power."""
    fifth, rest = (Strip(x=(Span(a, True), Span(b, True))) for a, b in ((0.0, 0.2), (0.2, 1.0)))
    tomatoes = planting("tomato-cordon", "tomatoes", fifth, OnDate("03-20"), establish="module", count=2)
    carrots = planting("carrot-maincrop", "carrots", rest, OnDate("05-01"))
    result = score(grown(tomatoes, carrots, years=6))
    assert planting_weights(result.season.plan) == pytest.approx([0.35, 0.65])
    reasons = result.part("timing").reasons
    assert {r.plantings[0] for r in reasons} == {"tomatoes"}
    floor = constants()["floor"]
    left = max(100.0 * float(np.prod([safety(r.numbers["share"]) for r in reasons])), floor)
    assert left < 60.0
    assert result.part("timing").score == pytest.approx(100.0 * (left / 100.0) ** 0.675)
    assert sum(r.points for r in reasons) == pytest.approx(100.0 - result.part("timing").score)


def test_a_chance_of_a_loss_weighs_more_than_its_share() -> None:
    """One year of ten is minded by nobody; of five years one leaves ((4/5) / 0.9)^4 = 0.624, of three one 0.301, all nothing."""
    assert [safety(risk) for risk in (0.0, 0.1, 0.2, 1 / 3, 1.0)] == pytest.approx([1.0, 1.0, 0.6243, 0.3011, 0.0], abs=1e-4)


def test_the_worst_of_many_counts_more_than_its_number() -> None:
    """Of nine whole plantings and one at 40 points, with 0.3 for the worst: 100 x 0.4^(0.7 / 10 + 0.3) = 71.2, not 91.2."""
    points = np.array([100.0] * 9 + [40.0])
    assert mean_with_worst(points, 0.3) == pytest.approx(100.0 * 0.4**0.37)
    assert mean_with_worst(points, 0.0) == pytest.approx(100.0 * 0.4**0.1)
    assert mean_with_worst(np.stack([points, points[::-1]]), 0.3) == pytest.approx([100.0 * 0.4**0.37] * 2)
    assert worst_powers(points, 0.3).sum() == pytest.approx(1.0)


def test_losses_of_a_product_are_told_by_their_logarithms() -> None:
    """0.5 x 0.25 = 0.125 of 100 points: of 87.5 lost a third goes to the half, which is once a halving of three."""
    assert told_losses([0.5, 0.25, 1.0], 12.5) == pytest.approx([87.5 / 3, 2 * 87.5 / 3, 0.0])
    assert told_losses([1.0], 100.0) == pytest.approx([0.0])


def test_light_in_voxels_goes_to_whoever_stands_in_the_way() -> None:
    """From south to north: corn, then lettuce, then radish.  What the lettuce loses goes to the corn, not to the radish."""
    thirds = [Strip(x=(Span(i / 3, True), Span((i + 1) / 3, True))) for i in range(3)]
    mixture = (
        replace(CORN, where=thirds[0]), replace(LETTUCE, where=thirds[1], start=OnDate("07-10")),
        planting("radish", "radish", thirds[2], OnDate("06-20")),
    )  # fmt: skip
    season = grown(*mixture, one=bed(1.5, 1.2, heading_deg=0.0), voxels=True)
    lost = season.taken_mj.sum(axis=0)
    assert lost[1, 0] > 3.0 * lost[1, 2] > 0.0
    assert lost[1, 0] > 5.0 * lost[0, 1]
    takers = {(e.source, e.target) for e in edges(season) if e.kind == "takes light"}
    assert (0, 1) in takers
    assert (2, 1) not in takers


def test_who_takes_light_from_whom_is_not_turned_about() -> None:
    """Corn in the south, chard, and carrots all summer in the north: the chard loses more to the corn than to the carrots, which
    lose more to the chard beside them than to the corn behind it, and the corn loses nothing to them."""
    thirds = [Strip(x=(Span(i / 3, True), Span((i + 1) / 3, True))) for i in range(3)]
    chard = planting("chard", "chard", thirds[1], OnDate("05-20"), establish="module", count=6)
    carrots = planting("carrot-maincrop", "carrots", thirds[2], OnDate("06-15"), establish="drills")
    season = grown(replace(CORN, where=thirds[0]), chard, carrots, one=bed(1.5, 1.2, heading_deg=0.0), voxels=True)
    lost = season.taken_mj.sum(axis=0)
    assert lost[1, 0] > 1.5 * lost[1, 2] > 0.0
    assert lost[2, 1] > 3.0 * lost[2, 0] > 0.0
    assert lost[2, 0] > 10.0 * lost[0, 2]


def test_every_part_is_a_module_with_a_weight_and_the_garden_may_name_it() -> None:
    from mixcraft.recipe.model import PARTS

    assert tuple(part.name for part in registry()) == PARTS
    season = grown(planting("radish"))
    for name in PARTS:
        own = replace(garden(), weights={p: float(p == name) for p in PARTS})
        alone = score(replace(season, plan=replace(season.plan, garden=own)))
        assert alone.overall == pytest.approx(float(overall_points(np.array([alone.part(name).score]), [1.0])))
        assert {r.part for r in alone.reasons} <= {name}


def test_facts_travel() -> None:
    """A score's parts and reasons can be hashed and pickled, and come back the same."""
    result = score(grown(*MIXTURES["shaded"]))
    assert result.reasons
    for fact in (*result.reasons, *result.parts, *edges(result.season)):
        assert pickle.loads(pickle.dumps(fact)) == fact
        assert hash(pickle.loads(pickle.dumps(fact))) == hash(fact)


def test_a_thing_of_which_little_is_eaten_counts_for_a_part() -> None:
    """Two wanted weeks of one year, three kinds wanted in a week: a whole thing, half a thing, and one eaten in an unwanted week
    only are one and a half of the six wanted over the season; with fewer than four the plate cannot change, so that they count
    once more as one and a half of four."""
    c = constants()
    assert c["kind_portions"] != 1.0, "one portion would not tell a product from a quotient"
    portions = np.zeros((3, 1, 3))
    portions[:2, 0, 0] = c["kind_portions"]
    portions[1, 0, 1] = 0.5 * c["kind_portions"]
    portions[2, 0, 2] = 2.0 * c["kind_portions"]
    weeks, wanted = SimpleNamespace(wanted=np.array([True, True, False])), SimpleNamespace(kinds=3.0)
    evidence: Any = SimpleNamespace(weeks=weeks, wanted=wanted, eaten=SimpleNamespace(portions=portions))
    assert variety(evidence) == pytest.approx([1.5 / 6.0 * 1.5 / 4.0])


def test_what_is_missing_is_shared_out_over_the_wanted_weeks() -> None:
    """Week for week and year for year: what a plate lacks in wanted weeks over all that it lacks, in portions and in kinds."""
    season = grown(
        planting("radish"), planting("kale", start=OnDate("05-15")), one=bed(plate=Plate("05-10", "09-30", 4.0)), years=3
    )
    evidence = Evidence(season)
    on, served, kinds = evidence.weeks.wanted, evidence.eaten.served, evidence.eaten.kinds
    lacking: list[list[float]] = [[], []]
    for week in range(len(on)):
        years = range(served.shape[1])
        lacking[0].append(sum(1.0 - served[week, y] for y in years) if on[week] else 0.0)
        lacking[1].append(sum(1.0 - min(kinds[week, y] / evidence.wanted.kinds, 1.0) for y in years) if on[week] else 0.0)
    assert not on.all()
    for found, expected in zip(_missing(evidence), lacking, strict=True):
        assert sum(expected) > 0.0
        assert found == pytest.approx(np.array(expected) / sum(expected))
