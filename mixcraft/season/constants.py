"""Constants of the season model, read once from ``constants.yaml``."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from mixcraft.files.constants import load_constants


@lru_cache(maxsize=1)
def _table() -> dict[str, float]:
    found = load_constants(Path(__file__).with_name("constants.yaml"))
    return {name: float(record.value) for name, record in found.items() if not isinstance(record.value, tuple)}


def constant(name: str) -> float:
    """Value of a constant of the season model."""
    return _table()[name]
