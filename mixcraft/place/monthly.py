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
_RIDGE = 1e-12  # keeps the bounded problem solvable where a month's days are all held
_TOUCHING = 1e-9  # of the greatest mean: so little below the bound counts as on it


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
def _smoothest(leap: bool) -> tuple[FloatArray, FloatArray]:
    """The least-roughness problem solved once for all: matrices S (days, 12) and G (days, days).

    ``S @ means`` is the smoothest curve; G tells how it gives way to further conditions on single days.
    Both are blocks of the inverse of the Karush-Kuhn-Tucker matrix of "least x' H x with mean(x) = means". H, the
    sum of squared second differences on a closed year, is circulant, so its pseudo-inverse is a Fourier series
    and only 12 monthly multipliers and the level are left to solve for.
    """
    mean = _mean_operator(leap)
    n = mean.shape[1]
    eigenvalues = (2 - 2 * np.cos(2 * np.pi * np.arange(n) / n)) ** 2
    first_row = np.fft.ifft(np.divide(1.0, eigenvalues, out=np.zeros(n), where=eigenvalues > 0)).real
    days = np.arange(n)
    pseudo = first_row[(days[:, np.newaxis] - days) % n]
    reach = np.column_stack([-pseudo @ mean.T, np.ones(n)])
    small = np.zeros((MONTHS + 1, MONTHS + 1))
    small[:MONTHS] = mean @ reach
    small[MONTHS, :MONTHS] = 1.0
    multipliers = np.linalg.inv(small)
    return reach @ multipliers[:, :MONTHS], pseudo + reach @ multipliers @ reach.T


def _with_exact_means(curve: FloatArray, means: FloatArray, leap: bool) -> FloatArray:
    """The curve with the last rounding errors of its monthly means (some 1e-10 of them) taken out."""
    return np.asarray(curve + (means - monthly_means(curve, leap))[month_of_day(leap)])


def _held_at_bound(means: FloatArray, lower: float, leap: bool) -> FloatArray:
    """The smoothest curve that stays at or above ``lower``: days that would go below are held there in turn."""
    months = month_of_day(leap)
    solution, give = _smoothest(leap)
    over = means - lower
    free_curve = solution @ over
    curve = free_curve
    held: BoolArray = (over <= 0)[months]
    for _ in range(_MAX_ROUNDS):
        below = (curve < -_TOUCHING * over.max()) & ~held
        if not below.any() and held.any():
            break
        held |= below
        for month in np.flatnonzero(over > 0):  # a month keeps at least its highest day
            days = np.flatnonzero(months == month)
            if held[days].all():
                held[days[np.argmax(curve[days])]] = False
        block = give[np.ix_(held, held)]
        ridge = _RIDGE * np.trace(block) / max(held.sum(), 1) * np.eye(int(held.sum()))
        curve = free_curve - give[:, held] @ np.linalg.solve(block + ridge, free_curve[held])
    curve = np.where(held, 0.0, np.maximum(curve, 0.0))
    now = monthly_means(curve, leap)
    scale = np.divide(over, now, out=np.zeros(MONTHS), where=now > 0)
    return np.asarray(lower + curve * scale[months])


@lru_cache(maxsize=512)
def _bounded_cached(means: tuple[float, ...], lower: float, leap: bool) -> FloatArray:
    values = np.array(means)
    curve = _with_exact_means(_smoothest(leap)[0] @ values, values, leap)
    if (curve < lower).any():
        curve = _held_at_bound(values, lower, leap)
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
        return _with_exact_means(_smoothest(leap)[0] @ values, values, leap)
    if (values < lower).any():
        raise ValueError(f"a monthly mean of {values.min():g} lies below the bound {lower:g}")
    return _bounded_cached(tuple(values.tolist()), lower, leap)


def curve_for_dates(means: npt.ArrayLike, dates: npt.NDArray[np.datetime64], *, lower: float | None = None) -> FloatArray:
    """Daily curve (D,) on consecutive ``dates`` (D,), each calendar year with its own number of days."""
    years = dates.astype("datetime64[Y]").astype(np.int64) + 1970
    day = (dates - dates.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    out = np.empty(dates.size)
    for year in range(int(years[0]), int(years[-1]) + 1):
        here = years == year
        out[here] = daily_curve(means, leap=is_leap(year), lower=lower)[day[here]]
    return out
