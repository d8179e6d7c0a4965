"""Checking against schemas: the same verdict as the standard, one fault for one mistake, at its place."""

from __future__ import annotations

import copy
import json
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from looping import each

from mixcraft.files import (
    Document,
    Fault,
    FileFaults,
    check_schema,
    kind_of,
    load_document,
    load_schema,
    parse_document,
)
from mixcraft.files.schema import check_against, kinds, newest_version, resource, schema_text

DEMO = sorted((Path(__file__).parents[2] / "recipes_demo").glob("*.yaml"))
RECIPE = next(path for path in DEMO if path.name.endswith(".recipe.yaml"))

LENGTH = {"type": "string", "x-dimension": "length", "x-minimum": "1 cm", "x-maximum": "50 m", "x-unit": "cm"}
SHAPES = {
    "oneOf": [
        {
            "type": "object",
            "properties": {"kind": {"const": "round"}, "radius": {"$ref": "#/$defs/length"}},
            "required": ["kind", "radius"],
            "additionalProperties": False,
        },
        {
            "type": "object",
            "properties": {"kind": {"const": "square"}, "side": {"$ref": "#/$defs/length"}},
            "required": ["kind", "side"],
            "additionalProperties": False,
        },
    ]
}
SCHEMA: dict[str, Any] = {
    "$defs": {"length": LENGTH, "shape": SHAPES, "date": {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$"}},
    "type": "object",
    "properties": {
        "shape": {"$ref": "#/$defs/shape"},
        "shapes": {"type": "array", "items": {"$ref": "#/$defs/shape"}, "uniqueItems": True},
        "width": {"anyOf": [{"enum": ["whole", "half"]}, {"$ref": "#/$defs/length"}]},
        "span": {"oneOf": [{"type": "string", "x-dimension": "length"}, {"type": "array", "minItems": 2}]},
        "on": {"$ref": "#/$defs/date", "x-repair": "write day and month like `04-15`"},
        "day": {"type": "string", "format": "date"},
        "share": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
        "step": {"type": "integer", "multipleOf": 5},
        "open": {"type": "boolean"},
        "never": False,
        "amount": {
            "type": "object",
            "properties": {"count": {"type": "integer"}, "density": {"type": "string"}},
            "oneOf": [{"required": ["count"]}, {"required": ["density"]}],
            "additionalProperties": False,
        },
        "layered": {
            "type": "object",
            "properties": {"kind": {"enum": ["low", "tall"]}},
            "required": ["kind"],
            "allOf": [
                {
                    "if": {"properties": {"kind": {"const": "tall"}}, "required": ["kind"]},
                    "then": {"properties": {"support": {"type": "string"}}, "required": ["support"]},
                }
            ],
            "dependentRequired": {"support": ["height"]},
            "patternProperties": {"^note-": {"type": "string"}},
            "unevaluatedProperties": False,
        },
    },
    "dependentRequired": {"on": ["day"]},
    "propertyNames": {"maxLength": 12},
    "maxProperties": 9,
    "additionalProperties": False,
}


def check(text: str) -> list[Fault]:
    return check_against(parse_document(text, "t.yaml"), SCHEMA)


def one(text: str) -> Fault:
    (fault,) = check(text)
    assert fault.message
    assert fault.repair
    return fault


# One fault for one mistake, at its place

CASES = [
    ("shape: {kind: round, radius: 30 cm}", None),
    ("shape: {kind: round, radius: 30}", ("quantity", 1, 30, "did you mean `30 cm`?")),
    ("shape: {kind: round, radius: 2 mm}", ("quantity-bounds", 1, 30, "check the unit and the number")),
    ("shape: {kind: round, radius: 2 km}", ("quantity-bounds", 1, 30, "check the unit and the number")),
    ("shape: {kind: rund, radius: 2 m}", ("choice", 1, 15, "did you mean `round`?")),
    ("shape: {radius: 2 m}", ("missing-key", 1, 8, "add `kind: round` or another")),
    ("shape: {kind: square, radius: 2 m, side: 1 m}", ("unknown-key", 1, 23, "remove it")),
    ("shape: {kind: square, sid: 1 m}", ("unknown-key", 1, 23, "did you mean `side`?")),
    ("shape: round", ("type", 1, 8, "write `key: value` lines, indented, under it")),
    ("width: whole", None),
    ("width: 30 cm", None),
    ("width: hole", ("choice", 1, 8, "did you mean `whole`?")),
    ("width: 30 cn", ("quantity", 1, 8, "did you mean `30 cm`?")),
    ("width: [1]", ("no-form", 1, 8, "write `whole` or `half` or a length such as `30 cm`")),
    ("span: 3 m", None),
    ("span: 3 kg", ("quantity", 1, 7, "write it like `30 cm`")),
    ("span: [1]", ("items", 1, 7, "add 1 item")),
    ("span: true", ("no-form", 1, 7, "write a length such as `30 cm` or a list")),
    ("on: 4-15\nday: 2025-04-15", ("pattern", 1, 5, "write day and month like `04-15`")),
    ("on: 04-15", ("missing-key", 1, 1, "add `day:`, or remove `on`")),
    ("day: 2025-02-30", ("pattern", 1, 6, "write it like `2025-04-15`")),
    ("share: 0", ("bounds", 1, 8, "write more than 0 and 1 or less")),
    ("share: 1.5", ("bounds", 1, 8, "write more than 0 and 1 or less")),
    ("share: .inf", ("type", 1, 8, "write a number")),
    ("share: .nan", ("type", 1, 8, "write a number")),
    ("step: 7", ("bounds", 1, 7, "write a multiple of 5")),
    ("step: 10.0", None),
    ("step: 7.5", ("type", 1, 7, "write a whole number")),
    ("open: yes", ("type", 1, 7, "write true or false")),
    ("never: 1", ("unknown-key", 1, 1, "remove it")),
    ("amount: {count: 3}", None),
    ("amount: {count: 3, density: 4}", ("type", 1, 29, 'put it in quotes: `density: "4"`')),
    ('amount: {count: 3, density: "4"}', ("one-of-keys", 1, 9, "keep one of them")),
    ("amount: {}", ("one-of-keys", 1, 9, "add `count` or `density`")),
    ("layered: {kind: low}", None),
    ("layered: {kind: low, note-x: y}", None),
    ("layered: {kind: low, suport: y}", ("unknown-key", 1, 22, "remove it")),
    ("layered: {kind: low, support: y}", ("missing-key", 1, 22, "add `height:`, or remove `support`")),
    ("layered: {kind: tall}", ("missing-key", 1, 10, "add `support:`")),
    ("layered: {kind: tall, support: 1, height: 1}", ("type", 1, 32, 'put it in quotes: `support: "1"`')),
    ("shapes: [{kind: square, side: 1 m}, {kind: square, side: 1 m}]", ("unique", 1, 37, "remove one of the two")),
    ("a-very-long-name: 1", ("length", 1, 1, "shorten it by 4 characters")),
]


WITH_A_SECOND_FAULT = {
    "a-very-long-name: 1",
    "step: 7.5",
    "amount: {count: 3, density: 4}",
    "layered: {kind: low, suport: y}",
    "layered: {kind: low, support: y}",
    "layered: {kind: tall, support: 1, height: 1}",
}


@each(("text", "expected"), CASES)
def test_one_fault_for_one_mistake(text: str, expected: tuple[str, int, int, str] | None) -> None:
    if expected is None:
        assert check(text) == []
        return
    rules = [(fault.rule, fault.line, fault.column, fault.repair) for fault in check(text)]
    assert expected in rules
    if text not in WITH_A_SECOND_FAULT:
        assert len(rules) == 1


def test_two_branches_at_once_is_said_once() -> None:
    fault = one("shape:\n  kind: hexagon\n")
    assert (fault.line, fault.allowed) == (2, "round, square")


def test_part_of_a_document_given_with_more_data() -> None:
    """A crop inside a recipe is checked as a crop file, and its faults stand where it stands."""
    text = "crops:\n  oca:\n    id: oca\n    familly: Oxalidaceae\n"
    document = parse_document(text, "t.yaml")
    data = {"format": "mixcraft-crop/1", **document.data["crops"]["oca"]}
    faults = check_schema(document, "crop", at=("crops", "oca"), data=data)
    assert ("unknown-key", 4, 5, "crops.oca.familly") in [(f.rule, f.line, f.column, f.path) for f in faults]
    assert all(fault.line in (3, 4) for fault in faults)
    assert len(faults) < len(check_schema(document, "crop", at=("crops", "oca")))


# The same verdict as the standard


def plain_validator(schema: dict[str, Any]) -> Draft202012Validator:
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def without_quantities(faults: list[Fault]) -> list[Fault]:
    return [fault for fault in faults if not fault.rule.startswith(("quantity", "words"))]


scalars = st.sampled_from(
    ["round", "square", "30 cm", "3 kg", "04-15", "2025-04-15", "whole", "x", "", "low", "tall", 0, 1, 3, 5, 0.5, 1.5,
     True, False, None]
)  # fmt: skip
names = st.sampled_from(["kind", "radius", "side", "count", "density", "support", "height", "note-1", "zz"])
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names, inner, max_size=4), max_leaves=8
)
tops = st.dictionaries(st.sampled_from([*SCHEMA["properties"], "other", "a-very-long-name"]), values, max_size=5)


