"""One truth for the recipe: schemas and data classes agree both ways, and every documented choice runs.

A choice that the schema lists and the code refuses is a lie to the user; a field that the class has and the schema lacks
cannot be written.
"""

from __future__ import annotations

import json
from dataclasses import fields
from functools import lru_cache
from typing import Any, get_args

import jsonschema
import pytest
from looping import each

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.keys import CropKey, PartKey
from mixcraft.crops.model import SECTIONS
from mixcraft.files import parse_document
from mixcraft.files.units import convert
from mixcraft.place import cover
from mixcraft.place.covers import cover_kinds
from mixcraft.recipe.model import (
    EDGES,
    After,
    Again,
    AtAge,
    AtTrellis,
    AutumnFrost,
    Bed,
    Beside,
    Border,
    CoverUse,
    End,
    Feeding,
    Garden,
    Harvested,
    HarvestUse,
    Moment,
    Obstacle,
    OnDate,
    Planting,
    Plate,
    Points,
    Recipe,
    Rows,
    Slope,
    Span,
    SpringFrost,
    Start,
    Strip,
    Thinning,
    Times,
    Trellis,
    Until,
    WarmSoil,
    Watering,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import read_garden, read_recipe
from mixcraft.season.grow import grow
from mixcraft.season.roots import available_water_m3_m3

from .sources import ROOT


@lru_cache(maxsize=8)
def schema(kind: str) -> dict[str, Any]:
    return dict(json.loads((ROOT / "schemas" / f"{kind}.schema.json").read_text("utf-8")))


def at(kind: str, *path: str | int) -> dict[str, Any]:
    """The part of a schema under a path of properties; numbers are variants of `oneOf`."""
    node: dict[str, Any] = schema(kind)
    for step in path:
        node = node["oneOf"][step] if isinstance(step, int) else node["properties"][step]
        node = node.get("items", node) if node.get("type") == "array" and "properties" not in node else node
    return without_words(node)


def without_words(node: dict[str, Any]) -> dict[str, Any]:
    """The part of a schema without everyday words and texts, which stand for what is left (`tests/files/test_everyday.py`)."""
    found = dict(node)
    if "enum" in found:
        found["enum"] = [word for word in found["enum"] if word not in found.get("x-means", {})]
    if "properties" in found:
        found["properties"] = {key: without_words(value) for key, value in found["properties"].items()}
        kind = found["properties"].get("kind", {})
        if len(kind.get("enum", ())) == 1:
            found["properties"]["kind"] = {"const": kind["enum"][0]}
    if "oneOf" in found:
        found["oneOf"] = [without_words(branch) for branch in found["oneOf"] if "properties" in branch]
    return found


def keys(kind: str, *path: str | int) -> set[str]:
    """Keys that may be written at a path, all variants together."""
    node = at(kind, *path)
    found = set(node.get("properties", {}))
    for variant in node.get("oneOf", []):
        found |= set(variant["properties"])
    return found


def kinds(kind: str, *path: str) -> list[str]:
    """The kinds of a discriminated entry."""
    node = at(kind, *path)
    listed = list(node["properties"]["kind"]["enum"])
    assert [v["properties"]["kind"]["const"] for v in node["oneOf"]] == listed
    return listed


PLANTING = ("plantings",)
BED = ("beds",)
# schema keys -> fields of the class that hold them
RECIPE_FIELDS = {
    "format": "document", "name": "name", "author": "author", "licence": "licence", "about": "about",
    "bed": "length_m width_m", "crops": "document", "plantings": "plantings",
    "serves": "serves",
}  # fmt: skip
PLANTING_FIELDS = {
    "name": "name", "crop": "crop", "cultivar": "cultivar", "establish": "establish", "count": "amount",
    "density": "amount", "seed_rate": "amount", "spacing": "amount", "thin": "thin", "place": "where", "start": "start",
    "end": "end", "again": "again",
    "cover": "covers", "support": "support support_height_m", "harvest": "harvest", "overrides": "crop",
    "depth": "depth_m", "years": "years", "note": "note",
}  # fmt: skip
KIND_FIELDS: dict[type, dict[str, str]] = {
    WholeBed: {}, Strip: {"from": "x", "to": "x"}, Zone: {"x": "x", "y": "y"},
    Rows: {"along": "along", "at": "at", "rows": "at", "apart": "at", "from": "ends", "to": "ends"},
    Points: {"at": "at"}, Border: {"edge": "edge", "depth": "depth_m"}, AtTrellis: {"edge": "edge"},
    OnDate: {"on": "month_day", "hemisphere": "hemisphere"}, WarmSoil: {"at_least": "at_least_c", "not_before": "not_before"},
    SpringFrost: {"weeks": "weeks"}, AutumnFrost: {"weeks": "weeks"}, Harvested: {}, AtAge: {"time": "days"},
    Times: {"times": "sowings"}, After: {"planting": "planting", "event": "event", "wait": "wait_days"},
}  # fmt: skip
HARVEST_FIELDS = {
    "part": "part", "method": "method", "every": "every_days", "cuts": "cuts", "cut_height": "cut_height_m", "from": "start",
    "until": "until",
}  # fmt: skip
GARDEN_FIELDS = {
    "format": "file document", "name": "name", "about": "about", "place": "place", "beds": "beds", "plate": "plate",
    "weights": "weights",
}  # fmt: skip
BED_FIELDS = {
    "name": "name", "length": "length_m", "width": "width_m", "heading": "heading_deg", "trellises": "trellises",
    "obstacles": "obstacles", "beside": "beside", "slope": "slope", "soil": "soil", "watering": "watering", "feeding": "feeding",
    "soil_lead": "soil_lead_mg_kg", "history": "history",
    "plate": "plate", "recipe": "recipe", "under": "under",
}  # fmt: skip


PLATE_FIELDS = {
    "from": "start", "until": "until", "weekly": "weekly_kg", "people": "people", "portions": "portions", "kinds": "kinds",
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "path", "table", "cls", "unwritten"),
    [
        ("recipe", (), RECIPE_FIELDS, Recipe, set()),
        ("recipe", PLANTING, PLANTING_FIELDS, Planting, {"path"}),
        ("recipe", (*PLANTING, "again"), {"every": "every_days", "until": "until"}, Again, set()),
        ("recipe", (*PLANTING, "cover"), {"kind": "kind", "on": "on", "off": "off"}, CoverUse, set()),
        ("recipe", (*PLANTING, "thin"), {"sown": "sown_per_m2", "at": "at"}, Thinning, set()),
        ("recipe", (*PLANTING, "harvest"), HARVEST_FIELDS, HarvestUse, set()),
        ("garden", (), GARDEN_FIELDS, Garden, set()),
        ("garden", BED, BED_FIELDS, Bed, set()),
        ("garden", (*BED, "trellises"), {"edge": "edge", "height": "height_m"}, Trellis, set()),
        ("garden", (*BED, "obstacles"),
         {"side": "side", "distance": "distance_m", "height": "height_m", "opacity": "opacity",
          "from": "first_m", "to": "last_m", "depth": "depth_m"}, Obstacle, set()),
        ("garden", (*BED, "beside"), {"side": "side", "kind": "kind", "width": "width_m"}, Beside, set()),
        ("garden", (*BED, "slope"), {"falls": "falls", "angle": "angle_deg"}, Slope, set()),
        ("garden", (*BED, "watering"), {"kind": "kind", "amount": "mm_per_week"}, Watering, set()),
        ("garden", (*BED, "feeding"), {"kind": "kind", "amount": "litres_m2"}, Feeding, set()),
        ("garden", ("plate",), PLATE_FIELDS, Plate, set()),
        ("garden", (*BED, "plate"), PLATE_FIELDS, Plate, set()),
    ],
)  # fmt: skip
def test_schema_and_class_agree(kind: str, path: tuple[str, ...], table: dict[str, str], cls: type, unwritten: set[str]) -> None:
    """Every key of the schema has its field, and every field of the class can be written."""
    written = keys(kind, *path)
    assert written <= set(table), "a key of the schema that no field holds"
    have = {f.name for f in fields(cls)}
    used = {name for key in written for name in table[key].split()}
    assert used <= have
    assert have - used <= unwritten


