"""A cultivar's own values: from text to number and back, in the unit of the crop's field."""

from __future__ import annotations

from collections.abc import Mapping

from mixcraft.crops.model import Crop
from mixcraft.files import parse_quantity

UNIT_DIMENSIONS: Mapping[str, str] = {
    "C": "temperature", "cm": "length", "m": "length", "d": "duration", "wk": "duration", "1/m2": "density",
}  # fmt: skip
BASE_PER_UNIT: Mapping[str, float] = {"cm": 0.01, "wk": 7.0}
"""Base units (metres, days) in one unit of the crop files."""
BARE = ("1", "C d", "m2/m2", "g/MJ", "m2/kg", "1/(C d)", "kg/m2", "mol/m2/d", "1/g", "%")
"""Units that may be left out, since people would not write them."""


def value_in(given: object, unit: str) -> float | None:
    """The number that `given` stands for in the unit of a field; None if it is none."""
    if isinstance(given, bool):
        return None
    if isinstance(given, int | float):
        return float(given) if unit in BARE else None
    text = str(given).strip()
    try:
        if text.endswith(f" {unit}"):
            return float(text.removesuffix(unit))
        if unit in UNIT_DIMENSIONS:
            return parse_quantity(text, UNIT_DIMENSIONS[unit]) / BASE_PER_UNIT.get(unit, 1.0)
        if text.endswith(unit):
            return float(text.removesuffix(unit))
    except ValueError:
        pass
    return None


def unit_text(value: float, unit: str) -> str:
    """A value with its unit, such that `value_in` gives exactly the value back."""
    number = repr(float(value)).removesuffix(".0")
    return f"{number} {unit}"


def overridden(crop: Crop, values: Mapping[str, float]) -> Crop:
    """A crop with some values replaced; where only the days to the harvest are given, the clock runs to them in proportion."""
    found = dict(values)
    if "development.days_to_harvest" in found and "development.ready" not in found:
        share = found["development.days_to_harvest"] / crop["development.days_to_harvest"]
        found["development.ready"] = crop["development.ready"] * share
    return crop.with_values(found, "recipe") if found else crop
