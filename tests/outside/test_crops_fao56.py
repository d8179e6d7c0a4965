"""Rooting depth and canopy height against FAO-56 Tables 22 and 12.

Source: Allen RG, Pereira LS, Raes D, Smith M (1998) Crop evapotranspiration, FAO Irrigation and Drainage Paper
56, Table 22 (maximum effective rooting depth Zr, a range) and Table 12 (maximum crop height h, one value); kept
in data/crops_fao56.csv. The transcription of Table 12 kept one value where FAO prints a range, and its heights
serve evapotranspiration, so that staked and climbing crops are printed without their support: those are checked
from below only.
"""

from __future__ import annotations

import csv
from pathlib import Path

from looping import each

from mixcraft.crops import all_crops, load_crop

DATA = Path(__file__).parent / "data" / "crops_fao56.csv"
CROPS = {
    "broccoli": ["broccoli", "broccoli-sprouting"], "brussel sprouts": ["brussels-sprouts"],
    "cabbage": ["cabbage-summer", "cabbage-red", "cabbage-savoy", "cabbage-winter"],
    "carrots": ["carrot-early", "carrot-maincrop"], "cauliflower": ["cauliflower", "romanesco"], "celery": ["celery"],
    "garlic": ["garlic"], "onions dry": ["onion"], "onions green": ["onion-salad"],
    "lettuce": ["lettuce-butterhead", "lettuce-cos", "lettuce-crisphead", "lettuce-loose-leaf"], "spinach": ["spinach"],
    "radish": ["radish"], "radishes": ["radish"], "eggplant": ["aubergine"], "sweet peppers bell": ["pepper-sweet"],
    "tomato": ["tomato-bush", "tomato-cherry", "tomato-cordon"], "cantaloupe": ["melon"], "sweet melons": ["melon"],
    "cucumber fresh market": ["cucumber"], "cucumber machine harvest": ["gherkin"],
    "pumpkin winter squash": ["pumpkin", "winter-squash", "butternut"],
    "squash zucchini": ["courgette", "summer-squash-patty-pan"], "watermelon": ["watermelon"], "beets table": ["beetroot"],
    "parsnip": ["parsnip"], "potato": ["potato-early", "potato-maincrop"], "sweet potato": ["sweet-potato"],
    "turnip rutabaga": ["turnip", "swede"], "beans green": ["bean-bush"], "beans dry pulses": ["bean-climbing"],
    "beans lima large vines": ["lima-bean"], "chickpea": ["chickpea"], "faba bean broad fresh": ["broad-bean"],
    "faba bean broad dry seed": ["field-bean"], "green gram cowpeas": ["cowpea", "mung-bean"],
    "green gram cowpeas harvested fresh": ["cowpea"], "green gram cowpeas harvested dry": ["mung-bean"],
    "groundnut peanut": ["peanut"], "lentil": ["lentil"],
    "peas fresh": ["pea-dwarf", "pea-mangetout", "pea-sugar-snap", "pea-tall"], "soybeans": ["soybean"],
    "artichokes": ["globe-artichoke"], "asparagus": ["asparagus"], "mint": ["mint"],
    "strawberries": ["strawberry", "strawberry-everbearing"], "flax": ["linseed"], "sunflower": ["sunflower"],
    "oats": ["oats"], "maize sweet corn": ["sweet-corn"], "maize sweet corn fresh": ["sweet-corn"],
    "maize field grain corn": ["popcorn"],
}  # fmt: skip
"""Rows of the tables and the crops of the library that they are; the rest of the rows are field crops it lacks."""
WITHOUT_SUPPORT = {
    "bean-climbing", "cucumber", "gherkin", "pea-mangetout", "pea-sugar-snap", "pea-tall", "tomato-cherry", "tomato-cordon",
}  # fmt: skip
"""Grown on a support here, printed lying or bush in the table."""
WITH_FLOWER_STEMS = {"asparagus", "globe-artichoke", "broccoli-sprouting"}
"""The table prints the crop at harvest; the library the fern of asparagus, the flower stems of artichoke, and
the tall broccoli that stands through a winter where the table means the summer crop.
"""
ONE_ROW_UP = 2.0
"""Heights of one crop in two handbooks differ up to this factor (broccoli 0.3 m in FAO-56, 0.55 m in Daisy)."""


def table(name: str) -> dict[str, tuple[float, float]]:
    """Low and high value [m] by row of ``Table 12`` or ``Table 22``."""
    with DATA.open(encoding="utf-8", newline="") as handle:
        rows = [row for row in csv.DictReader(handle) if row["locator"] == name]
    return {row["item"]: (float(row["value"]), float(row["value_max"] or row["value"])) for row in rows}


DEPTHS, HEIGHTS = table("Table 22"), table("Table 12")


def pairs(rows: dict[str, tuple[float, float]]) -> list[tuple[str, str]]:
    return [(item, crop) for item in rows for crop in CROPS.get(item, [])]


def test_the_tables_are_used_up() -> None:
    """Rows left out are field crops, hay, grain and seed crops, which no kitchen bed grows."""
    left = (set(DEPTHS) | set(HEIGHTS)) - set(CROPS)
    fields = (
        "maize field", "maize sweet corn dry", "millet", "sorg", "winter wheat", "spring wheat", "barley", "clover", "rye",
        "rapeseed",
    )  # fmt: skip
    others = {"sugar beet", "onions seed", "peas dry seed", "garbanzo"}
    assert {item for item in left if not item.startswith(fields)} == others


@each(("item", "crop_id"), pairs(DEPTHS))
def test_rooting_depth_lies_in_the_printed_range(item: str, crop_id: str) -> None:
    record = load_crop(crop_id).records["root.depth"]
    low, high = DEPTHS[item]
    assert record.unit == "m"
    assert low - 1e-9 <= record.value <= high + 1e-9


@each(("item", "crop_id"), pairs(HEIGHTS))
def test_canopy_height_agrees_with_the_printed_one(item: str, crop_id: str) -> None:
    record = load_crop(crop_id).records["canopy.height"]
    printed = HEIGHTS[item][0]
    assert record.unit == "m"
    if crop_id in WITHOUT_SUPPORT | WITH_FLOWER_STEMS:
        assert record.value >= printed
    else:
        assert printed / ONE_ROW_UP <= record.value <= printed * ONE_ROW_UP


def test_heights_that_cite_the_table_are_those_of_the_table() -> None:
    """A record that names FAO-56 Table 12 as published holds a value that the table prints."""
    printed = {low for low, _ in HEIGHTS.values()}
    cited = [
        crop for crop in all_crops()
        if crop.records["canopy.height"].source == "fao56" and crop.records["canopy.height"].quality == "published"
    ]  # fmt: skip
    assert cited
    assert {crop.id for crop in cited if crop["canopy.height"] not in printed} == set()


def test_the_order_of_heights_is_that_of_the_table() -> None:
    """Sunflower stands over sweet corn, corn over sprouts, sprouts over strawberries (Table 12)."""
    names = ["sunflower", "sweet-corn", "brussels-sprouts", "strawberry"]
    heights = [load_crop(name)["canopy.height"] for name in names]
    assert heights == sorted(heights, reverse=True)
    printed = [HEIGHTS[i][0] for i in ("sunflower", "maize sweet corn fresh", "brussel sprouts", "strawberries")]
    assert printed == sorted(printed, reverse=True)
