"""Plain scalars by the YAML 1.2 core schema.

Source: YAML 1.2.2, section 10.3.2 "Tag Resolution" (core schema): the regular expressions below
are those of its table. So `no`, `on`, `12:30`, `1_000` and `2025-04-01` are texts.
"""

from __future__ import annotations

import re

Scalar = str | int | float | bool | None

_CONSTANTS: dict[str, Scalar] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_INT = re.compile(r"[-+]?[0-9]+", re.ASCII)
_OCTAL = re.compile(r"0o[0-7]+", re.ASCII)
_HEX = re.compile(r"0x[0-9a-fA-F]+", re.ASCII)
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", re.ASCII)
_INFINITY = re.compile(r"[-+]?(\.inf|\.Inf|\.INF)", re.ASCII)
_NOT_A_NUMBER = frozenset({".nan", ".NaN", ".NAN"})
_NUMBER_START = frozenset("0123456789+-.")

LONGEST_NUMBER = 400  # characters; longer digits are a slip or an attack, and int() would refuse them


class LongNumberError(ValueError):
    """A number with more than 400 characters."""


def plain_scalar(text: str) -> Scalar:
    """Return the value of a plain (unquoted) scalar.

    Raises LongNumberError for a number of more than 400 characters.
    """
    if text in _CONSTANTS:
        return _CONSTANTS[text]
    if text[0] not in _NUMBER_START:
        return text
    return _number(text)


def tagged_scalar(text: str, tag: str) -> Scalar:
    """Return the value of a scalar with an explicit core tag: str, int, float, bool or null.

    Raises ValueError if the text is not of that type.
    """
    if tag == "str":
        return text
    value = plain_scalar(text)
    if tag == "float" and type(value) is int:
        return float(value)
    wanted = {"int": int, "float": float, "bool": bool, "null": type(None)}[tag]
    if type(value) is not wanted:
        raise ValueError(f"{text!r} is not a YAML {tag}")
    return value


def _number(text: str) -> Scalar:
    if _INT.fullmatch(text):
        _check_length(text)
        return int(text)
    if _FLOAT.fullmatch(text):
        _check_length(text)
        return float(text)
    if _OCTAL.fullmatch(text):
        _check_length(text)
        return int(text[2:], 8)
    if _HEX.fullmatch(text):
        _check_length(text)
        return int(text[2:], 16)
    if _INFINITY.fullmatch(text):
        return float("-inf") if text[0] == "-" else float("inf")
    if text in _NOT_A_NUMBER:
        return float("nan")
    return text


def _check_length(text: str) -> None:
    if len(text) > LONGEST_NUMBER:
        raise LongNumberError(f"a number of {len(text)} characters")
