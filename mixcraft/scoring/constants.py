"""Weights, thresholds and the coefficients of the part scores: records in `constants.yaml`."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from mixcraft.files.constants import load_numbers

CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")
WEIGHT = "weight_"
"""Start of the names of the weights; a part score is in the score if it has one, in the order of the file."""


@lru_cache(maxsize=1)
def constants() -> Mapping[str, float]:
    """Weights and thresholds of the score by name."""
    return load_numbers(CONSTANTS_FILE)


@lru_cache(maxsize=1)
def weighted_parts() -> tuple[str, ...]:
    """Names of the part scores that have a weight, in order."""
    return tuple(name.removeprefix(WEIGHT) for name in constants() if name.startswith(WEIGHT))
