"""Rows of the handbook tables beside the crops they speak of, for the tests of the whole library.

Each file ``outside/data/library_*.csv`` keeps rows of published tables with their source, place in the source, how they were
read (`seen`, `memory`, `derived`) and confidence (A primary, B secondary or well known, C bounds only); `crops` names the crops
of the library that a row speaks of.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from mixcraft.crops import Crop, Record, load_crop

DATA = Path(__file__).parent / "outside" / "data"
CROPS_IN_LIBRARY = 140
"""The library holds at least so many crops."""


@dataclass(frozen=True)
class Row:
    """A row of a published table: `low` and `high` are equal where one value is printed; `text` is the value as printed."""

    crops: tuple[str, ...]
    item: str
    quantity: str
    low: float
    high: float
    text: str
    unit: str
    condition: str
    source: str
    confidence: str


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


@lru_cache(maxsize=32)
def rows(name: str) -> tuple[Row, ...]:
    """All rows of ``library_<name>.csv``."""
    with (DATA / f"library_{name}.csv").open(encoding="utf-8", newline="") as handle:
        return tuple(
            Row(
                tuple(r["crops"].split()), r["item"], r["quantity"], _number(r["value"]), _number(r["value_max"] or r["value"]),
                r["value"], r["unit"], r["condition"], r["source"], r["confidence"],
            )
            for r in csv.DictReader(handle)
        )  # fmt: skip


def of(name: str, *quantities: str, source: str = "") -> tuple[Row, ...]:
    """Rows of a file whose quantity is one of `quantities` and whose source contains `source`."""
    found = tuple(r for r in rows(name) if r.quantity in quantities and source in r.source)
    assert found, (name, quantities, source)
    return found


def by_crop(found: Iterable[Row]) -> dict[str, list[Row]]:
    """Rows by crop id: every row that speaks of the crop."""
    table: dict[str, list[Row]] = {}
    for row in found:
        for crop in row.crops:
            table.setdefault(crop, []).append(row)
    return dict(sorted(table.items()))


def band(found: Iterable[Row], change: Callable[[Row, float], float] = lambda row, value: value) -> tuple[float, float]:
    """Lowest and highest value that any of the rows prints, each turned by `change`."""
    values = [change(row, value) for row in found for value in (row.low, row.high)]
    return min(values), max(values)


def limits(record: Record) -> tuple[float, float]:
    """The range of a record, or its value twice."""
    return (record.value if record.low is None else record.low, record.value if record.high is None else record.high)


def meets(record: Record, low: float, high: float) -> bool:
    """Whether the range of a record has a value in common with low to high."""
    bottom, top = limits(record)
    return bottom <= high + 1e-9 and top >= low - 1e-9


def covers(found: Sequence[Row], at_least: int) -> None:
    """The rows speak of at least so many crops, and all of these are in the library."""
    crops = {crop for row in found for crop in row.crops}
    for crop in crops:
        assert load_crop(crop).id == crop
    assert len(crops) >= at_least, len(crops)


def crop(crop_id: str) -> Crop:
    """A crop of the library."""
    return load_crop(crop_id)
