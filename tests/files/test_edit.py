"""Edits that keep comments, order and layout."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st

from mixcraft.files import REMOVE, FileFaults, edit_document, parse_document
from mixcraft.files.edit import block_lines, flow_text, same_data, scalar_text
from mixcraft.files.text import unseen_character

TEXT = """\
# A bed for spring
name: Spring bed   # as on the label
bed: {length: 3 m, width: "1.2 m"}  # inside the boards

plantings:
    - crop: radish      # quick
      density: 25 plants/m2
      cuts: [1, 2]

    # stays until autumn
    - crop: 'carrot'
      note: >
        thin twice,
        the second time for the table

      start:
          kind: soil
          at_least: 7 C   # at sowing depth
# end
"""


def changed_lines(before: str, after: str) -> list[str]:
    diff = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [line for line in diff if line[:1] in "+-" and line[:3] not in ("+++", "---")]


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        (("name",), "Summer bed", ["-name: Spring bed   # as on the label", "+name: Summer bed   # as on the label"]),
        (
            ("bed", "width"),
            "1 m",
            [
                '-bed: {length: 3 m, width: "1.2 m"}  # inside the boards',
                '+bed: {length: 3 m, width: "1 m"}  # inside the boards',
            ],
        ),
        (
            ("plantings", 0, "density"),
            "30 plants/m2",
            ["-      density: 25 plants/m2", "+      density: 30 plants/m2"],
        ),
        (("plantings", 0, "cuts", 1), 3, ["-      cuts: [1, 2]", "+      cuts: [1, 3]"]),
        (("plantings", 0, "cuts", 2), 3, ["-      cuts: [1, 2]", "+      cuts: [1, 2, 3]"]),
        (("plantings", 1, "crop"), "leek's", ["-    - crop: 'carrot'", "+    - crop: 'leek''s'"]),
        (("plantings", 1, "start", "at_least"), "8 C", [
            "-          at_least: 7 C   # at sowing depth", "+          at_least: 8 C   # at sowing depth"]),
        (("plantings", 0, "note"), "on: time", ['+      note: "on: time"']),
        (("plantings", 0, "harvest"), [{"part": "root"}, {"part": "tops", "every": "7 days"}], [
            "+      harvest:", "+        - part: root", "+        - part: tops", "+          every: 7 days"]),
        (("plantings", 1, "start", "kind"), REMOVE, ["-          kind: soil"]),
        (("plantings", 0, "cuts"), REMOVE, ["-      cuts: [1, 2]"]),
        (("plantings", 2), {"crop": "leek", "at": ["no", 1]}, ["+    - crop: leek", '+      at: ["no", 1]']),
        (("licence",), "CC0-1.0", ["+licence: CC0-1.0"]),
        (("bed", "name"), "long", [
            '-bed: {length: 3 m, width: "1.2 m"}  # inside the boards',
            '+bed: {length: 3 m, width: "1.2 m", name: long}  # inside the boards']),
        (("bed", "name"), {"en": "long", "de": ["a b", "c"]}, [
            '-bed: {length: 3 m, width: "1.2 m"}  # inside the boards',
            '+bed: {length: 3 m, width: "1.2 m", name: {en: long, de: [a b, c]}}  # inside the boards']),
        (("bed", "length"), REMOVE, [
            '-bed: {length: 3 m, width: "1.2 m"}  # inside the boards',
            '+bed: {width: "1.2 m"}               # inside the boards']),
    ],
)  # fmt: skip
def test_only_what_must_change_does(path: tuple[str | int, ...], value: Any, lines: list[str]) -> None:
    assert changed_lines(TEXT, edit_document(TEXT, [(path, value)])) == lines


def test_an_item_goes_with_all_its_lines_and_the_comments_around_stay() -> None:
    edited = edit_document(TEXT, [(("plantings", 0), REMOVE)])
    assert parse_document(edited, "t").data["plantings"][0]["crop"] == "carrot"
    for comment in ("# A bed for spring", "# as on the label", "# stays until autumn", "# at sowing depth", "# end"):
        assert comment in edited


def test_changes_are_made_in_order() -> None:
    edited = edit_document(TEXT, [(("plantings", 0, "place"), {"kind": "whole"}), (("plantings", 0, "place", "kind"), "strip")])
    assert parse_document(edited, "t").data["plantings"][0]["place"] == {"kind": "strip"}


def test_a_block_text_is_replaced_through_the_round_trip() -> None:
    edited = edit_document(TEXT, [(("plantings", 1, "note"), "one line")])
    assert parse_document(edited, "t").data["plantings"][1]["note"] == "one line"
    assert "# at sowing depth" in edited
    assert edited.count("#") == TEXT.count("#")


def test_line_ends_and_byte_order_mark_are_kept() -> None:
    text = "\ufeff" + TEXT.replace("\n", "\r\n")
    for change in [(("name",), "x"), (("licence",), "CC0"), (("bed", "name"), "long")]:
        edited = edit_document(text, [change])
        assert edited.startswith("\ufeff")
        assert edited.count("\n") == edited.count("\r\n")


def test_no_change_gives_the_same_text() -> None:
    assert edit_document(TEXT, []) == TEXT
    assert edit_document(TEXT, [(("name",), "Spring bed")]) == TEXT


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("nothing", "here"), 1),
        (("plantings", 9), "x"),
        (("plantings", "crop"), "x"),
        (("name", 0), "x"),
        (("nothing",), REMOVE),
    ],
)
def test_a_path_that_leads_nowhere_is_refused(path: tuple[str | int, ...], value: Any) -> None:
    with pytest.raises(KeyError):
        edit_document(TEXT, [(path, value)])


def test_a_value_shared_by_an_alias_is_not_changed_behind_its_back() -> None:
    text = "a: &x {n: 1}\nb: *x\n"
    with pytest.raises(KeyError):
        edit_document(text, [(("b", "n"), 2)])
    assert parse_document(edit_document(text, [(("b",), 5)]), "t").data == {"a": {"n": 1}, "b": 5}


def test_a_broken_text_is_refused() -> None:
    with pytest.raises(FileFaults):
        edit_document("a: [1", [(("a",), 1)])


texts = st.text(st.characters(exclude_categories=["Cs", "Cn"]), max_size=12).filter(lambda text: not unseen_character(text))
scalars = st.none() | st.booleans() | st.integers(-999, 999) | st.floats(allow_nan=False) | texts
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts.filter(bool), inner, max_size=3),
    max_leaves=6,
)


@given(scalars, st.booleans(), st.sampled_from(["", "'", '"']))
def test_scalars_are_read_back(value: Any, flow: bool, quote: str) -> None:
    text = scalar_text(value, quote=quote)
    document = parse_document(f"[{text}, x]" if flow else f"k: {text}\n", "t")
    assert same_data(document.data, [value, "x"] if flow else {"k": value})


@given(values)
def test_blocks_and_flows_are_read_back(value: Any) -> None:
    block = parse_document("k:\n" + "\n".join("  " + line for line in block_lines(value)), "t")
    assert same_data(block.data, {"k": value})
    assert same_data(parse_document(f"[{flow_text(value)}, x]", "t").data, [value, "x"])


@given(st.text(st.sampled_from("yesnofYN01:_-. eE+x"), min_size=1, max_size=6))
def test_older_readers_read_texts_as_texts_too(text: str) -> None:
    """PyYAML reads YAML 1.1, where `no`, `12:30` and `1_000` are values: such texts are quoted for it."""
    assert yaml.safe_load(f"k: {scalar_text(text)}") == {"k": text}


def every_path(node: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    items = list(node.items()) if isinstance(node, dict) else list(enumerate(node)) if isinstance(node, list) else []
    return [found for key, value in items for found in [(*path, key), *every_path(value, (*path, key))]]


DEMO = sorted((Path(__file__).parents[2] / "recipes_demo").glob("*.recipe.yaml"))


@pytest.mark.parametrize("path", DEMO, ids=[path.name for path in DEMO])
@given(draw=st.data())
def test_any_edit_of_a_demo_recipe_keeps_every_other_line(path: Path, draw: st.DataObject) -> None:
    before = path.read_text(encoding="utf-8")
    data = parse_document(before, "t").data
    where = draw.draw(st.sampled_from(every_path(data)))
    value = draw.draw(texts)
    node = data
    for key in where[:-1]:
        node = node[key]
    assume(not isinstance(node[where[-1]], (dict, list)) and "\n" not in str(node[where[-1]]))
    after = edit_document(before, [(where, value)])
    node[where[-1]] = value
    assert same_data(parse_document(after, "t").data, data)
    assert len(changed_lines(before, after)) in (0, 2)
