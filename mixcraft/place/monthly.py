"""From twelve monthly means to a smooth daily curve that keeps every month's mean.

The curve is the smoothest one there is: of all daily series that have the given monthly means and close
on themselves after a year, the one with the least sum of squared second differences. That has a unique
answer, linear in the means, so it is one matrix per kind of year. (Iterations with the same aim: Harzallah
1995; Rymes & Myers 2001.) Where a curve may not cross a bound, days that would do so are held at it and the
rest is solved again.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place.model import MONTHS, FloatArray

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

_MAX_ROUNDS = 60


def is_leap(year: int) -> bool:
    """True for a leap year of the Gregorian calendar."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


@lru_cache(maxsize=2)
def month_of_day(leap: bool = False) -> IntArray:
    """Month index 0-11 of every day of a year, shape (365,) or (366,)."""
    first = np.datetime64("2000-01-01" if leap else "2001-01-01", "D")
    days = first + np.arange(366 if leap else 365)
    months = days.astype("datetime64[M]").astype(np.int64) % MONTHS
    months.setflags(write=False)
    return np.asarray(months)


@lru_cache(maxsize=2)
def _mean_operator(leap: bool) -> FloatArray:
    """Matrix (12, days) that takes monthly means of a daily series."""
    belongs = (month_of_day(leap)[np.newaxis, :] == np.arange(MONTHS)[:, np.newaxis]).astype(np.float64)
    return np.asarray(belongs / belongs.sum(axis=1, keepdims=True))


def monthly_means(daily: FloatArray, leap: bool = False) -> FloatArray:
    """Monthly means (..., 12) of daily values (..., days of the year)."""
    return np.asarray(daily @ _mean_operator(leap).T)


@lru_cache(maxsize=2)
def _roughness(leap: bool) -> FloatArray:
    """Matrix H of the sum of squared second differences, ``x @ H @ x``, on a closed year."""
    n = month_of_day(leap).size
    eye = np.eye(n)
    second = np.roll(eye, 1, axis=1) - 2 * eye + np.roll(eye, -1, axis=1)
    return np.asarray(second.T @ second)


@lru_cache(maxsize=2)
def _smoothing_matrix(leap: bool) -> FloatArray:
    """Matrix (days, 12): monthly means to the smoothest daily curve."""
    mean = _mean_operator(leap)
    n = mean.shape[1]
    kkt = np.block([[_roughness(leap), mean.T], [mean, np.zeros((MONTHS, MONTHS))]])
    right = np.vstack([np.zeros((n, MONTHS)), np.eye(MONTHS)])
    return np.asarray(np.linalg.solve(kkt, right)[:n])


def _held_at_bound(means: FloatArray, lower: float, leap: bool) -> FloatArray:
    """The smoothest curve that stays at or above ``lower``: active-set solution of the same problem."""
    mean, rough = _mean_operator(leap), _roughness(leap)
    over = means - lower
    held: BoolArray = (over <= 0)[month_of_day(leap)]
    curve = np.zeros(held.size)
    live = over > 0
    for _ in range(_MAX_ROUNDS):
        free = ~held
        rows = mean[np.ix_(live, free)]
        k = int(live.sum())
        kkt = np.block([[rough[np.ix_(free, free)], rows.T], [rows, np.zeros((k, k))]])
        right = np.concatenate([np.zeros(int(free.sum())), over[live]])
        curve[:] = 0.0
        curve[free] = np.linalg.lstsq(kkt, right, rcond=None)[0][: int(free.sum())]
        below = curve < 0
        if not below.any():
            break
        held |= below
        for month in np.flatnonzero(live):  # a month keeps at least its highest day
            days = np.flatnonzero(month_of_day(leap) == month)
            if held[days].all():
                held[days[np.argmax(curve[days])]] = False
    curve = np.maximum(curve, 0.0)
    now = monthly_means(curve, leap)
    scale = np.divide(over, now, out=np.zeros(MONTHS), where=now > 0)
    return np.asarray(lower + curve * scale[month_of_day(leap)])


@lru_cache(maxsize=512)
def _bounded_cached(means: tuple[float, ...], lower: float, leap: bool) -> FloatArray:
    curve = _smoothing_matrix(leap) @ np.array(means)
    if (curve < lower).any():
        curve = _held_at_bound(np.array(means), lower, leap)
    curve.setflags(write=False)
    return np.asarray(curve)


def daily_curve(means: npt.ArrayLike, *, leap: bool = False, lower: float | None = None) -> FloatArray:
    """Smoothest daily curve (365,) or (366,) whose monthly means are exactly ``means`` (12,).

    ``lower``: a bound that no day may go below, for example 0 for rain.
    Raises ``ValueError`` when a mean itself lies below it.
    """
    values = np.asarray(means, dtype=np.float64)
    if values.shape != (MONTHS,):
        raise ValueError(f"a daily curve needs {MONTHS} monthly means, found shape {values.shape}")
    if lower is None:
        return np.asarray(_smoothing_matrix(leap) @ values)
    if (values < lower).any():
        raise ValueError(f"a monthly mean of {values.min():g} lies below the bound {lower:g}")
    return _bounded_cached(tuple(values.tolist()), lower, leap)


def curve_for_dates(
    means: npt.ArrayLike, dates: npt.NDArray[np.datetime64], *, lower: float | None = None
) -> FloatArray:
    """Daily curve (D,) on consecutive ``dates`` (D,), each calendar year with its own number of days."""
    years = dates.astype("datetime64[Y]").astype(np.int64) + 1970
    day = (dates - dates.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    out = np.empty(dates.size)
    for year in np.unique(years):
        here = years == year
        out[here] = daily_curve(means, leap=is_leap(int(year)), lower=lower)[day[here]]
    return out
