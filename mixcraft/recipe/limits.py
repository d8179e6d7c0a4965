"""Bounds and allowed words of a recipe's fields, read from its JSON Schema, so that they are written down once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from mixcraft.crops.keys import CropKey
from mixcraft.files import load_schema, parse_quantity


class Limits(NamedTuple):
    """What a field may hold: numbers from `low` to `high` [base unit], one of `words`, a text or a list of at most `most`."""

    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()
    most: int | None = None
    dimension: str = ""


@lru_cache(maxsize=256)
def limits(*path: str) -> Limits:
    """Limits of a field of a recipe, such as ``limits("plantings", "density")``; ``start:frost`` is a kind of start."""
    whole = load_schema("recipe")
    node: dict[str, Any] = whole
    for step in path:
        key, _, kind = step.partition(":")
        inside = _resolved(node["items"], whole) if "properties" not in node else node
        node = _resolved(inside["properties"][key], whole)
        if kind:
            node = next(v for v in node["oneOf"] if kind in _kinds(v))
    return _limits(node)


@lru_cache(maxsize=16)
def garden_words(key: str) -> tuple[str, ...]:
    """Words that a field of a bed may hold, such as ``garden_words("soil")``, or its kind."""
    whole = load_schema("garden")
    node = _resolved(_resolved(whole["properties"]["beds"]["items"], whole)["properties"][key], whole)
    return _limits(node["properties"]["kind"] if "properties" in node else node).words


@lru_cache(maxsize=128)
def crop_limits(key: CropKey) -> Limits:
    """Limits of a value of a crop, in the unit of the crop files."""
    node = load_schema("crop")
    for step in key.split("."):
        node = node["properties"][step]
    return _limits(node["properties"]["value"])


def _resolved(node: dict[str, Any], whole: dict[str, Any]) -> dict[str, Any]:
    if "$ref" not in node:
        return node
    target: dict[str, Any] = whole["$defs"][node["$ref"].rsplit("/", 1)[1]]
    return {**target, **node}


def _kinds(variant: Mapping[str, Any]) -> tuple[str, ...]:
    rule = variant.get("properties", {}).get("kind", {})
    return (rule["const"],) if "const" in rule else tuple(rule.get("enum", ()))


def _limits(node: Mapping[str, Any]) -> Limits:
    dimension = node.get("x-dimension", "")

    def bound(plain: str, written: str) -> float | None:
        if written in node:
            return parse_quantity(node[written], dimension)
        return float(node[plain]) if plain in node else None

    most = node.get("maxLength", node.get("maxItems"))
    return Limits(
        bound("minimum", "x-minimum"), bound("maximum", "x-maximum"),
        tuple(word for word in node.get("enum", ()) if word not in node.get("x-means", {})), most, dimension,
    )  # fmt: skip
