"""Constants of what is printed, read once from ``constants.yaml``."""

from __future__ import annotations

from pathlib import Path

from mixcraft.files.constants import load_numbers

FILE = Path(__file__).with_name("constants.yaml")


def constant(name: str) -> float:
    """Value of a constant of what is printed."""
    return load_numbers(FILE)[name]
