"""What covers do to the planting under them, day by day: the one place where kinds of cover become numbers of days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from itertools import compress
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from mixcraft.place import Cover, cover, covers_together, warmed

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
    """What lies over a planting does by day, (D,) each, named as in `mixcraft.place.Cover`: gain of the daily mean and of the
    night minimum [C], share of the degrees of frost made good beside them and of what leaves lose to a clear sky that they still
    lose, share of light and of rain passed, whether pests and pollinators are kept out, and room for plants [m] (infinite under
    the open sky)."""

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
    lies: dict[str, Bools] = {}
    for span in spans:
        over = lies.setdefault(_cover(span.kind).kind, np.zeros(days, dtype=bool))
        over[max(span.on - first, 0) : max(span.off - first, 0)] = True
    layers = np.array(list(lies.values()), dtype=bool).reshape(len(lies), days)
    for those in np.unique(layers, axis=1).T if lies else ():
        if those.any():
            together, on = covers_together(frozenset(compress(lies, those))), (layers == those[:, None]).all(axis=0)
            for what in fields(Shelter):
                getattr(found, what.name)[on] = getattr(together, what.name)
    return found