@settings(max_examples=400)
@given(tops)
def test_verdict_is_that_of_the_standard(data: dict[str, Any]) -> None:
    """jsonschema's own validator is the outside answer; what only `x-dimension` refuses is left out."""
    document = parse_document(json.dumps(data), "t.yaml")
    stripped = strip_quantities(SCHEMA)
    assert bool(check_against(document, stripped)) is not plain_validator(stripped).is_valid(document.data)


def strip_quantities(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: strip_quantities(value) for key, value in node.items() if key != "x-dimension"}
    return [strip_quantities(item) for item in node] if isinstance(node, list) else node


def mutated(data: Any, draw: st.DataObject) -> Any:
    """The data with one value, somewhere, replaced, removed or added."""
    data = copy.deepcopy(data)
    node, parents = data, []
    while isinstance(node, (dict, list)) and node and (not parents or draw.draw(st.booleans())):
        key = draw.draw(st.sampled_from(sorted(node) if isinstance(node, dict) else range(len(node))))
        parents.append((node, key))
        node = node[key]
    parent, key = parents[-1]
    action = draw.draw(st.sampled_from(["replace", "remove", "add"]))
    if action == "remove":
        del parent[key]
    elif action == "add" and isinstance(parent, dict):
        parent[draw.draw(names)] = draw.draw(values)
    else:
        parent[key] = draw.draw(values)
    return data