@pytest.mark.parametrize(("key", "union"), [("place", Where), ("start", Start), ("end", End), ("again until", Until)])
def test_each_kind_is_a_class_of_its_own(key: str, union: Any) -> None:
    """Each kind that the schema lists is one class of the union, with the fields that its keys are held by and no others."""
    classes = {cls.kind: cls for cls in get_args(union)}
    path = (*PLANTING, *key.split())
    assert set(classes) == set(kinds("recipe", *path))
    for kind, variant in zip(kinds("recipe", *path), at("recipe", *path)["oneOf"], strict=True):
        table = KIND_FIELDS[classes[kind]]
        assert set(variant["properties"]) == {"kind", *table}, kind
        assert {f.name for f in fields(classes[kind])} == set(table.values()), kind


def test_names_of_crop_values_are_those_of_the_schema() -> None:
    """The type checker knows every value that a crop file can hold, and no other."""
    node = at("crop")["properties"]

    def records(table: dict[str, Any]) -> set[str]:
        return {key for key, value in table.items() if "value" in value.get("properties", {})}

    found = {f"{section}.{key}" for section in SECTIONS for key in records(node[section]["properties"])}
    for inner in ("bolting", "bulbing", "filling", "light_use", "photoperiod", "podding", "setting"):
        table = node["development"]["properties"][inner]["properties"]
        found |= {f"development.{inner}.{key}" for key in records(table)}
    found |= {f"harvest.grain_set.{key}" for key in records(node["harvest"]["properties"]["grain_set"]["properties"])}
    assert set(get_args(CropKey)) == found
    assert set(get_args(PartKey)) == records(node["harvest"]["properties"]["parts"]["items"]["properties"])


