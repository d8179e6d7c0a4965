"""The constants of this package: values from ``constants.yaml``, read when first asked for."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from mixcraft.files.constants import load_constants

CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")


@cache
def constant(name: str) -> float:
    """Value of one constant of ``constants.yaml``. Raises ``KeyError`` if there is none of that name."""
    return float(load_constants(CONSTANTS_FILE)[name].value)
