"""Germination percentages against 7 CFR 201.31, germination standards for vegetable seeds in interstate
commerce.

Source: US Code of Federal Regulations, 7 CFR 201.31 (59 FR 64491, 14 December 1994); kept in
data/crops_germination.csv.
"""

from __future__ import annotations

import csv
from pathlib import Path

from looping import each

from mixcraft.crops import all_crops, load_crop

DATA = Path(__file__).parent / "data" / "crops_germination.csv"
CROPS = {
    "Artichoke": ["globe-artichoke"], "Asparagus": ["asparagus"], "Asparagusbean": ["yardlong-bean"],
    "Bean, garden": ["bean-bush", "bean-climbing"], "Bean, lima": ["lima-bean"], "Bean, runner": ["runner-bean"],
    "Beet": ["beetroot"], "Broadbean": ["broad-bean"], "Broccoli": ["broccoli", "broccoli-sprouting"],
    "Brussels sprouts": ["brussels-sprouts"], "Burdock, great": ["burdock"],
    "Cabbage": ["cabbage-summer", "cabbage-red", "cabbage-savoy", "cabbage-winter"], "Cabbage, tronchuda": [],
    "Cardoon": ["cardoon"], "Carrot": ["carrot-early", "carrot-maincrop"], "Cauliflower": ["cauliflower", "romanesco"],
    "Celeriac": ["celeriac"], "Celery": ["celery"], "Chard, Swiss": ["chard", "beet-leaf"],
    "Chicory": ["chicory-radicchio", "chicory-sugarloaf", "chicory-witloof"], "Chinese cabbage": ["chinese-cabbage"],
    "Chives": ["chives"], "Citron": [], "Collards": ["collards"], "Corn, sweet": ["sweet-corn"],
    "Cornsalad": ["corn-salad"], "Cowpea": ["cowpea"], "Cress, garden": ["garden-cress"], "Cress, upland": ["land-cress"],
    "Cress, water": ["watercress"], "Cucumber": ["cucumber", "gherkin"], "Dandelion": ["dandelion"], "Dill": ["dill"],
    "Eggplant": ["aubergine"], "Endive": ["endive-curled", "endive-escarole"], "Kale": ["kale", "kale-tuscan"],
    "Kale, Chinese": ["chinese-broccoli"], "Kale, Siberian": [], "Kohlrabi": ["kohlrabi"], "Leek": ["leek"],
    "Lettuce": [
        "lettuce-baby-leaf", "lettuce-butterhead", "lettuce-cos", "lettuce-crisphead", "lettuce-loose-leaf", "celtuce",
    ],
    "Melon": ["melon"], "Mustard, India": ["mustard-leaf"], "Mustard, spinach": ["komatsuna"], "Okra": ["okra"],
    "Onion": ["onion", "onion-salad"], "Onion, Welsh": ["welsh-onion"], "Pak-choi": ["pak-choi"],
    "Parsley": ["parsley", "parsley-root"], "Parsnip": ["parsnip"],
    "Pea": ["pea-dwarf", "pea-mangetout", "pea-sugar-snap", "pea-tall"], "Pepper": ["pepper-sweet", "chilli"],
    "Pumpkin": ["pumpkin"], "Radish": ["radish", "radish-winter"], "Rhubarb": [], "Rutabaga": ["swede"], "Sage": ["sage"],
    "Salsify": ["salsify"], "Savory, summer": ["savory-summer"], "Sorrel": ["sorrel"], "Soybean": ["soybean"],
    "Spinach": ["spinach"], "Spinach, New Zealand": ["spinach-new-zealand"],
    "Squash": ["winter-squash", "butternut", "courgette", "summer-squash-patty-pan"],
    "Tomato": ["tomato-bush", "tomato-cherry", "tomato-cordon"], "Tomato, husk": ["ground-cherry", "tomatillo"],
    "Turnip": ["turnip"], "Watermelon": ["watermelon"],
}  # fmt: skip
"""Kinds of the regulation and the crops of the library that are of that kind; rhubarb is planted here as crowns."""


def standards() -> dict[str, float]:
    """Minimum germination [%] by kind."""
    with DATA.open(encoding="utf-8", newline="") as handle:
        return {row["item"]: float(row["value"]) for row in csv.DictReader(handle)}


STANDARDS = standards()


def test_every_kind_of_the_regulation_is_mapped() -> None:
    assert set(CROPS) == set(STANDARDS)


@each(("kind", "crop_id"), [(k, c) for k, crops in CROPS.items() for c in crops])
def test_germination_is_the_legal_minimum(kind: str, crop_id: str) -> None:
    """Seed amounts count on no more than the law guarantees."""
    record = load_crop(crop_id).records["seed.germination"]
    assert record.unit == "%"
    assert record.value == STANDARDS[kind]


def test_no_crop_cites_the_regulation_with_another_number() -> None:
    """Every crop whose germination cites 7 CFR 201.31 as published prints a number that the regulation has."""
    allowed = set(STANDARDS.values())
    for crop in all_crops():
        record = crop.records.get("seed.germination")
        if record is not None and record.source == "cfr_201_31":
            assert record.value in allowed, crop.id
