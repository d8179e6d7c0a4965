"""Frost dates that a garden knows, brought into the weather: the spread of minima that makes them.

In spring and in autumn the spread is widened or narrowed by one factor each until the middle date falls as stated; the
mean minima stay those of the normals. Weather years, almanac and printed dates then tell the same.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mixcraft.place._constants import constant
from mixcraft.place.minima import Minima, chance_without_frost, daily_minima
from mixcraft.place.model import DAYS, MONTHS, FloatArray, Place
from mixcraft.place.monthly import month_of_day

_HALVINGS = 9  # of the factors' span: about 0.003
_ROUNDS = 2  # spring and autumn share the two turning months
_HALF = 0.5


class FrostOutOfReach(ValueError):  # noqa: N818 -- reads as what happened
    """A stated frost date that no spread within reason can make of the place's normals."""


def month_factors(minima: Minima, spring: float, autumn: float) -> FloatArray:
    """Factors (12,): ``spring`` from the coldest month to the warmest, then ``autumn``; their mean in both of these."""
    months = month_of_day()
    cold, warm = int(months[minima.coldest]), int(months[minima.warmest])
    since = (np.arange(MONTHS) - cold) % MONTHS
    factors = np.where(since < (warm - cold) % MONTHS, spring, autumn)
    factors[[cold, warm]] = (spring + autumn) / 2
    return factors


def _left_at(place: Place, sd_c: FloatArray, spring: float, autumn: float, day: int, *, late: bool) -> float:
    """Share of years without frost from the stated ``day`` (0-364) to the warmest (``late``: last frosts), or back from it."""
    plain = daily_minima(place, sd_c)
    minima = daily_minima(place, sd_c * month_factors(plain, spring, autumn))
    days = minima.spring if late else minima.autumn
    steps = (minima.warmest - day) % DAYS if late else (day - minima.warmest) % DAYS
    if steps >= len(days):
        raise FrostOutOfReach(f"day {day + 1} lies in the other half of the year")
    return float(chance_without_frost(minima, days[: steps + 1], 0.0)[-1])


def _factor(left: Callable[[float], float]) -> float:
    """The factor at which half of the years are left without frost; the wider the spread, the fewer."""
    low, high = constant("stated_spread_least"), constant("stated_spread_most")
    if left(high) > _HALF or left(low) < _HALF:
        raise FrostOutOfReach("no spread of the minima within reason has frost then in every other year")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if left(middle) < _HALF else (middle, high)
    return high


def frost_factors(place: Place, sd_c: FloatArray) -> tuple[float, float]:
    """Factors of the spread ``sd_c`` (12,) [C] in spring and in autumn that make the place's stated frost dates.

    One alone stated holds for both halves. Raises :class:`FrostOutOfReach`, a ``ValueError``.
    """
    last, first = place.last_spring_frost, place.first_autumn_frost
    spring = autumn = 1.0
    for _ in range(_ROUNDS if last and first else 1):
        if last is not None:
            at, other = last.median - 1, autumn
            spring = _factor(lambda f: _left_at(place, sd_c, f, other if first else f, at, late=True))
        if first is not None:
            on, before = first.median - 1, spring
            autumn = _factor(lambda f: _left_at(place, sd_c, before if last else f, f, on, late=False))
    return (spring if last else autumn), (autumn if first else spring)


def fitted_minima(place: Place, sd_c: FloatArray) -> FloatArray:
    """Spread of minima (12,) [C] with which frost falls as the place states."""
    return np.asarray(sd_c * month_factors(daily_minima(place, sd_c), *frost_factors(place, sd_c)))
