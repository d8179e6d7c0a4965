"""What covers do to the planting under them, day by day: the one place where kinds of cover become numbers of days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import Cover, cover

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


class Span(Protocol):
    """A cover from day index `on` up to but not including `off`."""

    @property
    def kind(self) -> str:
        """Kind of cover."""

    @property
    def on(self) -> int:
        """First day."""

    @property
    def off(self) -> int:
        """Day on which it is gone."""


@dataclass(frozen=True)
class Shelter:
    """What lies over a planting does by day, (D,) each: gain of the daily mean and of the night minimum [C], share of light and
    of rain passed, whether pests and pollinators are kept out, and room for plants [m] (infinite under the open sky)."""

    mean_gain_c: Floats
    min_gain_c: Floats
    light: Floats
    rain: Floats
    pests_out: Bools
    pollinators_out: Bools
    height_m: Floats


@lru_cache(maxsize=64)
def _cover(kind: str) -> Cover:
    return cover(kind)


def shelter(spans: Sequence[Span], days: int, first: int = 0) -> Shelter:
    """What `spans` do on `days` days from day index `first`.

    Covers of different kinds lie one inside the other (`mixcraft.place.combined`): gains add, light and rain pass through all,
    the tightest and the lowest counts.  Two of one kind at once are one.  Raises `mixcraft.place.UnknownCover`.
    """
    found = Shelter(
        np.zeros(days), np.zeros(days), np.ones(days), np.ones(days), np.zeros(days, dtype=bool), np.zeros(days, dtype=bool),
        np.full(days, np.inf),
    )  # fmt: skip
    for name in dict.fromkeys(span.kind for span in spans):
        kind, over = _cover(name), np.zeros(days, dtype=bool)
        for span in spans:
            if span.kind == name:
                over[max(span.on - first, 0) : max(span.off - first, 0)] = True
        found.mean_gain_c[over] += kind.mean_gain_c
        found.min_gain_c[over] += kind.min_gain_c
        found.light[over] *= kind.light
        found.rain[over] *= kind.rain
        found.pests_out[over] |= kind.pests_out
        found.pollinators_out[over] |= kind.pollinators_out
        if kind.height_m > 0.0:
            found.height_m[over] = np.minimum(found.height_m[over], kind.height_m)
    return found