@pytest.mark.parametrize("path", DEMO, ids=[path.name for path in DEMO])
@given(draw=st.data())
def test_verdict_on_changed_demo_files_is_that_of_the_standard(path: Path, draw: st.DataObject) -> None:
    document = load_document(path)
    kind, _ = kind_of(document)
    data = mutated(document.data, draw)
    verdict = plain_validator(load_schema(kind)).is_valid(data)
    faults = check_schema(parse_document(json.dumps(data), "t.yaml"), kind)
    if verdict:
        assert without_quantities(faults) == []
    else:
        assert faults
    assert all(fault.message and fault.repair for fault in faults)


def reordered(node: Any, draw: st.DataObject) -> Any:
    if isinstance(node, dict):
        return {key: reordered(node[key], draw) for key in draw.draw(st.permutations(sorted(node)))}
    return [reordered(item, draw) for item in node] if isinstance(node, list) else node


@given(draw=st.data())
def test_order_of_keys_does_not_change_the_faults(draw: st.DataObject) -> None:
    data = mutated(mutated(load_document(RECIPE).data, draw), draw)
    other = reordered(data, draw)

    def words(tree: Any) -> list[tuple[str, str, str]]:
        document = parse_document(json.dumps(tree), "t.yaml")
        return sorted((fault.path, fault.rule, fault.message) for fault in check_schema(document, "recipe"))

    assert words(data) == words(other)


@given(draw=st.data())
def test_faults_come_in_the_order_of_the_file(draw: st.DataObject) -> None:
    data = mutated(mutated(load_document(RECIPE).data, draw), draw)
    document = parse_document(yaml.safe_dump(data, allow_unicode=True), "t.yaml")
    places = [(fault.line, fault.column) for fault in check_schema(document, "recipe")]
    assert places == sorted(places)


