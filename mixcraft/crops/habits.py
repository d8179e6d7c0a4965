"""Habits that crops share: records that a source prints for a whole class of crops, such as the warmest month a crop bears."""

from __future__ import annotations

import json
from collections.abc import Mapping, Set
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import yaml

from .records import Record, record_from

FILE = Path(__file__).with_name("habits.yaml")
INDEX = Path(__file__).parent / "data" / "index.json"


@dataclass(frozen=True, slots=True)
class Habit:
    """One record and the crops (ids) it holds for."""

    name: str
    record: Record
    crops: frozenset[str]


@lru_cache(maxsize=1)
def habits() -> tuple[Habit, ...]:
    """All habits, in the order of the file."""
    entries = yaml.load(FILE.read_bytes(), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return tuple(Habit(str(e["record"]), record_from(e), frozenset(e["crops"])) for e in entries)


def habit_records(crop_id: str, botanical: str = "") -> Mapping[str, Record]:
    """Records of the habits that hold for a crop, by name: those that name it, else those that name a crop of its species."""
    found = _of({crop_id})
    if not found:
        found = _of(_kin(botanical))
    return found


def _of(wanted: Set[str]) -> dict[str, Record]:
    found: dict[str, Record] = {}
    for habit in habits():
        if habit.crops & wanted:
            found.setdefault(habit.name, habit.record)
    return found


@lru_cache(maxsize=256)
def _kin(botanical: str) -> frozenset[str]:
    """Crops of the library of the species of a botanical name."""
    species = " ".join(botanical.casefold().split()[:2])
    entries = json.loads(INDEX.read_text("utf-8"))
    return frozenset(key for key, entry in entries.items() if any(w.startswith(species) for w in entry["words"]))
