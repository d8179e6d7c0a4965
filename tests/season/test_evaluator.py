"""The evaluator: the same seasons as grown one by one, at the cost of what has changed; corrections used while they hold."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, replace

import numpy as np
import pytest
from cases import BEDS, DEMO, case, case_garden
from strategies import bed, garden, planting, recipe

from mixcraft.recipe.model import Density, OnDate, Recipe, Watering
from mixcraft.recipe.moves import SetAmount
from mixcraft.recipe.reading import load_recipe
from mixcraft.season import grow as growing
from mixcraft.season import twins as twin_runs
from mixcraft.season.evaluator import Evaluator
from mixcraft.season.grow import grow, normal_year, scout
from mixcraft.season.result import Season
from mixcraft.season.sharing import still_hold

ROUNDING = 1e-9
NITROGEN_GIVEN_LATER = 0.02
"""So much a harvest may differ where the bed is fed and followed from another day on."""
LIGHT_OF_A_NEIGHBOUR = 0.02
"""So much a harvest may differ in the light of a neighbouring recipe."""


def assert_same(found: Season, wanted: Season) -> None:
    for field in fields(Season):
        value = getattr(wanted, field.name)
        if isinstance(value, np.ndarray):
            assert getattr(found, field.name) == pytest.approx(value, rel=ROUNDING, abs=ROUNDING), field.name


def mixture(radishes: float = 60.0, start: str = "04-15") -> Recipe:
    return recipe(
        planting("radish", "radishes", density_per_m2=radishes, start=OnDate(start)),
        planting("lettuce-loose-leaf", "lettuces", establish="module", density_per_m2=6.0, start=OnDate("04-20")),
        planting("carrot-maincrop", "carrots", density_per_m2=50.0, start=OnDate("04-15")),
    )


@pytest.mark.parametrize(
    ("watering", "voxels"),
    [
        ("watered", False),
        ("rain", True),
        *(pytest.param(*both, marks=pytest.mark.slow) for both in (("watered", True), ("rain", False))),
    ],
)
def test_seasons_are_those_grown_one_by_one(watering: str, voxels: bool) -> None:
    """Whatever has been evaluated before: more radishes, an earlier start of all, and the first recipe again."""
    home = garden(bed(watering=Watering(watering)))
    known = Evaluator(home, "bed", 2, 5)
    for one in (mixture(), mixture(radishes=90.0), mixture(start="04-01"), mixture()):
        found = known.season(one, voxels=voxels)
        assert_same(found, grow(known.plan(one, draw=voxels), 2, 5, voxels=voxels))


def test_a_longer_season_draws_more_of_the_same_weather() -> None:
    """Radishes of a few weeks, then leeks until spring from the same day on, then the radishes again."""
    known = Evaluator(garden(), "bed", 2, 5)
    short = recipe(planting("radish", "radishes", start=OnDate("04-15")))
    long = recipe(planting("leek", "leeks", establish="module", start=OnDate("04-15")))
    first = known.season(short)
    drawn = known.weather(first.plan)
    assert_same(known.season(long), grow(known.plan(long), 2, 5))
    more = known.weather(first.plan)
    assert more.days > drawn.days
    assert more.tmin_c[:, : drawn.days] == pytest.approx(drawn.tmin_c, abs=ROUNDING)
    assert_same(known.season(short), first)


QUICK = ("strips-and-covers",)


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=() if name in QUICK else pytest.mark.slow) for name, (home, _) in BEDS.items() if home == "oxford"],
)
def test_one_evaluator_for_every_recipe_of_a_garden(name: str) -> None:
    home, where = BEDS[name]
    known = Evaluator(case_garden(home), where, 2, 5)
    for one in (name, "alone", name):
        settled = case(one)
        if settled.bed.name == where:
            assert_same(known.grow(settled, voxels=False), grow(settled, 2, 5, voxels=False))


def test_weather_drawn_once_holds_for_every_start() -> None:
    """With `since`, the first sowing two weeks later leaves the other plantings' weather as it was."""
    known = Evaluator(garden(), "bed", 2, 5, since=np.datetime64("2001-01-15"))
    early, late = (known.season(mixture(start=start), voxels=False) for start in ("04-01", "04-15"))
    days = int((late.plan.start - early.plan.start).astype(int))
    assert days == 14
    assert np.array_equal(early.weather.tmean_c[:, days:], late.weather.tmean_c[:, : early.weather.days - days])
    assert late.sole_kg[:, :, 2].sum() == pytest.approx(early.sole_kg[:, :, 2].sum(), rel=NITROGEN_GIVEN_LATER)


