"""Numbers that a sowing card prints: seed weights and plants on an area, against tables of the trade and the
law.

Sources: 7 CFR 201.46 Table 1, approximate seeds per gram (the rows kept here are from memory and not re-read,
so that they bound and do not pin); 7 CFR 201.31 minimum germination; Bailey LH (1911) Farm and Garden Rule-Book
(public domain), number of plants required to set an acre at given distances.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from looping import each
from strategies import bed, planned, planting

from mixcraft.crops import load_crop
from mixcraft.files import parse_quantity
from mixcraft.recipe.model import AtEvent, Thinning

DATA = Path(__file__).parent / "data"
SQUARE_METRES_PER_ACRE = 4046.8564224  # 43 560 international square feet of 0.3048 m squared
FACTOR_TWO = 2.0  # seed counts differ so much between cultivars and seed lots
CROPS = {
    "Asparagus": "asparagus", "Bean snap": "bean-bush", "Beet": "beetroot", "Broccoli": "broccoli",
    "Brussels sprouts": "brussels-sprouts", "Cabbage": "cabbage-summer", "Cauliflower": "cauliflower", "Kale": "kale",
    "Kohlrabi": "kohlrabi", "Carrot": "carrot-maincrop", "Celery": "celery", "Chard": "chard", "Corn sweet": "sweet-corn",
    "Cucumber": "cucumber", "Eggplant": "aubergine", "Endive": "endive-curled", "Leek": "leek",
    "Lettuce": "lettuce-loose-leaf", "Okra": "okra", "Onion": "onion", "Parsley": "parsley", "Parsnip": "parsnip",
    "Pea": "pea-dwarf", "Pepper": "pepper-sweet", "Pumpkin": "pumpkin", "Radish": "radish", "Spinach": "spinach",
    "Squash": "courgette", "Tomato": "tomato-cordon", "Turnip": "turnip", "Watermelon": "watermelon",
}  # fmt: skip


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


COUNTS = {row["item"]: float(row["value"]) for row in rows("card_seeds_per_gram.csv")}
GERMINATION = {row["item"]: float(row["value"]) for row in rows("crops_germination.csv")}
PER_ACRE = [
    (float(row["apart_in"]), float(row["by_in"]), int(row["plants_per_acre"])) for row in rows("card_plants_per_acre.csv")
]


def test_every_row_has_its_crop() -> None:
    assert set(CROPS) == set(COUNTS)


@each("item", sorted(CROPS))
def test_seeds_per_gram(item: str) -> None:
    record = load_crop(CROPS[item]).records["seed.per_gram"]
    assert record.unit == "1/g"
    assert COUNTS[item] / FACTOR_TWO <= record.value <= COUNTS[item] * FACTOR_TWO


@each(
    ("item", "kind", "crop_id"),
    [("Carrot", "Carrot", "carrot-maincrop"), ("Lettuce", "Lettuce", "lettuce-loose-leaf"), ("Radish", "Radish", "radish"),
     ("Onion", "Onion", "onion"), ("Spinach", "Spinach", "spinach"), ("Beet", "Beet", "beetroot"), ("Leek", "Leek", "leek"),
     ("Turnip", "Turnip", "turnip"), ("Parsnip", "Parsnip", "parsnip"), ("Pea", "Pea", "pea-dwarf")],
)  # fmt: skip
def test_seed_weight_of_a_sowing(item: str, kind: str, crop_id: str) -> None:
    """Fifty plants to the square metre on 2 m2, by the law's germination and the table's seed count.

    100 plants / (germination x field factor) seeds, over seeds per gram; the field factor is the crop's own, since no
    table prints it.
    """
    plan = planned(planting(crop_id, density_per_m2=50.0, establish="drills"))
    field = load_crop(crop_id)["seed.field_factor"]
    seeds = 100.0 / (GERMINATION[kind] / 100.0 * field)
    assert plan.plantings[0].seeds == pytest.approx(seeds)
    assert seeds / COUNTS[item] / FACTOR_TWO <= plan.plantings[0].seed_g <= seeds / COUNTS[item] * FACTOR_TWO


def test_modules_need_no_field_factor() -> None:
    """Raised in modules, nothing is lost in the field: ten lettuces at 80 % are 12.5 seeds."""
    plan = planned(planting("lettuce-cos", establish="module", count=10))
    assert plan.plantings[0].seeds == pytest.approx(10 / 0.80)


def test_what_is_sown_before_thinning_counts() -> None:
    """200 seedlings to the square metre on 2 m2 for 50 plants: seed is bought for 400."""
    thin = Thinning(200.0, AtEvent("emergence", 21.0))
    sown = planned(planting("carrot-maincrop", density_per_m2=50.0, thin=thin)).plantings[0]
    plain = planned(planting("carrot-maincrop", density_per_m2=200.0)).plantings[0]
    assert sown.stand.plants == pytest.approx(100.0)
    assert sown.seed_g == pytest.approx(plain.seed_g)


def test_cloves_and_tubers_are_counted_whole() -> None:
    """Twelve cloves are twelve pieces, and weigh twelve times one."""
    plan = planned(planting("garlic", establish="clove", count=12))
    assert plan.plantings[0].seeds == 12
    assert plan.plantings[0].seed_g == pytest.approx(12 * load_crop("garlic")["seed.propagule_mass"])


@each(("apart", "by", "plants"), PER_ACRE)
def test_plants_per_acre(apart: float, by: float, plants: int) -> None:
    """Distances in inches, read as a recipe's, make the number of plants on an acre that the rule-book prints."""
    square = parse_quantity(f"{apart:g} in", "length") * parse_quantity(f"{by:g} in", "length")
    assert SQUARE_METRES_PER_ACRE / square == pytest.approx(plants, abs=1.0)


@each(("apart", "by", "plants"), [row for row in PER_ACRE if 9.0 <= row[0] * row[1] <= 40.0])
def test_plants_on_a_bed(apart: float, by: float, plants: int) -> None:
    """The same density on a bed of 10 ft by 4 ft: 40 of the acre's 43 560 square feet."""
    density = 1.0 / (apart * by * 0.0254**2)
    one = bed(parse_quantity("10 ft", "length"), parse_quantity("4 ft", "length"))
    plan = planned(planting("lettuce-baby-leaf", density_per_m2=density), one=one)
    assert plan.plantings[0].stand.plants == pytest.approx(plants * 40.0 / 43560.0, rel=1e-4)


@each("crop_id", sorted(set(CROPS.values()) - {"asparagus"}))
def test_density_is_what_the_distances_leave(crop_id: str) -> None:
    """Rule-book arithmetic: plants to the square metre = 1 / (in the row x between the rows), within the crop's
    own range.
    """
    crop = load_crop(crop_id)
    record = crop.records["spacing.density"]
    computed = 10_000.0 / (crop["spacing.in_row"] * crop["spacing.between_rows"])
    low = record.low if record.low is not None else record.value
    high = record.high if record.high is not None else record.value
    assert min(low, 0.9 * record.value) <= computed <= max(high, 1.1 * record.value)
