"""Seed and plants on the card are the plan's, and the plan's are plain arithmetic."""

from __future__ import annotations

import re
from collections.abc import Callable
from types import SimpleNamespace

import pytest

from mixcraft.press import press_card
from mixcraft.recipe.plan import Planned
from mixcraft.recipe.steps import sowing_steps
from mixcraft.season.result import Season
from mixcraft.words import step_sentence
from mixcraft.words.amounts import grams_words, rounded_up, seeds_words


def reckoned(planned: Planned) -> tuple[float, float]:
    """Seeds and grams by hand: plants over germination (and field factor outdoors), over seeds per gram."""
    crop, planting = planned.planting.crop, planned.planting
    plants = planned.stand.plants
    if planting.thin is not None:
        plants = planting.thin.sown_per_m2 * planned.stand.area_m2
    share = crop["seed.germination"] / 100.0
    if planting.establish != "module":
        share = share * crop["seed.field_factor"]
    return plants / share, plants / share / crop["seed.per_gram"]


@pytest.fixture(scope="module")
def front(mixture: Callable[[int], Season], text_of: Callable[[bytes], list[str]]) -> str:
    """All words of the card of twelve plantings."""
    return " ".join(text_of(press_card(mixture(12), attach=False)))


@pytest.mark.slow
def test_grams_on_the_card(mixture: Callable[[int], Season], front: str) -> None:
    season = mixture(12)
    sown = [p for p in season.plan.plantings if p.planting.establish in ("broadcast", "drills", "stations", "module")]
    assert len(sown) == 11
    for planned in sown:
        seeds, grams = reckoned(planned)
        assert planned.seeds == pytest.approx(seeds)
        assert planned.seed_g == pytest.approx(grams)
        amount = seeds_words(seeds, grams).replace("\u00a0", " ")
        pattern = rf"(Sow|Broadcast) {re.escape(planned.name)} [^|]*?{re.escape(amount)}"
        assert re.search(pattern, front), (planned.name, amount)


@pytest.mark.slow
def test_pieces_on_the_card(mixture: Callable[[int], Season], front: str) -> None:
    onion = next(p for p in mixture(12).plan.plantings if p.name == "onion")
    assert f"{round(onion.stand.plants)} sets, {grams_words(onion.seed_g)}".replace("\u00a0", " ") in front


def test_every_planting_is_sown_or_planted_once(mixture: Callable[[int], Season]) -> None:
    plan = mixture(20).plan
    begun = [s for s in sowing_steps(plan) if s.kind in ("sow", "plant")]
    assert sorted(n for s in begun for n in s.numbers) == list(range(1, 21))
    for step in begun:
        assert step.day == plan.plantings[step.numbers[0] - 1].start
        assert plan.plantings[step.numbers[0] - 1].name in step_sentence(step, plan)


def test_modules_are_sown_so_many_weeks_before(fixed: SimpleNamespace) -> None:
    """Planted out on 20 April at an age of four weeks: sown indoors on 23 March."""
    indoors = [s for s in sowing_steps(fixed.plan) if s.kind == "indoors"]
    assert len(indoors) == 1
    weeks = fixed.plan.plantings[2].planting.crop["seed.module_age"]
    assert weeks == 4
    assert str(fixed.plan.date(indoors[0].day))[5:] == "03-23"
    assert "4 modules for 3 plants" in step_sentence(indoors[0], fixed.plan)


def test_steps_come_in_order(mixture: Callable[[int], Season], fixed: SimpleNamespace) -> None:
    for plan in (mixture(20).plan, fixed.plan):
        days = [s.day for s in sowing_steps(plan)]
        assert days == sorted(days)


def test_covers_and_thinning_are_steps(fixed: SimpleNamespace) -> None:
    steps = {(str(fixed.plan.date(s.day))[5:], s.kind): s for s in sowing_steps(fixed.plan)}
    assert step_sentence(steps["04-10", "sow"], fixed.plan).endswith("; cover with fleece")
    assert steps["04-30", "uncover"].numbers == (2, 3)
    assert step_sentence(steps["06-01", "thin"], fixed.plan) == "Thin cut salad to a plant every 5.4\u00a0cm"


def test_distance_in_the_row_is_the_row_over_the_plants(fixed: SimpleNamespace) -> None:
    """Two rows of a metre, 20 cm apart, reach 0.21 m to each side: 0.62 m2 with 60 plants to the square metre are 37 plants,
    5.4 cm apart.  Eight beans on 2.5 m of trellis: 31 cm."""
    words = {s.kind + str(s.numbers): step_sentence(s, fixed.plan) for s in sowing_steps(fixed.plan)}
    assert fixed.plan.plantings[3].stand.plants == pytest.approx(60 * 0.62)
    assert "31\u00a0cm apart" in words["sow(1,)"]


@pytest.mark.parametrize(
    ("grams", "words"),
    [(0.04, "under 0.1 g"), (0.06, "0.1 g"), (0.25, "0.2 g"), (9.94, "9.9 g"), (9.96, "10 g"), (10.4, "10 g"), (576.0, "576 g")],
)
def test_grams_in_words(grams: float, words: str) -> None:
    assert grams_words(grams).replace("\u00a0", " ") == words


@pytest.mark.parametrize(("seeds", "counted"), [(0.2, 1), (3.0, 3), (19.2, 20), (21.0, 25), (101.0, 110), (1001.0, 1100)])
def test_seeds_are_never_counted_short(seeds: float, counted: int) -> None:
    assert rounded_up(seeds) == counted
    assert counted >= seeds
