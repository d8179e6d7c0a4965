"""Words for lengths, amounts, harvests and cautions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from looping import each
from strategies import bed, grown, planned, planting

from mixcraft.crops import all_crops
from mixcraft.crops.cautions import cautions
from mixcraft.press.cautions import LEAD_SCREEN_MG_KG, LEAD_SCREEN_SEVERAL_MG_KG, card_cautions
from mixcraft.press.picking import pickings
from mixcraft.press.provenance import assumptions, crop_hash
from mixcraft.press.type import line_count, shortened, text_width
from mixcraft.recipe.model import AtEvent, CoverUse, HarvestUse, OnDate, OnDay, Watering
from mixcraft.recipe.steps import sowing_steps
from mixcraft.season.nitrogen import nitrogen_need
from mixcraft.season.result import Season
from mixcraft.words.amounts import band_words, days_words, depth_words, length_words, weight_words
from mixcraft.words.card import water_sentence
from mixcraft.words.dates import short_day
from mixcraft.words.plain import listed
from mixcraft.words.steps import step_sentence


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [(0.013, "1.3 cm", "½ in"), (0.15, "15 cm", "6 in"), (0.254, "25 cm", "10 in"), (1.2192, "1.22 m", "4 ft"),
     (3.0, "3 m", "9 ft 10 in"), (0.6096, "61 cm", "2 ft")],
)  # fmt: skip
def test_lengths(metres: float, metric: str, us: str) -> None:
    """A foot is 0.3048 m, an inch 0.0254 m, by definition."""
    assert plain(length_words(metres, "metric")) == metric
    assert plain(length_words(metres, "us")) == us


@pytest.mark.parametrize(
    ("metres", "words"), [(0.013, "1.5 cm"), (0.006, "0.5 cm"), (0.001, "0.5 cm"), (0.05, "5 cm"), (0.127, "13 cm")]
)
def test_depths(metres: float, words: str) -> None:
    assert plain(depth_words(metres, "metric")) == words


@pytest.mark.parametrize(
    ("kg", "metric", "us"),
    [(0.004, "under 10 g", "1 oz"), (0.05, "50 g", "2 oz"), (0.32, "300 g", "11 oz"), (0.45359237, "450 g", "1 lb"),
     (2.26796185, "2.3 kg", "5 lb"), (16.0, "16 kg", "35 lb")],
)  # fmt: skip
def test_weights(kg: float, metric: str, us: str) -> None:
    """A pound is 0.45359237 kg, by definition."""
    assert plain(weight_words(kg, "metric")) == metric
    assert plain(weight_words(kg, "us")) == us


def test_bands() -> None:
    assert plain(band_words(1.8, 2.2, 2.6, "metric")) == "2.2 kg (1.8 to 2.6 kg)"
    assert plain(band_words(0.4, 0.75, 1.0, "metric")) == "750 g (400 g to 1 kg)"
    assert plain(band_words(0.0, 0.75, 1.0, "metric")) == "750 g (0 to 1 kg)"
    assert plain(band_words(2.0, 2.0, 2.0, "metric")) == "2 kg"


def test_stretches_and_lists() -> None:
    assert [days_words(d) for d in (1, 4, 7, 14, 10, 21)] == ["day", "4 days", "week", "2 weeks", "10 days", "3 weeks"]
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_text_is_measured_in_its_own_face() -> None:
    """Figures are all as wide; a line breaks where the words end; an ellipsis keeps to the width."""
    assert text_width("111", 10.0) == pytest.approx(text_width("880", 10.0))
    wide = text_width("seven seven", 10.0)
    assert line_count("seven seven", 10.0, wide) == 1
    assert line_count("seven seven", 10.0, wide - 0.1) == 2
    assert line_count("seven seven seven seven", 10.0, wide) == 2
    short = shortened("a very long name of a planting", 10.0, 60.0)
    assert short.endswith("…")
    assert text_width(short, 10.0) <= 60.0


def test_ways_of_picking(fixed: SimpleNamespace) -> None:
    rows = {row.name: row for row in pickings(fixed.season, fixed.score, "metric")}
    assert rows["roots"].how == "lift the whole crop at once"
    assert rows["leaf salad"].how == "outer leaves every week; all at the last picking"
    assert plain(rows["cut salad"].how) == "cut at 2.5 cm when regrown, up to 3 cuts"
    assert rows["tall bean"].how == "pick every 4 days"
    first = fixed.score.yields[0].first
    assert rows["tall bean"].when.startswith(short_day(first))


def test_harvest_that_never_comes_says_so(fixed: SimpleNamespace) -> None:
    none = replace(fixed.score.yields[0], first=None, last=None)
    score = replace(fixed.score, yields=(none, *fixed.score.yields[1:]))
    assert pickings(fixed.season, score, "metric")[0].when == "nothing in most years"


def codes_in_use() -> set[str]:
    return {code for crop in all_crops() for code in (*crop.cautions, *(c for part in crop.parts for c in part.cautions))}


def test_every_code_has_its_words() -> None:
    """No crop may name a caution that the card cannot print."""
    missing = codes_in_use() - set(cautions())
    assert not missing
    assert {"trellis-load", "soil-roots"} <= set(cautions())


@each("code", sorted(cautions()))
def test_cautions_are_whole(code: str) -> None:
    record = cautions()[code]
    assert set(record) == {"title", "text", "short", "rank", "source", "at", "quality"}
    assert record["quality"] in ("published", "common practice", "memory")
    assert record["rank"] in (1, 2, 3)
    assert 20 < len(record["text"]) <= 320
    assert len(record["short"]) <= min(110, len(record["text"]))
    assert record["text"].rstrip().endswith(".")


def test_numbers_of_the_bean_caution() -> None:
    """US FDA Bad Bug Book, phytohaemagglutinin (from memory): soak 5 hours, boil 30 minutes at least, no slow cooker."""
    text = cautions()["raw-beans"]["text"]
    assert "5 hours" in text
    assert "30 minutes" in text
    assert "slow cooker" in text


def test_cautions_of_a_card_come_gravest_first(fixed: SimpleNamespace) -> None:
    found = card_cautions(fixed.plan)
    assert found[0].code == "raw-beans"
    assert found[0].names == ("tall bean",)
    assert [c.rank for c in found] == sorted(c.rank for c in found)
    assert "trellis-load" in {c.code for c in found}
    assert "have it tested by a laboratory" in next(c.text for c in found if c.code == "soil-roots")


def test_an_unknown_code_is_printed_as_it_is() -> None:
    one = planting("radish")
    plan = planned(replace(one, crop=replace(one.crop, cautions=("made-up-thing",))))
    assert "Caution: made up thing." in {c.text for c in card_cautions(plan)}


@pytest.mark.parametrize(
    ("lead", "words"),
    [(20.0, "Below the US EPA's screening level"), (140.0, "several sources of lead"), (450.0, "grow no food in")],
)
def test_tested_soil(lead: float, words: str) -> None:
    """US EPA, FAQs on the residential soil lead guidance of 17 January 2024, Q1: 200 ppm, 100 ppm with several sources."""
    assert (LEAD_SCREEN_MG_KG, LEAD_SCREEN_SEVERAL_MG_KG) == (200.0, 100.0)
    plan = planned(planting("radish"), one=bed(soil_lead_mg_kg=lead))
    text = next(c.text for c in card_cautions(plan) if c.code == "soil-roots")
    assert f"{lead:g} mg/kg" in text
    assert words in text


def test_assumptions_name_place_frost_water_and_years(quiet: Callable[..., Season]) -> None:
    season = quiet(planned(planting("radish"), one=bed(watering=Watering("weekly", 25.0))))
    text = " ".join(assumptions(season, "metric"))
    assert "normal year of Oxford (51.76° N, 1.26° W" in text
    assert "Last air frost of spring" in text
    assert "25 mm a week" in text
    assert "2 weather years" in text


def test_what_the_bed_wants_is_printed(quiet: Callable[..., Season]) -> None:
    """60 g/m2 wanted, 12 of them not had: more than soil gives, so that the card asks for compost, by its volume."""
    season = quiet(planned(planting("leek"), one=bed(3.0, 1.2)))
    assert "soil and legumes give" in " ".join(assumptions(season, "metric"))
    share = season.plan.plantings[0].stand.area_m2 / 3.6
    hungry = replace(season, nitrogen=np.full_like(season.nitrogen, 0.0) + np.array([48.0, 0.0, 12.0]) / share)
    need = nitrogen_need(hungry)
    assert need.wanted == pytest.approx(60.0)
    assert need.soil < need.wanted
    assert f"{need.compost_l_m2 * 3.6:.0f}\u00a0l of garden compost" in " ".join(assumptions(hungry, "metric"))
    assert "cubic feet of garden compost" in " ".join(assumptions(hungry, "us"))


def test_southern_cards_speak_of_the_southern_year(quiet: Callable[..., Season]) -> None:
    season = quiet(planned(planting("radish"), where="Melbourne"))
    text = " ".join(assumptions(season, "metric"))
    assert "° S, " in text


def test_crop_hash_follows_the_crops() -> None:
    first, same = (crop_hash(planned(planting("radish"))) for _ in range(2))
    other = crop_hash(planned(planting("rocket")))
    assert first == same != other
    assert len(first) == 12


def test_the_turn_of_the_year_is_said_once() -> None:
    """Dates on the card have no year: the first step after December says that it is in the next one."""
    over_winter = CoverUse("fleece", AtEvent("start"), OnDay("03-10"))
    autumn, winter = OnDate("10-20"), OnDate("11-20")
    plan = planned(
        planting("garlic", establish="clove", count=10, start=autumn, covers=(over_winter,)),
        planting("broad-bean", establish="stations", count=8, start=winter, covers=(over_winter,)),
        planting("radish", start=OnDate("09-01")),
    )
    said = [(str(plan.date(s.day))[:7], step_sentence(s, plan)) for s in sowing_steps(plan)]
    assert [when for when, what in said if what.startswith("Next year: ")] == ["2002-03"]
    first = next(what for _, what in said if what.startswith("Next year: "))
    assert first.startswith("Next year: take the fleece off ")
    assert all(what[0].isupper() for _, what in said)


def test_water_of_the_next_year_says_so_once() -> None:
    within = [("Apr", "4 l", 2026), ("May", "6 l", 2026)]
    assert water_sentence(within, 2026) == "Water in a dry week: Apr 4 l, May 6 l."
    assert water_sentence(within, 2025) == "Water in a dry week: next year Apr 4 l, May 6 l."
    assert water_sentence([("Oct", "3 l", 2026), *[(m, x, 2027) for m, x, _ in within]], 2026) == (
        "Water in a dry week: Oct 3 l, next year Apr 4 l, May 6 l."
    )
    assert water_sentence([("", "25 l", 2026)], 2025) == "Water in a dry week: 25 l."
    assert water_sentence([], 2026) == ""


def test_leaves_that_are_picked_once_before_they_run_to_seed_are_cut_whole() -> None:
    """Mustard of July is ready and gone within days; spring spinach is picked for some weeks and chard for months, and all at the
    last picking."""
    for crop, start, said in (
        ("mustard-leaf", "07-10", "cut or pick it all at once"),
        ("spinach", "04-20", "outer leaves every 10 days; all at the last picking"),
        ("chard", "04-20", "outer leaves every 12 days; all at the last picking"),
    ):
        season = grown(planting(crop, start=OnDate(start), harvest=(HarvestUse("leaves", "leaf"),)), years=5)
        assert [row.how for row in pickings(season, None, "metric")] == [said]
