"""Constants by which a recipe is settled in a bed, read once from ``constants.yaml``."""

from __future__ import annotations

from pathlib import Path

from mixcraft.files.constants import load_numbers

FILE = Path(__file__).with_name("constants.yaml")
_numbers = load_numbers(FILE)


def constant(name: str) -> float:
    """Value of a constant of recipes in beds."""
    return _numbers[name]
