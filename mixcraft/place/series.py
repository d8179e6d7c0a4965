"""Daily weather: the record that the season model runs on, and the calendar helpers around it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, fields

import numpy as np
import numpy.typing as npt

from mixcraft.place.model import FloatArray
from mixcraft.place.sun import photoperiod_hours

DateArray = npt.NDArray[np.datetime64]
IntArray = npt.NDArray[np.int64]
Day = str | dt.date | np.datetime64

_YEARLY = ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")


@dataclass(frozen=True)
class Weather:
    """Daily weather of one or more years (realisations) on the same dates.

    ``dates`` (D,) datetime64[D]; ``daylength_h`` (D,) sunrise to sunset [h].
    Of shape (Y, D): ``tmean_c``, ``tmin_c``, ``tmax_c`` [C], ``radiation_mj`` global radiation [MJ/(m2 d)],
    ``rain_mm`` and ``et0_mm`` reference evapotranspiration [mm/d].
    ``source`` says in one line where the numbers come from; ``notes`` what was filled in; ``drawn`` that it is
    stochastic, so that more of it can be drawn.
    Raises ``ValueError`` when shapes do not fit.
    """

    dates: DateArray
    tmean_c: FloatArray
    tmin_c: FloatArray
    tmax_c: FloatArray
    radiation_mj: FloatArray
    rain_mm: FloatArray
    et0_mm: FloatArray
    daylength_h: FloatArray
    source: str = ""
    notes: tuple[str, ...] = field(default=())
    drawn: bool = False

    def __post_init__(self) -> None:
        days = len(self.dates)
        shape = np.shape(self.tmean_c)
        for item in fields(self):
            values = getattr(self, item.name)
            if item.name in ("source", "notes", "drawn"):
                continue
            wanted = shape if item.name in _YEARLY else (days,)
            if np.shape(values) != wanted or wanted[-1:] != (days,) or (item.name in _YEARLY and len(shape) != 2):
                raise ValueError(f"{item.name} of the weather has shape {np.shape(values)}, wanted {wanted} of {days} days")
            array = np.array(values)
            array.setflags(write=False)
            object.__setattr__(self, item.name, array)

    @property
    def years(self) -> int:
        """Number of years (realisations) Y."""
        return int(self.tmean_c.shape[0])

    @property
    def days(self) -> int:
        """Number of days D."""
        return int(self.dates.size)

    def day(self, date: np.datetime64) -> int:
        """Index of a date among the days, negative before the first."""
        return days_between(self.dates[0], date)


def days_between(first: np.datetime64, date: np.datetime64) -> int:
    """Days from one date to another."""
    return int((date - first).astype("timedelta64[D]").astype(np.int64))


def as_day(day: Day) -> np.datetime64[dt.date]:
    """A day as datetime64[D], from ``YYYY-MM-DD``, a date or a datetime64. Raises ``ValueError``."""
    try:
        text = day if isinstance(day, str) else str(day)
        return np.datetime64(text[:10], "D")
    except ValueError:
        raise ValueError(f"{day!r} is not a day; write it as YYYY-MM-DD, for example 2026-03-15") from None


def date_range(start: Day, n_days: int) -> DateArray:
    """Consecutive days (n_days,) from ``start``. Raises ``ValueError`` for fewer than 1 day."""
    if n_days < 1:
        raise ValueError(f"weather needs at least 1 day, found {n_days}")
    return np.asarray(as_day(start) + np.arange(n_days))


def day_of_year(dates: DateArray | np.datetime64) -> IntArray:
    """Day of the year, 1-366, of dates (D,) or of one date."""
    first = dates.astype("datetime64[Y]").astype("datetime64[D]")
    return np.asarray((dates - first).astype(np.int64) + 1)


def daylength(latitude_deg: float, dates: DateArray) -> FloatArray:
    """Sunrise to sunset [h] on dates (D,)."""
    return photoperiod_hours(latitude_deg, day_of_year(dates))
