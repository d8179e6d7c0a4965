"""Sentences with their metric quantities in US customary units, for screens; sentences are made in metric units."""

from __future__ import annotations

import re

from mixcraft.files import convert

from .amounts import Units

_NUMBER = r"(?<![\w.])(-?\d+(?:\.\d+)?)"
_QUANTITY = re.compile(
    rf"{_NUMBER}(?:( to | x |-)(\d+(?:\.\d+)?))?\s?(kg/m2|g/m2|plants/m2|/m2|litres?|kg|g|mm|cm|km|m2|m|C)(?![\w/])"
)
_UNITS = {
    "kg/m2": ("lb/sq ft", "kg/m2", "lb/ft2"), "g/m2": ("oz/sq yd", "g/m2", "oz/yd2"),
    "plants/m2": ("plants/sq ft", "1/m2", "1/ft2"), "/m2": ("/sq ft", "1/m2", "1/ft2"),
    "litre": ("US gal", "l", "US gal"), "litres": ("US gal", "l", "US gal"), "kg": ("lb", "kg", "lb"), "g": ("oz", "g", "oz"),
    "mm": ("in", "mm", "in"), "cm": ("in", "cm", "in"), "km": ("mi", "km", "ft"), "m2": ("sq ft", "m2", "ft2"),
    "m": ("ft", "m", "ft"), "C": ("F", "C", "F"),
}  # fmt: skip
"""What each unit is called and converted to: its name for people, the metric unit, the US one."""
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
_DAY = re.compile(rf"\b(\d{{1,2}}) ({_MONTHS}|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b")
FEET_IN_A_MILE = 5280


def in_units(text: str, units: Units) -> str:
    """A text whose metric quantities stand in the units asked for; what stands in backquotes is a file's own and stays.

    >>> in_units("a young plant dies at -2 C; 30 cm apart", "us")
    'a young plant dies at 28 F; 12 in apart'
    """
    if units == "metric":
        return text
    return "`".join(part if i % 2 else _QUANTITY.sub(_one, part) for i, part in enumerate(text.split("`")))


def in_dates(text: str, units: Units) -> str:
    """A text whose days stand as they do in the US, the month first.

    >>> in_dates("from 19 April to 27 May", "us")
    'from April 19 to May 27'
    """
    return text if units == "metric" else _DAY.sub(r"\2 \1", text)


def _one(found: re.Match[str]) -> str:
    first, between, second, unit = found.groups()
    said, metric, us = _UNITS[unit]
    by = found.string[: found.start()].endswith(" by ")  # a difference, which has no zero of its own
    given = [float(number) for number in (first, second) if number is not None]
    numbers = [_figure(number * 9.0 / 5.0 if by and unit == "C" else _converted(number, metric, us, unit)) for number in given]
    return f"{(between or '').join(numbers)} {said}" if unit != "/m2" else f"{(between or '').join(numbers)}{said}"


def _converted(number: float, metric: str, us: str, unit: str) -> float:
    if unit == "C":
        return number * 9.0 / 5.0 + 32.0
    return convert(number, metric, us) / (FEET_IN_A_MILE if unit == "km" else 1.0)


def _figure(number: float) -> str:
    """A number with two figures, whole from ten up."""
    size = abs(number)
    return f"{number:.0f}" if size >= 9.95 else f"{number:.1f}".removesuffix(".0") if size >= 0.95 else f"{number:.2g}"
