"""Edible parts: what is food, how much is a portion, how long it keeps and stands, and the least piece that can be sold."""

from __future__ import annotations

import pytest

from mixcraft.crops import Crop, Part, all_crops, load_crop
from mixcraft.crops.library import DATA
from mixcraft.crops.model import crop_from_mapping
from mixcraft.files import load_document

CROPS = all_crops()
PARTS = [(crop, part) for crop in CROPS for part in crop.parts]
PIECES = {"bulb", "root", "head", "heads", "tubers", "fruit", "curd", "green pods", "sprouts", "storage roots"}
"""Parts that are sold by the piece or graded by size."""


def ids(pair: tuple[Crop, Part]) -> str:
    return f"{pair[0].id}-{pair[1].name}"


def test_what_is_eaten_has_a_portion_and_keeps() -> None:
    lacking = [ids(pair) for pair in PARTS if pair[1].food and not {"portion", "keeps"} <= set(pair[1].records)]
    assert lacking == []


def test_green_manure_comfrey_and_cut_flowers_are_no_food() -> None:
    no_food = {ids(pair) for pair in PARTS if not pair[1].food}
    assert {"comfrey-leaves", "phacelia-top growth", "winter-rye-top growth", "cosmos-cut flowers"} <= no_food
    assert not any("portion" in part.records for _, part in PARTS if not part.food)
    assert {crop.id for crop, part in PARTS if not part.food and part.name == "top growth"} == {
        crop.id for crop, part in PARTS if part.name == "top growth"
    }


@pytest.mark.parametrize(
    ("crop", "part", "grams"),
    [
        ("carrot-maincrop", "root", 85), ("chilli", "fruit", 30), ("onion-salad", "whole plant", 30), ("parsley", "leaves", 4),
        ("potato-maincrop", "tubers", 110), ("watermelon", "fruit", 280), ("strawberry", "fruit", 140), ("peanut", "nuts", 30),
    ],
)  # fmt: skip
def test_portions_of_21_cfr_101_12(crop: str, part: str, grams: float) -> None:
    """21 CFR 101.12(b), Table 2: 85 g of vegetables, 30 g of chilli, green onion or nuts, 4 g for flavour, 110 g of potatoes,
    280 and 140 g of fruit."""
    found = load_crop(crop).part(part)
    assert found is not None
    assert found.number("portion") == grams


KEPT = [("lettuce-loose-leaf", 7), ("spinach", 14), ("onion", 240), ("potato-maincrop", 182), ("pumpkin", 182), ("sweet-corn", 7)]
"""Longest days of keeping: New England Vegetable Management Guide, Table 16 (leaf lettuce 1 week, dry onions 8 months), and USDA
Agriculture Handbook 66 of 1954 (spinach 2 weeks, potato and pumpkin 26 weeks, corn 1 week)."""


@pytest.mark.parametrize(("crop", "days"), KEPT)
def test_keeping_of_storage_tables(crop: str, days: float) -> None:
    assert load_crop(crop).main_part.records["keeps"].high == days


def test_roots_heads_and_fruit_have_a_least_size() -> None:
    lacking = {ids((c, p)) for c, p in PARTS if p.name in PIECES and p.role == "main" and "market_least" not in p.records}
    assert lacking <= {"cape-gooseberry-fruit", "ground-cherry-fruit", "chickpea-green pods"}


def test_a_plant_at_its_usual_distance_is_worth_selling() -> None:
    """At the usual yield and density, what one plant gives is at least the least marketable piece."""
    for crop in CROPS:
        part = crop.main_part
        if "market_least" in part.records and part.methods[0] in ("once", "pull"):
            grams = 1000.0 * crop["harvest.yield_sole"] / crop["spacing.density"]
            assert grams >= 0.85 * part.number("market_least"), (crop.id, grams)


@pytest.mark.parametrize(("crop", "grams"), [("carrot-maincrop", 11.0), ("parsnip", 29.0)])
def test_a_thread_of_a_root_is_no_harvest(crop: str, grams: float) -> None:
    """US No. 1: carrots from 3/4 inch across and 5 inches long, parsnips from 1 1/2 inches across."""
    assert load_crop(crop).main_part.number("market_least") > grams


def test_what_stands_longest_is_what_everyone_leaves_standing() -> None:
    """Leeks and parsnips stand all winter, cauliflower and sweet corn a week (common practice, no source)."""
    stand = {crop.id: crop.main_part.number("stands", 0.0) for crop in CROPS}
    assert min(stand["leek"], stand["parsnip"], stand["kale"]) >= 120.0
    assert 0.0 < max(stand["cauliflower"], stand["sweet-corn"], stand["broccoli"]) <= 10.0


def test_a_crop_that_does_not_say_has_the_portion_of_its_kind() -> None:
    data = dict(load_document(str(DATA / "kale.yaml")).data)
    parts = [{k: v for k, v in part.items() if k not in ("portion", "keeps")} for part in data["harvest"]["parts"]]
    crop = crop_from_mapping({**data, "harvest": {**data["harvest"], "parts": parts}})
    assert crop.main_part.number("portion") == 85.0
    assert crop.main_part.records["keeps"].source == "nevegetable_table16"