def test_every_schema_is_a_schema_and_described() -> None:
    for path in sorted((ROOT / "schemas").glob("*.schema.json")):
        data = json.loads(path.read_text("utf-8"))
        jsonschema.Draft202012Validator.check_schema(data)
        assert data["$schema"].endswith("2020-12/schema")
        assert data["description"]
        assert data["additionalProperties"] is False


def test_enumerations_of_schema_and_code_agree() -> None:
    assert set(at("recipe", *PLANTING, "cover", "kind")["enum"]) == set(cover_kinds())
    assert set(at("garden", *BED, "soil")["enum"]) == set(available_water_m3_m3())
    assert at("garden", *BED, "trellises", "edge")["enum"] == list(EDGES)
    assert at("garden", *BED, "obstacles", "side")["enum"] == list(EDGES)
    crop_ways = at("crop")["properties"]["establish"]["items"]["enum"]
    assert at("recipe", *PLANTING, "establish")["enum"] == crop_ways
    part = at("crop")["properties"]["harvest"]["properties"]["parts"]["items"]["properties"]
    assert set(at("recipe", *PLANTING, "harvest", "method")["enum"]) == set(part["methods"]["items"]["enum"])


HEAD = "format: mixcraft-recipe/1\nname: test\nbed: {length: 2 m, width: 1 m}\nplantings:\n"
GARDEN = """\
format: mixcraft-garden/1
name: test
place: {kind: reference, name: Oxford}
beds:
  - name: bed
    length: 2 m
    width: 1 m
    trellises: [{edge: north, height: 2 m}, {edge: south, height: 2 m}, {edge: east, height: 2 m}, {edge: west, height: 2 m}]
"""


def run(text: str, garden: str = GARDEN, *, voxels: bool = False) -> Plan:
    """Read, settle and grow for one year; whatever refuses, raises."""
    recipe = read_recipe(parse_document(HEAD + text, "recipe.yaml"))
    settled = plan(recipe, read_garden(parse_document(garden, "garden.yaml")), "bed")
    season = grow(settled, 1, 1, voxels=voxels)
    assert season.growth_g.sum() >= 0.0
    return settled


def planting(**lines: str) -> str:
    usual = {
        "crop": "radish", "establish": "broadcast", "density": "40 plants/m2", "place": "{kind: whole}",
        "start": "{kind: date, on: 04-15}",
    }  # fmt: skip
    usual.update(lines)
    return "  - " + "\n    ".join(f"{key}: {value}" for key, value in usual.items() if value) + "\n"


def way_of(way: str) -> str:
    """A crop that is established in this way."""
    found = [c.id for c in all_crops() if way in c.establish]
    assert found, f"no crop of the library is established as {way}"
    return found[0]


@each("way", at("recipe", *PLANTING, "establish")["enum"])
def test_ways_of_establishing(way: str) -> None:
    settled = run(planting(crop=way_of(way), establish=way, density="", count="2"))
    assert settled.plantings[0].seeds > 0.0


PLACES = {
    "whole": "{kind: whole}", "strip": "{kind: strip, from: 10 %, to: 1 m}",
    "zone": "{kind: zone, x: [0 m, 1 m], y: [10 %, 50 %]}", "row": "{kind: row, along: width, at: [50 cm, 75 %]}",
    "points": "{kind: points, at: [[50 cm, 50 %]]}", "edge": "{kind: edge, edge: west}", "trellis": "{kind: trellis}",
}  # fmt: skip


@each("kind", kinds("recipe", *PLANTING, "place"))
def test_places(kind: str) -> None:
    more = {"density": ""} if kind == "points" else {}
    settled = run(planting(place=PLACES[kind], **more), voxels=True)
    assert settled.plantings[0].stand.area_m2 > 0.0


