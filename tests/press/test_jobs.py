"""The whole job list: what a grower does to a bed in a year, each job on its day and once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from strategies import grown, planting

from mixcraft.press.jobs import failing, jobs, last_day, weekly_water_l
from mixcraft.press.orders import orders_of
from mixcraft.press.tables import seed_table
from mixcraft.recipe.model import AtEvent, CoverUse, HarvestUse, OnDate, OnDay, Thinning
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.recipe.steps import Step, sowing_steps
from mixcraft.scoring.fates import fates
from mixcraft.season.result import Season
from mixcraft.words import step_amount, step_sentence
from mixcraft.words.notes import note_sentence

RECIPE = """
format: mixcraft-recipe/1
name: Jobs
bed: {length: 3 m, width: 1.2 m}
plantings:
  - {crop: radish, establish: broadcast, density: 25 plants/m2, place: {kind: whole}, start: {kind: date, on: 03-24}}
  - {crop: rocket, establish: broadcast, density: 50 plants/m2, place: {kind: whole}, start: {kind: date, on: 03-24}}
  - {crop: cordon tomato, name: tomatoes, establish: module, count: 3, place: {kind: row, along: length, at: [30 cm]},
     start: {kind: date, on: 06-01}, support: {kind: stake, height: 1.6 m}}
  - {crop: climbing bean, name: beans, establish: stations, count: 6, place: {kind: trellis, edge: north},
     support: {kind: netting}, start: {kind: date, on: 05-20}}
  - {crop: kale, establish: module, count: 3, place: {kind: row, along: length, at: [60 cm]}, start: {kind: date, on: 07-10}}
"""
GARDEN = """
format: mixcraft-garden/1
name: Yard
place: {kind: reference, name: Oxford}
beds:
  - {name: bed, length: 3 m, width: 1.2 m, heading: 90 deg, trellises: [{edge: north, height: 2 m}]WATER}
