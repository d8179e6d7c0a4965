"""The constants of this package, read once from ``constants.yaml``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import yaml


@dataclass(frozen=True)
class Constant:
    value: float
    unit: str
    source: str
    at: str
    meaning: str


@lru_cache(maxsize=1)
def _table() -> dict[str, Constant]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    raw = yaml.load(Path(__file__).with_name("constants.yaml").read_text(encoding="utf-8"), Loader=loader)
    return {key: Constant(**{**record, "value": float(record["value"])}) for key, record in raw.items()}


def constant(name: str) -> float:
    """Value of one constant of ``constants.yaml``; ``KeyError`` if there is none of that name."""
    return _table()[name].value
