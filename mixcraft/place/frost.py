"""First and last frosts of a place, from stochastic weather years."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mixcraft.place.generator import weather_years
from mixcraft.place.model import Place
from mixcraft.place.monthly import daily_curve

_YEAR = 365
_COMMON_YEAR = np.datetime64("2001-01-01", "D")


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
    """Last spring and first autumn frost; None where more than half of the years have none.

    ``frost_share`` is the share of years with any day at or below ``threshold_c``;
    ``frost_free`` is True when no year had one.
    """

    last_spring: FrostDate | None
    first_autumn: FrostDate | None
    frost_free: bool
    frost_share: float
    threshold_c: float


def _spread(offsets: npt.NDArray[np.float64], first_day: int) -> FrostDate | None:
    """Quantiles of day offsets after ``first_day`` (0-based); years without frost are infinite."""
    if not np.isfinite(np.quantile(offsets, 0.5, method="closest_observation")):
        return None
    finite = offsets[np.isfinite(offsets)]
    limits = np.clip(offsets, finite.min(), finite.max())
    early, median, late = np.quantile(limits, (0.1, 0.5, 0.9), method="closest_observation")
    return FrostDate(*(int((first_day + day) % _YEAR) + 1 for day in (median, early, late)))


def frost_dates(place: Place, threshold_c: float = 0.0, years: int = 30, seed: int = 1) -> FrostDates:
    """Last spring and first autumn day with a minimum at or below ``threshold_c`` [C], either hemisphere.

    The year is cut at the coldest and the warmest day of the place's normals, so spring may lie in any month.
    ``years`` stochastic years. Air frost at screen height: the ground can be 2-4 C colder on clear nights.
    """
    curve = daily_curve(place.normals.tmin_c)
    coldest, warmest = int(np.argmin(curve)), int(np.argmax(curve))
    spring_days = (warmest - coldest) % _YEAR
    frost = weather_years(place, _COMMON_YEAR + coldest, _YEAR, years, seed).tmin_c <= threshold_c
    spring, autumn = frost[:, :spring_days], frost[:, spring_days:]
    last = np.where(spring.any(axis=1), spring_days - 1.0 - np.argmax(spring[:, ::-1], axis=1), -np.inf)
    first = np.where(autumn.any(axis=1), spring_days + np.argmax(autumn, axis=1) * 1.0, np.inf)
    share = float(frost.any(axis=1).mean())
    return FrostDates(
        last_spring=_spread(last, coldest),
        first_autumn=_spread(first, coldest),
        frost_free=share == 0.0,
        frost_share=share,
        threshold_c=threshold_c,
    )