"""


@pytest.fixture
def season_of(tmp_path: Path, quiet: Callable[..., Season]) -> Callable[[str], Season]:
    def made(water: str = "") -> Season:
        (tmp_path / "a.yaml").write_text(RECIPE, "utf-8")
        (tmp_path / "g.yaml").write_text(GARDEN.replace("WATER", water), "utf-8")
        return quiet(plan(load_recipe(tmp_path / "a.yaml"), load_garden(tmp_path / "g.yaml"), "bed"))

    return made


def found(season: Season, kind: str, name: str = "") -> list[Step]:
    plantings = season.plan.plantings
    return [s for s in jobs(season) if s.kind == kind and (not name or name in [plantings[n - 1].name for n in s.numbers])]


def test_jobs_that_growers_expect(season_of: Callable[[str], Season]) -> None:
    """Written down before the list was made: tomatoes are raised, hardened, staked, tied, pinched and fed; kale is netted and
    earthed up; every planting is picked for the first time and cleared; the bed is fed first."""
    season = season_of("")
    kinds = {name: {s.kind for s in jobs(season) if n + 1 in s.numbers}
             for n, name in enumerate(p.name for p in season.plan.plantings)}  # fmt: skip
    assert {"indoors", "harden", "plant", "support", "tie in", "pinch out", "feed plants", "pick", "clear"} <= kinds["tomatoes"]
    assert {"indoors", "harden", "plant", "net", "earth up", "pick", "clear"} <= kinds["kale"]
    assert {"mix", "pick", "clear"} <= kinds["radish"]
    assert jobs(season)[0].kind == "indoors" or jobs(season)[0].kind == "feed"
    hardened = found(season, "harden", "tomatoes")[0]
    assert season.plan.plantings[2].start - hardened.day == 7


def test_a_trellis_that_stands_is_not_put_up_again(season_of: Callable[[str], Season]) -> None:
    assert [s.numbers for s in found(season_of(""), "support")] == [(3,)]


def test_one_tin_for_what_is_broadcast_on_one_day(season_of: Callable[[str], Season]) -> None:
    season = season_of("")
    (mix,) = found(season, "mix")
    assert mix.numbers == (1, 2)
    assert mix.amounts["seed_g"] == pytest.approx(sum(season.plan.plantings[i].seed_g for i in (0, 1)))
    assert not found(season, "sow", "radish")
    assert step_sentence(mix, season.plan).startswith("Mix and sow: radish 1.7\u00a0g and rocket 0.5\u00a0g")
    assert step_amount(mix, season.plan).endswith("in the tin")


def test_what_follows_is_told_at_the_clearing(season_of: Callable[[str], Season]) -> None:
    season = season_of("")
    words = [step_sentence(s, season.plan) for s in jobs(season) if s.kind == "clear"]
    assert any("tomatoes" in w and "follow" in w for w in words) or any("free" in w for w in words)


def test_water_in_litres(season_of: Callable[[str], Season]) -> None:
    """Ten millimetres a week on 3.6 m2 are 36 l; a bed that lives on rain is not watered; in the open the bed uses ET0 x Kc, with
    Kc between 0.7 (FAO-56 Table 12, small vegetables at the beginning) and that of the crops."""
    (weekly,) = found(season_of(", watering: {kind: weekly, amount: 10 mm}"), "water")
    assert weekly.amounts["litres"] == pytest.approx(36.0)
    assert found(season_of(", watering: {kind: rain}"), "water") == []
    season = season_of("")
    need, rain = weekly_water_l(season)
    offset = int((season.plan.start - season.plan.almanac.start).astype(int))
    et0 = season.plan.almanac.weather.et0_mm[0, offset : offset + season.days] * 7 * 3.6
    assert np.all(need >= 0.7 * et0 - 1e-9)
    assert np.all(need <= 1.25 * et0)
    assert rain.sum() == pytest.approx(season.plan.almanac.weather.rain_mm[0, offset : offset + season.days].sum() * 7 * 3.6)


def test_days_and_repeats_are_in_order(season_of: Callable[[str], Season]) -> None:
    steps = jobs(season_of(""))
    assert [s.day for s in steps] == sorted(s.day for s in steps)
    for step in steps:
        if "every_days" in step.amounts:
            assert step.amounts["until"] >= step.day


def test_a_planting_that_gives_nothing_fails(season_of: Callable[[str], Season]) -> None:
    season = season_of("")
    assert failing(season) == ()
    picked = season.picked_kg.copy()
    of = [i for i, h in enumerate(season.harvests) if h.planting == 0]
    picked[:, :, of] = 0.0
    assert failing(replace(season, picked_kg=picked)) == (0,)


def test_an_empty_bed_is_not_watered_for_what_failed(season_of: Callable[[str], Season]) -> None:
    """Radishes of March are the only ones that give anything; the others, planned to stand into winter, want no water then."""
    season = season_of("")
    first, *others = season.plan.plantings
    picked = season.picked_kg.copy()
    picked[:, :, [i for i, h in enumerate(season.harvests) if h.planting != first.index]] = 0.0
    bare = replace(season, picked_kg=picked)
    assert failing(bare) == tuple(p.index for p in others)
    pulled = last_day(bare, None, first)
    assert max(step.amounts["until"] for step in jobs(bare) if step.kind == "water") == pulled
    assert max(step.amounts["until"] for step in jobs(season) if step.kind == "water") > pulled


def test_thinning_in_rounds_is_one_job_and_says_how_where_thinnings_are_eaten() -> None:
    """To the distance of the row, the first round on the day on which it can be eaten; else on one day, three weeks after."""
    uses = (HarvestUse("baby carrots", "thin"), HarvestUse("root", "pull"))
    eaten, left = (
        grown(planting("carrot-maincrop", density_per_m2=80.0, thin=Thinning(200.0), harvest=picked), years=1)
        for picked in (uses, uses[1:])
    )
    said = [next(s for s in sowing_steps(x.plan) if s.kind == "thin") for x in (eaten, left)]
    sentences = [step_sentence(s, x.plan) for s, x in zip(said, (eaten, left), strict=True)]
    assert [text.endswith("; in weekly rounds, for the kitchen") for text in sentences] == [True, False]
    assert said[1].day == left.plan.plantings[0].thin_day
    assert (said[0].amounts["every_days"], said[0].amounts["until"] - said[0].day) == (7.0, 14.0)
    assert [s.names["method"] for s in jobs(eaten) if s.kind == "pick"] == [("pull",)]  # the thinnings are the job of thinning


def test_a_perennial_that_stands_already_is_not_planted_nor_bought() -> None:
    """Rhubarb of four years has no day of planting and no risk of ground too cold for roots; it is picked all the same."""
    crown = planting("rhubarb", establish="crown", count=1, start=OnDate("11-20"))
    new, old = (grown(replace(crown, years=years), years=3) for years in (None, 4))
    assert [s.kind for s in jobs(new)].count("plant") == 1
    assert "plant" not in [s.kind for s in jobs(old)]
    assert "pick" in [s.kind for s in jobs(old)]
    assert (len(orders_of(new.plan)), len(orders_of(old.plan))) == (1, 0)
    assert (len(seed_table(new)["number"]), len(seed_table(old)["number"])) == (1, 0)
    assert [note_sentence(n) for n in old.plan.notes if n.kind == "stands"] == [
        "rhubarb: planted 4 years ago, it stands in the bed already."
    ]
    assert float(fates(new).still[0]) > float(fates(old).still[0]) == 0.0


def test_bushes_that_stand_are_cut_before_those_that_are_set_out() -> None:
    rosemary = planting("rosemary", establish="plant", count=1, start=OnDate("04-10"))
    new, old = (grown(replace(rosemary, years=years), years=3) for years in (None, 2))
    assert new.opens[:, 0].min() - new.plan.plantings[0].start >= 28
    assert (old.opens[:, 0] == old.plan.plantings[0].start).all()


def test_a_cover_comes_off_what_stands_under_it_yet() -> None:
    """Radishes of March are pulled and gone by September, when the fleece over them, the carrots and the rhubarb comes off;
    rhubarb, which is picked for the last time before that, stands."""
    fleece = (CoverUse("fleece", AtEvent("start"), OnDay("09-01")),)
    season = grown(
        planting("radish", "radishes", start=OnDate("03-24"), establish="drills", density_per_m2=60.0, covers=fleece),
        planting("carrot-maincrop", "carrots", start=OnDate("03-24"), establish="drills", density_per_m2=60.0, covers=fleece),
        planting("rhubarb", "rhubarb", start=OnDate("03-24"), establish="crown", count=1, covers=fleece, years=3),
    )
    (off,) = found(season, "uncover")
    assert last_day(season, None, season.plan.plantings[2]) < off.day
    (on,) = [step for step in jobs(season) if "cover" in step.names and step.kind != "uncover"]
    assert set(on.numbers) == {1, 2, 3}
    assert off.numbers == (2, 3)
    assert "carrots" in step_sentence(off, season.plan)
    assert "radishes" not in step_sentence(off, season.plan)
