"""Files that are extreme and yet right, or nearly: beds, mixtures, places and crops at the ends of what is allowed."""

from __future__ import annotations

import copy
import random
from functools import lru_cache
from typing import Any

from from_schemas import FREE, Maker, crop_ids, places

from mixcraft.crops import load_crop
from mixcraft.crops.library import DATA
from mixcraft.files import parse_document

SIDES = (0.2, 0.4, 0.75, 1.0, 1.2, 2.0, 3.0, 4.0, 8.0, 15.0, 30.0, 60.0)
COUNTS = (1, 1, 1, 2, 2, 2, 3, 3, 4, 5, 6, 8, 12)
NAMES = (*(name for name in FREE if name.strip() and len(name) <= 60), "radish", "First  sowing", "Möhre & Zwiebel", "ジャガイモ")


def sides(chance: random.Random) -> tuple[float, float]:
    """Length and width of a bed of at most 500 m2 [m]."""
    while True:
        length, width = chance.choice(SIDES), chance.choice(SIDES)
        if length * width <= 500.0:
            return length, width


def recipe(chance: random.Random) -> dict[str, Any]:
    """A recipe of crops of the library, anywhere in the year and the bed."""
    length, width = sides(chance)
    count = 60 if chance.random() < 0.002 else 25 if chance.random() < 0.01 else chance.choice(COUNTS)
    plantings: list[dict[str, Any]] = []
    for n in range(count):
        plantings.append(_planting(chance, n, [p["name"] for p in plantings]))
    return {
        "format": "mixcraft-recipe/1", "name": chance.choice(NAMES), "bed": {"length": f"{length} m", "width": f"{width} m"},
        "plantings": plantings,
    }  # fmt: skip


def _planting(chance: random.Random, n: int, before: list[str]) -> dict[str, Any]:
    maker = Maker(chance, 0.4, 0.0)
    crop = load_crop(chance.choice(crop_ids()))
    made: dict[str, Any] = {
        "name": f"{chance.choice(NAMES)[:50]} {n}", "crop": crop.id, "establish": chance.choice(crop.establish),
        "place": _where(chance), "start": _start(chance, before),
    }  # fmt: skip
    usual = crop["spacing.density"]
    amount = chance.randrange(6)
    if amount == 0:
        made["density"] = f"{usual * chance.choice((0.05, 0.2, 0.5, 1.0, 1.5, 1.9)):.4g} plants/m2"
    elif amount == 1:
        made["count"] = chance.choice((1, 2, 5, 12, 60))
    elif amount == 2 and made["establish"] in ("broadcast", "drills"):
        made["seed_rate"] = chance.choice(("0.01 g/m2", "0.5 g/m2", "4 g/m2", "30 g/m2"))
    if made["place"].get("kind") == "points":
        made.pop("density", None), made.pop("seed_rate", None)
        made["count"] = len(made["place"]["at"])
    if crop.form == "climber" and chance.random() < 0.8:
        made["support"] = chance.choice(("canes", "netting", {"kind": "string", "height": "5 m"}, "stake"))
    if chance.random() < 0.3:
        made["harvest"] = [_picked(chance, part) for part in crop.parts if chance.random() < 0.7]
    if chance.random() < 0.1:
        made["again"] = {"every": chance.choice(("3 days", "2 weeks", "60 days")), "until": chance.choice(("3 times", "08-15"))}
    if chance.random() < 0.15:
        key = chance.choice([k for k, r in crop.records.items() if r.low is not None] or ["canopy.height"])
        record = crop.records[key]
        value = chance.choice((record.low or record.value, record.value, record.high or record.value))
        made["overrides"] = {key: f"{value:g} {record.unit}"}
    for key, few in (("end", 0.15), ("cover", 0.15), ("note", 0.1), ("cultivar", 0.1), ("depth", 0.05)):
        if chance.random() < few:
            made[key] = maker.value(_planting_schema()[key], key, 2)
    return made


@lru_cache(maxsize=1)
def _planting_schema() -> dict[str, Any]:
    from mixcraft.files.schema import _prepared

    found: dict[str, Any] = _prepared("urn:mixcraft:schema:recipe")["properties"]["plantings"]["items"]["properties"]
    return found


def _picked(chance: random.Random, part: Any) -> dict[str, Any]:
    found = {"part": part.name}
    if chance.random() < 0.5:
        found["method"] = chance.choice(part.methods)
    if chance.random() < 0.3:
        found["every"] = chance.choice(("1 day", "7 days", "120 days"))
    return found