@each("edge", at("recipe", *PLANTING, "place", 5, "edge")["enum"])
def test_borders(edge: str) -> None:
    assert run(planting(place=f"{{kind: edge, edge: {edge}}}")).plantings[0].stand.edge == edge


@each("edge", at("recipe", *PLANTING, "place", 6, "edge")["enum"])
def test_trellises(edge: str) -> None:
    beans = planting(crop="climbing bean", establish="stations", density="", count="4", place=f"{{kind: trellis, edge: {edge}}}")
    assert run(beans).plantings[0].stand.edge in ((edge,) if edge != "any" else EDGES)


@each("along", at("recipe", *PLANTING, "place", 3, "along")["enum"])
def test_rows(along: str) -> None:
    assert run(planting(place=f"{{kind: row, along: {along}, at: [50 cm]}}")).plantings[0].stand.rows


STARTS = {
    "soil": "{kind: soil, at_least: 8 C, not_before: 04-01}", "frost": "{kind: frost, weeks: 1}",
    "autumn-frost": "{kind: autumn-frost, weeks: -12}", "date": "{kind: date, on: 05-01, hemisphere: north}",
    "after": "{kind: after, planting: first, event: start, wait: 2 weeks}",
}  # fmt: skip


@each("kind", kinds("recipe", *PLANTING, "start"))
def test_starts(kind: str) -> None:
    run(planting(name="first") + planting(name="second", start=STARTS[kind]))


@each("event", at("recipe", *PLANTING, "start", 4, "event")["enum"])
def test_events(event: str) -> None:
    run(planting(name="first") + planting(name="b", start=f"{{kind: after, planting: first, event: {event}}}"))


@each("hemisphere", at("recipe", *PLANTING, "start", 3, "hemisphere")["enum"])
def test_hemispheres(hemisphere: str) -> None:
    run(planting(start=f"{{kind: date, on: 06-01, hemisphere: {hemisphere}}}"))


ENDS = {
    "date": "{kind: date, on: 07-01, hemisphere: north}", "age": "{kind: age, time: 8 weeks}",
    "autumn-frost": "{kind: autumn-frost, weeks: 1}", "harvested": "{kind: harvested}",
}  # fmt: skip


@each("kind", kinds("recipe", *PLANTING, "end"))
def test_ends(kind: str) -> None:
    run(planting(end=ENDS[kind]))


@each("kind", at("recipe", *PLANTING, "cover", "kind")["enum"])
def test_covers(kind: str) -> None:
    settled = run(planting(cover=f"[{{kind: {kind}, on: start, off: start + 4 weeks}}]"))
    assert settled.plantings[0].covers[0].kind == kind
    assert 0.0 < cover(kind).light <= 1.0


@each("text", ["start", "emergence", "first harvest", "last harvest", "flower", "end", "06-01"])
def test_moments(text: str) -> None:
    run(planting(crop="pea", density="50 plants/m2", cover=f"[{{kind: mesh, on: start - 1 week, off: {text}}}]"))
    run(planting(crop="pea", density="50 plants/m2", harvest=f"[{{part: peas, from: {text}}}]"
                 if load_crop("pea-dwarf").part("peas") else ""))  # fmt: skip


@each("kind", at("recipe", *PLANTING, "support", "kind")["enum"])
def test_supports(kind: str) -> None:
    settled = run(planting(crop="pea", density="50 plants/m2", support=f"{{kind: {kind}, height: 1.2 m}}"))
    assert settled.plantings[0].support_m == pytest.approx(1.2)


@each("method", at("recipe", *PLANTING, "harvest", "method")["enum"])
def test_methods(method: str) -> None:
    """Each method is the usual one of some part of the library, and runs."""
    crop, part = next((c, p) for c in all_crops() for p in c.parts if method in p.methods)
    lines = {"crop": crop.id, "establish": crop.establish[0], "density": "", "count": "2"}
    settled = run(planting(**lines, harvest=f"[{{part: {part.name!r}, method: {method}}}]"))
    assert settled.harvests[0].method == method


@each("soil", at("garden", *BED, "soil")["enum"])
def test_soils(soil: str) -> None:
    run(planting(), GARDEN + f"    soil: {soil}\n    watering: {{kind: rain}}\n")


WATERINGS = {"watered": "{kind: watered}", "weekly": "{kind: weekly, amount: 15 mm}", "rain": "{kind: rain}"}


@each("kind", kinds("garden", *BED, "watering"))
def test_waterings(kind: str) -> None:
    run(planting(), GARDEN + f"    watering: {WATERINGS[kind]}\n")


FEEDINGS = {"usual": "{kind: usual}", "compost": "{kind: compost, amount: 10 mm}", "none": "{kind: none}"}


