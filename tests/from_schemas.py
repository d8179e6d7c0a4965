"""Values drawn from the JSON Schemas of the file formats (draft 2020-12): what a schema allows, often at its bounds.

The keywords are those that the schemas use; `x-dimension` and `x-reads` give texts.  A key whose meaning the schema does not
say (a crop, a part, another planting) gets a word that may be right.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from mixcraft.crops.library import DATA
from mixcraft.files.quantity import parse_quantity
from mixcraft.files.schema import _prepared, _resolved
from mixcraft.files.units import dimension
from mixcraft.place.places import reference_places

DEEPEST = 12
UNITS: Mapping[str, tuple[str, ...]] = {
    "length": ("mm", "cm", "m", "in", "ft"), "density": ("plants/m2", "plants/sq ft"), "seed_rate": ("g/m2", "oz/sq yd"),
    "temperature": ("C", "F"), "duration": ("days", "weeks"), "mass": ("g", "kg", "oz", "lb"), "rain": ("mm", "in"),
    "angle": ("deg",), "fraction": ("%",),
}  # fmt: skip
SIZES = (0.0, 0.2, 1.0, 2.5, 7.0, 30.0, 60.0, 99.0, 365.0, 1000.0)
FREE = ("", "x", "畑の台所", "عشب الحديقة", "Jalapeño & <b>Söhne</b>", "a" * 60, "b " * 40, "'\"`{}[]", "=1+1", "0", "\u00a0")
LETTERS = "abcdefghijklmnopqrstuvwxyzäß éñ0123456789-'()/&,."
MOMENTS = (
    "start", "emergence", "first harvest", "flower", "end", "start + 3 weeks", "end - 10 days", "emergence + 0 days", "10-15",
    "first harvest + 2 weeks", "04-01", "June 1", "flower - 1 week",
)  # fmt: skip
READS: Mapping[str, tuple[str, ...]] = {
    "month-day": ("01-01", "12-31", "02-28", "04-15", "April 15", "mid-May", "end of June", "07-01", "early September", "30 Oct"),
    "start": (
        "April 15", "2 weeks before last frost", "soil 50 F", "last frost", "8 weeks before first frost", "soil 7 C", "1 July",
        "mid-August", "40 weeks after last frost", "soil 25 C",
    ),
    "end": ("October 15", "90 days", "first frost", "1 day", "420 days", "3 weeks after first frost"),
    "until": ("August 15", "4 times", "20 times", "twice", "8 weeks before first frost"),
    "part": ("root", "leaves", "fruit", "pods", "head", "seed"),
    "sides": ("8 ft x 4 ft", "3 m x 1.2 m", "60 m x 8.3 m", "20 cm x 20 cm", "1 m by 0.4 m"),
    "place": ("Minneapolis", "44.9 N 93.2 W 260 m", "66 S 0 E", "69.9 N 180 W", "0 N 0 E 3000 m", "Oxford"),
    "feeding": ("usual", "2 in of compost", "none", "5 cm compost a year"),
    "watering": ("drip", "rain only", "1 in a week", "none"),
}  # fmt: skip


@lru_cache(maxsize=1)
def crop_ids() -> tuple[str, ...]:
    """All crops of the library."""
    return tuple(sorted(path.stem for path in DATA.glob("*.yaml")))


@lru_cache(maxsize=1)
def places() -> tuple[str, ...]:
    """All built-in places."""
    return reference_places()


NAMED: Mapping[str, Callable[[random.Random], Any]] = {
    "crop": lambda chance: chance.choice(crop_ids()),
    "crops": lambda chance: chance.choice(crop_ids()),
    "wishes": lambda chance: chance.choice(crop_ids()),
    "musts": lambda chance: chance.choice(crop_ids()),
    "nevers": lambda chance: chance.choice(crop_ids()),
    "at_hand": lambda chance: chance.choice(crop_ids()),
    "planting": lambda chance: chance.choice(("radish", "lettuce", "carrot", "p0", "p1")),
    "moment": lambda chance: chance.choice(MOMENTS),
    "place name": lambda chance: chance.choice(places()),
    "latitude": lambda chance: chance.choice((chance.uniform(-66.5, 70.0), "44.9 N", "12 S", 0, "66.5 S", 70, "51°30'N")),
    "longitude": lambda chance: chance.choice((chance.uniform(-180.0, 180.0), "93.2 W", 180, -180, "8°18'E")),
    "garden": lambda chance: chance.choice((*["good.garden.yaml"] * 8, "none.yaml", ".")),
    "start_from": lambda chance: chance.choice(("good.recipe.yaml", "good.recipe.yaml", "good.garden.yaml")),
    "bed": lambda chance: chance.choice(("long bed", "LONG BED", "trellis bed", "畑")),
    "part": lambda chance: chance.choice(("root", "leaves", "fruit", "pods", "head", "flowers", "seed", "shoots", "stem")),
}  # fmt: skip
AT_MOMENTS = {"at", "on", "off", "from", "until"}


def _within(text: str, node: Mapping[str, Any]) -> bool:
    """Whether a quantity is between the ends that a schema gives it."""
    name = node["x-dimension"]
    value = parse_quantity(text, name)
    low, high = (parse_quantity(node[end], name) if end in node else None for end in ("x-minimum", "x-maximum"))
    return (low is None or value >= low) and (high is None or value <= high)


def merged(node: Any) -> Any:
    """A part of a schema with what it refers to: what stands beside a reference holds as well, key by key."""
    if not isinstance(node, dict) or "$ref" not in node:
        return node
    return _joined(merged(_resolved({"$ref": node["$ref"]})), {key: value for key, value in node.items() if key != "$ref"})


def _joined(one: Any, other: Any) -> Any:
    if isinstance(one, dict) and isinstance(other, dict):
        return {**one, **{key: _joined(one[key], value) if key in one else value for key, value in other.items()}}
    return other


class Maker:
    """Draws values; `few` the chance that a key that may be left out is given, `off` that a value is beyond what is allowed."""

    def __init__(self, chance: random.Random, few: float = 0.3, off: float = 0.01) -> None:
        self.chance, self.few, self.off = chance, few, off

    def document(self, kind: str) -> Any:
        """A whole document of a kind."""
        return self.value(_prepared(f"urn:mixcraft:schema:{kind}"), kind)

    def value(self, node: Any, key: str = "", depth: int = 0) -> Any:
        """A value that a part of a schema allows; `key` is where it stands."""
        chance = self.chance
        moment = isinstance(node, dict) and str(node.get("$ref", "")).endswith("/moment")
        node = merged(node)
        if chance.random() < self.off:
            return chance.choice((None, True, -1, 0, 1e300, "", "x" * 81, [], {}, "nan", "-5 m"))
        if moment:
            return NAMED["moment"](chance)
        if "const" in node:
            return node["const"]
        branches = node.get("oneOf")
        if branches and all("required" in b and "properties" not in b for b in branches):
            return self._object(node, depth, tuple(chance.choice(branches)["required"]), branches)
        if branches:
            branch = chance.choice(branches)
            plain = {k: v for k, v in node.items() if k not in ("oneOf", "description", "examples")}
            rest = {k: v for k, v in plain.items() if "properties" not in branch or k not in ("required", "properties", "type")}
            return self.value({**rest, **branch}, key, depth)
        return self._typed(node, key, depth)

    def _typed(self, node: Mapping[str, Any], key: str, depth: int) -> Any:
        chance = self.chance
        kind = node.get("type", "object" if "properties" in node else "string")
        if "enum" in node:
            return chance.choice(node["enum"])
        if "x-reads" in node:
            return chance.choice(READS[node["x-reads"]])
        if "x-dimension" in node:
            return self._quantity(node)
        if key in NAMED and kind not in ("array", "object"):
            return NAMED[key](chance)
        if isinstance(kind, list):
            kind = chance.choice(kind)
        if kind == "object":
            return self._object(node, depth)
        if kind == "array":
            return self._array(node, key, depth)
        if kind in ("number", "integer"):
            return self._number(node, kind)
        if kind == "string":
            return self._text(node, key)
        return {"boolean": chance.random() < 0.5}.get(str(kind))

    def _object(
        self, node: Mapping[str, Any], depth: int, also: tuple[str, ...] = (), apart: tuple[Any, ...] | list[Any] = ()
    ) -> dict[str, Any]:
        chance, found = self.chance, {}
        shut = {name for branch in apart for name in branch["required"]} - set(also)
        asked = (set(node.get("required", ())) | set(also)) - shut
        for name, rule in node.get("properties", {}).items():
            if name not in shut and (name in asked or chance.random() < (self.few if depth < DEEPEST else 0.0)):
                found[name] = self.value(rule, self._key(name, node), depth + 1)
        more = node.get("additionalProperties")
        if isinstance(more, dict):
            for _ in range(chance.choice((0, 1, 2))):
                found[self._name(node.get("propertyNames", {}))] = self.value(more, "", depth + 1)
        return found

    @staticmethod
    def _key(name: str, node: Mapping[str, Any]) -> str:
        """What a key asks for: the name of a reference place is one of them."""
        if name == "name" and node.get("properties", {}).get("kind", {}).get("const") == "reference":
            return "place name"
        return name

    def _name(self, rule: Mapping[str, Any]) -> str:
        names = ("canopy.height", "development.ready", "spacing.density", "en", "de", "my crop", "seed.per_gram", "x.y")
        fit = [n for n in names if re.search(rule.get("pattern", ""), n)]
        return self.chance.choice(fit or names)

    def _array(self, node: Mapping[str, Any], key: str, depth: int) -> list[Any]:
        low, high = node.get("minItems", 0), node.get("maxItems", 6)
        size = self.chance.choice((low, low, low + 1, low + 2, self.chance.randint(low, min(high, low + 12)), min(high, 60)))
        if depth > 4:
            size = min(size, low + 3)
        return [self.value(node.get("items", {}), key, depth + 1) for _ in range(min(size, high))]

    def _number(self, node: Mapping[str, Any], kind: str) -> float | int:
        chance = self.chance
        low = node.get("minimum", node.get("exclusiveMinimum", -1000))
        high = node.get("maximum", node.get("exclusiveMaximum", 1000))
        some = chance.choice((low, high, chance.uniform(low, high), chance.uniform(low, min(high, low + 10.0))))
        if kind == "integer":
            return round(some)
        return some + 1e-6 if some == node.get("exclusiveMinimum") else some

    def _quantity(self, node: Mapping[str, Any]) -> str:
        name = node["x-dimension"]
        ends = [node[end] for end in ("x-minimum", "x-maximum") if end in node]
        some = (dimension(name).example, *ends, *(example for example in node.get("examples", ()) if isinstance(example, str)))
        if self.chance.random() < 0.5:
            return str(self.chance.choice(some))
        units = UNITS.get(name, (dimension(name).unit,))
        texts = [f"{self.chance.choice(SIZES):g} {self.chance.choice(units)}" for _ in range(6)]
        return next((text for text in texts if _within(text, node)), texts[0] if self.off else str(self.chance.choice(some)))

    def _text(self, node: Mapping[str, Any], key: str) -> str:
        chance = self.chance
        examples = [e for e in node.get("examples", ()) if isinstance(e, str)]
        pattern = node.get("pattern")
        if pattern and not examples:
            return self._matching(pattern)
        if key in AT_MOMENTS and chance.random() < 0.7:
            return chance.choice(("0 m", "25 %", "1 m", "100 %", "50 cm", "2 m", "0 %"))
        if examples and (pattern or chance.random() < 0.5):
            return chance.choice(examples)
        longest = node.get("maxLength", 40)
        text = chance.choice((*FREE, "".join(chance.choice(LETTERS) for _ in range(chance.randint(1, min(longest, 90))))))
        return text[:longest] or "x" * node.get("minLength", 0)

    def _matching(self, pattern: str) -> str:
        """A text that a pattern of the schemas without examples allows."""
        some = ("2027-06-12", "2026-12-31", "1999-02-30", "my-crop", "radish", "Brassicaceae", "Xaceae", "en", "04-15", "5 m")
        return self.chance.choice([text for text in some if re.search(pattern, text)] or ["x"])
