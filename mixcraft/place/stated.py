"""Frost dates that a garden knows, brought into the weather: the spread of minima that makes them.

In spring and in autumn the spread is widened or narrowed by one factor each until the middle date falls as stated; the
mean minima stay those of the normals. Weather years, almanac and printed dates then tell the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mixcraft.place._constants import constant
from mixcraft.place.climate_key import ClimateKey
from mixcraft.place.minima import chance_without_frost, daily_minima
from mixcraft.place.model import DAYS, MONTHS, FloatArray, Place, frozen_array
from mixcraft.place.monthly import daily_curve, month_of_day

_HALVINGS = 9  # of the factors' span: about 0.003
_ROUNDS = 2  # spring and autumn share the two turning months
_HALF = 0.5


class FrostOutOfReach(ValueError):  # noqa: N818 -- reads as what happened
    """A stated frost date that no spread within reason can make of the place's normals."""


def turning_months(tmin_c: FloatArray) -> tuple[int, int]:
    """Months 0-11 of the coldest and of the warmest day of mean minima (12,)."""
    curve, months = daily_curve(tmin_c), month_of_day()
    return int(months[np.argmin(curve)]), int(months[np.argmax(curve)])


def month_factors(turning: tuple[int, int], spring: float, autumn: float) -> FloatArray:
    """Factors (12,): ``spring`` from the coldest month to the warmest, then ``autumn``; their mean in both of these."""
    cold, warm = turning
    since = (np.arange(MONTHS) - cold) % MONTHS
    factors = np.where(since < (warm - cold) % MONTHS, spring, autumn)
    factors[[cold, warm]] = (spring + autumn) / 2
    return factors


@dataclass(frozen=True)
class _Half:
    """One half of the year and the day, 0-364, of its stated frost: spring's last or autumn's first."""

    place: Place
    sd_c: FloatArray
    day: int
    spring: bool

    def left(self, spring: float, autumn: float) -> float:
        """Share of years without frost between the stated day, itself counted in, and the warmest."""
        turning = turning_months(self.place.normals.tmin_c)
        minima = daily_minima(self.place, self.sd_c * month_factors(turning, spring, autumn))
        days = minima.spring if self.spring else minima.autumn
        steps = (minima.warmest - self.day if self.spring else self.day - minima.warmest) % DAYS
        if steps >= len(days):
            raise FrostOutOfReach(f"day {self.day + 1} of the year lies in the other half of it")
        return float(chance_without_frost(minima, days[: steps + 1], 0.0)[-1])

    def factor(self, other: float | None) -> float:
        """The factor at which half of the years are left; ``other`` that of the other half, None the same."""
        low, high = constant("stated_spread_least"), constant("stated_spread_most")
        if self._left_with(high, other) > _HALF or self._left_with(low, other) < _HALF:
            raise FrostOutOfReach("no spread of the minima within reason has its frost then in every other year")
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self._left_with(middle, other) < _HALF else (middle, high)
        return high

    def _left_with(self, own: float, other: float | None) -> float:
        beside = own if other is None else other
        return self.left(own, beside) if self.spring else self.left(beside, own)


def frost_factors(place: Place, sd_c: FloatArray) -> tuple[float, float]:
    """Factors of the spread ``sd_c`` (12,) [C] in spring and in autumn that make the place's stated frost dates.

    One alone stated holds for both halves. Raises :class:`FrostOutOfReach`, a ``ValueError``.
    """
    last, first = place.last_spring_frost, place.first_autumn_frost
    spring = None if last is None else _Half(place, sd_c, last.median - 1, spring=True)
    autumn = None if first is None else _Half(place, sd_c, first.median - 1, spring=False)
    if spring is None or autumn is None:
        one = spring or autumn
        both = 1.0 if one is None else one.factor(None)
        return both, both
    in_spring = in_autumn = 1.0
    for _ in range(_ROUNDS):
        in_spring = spring.factor(in_autumn)
        in_autumn = autumn.factor(in_spring)
    return in_spring, in_autumn


@lru_cache(maxsize=64)
def fitted_minima(key: ClimateKey, sd_c: tuple[float, ...]) -> FloatArray:
    """Spread of minima (12,) [C] with which frost falls as the place of the key states, from that it has otherwise."""
    place, plain = key.place, np.array(sd_c)
    factors = month_factors(turning_months(place.normals.tmin_c), *frost_factors(place, plain))
    return frozen_array(plain * factors)
