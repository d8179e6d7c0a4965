"""Days to emergence against Harrington & Minges (1954).

Source: Harrington JF, Minges PA (1954) Vegetable Seed Germination, California Agricultural Extension Mimeo
Leaflet; reprinted in Knott's Handbook for Vegetable Growers (1997) and in Teaching Organic Farming and
Gardening, Unit 1.3, Appendix 4. Days at constant soil temperature, sown 1.3 cm deep; kept in
data/crops_emergence.csv.
"""

from __future__ import annotations

import csv
import itertools
from pathlib import Path

import numpy as np
from looping import each

from mixcraft.crops import load_crop
from mixcraft.crops.development import NEVER, emergence_day, emergence_rate

DATA = Path(__file__).parent / "data" / "crops_emergence.csv"
CROPS = {
    "Bean lima": "lima-bean", "Bean snap": "bean-bush", "Beet": "beetroot",
    "Cabbage": "cabbage-summer", "Carrot": "carrot-maincrop", "Cauliflower": "cauliflower", "Celery": "celery",
    "Corn sweet": "sweet-corn", "Cucumber": "cucumber", "Eggplant": "aubergine", "Lettuce": "lettuce-loose-leaf",
    "Muskmelon": "melon", "Okra": "okra", "Onion": "onion", "Parsley": "parsley", "Parsnip": "parsnip", "Pea": "pea-dwarf",
    "Pepper": "pepper-sweet", "Radish": "radish", "Spinach": "spinach", "Tomato": "tomato-cordon", "Turnip": "turnip",
    "Watermelon": "watermelon",
}  # fmt: skip
"""Rows of the table and the crops of the library that they are."""
FROM_CROWNS = {"Asparagus"}
"""Sown in the table, but planted as crowns in the library, so that its emergence is another event."""

ONE_DAY = 1.0  # the model counts whole days
ONE_TENTH = 0.10  # reading of a table printed in whole days
LONG_ENOUGH = 400


def rows() -> list[tuple[str, float, float | None]]:
    """Item, soil temperature [C] and days to emergence, None where nothing emerged; 5 to 30 C."""
    with DATA.open(encoding="utf-8", newline="") as handle:
        found = []
        for row in csv.DictReader(handle):
            temperature = float(row["condition"].split()[2])
            if 5.0 <= temperature <= 30.0 and row["item"] not in FROM_CROWNS:
                found.append((row["item"], temperature, float(row["value"]) if row["value"] else None))
    return found


def days_at(crop_id: str, temperature_c: float) -> int:
    """Days that seed of the crop takes in soil of this temperature all the time, `NEVER` if it does not come up."""
    soil = np.full((1, LONG_ENOUGH), temperature_c)
    return int(emergence_day(load_crop(crop_id), soil, 0)[0])


def test_the_table_covers_enough_crops() -> None:
    items = {item for item, _, days in rows() if days is not None}
    assert items == set(CROPS)
    assert len(items) >= 15
    assert load_crop("asparagus").establish[0] == "crown"


@each(("item", "temperature", "days"), [row for row in rows() if row[2] is not None])
def test_days_to_emergence(item: str, temperature: float, days: float) -> None:
    found = days_at(CROPS[item], temperature)
    assert abs(found - days) <= max(ONE_DAY, ONE_TENTH * days)


@each(("item", "temperature"), [row[:2] for row in rows() if row[2] is None])
def test_nothing_emerges_where_nothing_did(item: str, temperature: float) -> None:
    assert float(emergence_rate(load_crop(CROPS[item]), np.array([temperature]))[0]) == 0.0
    assert days_at(CROPS[item], temperature) == NEVER


@each("item", sorted(CROPS))
def test_between_two_temperatures_the_days_lie_between(item: str) -> None:
    """Second formula: a rate read off the straight line between two tabulated rates lies between them."""
    table = sorted((t, d) for name, t, d in rows() if name == item and d is not None)
    for (cool, slow), (warm, quick) in itertools.pairwise(table):
        found = days_at(CROPS[item], (cool + warm) / 2.0)
        low, high = min(slow, quick), max(slow, quick)
        assert low * (1.0 - ONE_TENTH) - ONE_DAY <= found <= high * (1.0 + ONE_TENTH) + ONE_DAY


def slow_soils(item: str) -> list[tuple[float, float]]:
    """Temperatures and days slow enough to split into halves of whole days."""
    return [(t, d) for name, t, d in rows() if name == item and d is not None and d >= 4]


@each("item", [item for item in sorted(CROPS) if len(slow_soils(item)) >= 2])
def test_days_add_up_in_soil_that_changes(item: str) -> None:
    """Half of the time in each of two soils makes one emergence (progress adds up; no memory of the order)."""
    table = slow_soils(item)
    (cool, slow), (warm, quick) = table[0], table[-1]
    crop = load_crop(CROPS[item])
    rate = emergence_rate(crop, np.array([cool, warm]))
    first = int(0.5 / rate[0])
    soil = np.concatenate([np.full(first + 1, cool), np.full(LONG_ENOUGH, warm)])[None, :]
    mixed = int(emergence_day(crop, soil, 0)[0])
    expected = first + int(np.ceil((1.0 - first * rate[0]) / rate[1] - 1e-6))
    assert mixed == expected
    assert min(quick, slow) - ONE_DAY <= mixed <= max(quick, slow) * (1.0 + ONE_TENTH) + ONE_DAY