def _where(chance: random.Random) -> dict[str, Any]:
    low, high = sorted(chance.choice((0, 10, 25, 40, 50, 75, 90, 100)) for _ in range(2))
    span = [f"{low} %", f"{high} %"] if low < high else ["0 %", "50 %"]
    return chance.choice((
        {"kind": "whole"}, {"kind": "whole"}, {"kind": "strip", "from": span[0], "to": span[1]},
        {"kind": "zone", "x": span, "y": chance.choice((span, ["0 %", "100 %"], ["30 %", "60 %"]))},
        {"kind": "row", "along": chance.choice(("length", "width")), "rows": chance.choice((1, 2, 5, 20))},
        {"kind": "row", "at": ["25 %", "50 %"], "from": span[0], "to": span[1]},
        {"kind": "points", "at": [[_share(chance), _share(chance)] for _ in range(chance.randint(1, 9))]},
        {"kind": "edge", "edge": chance.choice(("north", "east", "south", "west"))}, {"kind": "trellis"},
    ))  # fmt: skip


def _share(chance: random.Random) -> str:
    return f"{chance.randint(1, 99)} %"


def _start(chance: random.Random, before: list[str]) -> Any:
    if before and chance.random() < 0.3:
        event = chance.choice(("start", "emergence", "first-harvest", "last-harvest", "end"))
        return {"kind": "after", "planting": chance.choice(before), "event": event, "wait": chance.choice(("0 days", "2 weeks"))}
    return chance.choice((
        {"kind": "date", "on": f"{chance.randint(1, 12):02d}-{chance.randint(1, 28):02d}"},
        {"kind": "date", "on": f"{chance.randint(3, 6):02d}-{chance.randint(1, 28):02d}", "hemisphere": "north"},
        {"kind": "frost", "weeks": chance.choice((-26, -6, -2, 0, 3, 8, 40))},
        {"kind": "autumn-frost", "weeks": chance.choice((-40, -20, -10, -4, 0))},
        {"kind": "soil", "at_least": f"{chance.choice((1, 5, 8, 12, 16, 20))} C"},
    ))  # fmt: skip


def garden(chance: random.Random) -> dict[str, Any]:
    """A garden anywhere, its beds as the schema allows them."""
    made: dict[str, Any] = Maker(chance, 0.3, 0.0).document("garden")
    if chance.random() < 0.5:
        made["place"] = chance.choice((
            {"kind": "reference", "name": chance.choice(places())},
            {"kind": "coordinates", "latitude": chance.uniform(-66.0, 70.0), "longitude": chance.uniform(-180.0, 180.0),
             "elevation": f"{chance.choice((-400, 0, 500, 2500, 5000))} m"},
        ))  # fmt: skip
    _mend_windows(made)
    for n, bed in enumerate(made["beds"]):
        length, width = sides(chance)
        bed |= {"name": f"bed {n}", "length": f"{length} m", "width": f"{width} m"}
    made["beds"] = made["beds"][:6] or [{"name": "bed", "length": "3 m", "width": "1.2 m"}]
    return made


def _mend_windows(made: dict[str, Any]) -> None:
    """What a schema cannot say: a window has both its ends, and the dates of some years need that of the middle one."""
    for plate in (made.get("plate", {}), *(bed.get("plate", {}) for bed in made["beds"])):
        if ("from" in plate) != ("until" in plate):
            plate.pop("from", None), plate.pop("until", None)
    if isinstance(made["place"], dict):
        made["place"].pop("frost", None)
        if made["place"]["kind"] == "normals":
            base = [20.0 - 0.4 * abs(month - 6) ** 2 for month in range(12)]
            made["place"] |= {"tmax": base, "tmin": [warm - 9.0 for warm in base], "rain": [40.0] * 12}


def crop(chance: random.Random) -> dict[str, Any]:
    """A crop of the library with some of its numbers at the ends of their ranges, or beyond."""
    made: dict[str, Any] = copy.deepcopy(_crop(chance.choice(crop_ids())))
    records: list[dict[str, Any]] = []
    _records(made, records)
    for record in chance.sample(records, min(len(records), chance.choice((1, 3, 10, 40)))):
        low, high = record.get("range", (record["value"], record["value"]))
        record["value"] = chance.choice((low, high, record["value"] * chance.choice((0.5, 0.8, 1.3, 2.0))))
        record["range"] = [min(low, record["value"]), max(high, record["value"])]
    return made


@lru_cache(maxsize=400)
def _crop(name: str) -> dict[str, Any]:
    found: dict[str, Any] = parse_document((DATA / f"{name}.yaml").read_text("utf-8"), name).data
    return found


def _records(node: Any, found: list[dict[str, Any]]) -> None:
    if isinstance(node, dict):
        if isinstance(node.get("value"), (int, float)):
            found.append(node)
        for value in node.values():
            _records(value, found)
    elif isinstance(node, list):
        for value in node:
            _records(value, found)
