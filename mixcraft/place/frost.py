"""First and last frosts of a place: in air at screen height and on the ground.

The dates are exact for the weather that the generator makes: the share of its years without frost after a day is carried
through the year in closed form (:mod:`mixcraft.place.minima`), so that they do not scatter as those of drawn years do.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.climate_key import ClimateKey
from mixcraft.place.generator import weather_years
from mixcraft.place.minima import IntArray, chance_without_frost, daily_minima
from mixcraft.place.model import DAYS, FloatArray, Place, StatedFrost
from mixcraft.place.monthly import daily_curve
from mixcraft.place.spread import temperature_spread

_COMMON_YEAR = np.datetime64("2001-01-01", "D")
_SHARES = (0.5, 0.1, 0.9)
_FREE = 0.005  # fewer years than one in 200


@dataclass(frozen=True)
class FrostDate:
    """A date of the year as a spread over years, in days of a common year 1-365.

    In one year of ten the date is before ``early``, in one of ten after ``late``.
    """

    median: int
    early: int
    late: int


@dataclass(frozen=True)
class FrostDates:
    """Last spring and first autumn frost; None where fewer than half of the years have one.

    ``frost_share`` is the share of years with any day at or below ``threshold_c``;
    ``frost_free`` is True when fewer than one year in 200 has one.
    """

    last_spring: FrostDate | None
    first_autumn: FrostDate | None
    frost_free: bool
    frost_share: float
    threshold_c: float


def frost_dates(place: Place, threshold_c: float = 0.0, years: int | None = None, seed: int = 1) -> FrostDates:
    """Last spring and first autumn day with a minimum at or below ``threshold_c`` [C], either hemisphere.

    The year is cut at the coldest and the warmest day of the place's normals, so spring may lie in any month. Air frost at
    screen height; :func:`ground_frost_dates` has that of the ground. With ``years`` so many stochastic years are drawn and
    counted instead: the same dates, but for the scatter of a sample. Dates that the place states go before computed ones.
    """
    if years is not None:
        return _counted(place, threshold_c, years, seed)
    found = _exact(ClimateKey(place), threshold_c)
    if threshold_c != 0.0:
        return found
    return replace(
        found,
        last_spring=_as_stated(found.last_spring, place.last_spring_frost),
        first_autumn=_as_stated(found.first_autumn, place.first_autumn_frost),
    )


def ground_frost_dates(place: Place) -> FrostDates:
    """Frost dates of short grass or bare ground, which clear nights cool below the screen.

    The mean difference of grass and screen minima in spring is taken; single clear nights differ by more.
    """
    return frost_dates(place, constant("ground_frost_depression"))


@lru_cache(maxsize=256)
def _exact(key: ClimateKey, threshold_c: float) -> FrostDates:
    place = key.place
    minima = daily_minima(place, temperature_spread(place).tmin_c)
    spring, autumn = minima.spring, minima.autumn
    spring_left = chance_without_frost(minima, spring, threshold_c)
    whole_left = chance_without_frost(minima, np.concatenate([autumn, spring[::-1]]), threshold_c)
    share = 1.0 - float(whole_left[-1])
    return FrostDates(
        last_spring=last_frost(spring, spring_left),
        first_autumn=first_frost(autumn, whole_left[: len(autumn)]),
        frost_free=share < _FREE,
        frost_share=share,
        threshold_c=threshold_c,
    )


def last_frost(days: IntArray, left: FloatArray) -> FrostDate | None:
    """The last frost on ``days`` (n,) 0-364, counted back, after each of which a share ``left`` (n,) of years has none."""

    def day(share: float) -> int:
        below = np.flatnonzero(left < share)
        return int(days[below[0] if below.size else -1]) + 1

    return FrostDate(*map(day, _SHARES)) if left.size and left[-1] < _SHARES[0] else None


def first_frost(days: IntArray, left: FloatArray) -> FrostDate | None:
    """The first frost on ``days`` (n,) 0-364, up to each of which a share ``left`` (n,) of years has none."""

    def day(share: float) -> int:
        reached = np.flatnonzero(1.0 - left >= share)
        return int(days[reached[0] if reached.size else -1]) + 1

    return FrostDate(*map(day, _SHARES)) if left.size and left[-1] <= _SHARES[0] else None


def _as_stated(found: FrostDate | None, stated: StatedFrost | None) -> FrostDate | None:
    """A computed date with what is stated put in its place."""
    if stated is None:
        return found
    early = stated.early or (found.early if found else stated.median)
    late = stated.late or (found.late if found else stated.median)
    return FrostDate(stated.median, early, late)


def _quantiles(offsets: npt.NDArray[np.float64], first_day: int) -> FrostDate | None:
    """Quantiles of day offsets after ``first_day`` (0-based); years without frost are infinite."""
    if not np.isfinite(np.quantile(offsets, 0.5, method="closest_observation")):
        return None
    finite = offsets[np.isfinite(offsets)]
    limits = np.clip(offsets, finite.min(), finite.max())
    days = np.quantile(limits, _SHARES, method="closest_observation")
    return FrostDate(*(int((first_day + day) % DAYS) + 1 for day in days))


def _counted(place: Place, threshold_c: float, years: int, seed: int) -> FrostDates:
    """Frost dates counted in drawn weather years."""
    curve = daily_curve(place.normals.tmin_c)
    coldest, warmest = int(np.argmin(curve)), int(np.argmax(curve))
    spring_days = (warmest - coldest) % DAYS
    frost = weather_years(place, _COMMON_YEAR + coldest, DAYS, years, seed).tmin_c <= threshold_c
    spring, autumn = frost[:, :spring_days], frost[:, spring_days:]
    last = np.where(spring.any(axis=1), spring_days - 1.0 - np.argmax(spring[:, ::-1], axis=1), -np.inf)
    first = np.where(autumn.any(axis=1), spring_days + np.argmax(autumn, axis=1) * 1.0, np.inf)
    share = float(frost.any(axis=1).mean())
    return FrostDates(_quantiles(last, coldest), _quantiles(first, coldest), share < _FREE, share, threshold_c)
