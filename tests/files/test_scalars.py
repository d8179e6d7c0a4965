"""Plain scalars against the YAML specification.

Source: YAML 1.2.2 (2021-10-01), section 10.3.2, the table of regular expressions and Example 10.9 "Core Tag
Resolution", https://yaml.org/spec/1.2.2/#1032-tag-resolution. The expressions are copied from the table as
they stand there; spaces in them are for reading only.
"""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from looping import each

from mixcraft.files import FileFaults, parse_document
from mixcraft.files.scalars import plain_scalar

SPEC_TABLE = [
    ("null | Null | NULL | ~", type(None)),
    ("true | True | TRUE | false | False | FALSE", bool),
    ("[-+]? [0-9]+", int),
    ("0o [0-7]+", int),
    ("0x [0-9a-fA-F]+", int),
    (r"[-+]? ( \. [0-9]+ | [0-9]+ ( \. [0-9]* )? ) ( [eE] [-+]? [0-9]+ )?", float),
    (r"[-+]? ( \.inf | \.Inf | \.INF )", float),
    (r"\.nan | \.NaN | \.NAN", float),
]

EXAMPLE_10_9 = """\
A null: null
Also a null: # Empty
Not a null: ""
Booleans: [ true, True, false, FALSE ]
Integers: [ 0, 0o7, 0x3A, -19 ]
Floats: [
  0., -0.0, .5, +12e03, -2E+05 ]
Also floats: [
  .inf, -.Inf, +.INF, .NAN ]
"""
EXAMPLE_10_9_VALUES: dict[str, Any] = {
    "A null": None,
    "Also a null": None,
    "Not a null": "",
    "Booleans": [True, True, False, False],
    "Integers": [0, 7, 58, -19],
    "Floats": [0.0, -0.0, 0.5, 12000.0, -200000.0],
    "Also floats": [math.inf, -math.inf, math.inf, math.nan],
}


def type_by_the_table(text: str) -> type:
    """The type that the specification's table gives a plain scalar; the first match wins."""
    if text == "":
        return type(None)
    for expression, kind in SPEC_TABLE:
        if re.fullmatch(expression.replace(" ", ""), text, re.ASCII):
            return kind
    return str


@given(st.from_regex(r"[-+.0-9eExXoOaAbBfFnNuUlLtTrRsSiI_:~]{0,12}", fullmatch=True))
def test_type_of_every_scalar_is_that_of_the_table(text: str) -> None:
    assert type(plain_scalar(text)) is type_by_the_table(text)


def test_example_of_the_specification() -> None:
    data = parse_document(EXAMPLE_10_9, "example").data
    assert repr(data) == repr(EXAMPLE_10_9_VALUES)  # repr tells 0.0 from -0.0, 1 from True, and nan is nan


OLDER_VALUES = [
    "yes",
    "no",
    "on",
    "off",
    "y",
    "n",
    "Yes",
    "NO",
    "On",
    "OFF",
    "12:30",
    "190:20:30",
    "1_000",
    "0b11",
    "1e",
    "2025-04-01",
    "2025-04-01T10:00:00",
    "<<",
    "=",
    ".5.5",
    "+.nan",
    "-0x1",
    "0o8",
    "+0o7",
    "TRue",
    "nULL",
]


@each("text", OLDER_VALUES)
def test_what_older_yaml_read_as_values_is_text(text: str) -> None:
    """Types of YAML 1.1 (https://yaml.org/type/) that the 1.2 core schema does not have, and near misses."""
    assert parse_document(f"- {text}", "t").data == [text]


@each(
    ("text", "value"),
    [
        ("!!str 12", "12"),
        ("!!int 12", 12),
        ("!!float 12", 12.0),
        ("!!bool true", True),
        ('!!null ""', None),
        ("! 12", "12"),
        ("'12'", "12"),
        ('"no"', "no"),
        ("!!seq [1]", [1]),
        ("!!map {a: 1}", {"a": 1}),
    ],
)
def test_core_tags(text: str, value: Any) -> None:
    data = parse_document(f"k: {text}", "t").data
    assert data == {"k": value}
    assert type(data["k"]) is type(value)


OTHER_TAGS = [
    "!!int x",
    "!!bool yes",
    "!!binary aGk=",
    "!!set {a}",
    "!!timestamp 2025-01-01",
    "!crop radish",
    "!!python/object/apply:os.system [ls]",
    "!!str [a]",
    "!!int {a: 1}",
]


@each("text", OTHER_TAGS)
def test_other_tags_are_refused_in_place(text: str) -> None:
    with pytest.raises(FileFaults) as caught:
        parse_document(f"a: 1\nk: {text}\n", "t")
    (fault,) = caught.value.faults
    assert (fault.rule, fault.line, fault.column) == ("tag", 2, 4)
    assert fault.repair


def test_a_number_without_end_is_refused() -> None:
    with pytest.raises(FileFaults, match="too long"):
        parse_document("count: " + "9" * 5000, "t")
