"""One number of a crop with its unit, range and source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Record:
    """One number with its unit, range and source.

    ``quality`` is one of `QUALITIES`; ``source`` is a key of the bibliography, ``at`` the table, field or page.
    """

    value: float
    unit: str
    source: str
    at: str
    quality: str
    low: float | None = None
    high: float | None = None

    @property
    def span(self) -> tuple[float, float]:
        """Its range, which holds the value itself; the value alone where no range is given."""
        return min(self.value, self.low or self.value), max(self.value, self.high or self.value)


def record_from(data: Mapping[str, Any]) -> Record:
    """A `Record` from its mapping in a crop file."""
    low, high = data.get("range", (None, None))
    return Record(float(data["value"]), str(data["unit"]), str(data["source"]), str(data["at"]), str(data["quality"]), low, high)
