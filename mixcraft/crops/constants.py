"""Constants of the clocks of crops, read once from ``constants.yaml``."""

from __future__ import annotations

from pathlib import Path

from mixcraft.files.constants import load_numbers

_numbers = load_numbers(Path(__file__).with_name("constants.yaml"))


def constant(name: str) -> float:
    """Value of a constant of the crops' clocks."""
    return _numbers[name]
