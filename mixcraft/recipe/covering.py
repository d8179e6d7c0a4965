"""What covers do to the planting under them, day by day: the one place where kinds of cover become numbers of days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import Cover, cover, warmed

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
    """What lies over a planting does by day, (D,) each: gain of the daily mean and of the night minimum [C], share of the degrees
    of frost made good beside them and of what leaves lose to a clear sky that they still lose, share of light and of rain passed,
    whether pests and pollinators are kept out, and room for plants [m] (infinite under the open sky)."""

    mean_gain_c: Floats
    min_gain_c: Floats
    frost_gain: Floats
    sky: Floats
    light: Floats
    rain: Floats
    pests_out: Bools
    pollinators_out: Bools
    height_m: Floats

    def mean_c(self, open_c: Floats) -> Floats:
        """Daily mean under the covers [C], of the air's outside `open_c`, (Y, D)."""
        return warmed(open_c, self.mean_gain_c, self.frost_gain)

    def min_c(self, open_c: Floats) -> Floats:
        """Night minimum under the covers [C], of the air's outside `open_c`, (Y, D)."""
        return warmed(open_c, self.min_gain_c, self.frost_gain)


@lru_cache(maxsize=64)
def _cover(kind: str) -> Cover:
    return cover(kind)


def shelter(spans: Sequence[Span], days: int, first: int = 0) -> Shelter:
    """What `spans` do on `days` days from day index `first`.

    Covers of different kinds lie one inside the other (`mixcraft.place.combined`): gains add, light and rain pass through all,
    the tightest and the lowest counts.  Two of one kind at once are one.  Raises `mixcraft.place.UnknownCover`.
    """
    found = Shelter(
        np.zeros(days), np.zeros(days), np.zeros(days), np.ones(days), np.ones(days), np.ones(days),
        np.zeros(days, dtype=bool), np.zeros(days, dtype=bool), np.full(days, np.inf),
    )  # fmt: skip
    lies = {_cover(span.kind): np.zeros(days, dtype=bool) for span in spans}
    for span in spans:
        lies[_cover(span.kind)][max(span.on - first, 0) : max(span.off - first, 0)] = True
    closed = np.zeros(days)
    for kind, over in lies.items():
        closed += over * (kind.frost_gain > 0.0)
    left = np.ones(days)
    for kind, over in lies.items():
        within = closed > (kind.frost_gain > 0.0)
        left *= np.where(over, 1.0 - np.where(within, kind.frost_gain_inside, kind.frost_gain), 1.0)
        found.mean_gain_c[over] += kind.mean_gain_c
        found.min_gain_c[over] += kind.min_gain_c
        found.sky[over] *= kind.sky
        found.light[over] *= kind.light
        found.rain[over] *= kind.rain
        found.pests_out[over] |= kind.pests_out
        found.pollinators_out[over] |= kind.pollinators_out
        if kind.height_m > 0.0:
            found.height_m[over] = np.minimum(found.height_m[over], kind.height_m)
    found.frost_gain[:] = 1.0 - left
    return found