@each("kind", kinds("garden", *BED, "feeding"))
def test_feedings(kind: str) -> None:
    run(planting(), GARDEN + f"    feeding: {FEEDINGS[kind]}\n")


@each("side", at("garden", *BED, "obstacles", "side")["enum"])
@each("heading", ["0 deg", "45 deg", "200 deg"])
def test_obstacles(side: str, heading: str) -> None:
    wall = f"    obstacles: [{{side: {side}, distance: 1 m, height: 2 m}}]\n    heading: {heading}\n"
    run(planting(), GARDEN + wall, voxels=True)


MONTHS = "[8, 9, 11, 13, 17, 20, 22, 22, 19, 15, 11, 8]"
LOW = "[2, 2, 3, 5, 8, 11, 13, 13, 10, 7, 4, 2]"


@each("kind", kinds("garden", "place"))
def test_places_of_gardens(kind: str) -> None:
    garden = GARDEN
    if kind == "normals":
        place = f"place: {{kind: normals, name: here, latitude: 50, tmax: {MONTHS}, tmin: {LOW}, rain: {MONTHS}}}"
        garden = GARDEN.replace("place: {kind: reference, name: Oxford}", place)
    if kind == "coordinates":
        place = "place: {kind: coordinates, latitude: 50.8 N, longitude: 4.4 E}"
        garden = GARDEN.replace("place: {kind: reference, name: Oxford}", place)
    run(planting(), garden)


SPREAD = "[4, 4, 4, 4, 3, 3, 3, 3, 3, 4, 4, 4]"
IN_F = "[46, 48, 52, 55, 63, 68, 72, 72, 66, 59, 52, 46]"


@pytest.mark.parametrize("units", next(
    branch for branch in at("garden", "place")["oneOf"] if "units" in branch["properties"]
)["properties"]["units"]["enum"])  # fmt: skip
def test_units_of_normals(units: str) -> None:
    high = IN_F if units == "us" else MONTHS
    place = f"place: {{kind: normals, name: here, latitude: 50, tmax: {high}, tmin: {LOW}, rain: {MONTHS}, units: {units}}}"
    run(planting(), GARDEN.replace("place: {kind: reference, name: Oxford}", place))


def test_normals_in_full() -> None:
    more = (
        f"longitude: 3 E, elevation: 200 m, tmin_spread: {SPREAD}, frost: {{last_spring: 05-01}}, "
        f"wet_days: {MONTHS}, sunshine: [1, 2, 3, 4, 5, 6, 6, 6, 5, 3, 2, 1], humidity: "
        "[80, 80, 80, 80, 80, 80, 80, 80, 80, 80, 80, 80], wind: [3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3], source: here"
    )
    place = f"place: {{kind: normals, name: here, latitude: 50, tmax: {MONTHS}, tmin: {LOW}, rain: {MONTHS}, {more}}}"
    run(planting(), GARDEN.replace("place: {kind: reference, name: Oxford}", place))


def crop_enums() -> list[tuple[str, str]]:
    """Paths and values of the enumerations of a crop that shape the season."""
    node = schema("crop")["properties"]
    lists = {
        "life": node["life"]["enum"], "form": node["form"]["enum"], "kinds": node["kinds"]["items"]["enum"],
        "bolting": node["development"]["properties"]["bolting"]["properties"]["kind"]["enum"],
        "shade": node["canopy"]["properties"]["shade"]["enum"], "root_form": node["root"]["properties"]["form"]["enum"],
        "nitrogen": node["nutrition"]["properties"]["nitrogen"]["enum"],
        "pollination": node["pollination"]["properties"]["kind"]["enum"],
    }  # fmt: skip
    return [(field, value) for field, values in lists.items() for value in values]


@each(("field", "value"), crop_enums())
def test_every_kind_of_crop_is_in_the_library(field: str, value: str) -> None:
    """Each word that a crop file may use is used by some crop, so that the season has met it."""
    assert any(value in getattr(c, field) if field == "kinds" else getattr(c, field) == value for c in all_crops())


def test_units_of_the_language_are_read() -> None:
    """Lengths and densities as people write them."""
    for text in ("30 cm", "12 in", "1 ft", "0.3 m", "300 mm"):
        run(planting(place=f"{{kind: strip, from: 0 cm, to: {text}}}"))
    assert convert(1.0, "ft", "m") == pytest.approx(0.3048)


def test_span_and_moment_have_no_other_fields() -> None:
    assert {f.name for f in fields(Span)} == {"value", "share"}
    assert [{f.name for f in fields(cls)} for cls in get_args(Moment)] == [{"event", "days"}, {"month_day"}]
