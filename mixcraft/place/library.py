"""The reference places as data: one YAML file per continent under ``data/places/``, and an index of them.

The index (``data/places/index.json``, with ``records.jsonl``; rebuilt by ``python -m mixcraft.place``) keeps names, where they
lie and the spread round about, so that a place asked for reads one line and no more. Where a YAML file has another size
than the index was made from, the files themselves are read.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from mixcraft.place.model import MONTHS, FloatArray

DATA = Path(__file__).parent / "data" / "places"
INDEX = DATA / "index.json"
RECORDS = DATA / "records.jsonl"
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Entry:
    """A reference place as the index knows it; ``names`` the ones it goes by, the usual one first."""

    key: str
    names: tuple[str, ...]
    country: str
    climate: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    ratio: tuple[float, ...] | None


def read_files() -> dict[str, dict[str, Any]]:
    """Every record of the YAML files by key, by continent and then as they stand there."""
    found: dict[str, dict[str, Any]] = {}
    for path in sorted(DATA.glob("*.yaml")):
        found.update(yaml.load(path.read_bytes(), Loader=_Loader))
    return found


def build_index(records: Mapping[str, Mapping[str, Any]], sizes: Mapping[str, int]) -> tuple[str, str]:
    """Texts of ``index.json`` and of ``records.jsonl`` for these records and sizes of files."""
    lines, places, at = [], {}, 0
    for key, record in records.items():
        line = json.dumps(record, ensure_ascii=False, default=str) + "\n"
        length = len(line.encode("utf-8"))
        ratio = record["spread_ratio"]["values"] if "spread_ratio" in record else None
        where = [record["latitude_deg"], record["longitude_deg"], record["elevation_m"]]
        names = [record["name"], *record.get("also", ())]
        places[key] = [names, record["country"], record["climate"], where, ratio, at, length]
        lines.append(line)
        at += length
    body = ",\n".join(f"{json.dumps(key)}: {json.dumps(entry, ensure_ascii=False)}" for key, entry in places.items())
    return f'{{"files": {json.dumps(dict(sizes))},\n"places": {{\n{body}\n}}}}\n', "".join(lines)


def file_sizes() -> dict[str, int]:
    """Size of every YAML file [bytes] by name."""
    return {path.name: path.stat().st_size for path in sorted(DATA.glob("*.yaml"))}


@lru_cache(maxsize=1)
def _loaded() -> tuple[dict[str, list[Any]], bytes]:
    """Index entries and the lines of all records: as written where they fit the files and one another, else built afresh."""
    sizes = file_sizes()
    if INDEX.exists() and RECORDS.exists():
        known, lines = json.loads(INDEX.read_text("utf-8")), RECORDS.read_bytes()
        places: dict[str, list[Any]] = known["places"]
        if known["files"] == sizes and sum(entry[-1] for entry in places.values()) == len(lines):
            return places, lines
    text, fresh_lines = build_index(read_files(), sizes)
    fresh: dict[str, list[Any]] = json.loads(text)["places"]
    return fresh, fresh_lines.encode("utf-8")


@lru_cache(maxsize=1)
def entries() -> Mapping[str, Entry]:
    """All reference places by key."""
    found = {}
    for key, (names, country, climate, where, ratio, _, _) in _loaded()[0].items():
        latitude, longitude, elevation = map(float, where)
        found[key] = Entry(key, tuple(names), country, climate, latitude, longitude, elevation, tuple(ratio) if ratio else None)
    return found


def record(key: str) -> dict[str, Any]:
    """The whole record of a place. Raises ``KeyError``."""
    places, lines = _loaded()
    at, length = places[key][-2:]
    found: dict[str, Any] = json.loads(lines[at : at + length])
    return found


@lru_cache(maxsize=1)
def positions() -> tuple[tuple[str, ...], FloatArray]:
    """Keys and, as (3, n), latitude [deg], longitude [deg] and elevation [m] of all places."""
    known = tuple(entries().values())
    where = [(e.latitude_deg, e.longitude_deg, e.elevation_m) for e in known]
    return tuple(e.key for e in known), np.array(where, dtype=np.float64).reshape(-1, 3).T


@lru_cache(maxsize=1)
def ratios() -> tuple[FloatArray, FloatArray]:
    """Positions (3, n) and ratios (n, 12) of the spread of minima, of the places that have them."""
    known = [e for e in entries().values() if e.ratio]
    where = [(e.latitude_deg, e.longitude_deg, e.elevation_m) for e in known]
    found = np.array([e.ratio for e in known], dtype=np.float64).reshape(-1, MONTHS)
    return np.array(where, dtype=np.float64).reshape(-1, 3).T, found
