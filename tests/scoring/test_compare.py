"""Two scores side by side: leads that sum to the whole, mirrored when they change places, weeks of one calendar."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from strategies import bed, grown, planting

from mixcraft.cli.main import main
from mixcraft.recipe.model import OnDate, Plate
from mixcraft.scoring import score
from mixcraft.scoring.compare import compare
from mixcraft.scoring.model import Score
from mixcraft.words.amounts import weight_words
from mixcraft.words.comparisons import food_rows, verdict

DEMO = Path(__file__).parents[2] / "recipes_demo"
ONE = bed(plate=Plate("05-01", "10-31", portions=4.0))


@lru_cache(maxsize=1)
def two() -> tuple[Score, Score]:
    """Radish alone, and salad with roots."""
    salad = (planting("lettuce-loose-leaf", "lettuce", establish="drills"), planting("beetroot", start=OnDate("05-01")))
    return score(grown(planting("radish"), one=ONE)), score(grown(*salad, one=ONE))


def test_the_leads_of_the_parts_sum_to_the_lead_of_the_whole() -> None:
    first, second = two()
    found = compare(first, second)
    assert found.lead == pytest.approx(second.overall - first.overall)
    assert abs(found.lead) > 5.0
    assert sum(part.lead for part in found.parts) == pytest.approx(found.lead)
    for part in found.parts:
        assert part.lead * (part.second.score - part.first.score) >= 0.0


def test_changing_places_turns_every_sign() -> None:
    there, back = compare(*two()), compare(*two()[::-1])
    assert [p.lead for p in back.parts] == pytest.approx([-p.lead for p in there.parts])
    assert back.only == there.only[::-1]
    assert back.food == there.food[::-1]
    assert [w.kg for w in back.weeks] == [w.kg[::-1] for w in there.weeks]


def test_a_recipe_beside_itself_is_even() -> None:
    first, _ = two()
    found = compare(first, first)
    assert found.lead == 0.0
    assert [p.lead for p in found.parts] == [0.0] * 6
    assert found.only == ((), ())
    assert verdict(found) == "A and B are even."


def test_weeks_are_those_of_one_calendar() -> None:
    """Lettuce of mid-April and beans of mid-June: each week holds what each season's own strip says of it."""
    late = score(grown(planting("bean-bush", start=OnDate("06-15")), one=ONE))
    first, _ = two()
    found = compare(first, late)
    for side, one in enumerate((first, late)):
        told = {week.start: week.kg[side] for week in found.weeks if week.kg[side] is not None}
        assert sum(told.values()) == pytest.approx(sum(w.kg.middle for w in one.strip))
        for week in one.strip:
            assert any(abs((week.start - start) / np.timedelta64(1, "D")) < 7 for start in told)
    assert found.weeks[0].kg[1] is None


def test_what_is_on_the_plate_is_counted() -> None:
    found = compare(*two())
    assert [f.wanted for f in found.food] == [found.scores[0].part("continuity").numbers["wanted"]] * 2
    assert found.food[1].kinds == pytest.approx(2.0)
    assert found.food[1].portions > found.food[0].portions > 0.0
    rows = {what: (a, b) for what, a, b in food_rows(found)}
    assert rows["food"] == tuple(weight_words(f.kg, "metric") for f in found.food)


def test_the_command_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(DEMO / f"{name}.recipe.yaml") for name in ("what-not-to-do", "trellis-summer")]
    more = ["-g", str(DEMO / "kiln-lane.garden.yaml"), "-b", "trellis bed", "--years", "2"]
    assert main(["compare", *files, *more, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["lead"] > 20.0
    assert sum(p["lead"] for p in found["parts"]) == pytest.approx(found["lead"], abs=0.01)
    assert main(["compare", *files, *more]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert found["verdict"] in text
    assert "Trellis bed for the summer is ahead of What not to do by" in text
    assert main(["compare", files[0], "missing.yaml", *more]) == 2