# The formats


@pytest.mark.parametrize("path", DEMO, ids=[path.name for path in DEMO])
def test_the_demo_has_no_faults(path: Path) -> None:
    document = load_document(path)
    kind, version = kind_of(document)
    assert version == 1
    assert check_schema(document, kind) == []


@pytest.mark.parametrize("kind", kinds())
def test_schemas_are_valid_and_of_one_version(kind: str) -> None:
    Draft202012Validator.check_schema(load_schema(kind))
    assert json.loads(schema_text(kind)) == load_schema(kind)
    assert newest_version(kind) >= 1


def test_kinds_hold_the_three_formats() -> None:
    assert {"recipe", "garden", "crop"} <= set(kinds())


NO_KNOWN_KIND = [
    "format: mixcraft-recipe/0",
    "format: mixcraft-recipe/999",
    "format: mixcraft-hat/1",
    "format: 1",
    "format: [a]",
    "name: x",
    "[]",
    "just text",
    "formt: mixcraft-recipe/1",
]


@pytest.mark.parametrize("text", NO_KNOWN_KIND)
def test_a_file_of_no_known_kind_is_one_fault(text: str) -> None:
    with pytest.raises(FileFaults) as caught:
        kind_of(parse_document(text, "t.yaml"))
    (fault,) = caught.value.faults
    assert fault.rule.startswith("format")
    assert fault.repair


def test_kind_and_version() -> None:
    assert kind_of(parse_document("format: mixcraft-garden/1", "t.yaml")) == ("garden", 1)


def test_resources_do_not_lead_outside() -> None:
    assert resource("schemas", "recipe.schema.json").is_file()
    for name in ("nothing.json", "../pyproject.toml", "/etc/passwd"):
        with pytest.raises(FileNotFoundError, match="mixcraft has no schemas/"):
            resource("schemas", name)


def test_references_between_schemas_are_followed() -> None:
    """A schema may point into another file by its name; the network is never asked."""
    schema = {
        "type": "object",
        "properties": {
            "a": {"$ref": "crop.schema.json#/properties/family"},
            "b": {"$ref": "urn:mixcraft:schema:crop:1#/properties/id"},
            "c": {"$ref": "https://example.org/schemas/crop.schema.json#/properties/life"},
        },
    }
    document = parse_document("a: beans\nb: Not An Id\nc: annul\n", "t.yaml")
    assert [(fault.line, fault.rule) for fault in check_against(document, schema)] == [
        (1, "pattern"), (2, "pattern"), (3, "choice"),
    ]  # fmt: skip


def test_a_hopeless_file_ends_soon() -> None:
    rows = "\n".join(f"  - {{key{number}: 1, crp: x}}" for number in range(20_000))
    document = parse_document(f"format: mixcraft-recipe/1\nplantings:\n{rows}\n", "t.yaml")
    begun = time.process_time()
    faults = check_schema(document, "recipe")
    assert time.process_time() - begun < 5
    assert 100 < len(faults) <= 600
    assert "more faults" in str(FileFaults(faults))


def test_the_validator_is_kept() -> None:
    from mixcraft.files import schema

    document: Document = load_document(RECIPE)
    check_schema(document, "recipe")
    assert schema._validator("recipe") is schema._validator("recipe")


def test_an_installed_package_brings_its_own_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a wheel the schemas lie inside the package (`_schemas`); they come before a folder beside it."""
    from mixcraft.files import schema

    package = tmp_path / "mixcraft"
    for folder, title in ((package / "_schemas", "inside"), (tmp_path / "schemas", "beside")):
        folder.mkdir(parents=True)
        (folder / "hat.schema.json").write_text(json.dumps({"title": title}), encoding="utf-8")
    (tmp_path / "templates").mkdir()
    (tmp_path / "templates" / "card.html").write_text("x", encoding="utf-8")
    monkeypatch.setattr(schema, "_PACKAGE", package)
    assert json.loads(schema_text("hat"))["title"] == "inside"
    assert kinds() == ("hat",)
    assert resource("templates", "card.html").parent == tmp_path / "templates"