def test_a_changed_planting_costs_its_own_twins_only(monkeypatch: pytest.MonkeyPatch) -> None:
    known, grown = Evaluator(garden(), "bed", 2, 5), []
    real = twin_runs._grown

    def counted(setting, columns, factor, keep):  # type: ignore[no-untyped-def]
        grown.append(sorted((c.kind, setting.plan.plantings[c.planting].name) for c in columns))
        return real(setting, columns, factor, keep)

    monkeypatch.setattr(twin_runs, "_grown", counted)
    for radishes in (60.0, 90.0, 60.0):
        known.season(mixture(radishes=radishes), voxels=False)
    assert len(grown[0]) == 6
    assert grown[1:] == [[("lone", "radishes")]]


def test_corrections_serve_a_neighbour_and_are_asked_again_for_another_canopy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A few radishes more stand in the same light; three times as many, or carrots in another place, do not."""
    known, asked = Evaluator(garden(), "bed", 2, 5), []
    real = growing.asked_of
    monkeypatch.setattr(growing, "asked_of", lambda *args: asked.append(1) or real(*args))
    first = known.season(mixture())
    assert len(asked) == 1
    near = known.season(mixture(radishes=63.0), corrections=first.corrections)
    assert len(asked) == 1
    assert near.corrections is not None
    assert near.corrections.takers is first.corrections.takers
    far = known.season(mixture(radishes=180.0), corrections=first.corrections)
    assert len(asked) == 2
    assert far.corrections.takers is not first.corrections.takers
    assert near.picked_kg.sum() == pytest.approx(first.picked_kg.sum(), rel=0.02)
    anew = known.season(mixture(radishes=63.0)).picked_kg.sum()
    assert near.picked_kg.sum() == pytest.approx(anew, rel=LIGHT_OF_A_NEIGHBOUR)


def test_corrections_hold_for_their_own_recipe_and_not_for_another_place() -> None:
    known = Evaluator(garden(), "bed", 2, 5)
    season = known.season(mixture())
    setting, keep = normal_year(season.plan)
    assert season.corrections is not None
    assert still_hold(season.corrections, setting, keep)
    fewer = replace(mixture(), plantings=mixture().plantings[1:])
    setting, keep = normal_year(known.plan(fewer))
    assert not still_hold(season.corrections, setting, keep)


def test_corrections_serve_the_nearest_neighbour_of_a_full_bed() -> None:
    """Eight plantings, of which one is sown a hair thicker: fast crops whose light changes between two askings are no reason to
    ask again."""
    known = Evaluator(case_garden("kiln-lane"), "trellis bed", 1, 5)
    one = load_recipe(DEMO / "trellis-summer.recipe.yaml")
    near = SetAmount("spinach", Density(25.01)).changed(one)
    found = scout(known.plan(one))
    setting, keep = normal_year(known.plan(near))
    assert still_hold(found, setting, keep)


def test_evaluator_and_season_pickle() -> None:
    known = Evaluator(garden(), "bed", 2, 5)
    season = known.season(mixture())
    again = pickle.loads(pickle.dumps(known)).season(mixture())
    assert_same(again, season)
    assert_same(pickle.loads(pickle.dumps(season)), season)


def test_what_is_sent_twice_arrives_as_one() -> None:
    """An evaluator, and the crops of a recipe, so that what is kept for them in the other process is found again."""
    known, one = Evaluator(garden(), "bed", 2, 5), mixture()
    first, second = (pickle.loads(pickle.dumps((known, one))) for _ in range(2))
    assert first[0] is second[0] is not known
    assert first[1] == second[1] == one
    assert all(a.crop is b.crop for a, b in zip(first[1].plantings, second[1].plantings, strict=True))
    other = pickle.loads(pickle.dumps(Evaluator(garden(), "bed", 2, 6)))
    assert (other.seed, other.years, other.since) == (6, 2, None)


def test_a_changed_crop_arrives_as_changed() -> None:
    crop = mixture().plantings[0].crop
    sour = crop.with_values({"canopy.k": 0.4}, "a test")
    assert [pickle.loads(pickle.dumps(one))["canopy.k"] for one in (crop, sour, crop)] == [
        crop["canopy.k"],
        0.4,
        crop["canopy.k"],
    ]
    strange = replace(crop, origin="elsewhere")
    assert pickle.loads(pickle.dumps(strange)).origin == "elsewhere"


@pytest.mark.slow
def test_threads_may_use_one_evaluator() -> None:
    known = Evaluator(garden(), "bed", 2, 5)
    many = [40.0 + 5.0 * n for n in range(8)]
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda n: known.season(mixture(radishes=n), voxels=False), many))
    for radishes, season in zip(many, found, strict=True):
        assert_same(season, Evaluator(garden(), "bed", 2, 5).season(mixture(radishes=radishes), voxels=False))
