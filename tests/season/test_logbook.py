"""The log of what was picked: written entry by entry, read back, set beside the season."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from strategies import grown, planting

from mixcraft.files import FileFaults, UsageError, parse_document
from mixcraft.recipe.model import OnDate
from mixcraft.season.logbook import Picked, beside, log_file, picked_of, with_entry

NAME = "yard.log.yaml"


def entry(kg: float = 0.35, on: date = date(2027, 6, 12), name: str = "lettuce", part: str = "") -> Picked:
    return Picked(on, "bed", name, part, kg)


def test_the_log_stands_beside_the_garden() -> None:
    assert log_file("a/kiln-lane.garden.yaml") == Path("a/kiln-lane.log.yaml")


def test_entries_are_added_and_read_back() -> None:
    text = with_entry("", NAME, 'Yard: "north" # 1', entry(), "350 g")
    text = with_entry(text + "# a remark\n", NAME, "Yard", entry(0.45359237, part="heads"), "1 lb")
    assert "# a remark" in text
    found = picked_of(parse_document(text, NAME))
    assert [(p.planting, p.part, round(p.kg, 6)) for p in found] == [("lettuce", "", 0.35), ("lettuce", "heads", 0.453592)]


def test_a_log_that_cannot_be_added_to_is_left_alone() -> None:
    text = "format: mixcraft-log/1\npicked: []\ngarden: Yard\n"
    with pytest.raises(UsageError, match="write `picked:` last"):
        with_entry(text, NAME, "Yard", entry(), "350 g")


@pytest.mark.parametrize(("day", "amount"), [("2027-02-30", "350 g"), ("12 June", "350 g"), ("2027-06-12", "some")])
def test_faults_are_named(day: str, amount: str) -> None:
    text = f"format: mixcraft-log/1\ngarden: Yard\npicked:\n  - {{on: {day}, bed: bed, planting: lettuce, amount: {amount}}}\n"
    with pytest.raises(FileFaults) as error:
        picked_of(parse_document(text, NAME))
    assert error.value.faults[0].line == 4


def test_picked_stands_beside_what_was_expected() -> None:
    season = grown(planting("lettuce-cos", "lettuce", start=OnDate("04-15"), establish="module", count=16))
    bed = season.plan.bed.name
    log = [Picked(date(2027, 6, 12), bed, "Lettuce", "", 0.35), Picked(date(2026, 6, 12), bed, "lettuce", "", 9.0),
           Picked(date(2027, 6, 12), "other", "lettuce", "", 9.0)]  # fmt: skip
    (row,) = beside(season, log, date(2028, 1, 1), 2027)
    assert row.picked_kg == pytest.approx(0.35)  # last year's and another bed's are not counted
    assert row.expected_kg == row.season_kg
    assert row.season_kg.middle == pytest.approx(float(sorted(season.picked_kg.sum(axis=0)[:, 0])[season.years // 2]), rel=0.2)
    (early,) = beside(season, log, date(2027, 4, 16), 2027)
    assert early.expected_kg.middle == 0.0
