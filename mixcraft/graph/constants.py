"""Thresholds and coefficients of the interaction graph: records in `constants.yaml`."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from mixcraft.files.constants import load_numbers

CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")


@lru_cache(maxsize=1)
def constants() -> Mapping[str, float]:
    """Thresholds and coefficients by name."""
    return load_numbers(CONSTANTS_FILE)
