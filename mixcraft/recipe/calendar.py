"""The almanac of a place: its normal year, frost dates and a count of days that start and end rules search.

Day 0 is 1 January in the northern hemisphere and 1 July in the southern, so that day 0 always lies in winter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.cold import snow_depth
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import FrostDates, Place, Weather, bare_surface_temperature, daily_from_normals, frost_dates, soil_temperature
from mixcraft.place.series import day_of_year, days_between

from .covering import Span, shelter

Floats = NDArray[np.float64]

KEPT = 1000
"""So many things are kept of a normal year."""
SEARCH_DAYS = 1000
FIRST_YEAR = 2001
"""The calendar the almanac counts on; no card prints a year, and none of 2001-2003 is a leap year."""
YEAR = 365
SPRING_ENDS = 270
SPRING_BEGINS = 120
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


@dataclass(frozen=True)
class Almanac:
    """Normal year of a place on a count of days that starts in winter.

    `weather` has one year axis (1, `SEARCH_DAYS`); `daylength_h` (D,) from sunrise to sunset;
    frost days are day indices, None where no frost is expected; `keep` holds clocks and soil temperatures made in this year.
    """

    place: Place
    start: np.datetime64
    weather: Weather
    daylength_h: Floats
    last_spring_frost: int | None
    first_autumn_frost: int | None
    last_spring_frost_late: int | None
    first_autumn_frost_early: int | None
    keep: Shelf = field(default_factory=lambda: Shelf(KEPT), compare=False, repr=False)

    @property
    def snow_cm(self) -> Floats:
        """Snow on the ground in the normal year [cm], (1, `SEARCH_DAYS`)."""
        found: Floats = self.keep("snow", lambda: snow_depth(self.weather.tmean_c, self.weather.rain_mm))
        return found

    def soil_c(self, depth_m: float, over: Sequence[Span] = (), keep: Shelf | None = None) -> Floats:
        """Temperature of bare soil at a depth in the normal year [C], (1, `SEARCH_DAYS`), in the open or under covers; kept in
        `keep`, or else with the year."""
        air, keep = self.weather, self.keep if keep is None else keep
        found: Floats = keep(
            ("soil", depth_m, tuple((span.kind, span.on, span.off) for span in over)),
            lambda: soil_temperature(bare_soil(air, shelter(over, air.days).mean_c(air.tmean_c)), depth_m),
        )
        return found

    @property
    def winter(self) -> tuple[int, int] | None:
        """Day indices of the first frost of autumn and of the last of spring, before it; None where there are none."""
        if self.first_autumn_frost is None or self.last_spring_frost is None:
            return None
        return self.first_autumn_frost, self.last_spring_frost

    @property
    def hemisphere(self) -> str:
        """north or south."""
        return "north" if self.place.latitude_deg >= 0.0 else "south"

    def date(self, day: int) -> np.datetime64:
        """Calendar day of a day index."""
        return self.start + np.timedelta64(int(day), "D")

    def day(self, date: np.datetime64) -> int:
        """Day index of a calendar day."""
        return days_between(self.start, date)

    def dated(self, day: int) -> str:
        """Month and day of a day index, MM-DD; see `month_day`."""
        return str(self.date(day))[5:10]

    def words(self, day: int) -> str:
        """A day index in words, such as ``14 April``."""
        return day_words(self.date(day))

    def month_day(self, text: str, not_before: int = 0, hemisphere: str = "") -> int:
        """First day index at or after `not_before` with this month and day; moved six months for the other hemisphere."""
        month, day = int(text[:2]), int(text[3:])
        if hemisphere and hemisphere != self.hemisphere:
            month = (month + 5) % 12 + 1
            day = min(day, 28) if month == 2 else min(day, 30)
        for year in range(FIRST_YEAR - 1, FIRST_YEAR + 4):
            index = self.day(np.datetime64(f"{year}-{month:02d}-{day:02d}"))
            if index >= not_before:
                return index
        raise ValueError(text)

    @property
    def coldest_day(self) -> int:
        """Middle of the coldest month of the first winter; negative when that month lies before day 0."""
        month = int(np.argmin(self.place.normals.tmean_c)) + 1
        day = self.month_day(f"{month:02d}-15")
        return day - YEAR if day > SPRING_ENDS else day

    def first_autumn_frost_after(self, day: int) -> int:
        """First expected autumn frost at or after `day`."""
        assert self.first_autumn_frost is not None
        frost = self.first_autumn_frost
        while frost < day:
            frost += 365
        return frost


def day_words(date: np.datetime64) -> str:
    """A calendar day without its year, such as ``14 April``."""
    text = str(date.astype("datetime64[D]"))
    return f"{int(text[8:10])} {MONTHS[int(text[5:7]) - 1]}"


def bare_soil(weather: Weather, mean_c: Floats) -> Floats:
    """Surface temperature of bare soil (Y, D) [C] where the air's mean is `mean_c` (its own, or that under a cover)."""
    surface = bare_surface_temperature(weather.tmean_c, weather.tmin_c, weather.tmax_c, weather.radiation_mj)
    return np.asarray(surface + mean_c - weather.tmean_c)


MOST_PLACES = 4
_kept = Shelf(MOST_PLACES)
"""Almanacs of the last places: each holds some ten megabytes once many crops have been sown in it."""


def almanac(place: Place) -> Almanac:
    """The `Almanac` of `place`; the last ones made are kept, since every rule of a recipe asks."""
    found: Almanac = _kept(Same(place), lambda: _made(place))
    return found


def _made(place: Place) -> Almanac:
    south = place.latitude_deg < 0.0
    start = np.datetime64(f"{FIRST_YEAR - 1}-07-01" if south else f"{FIRST_YEAR}-01-01")
    weather = daily_from_normals(place, start, SEARCH_DAYS)
    return Almanac(place, start, weather, weather.daylength_h, *_frost_days(frost_dates(place), start))


def _frost_days(frost: FrostDates, start: np.datetime64) -> tuple[int | None, int | None, int | None, int | None]:
    """Last spring frost, first autumn frost (middle), late spring frost, early autumn frost as day indices.

    A spring frost lies in the first nine months of the count, else before its day 0; an autumn frost follows it.
    """
    first_doy = int(day_of_year(start))

    def index(doy: int) -> int:
        return (doy - first_doy) % YEAR

    spring = late = autumn = early = None
    if frost.last_spring is not None:
        spring = index(frost.last_spring.median)
        spring -= YEAR if spring > SPRING_ENDS else 0
        late = spring + (frost.last_spring.late - frost.last_spring.median) % YEAR
    if frost.first_autumn is not None:
        autumn = index(frost.first_autumn.median)
        autumn += YEAR if autumn < (spring if spring is not None else SPRING_BEGINS) else 0
        early = autumn - (frost.first_autumn.median - frost.first_autumn.early) % YEAR
    return spring, autumn, late, early
