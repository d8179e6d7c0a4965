"""What crops ask for while they stand: earthing up, pinching out, tying in, nets, liquid feed.  Facts from ``care.yaml``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).with_name("care.yaml")
UNTIL_THE_END = 99
"""Repeats of what goes on as long as the plants stand."""


@dataclass(frozen=True, slots=True)
class Care:
    """A job that some crops ask for: `days` after an event, then every `again_days`, `times` in all."""

    kind: str
    crops: frozenset[str]
    event: str
    days: float
    again_days: float = 0.0
    times: int = 1
    supported: bool = False
    bare: bool = False


@lru_cache(maxsize=1)
def _table() -> Mapping[str, Sequence[Mapping[str, Any]]]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found: dict[str, list[dict[str, Any]]] = yaml.load(FILE.read_bytes(), Loader=loader)
    return found


@lru_cache(maxsize=1)
def cares() -> tuple[Care, ...]:
    """All jobs of the table."""
    return tuple(
        Care(
            kind, frozenset(r["crops"]), r["event"], float(r["days"]), float(r.get("again", 0.0)),
            int(r.get("times", UNTIL_THE_END if "again" in r else 1)), bool(r.get("supported")), bool(r.get("bare")),
        )
        for kind, records in _table().items() for r in records
    )  # fmt: skip


def cares_of(crop: str) -> tuple[Care, ...]:
    """The jobs that the crop with this id asks for."""
    return tuple(care for care in cares() if crop in care.crops)
