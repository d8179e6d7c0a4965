"""What a place is: where it lies and its monthly climate normals."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

MONTHS = 12
DAYS = 365
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

# series name -> (lowest, highest) value that a month may have anywhere on Earth
_BOUNDS: dict[str, tuple[float, float]] = {
    "tmax_c": (-60.0, 55.0),
    "tmin_c": (-70.0, 45.0),
    "rain_mm": (0.0, 4000.0),
    "wet_days": (0.0, 31.0),
    "sunshine_h_per_day": (0.0, 24.0),
    "radiation_mj": (0.0, 45.0),
    "humidity_pct": (0.0, 100.0),
    "wind_m_s": (0.0, 40.0),
    "tmax_sd_c": (0.1, 20.0),
    "tmin_sd_c": (0.1, 20.0),
}
_REQUIRED = ("tmax_c", "tmin_c", "rain_mm")


def frozen_array(values: npt.ArrayLike) -> FloatArray:
    """A read-only float copy of ``values``."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def _checked_series(name: str, values: Any) -> FloatArray:
    try:
        array = frozen_array(values)
    except (TypeError, ValueError):
        raise ValueError(f"{name} must be {MONTHS} numbers, January to December") from None
    if array.shape != (MONTHS,):
        found = array.size if array.ndim == 1 else f"shape {array.shape}"
        raise ValueError(f"{name} must have {MONTHS} monthly values, January to December, found {found}")
    low, high = _BOUNDS[name]
    for month, value in zip(MONTH_NAMES, array, strict=True):
        if not low <= value <= high:
            raise ValueError(f"{name} of {month} is {value:g}, allowed is {low:g} to {high:g}")
    return array


@dataclass(frozen=True, eq=False)
class Normals:
    """Monthly climate normals, each an array of shape (12,), January to December.

    ``tmax_c``, ``tmin_c``: mean daily maximum and minimum air temperature [C].
    ``rain_mm``: precipitation of the month [mm].
    ``wet_days``: days of the month with 1 mm or more [d].
    ``sunshine_h_per_day``: mean bright sunshine [h/d].
    ``radiation_mj``: mean global radiation on the flat [MJ/(m2 d)]; goes before sunshine.
    ``humidity_pct``: mean relative humidity [%].  ``wind_m_s``: mean wind speed at 2 m [m/s].
    ``tmax_sd_c``, ``tmin_sd_c``: standard deviation of the daily values about the course of the season [C]; what is
    published is mostly that within a month, which counts the season's own rise and fall too:
    :func:`~mixcraft.place.spread.about_the_season` takes it off.
    ``sources``: one line per series, ``series: source key, where, quality``.

    Equal and hashed by content. Raises ``ValueError`` naming series, month and allowed range.
    """

    tmax_c: FloatArray
    tmin_c: FloatArray
    rain_mm: FloatArray
    wet_days: FloatArray | None = None
    sunshine_h_per_day: FloatArray | None = None
    radiation_mj: FloatArray | None = None
    humidity_pct: FloatArray | None = None
    wind_m_s: FloatArray | None = None
    tmax_sd_c: FloatArray | None = None
    tmin_sd_c: FloatArray | None = None
    sources: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for item in fields(self):
            if item.name not in _BOUNDS:
                continue
            values = getattr(self, item.name)
            if values is None:
                if item.name in _REQUIRED:
                    raise ValueError(f"{item.name} is needed: {MONTHS} monthly values, January to December")
                continue
            object.__setattr__(self, item.name, _checked_series(item.name, values))
        object.__setattr__(self, "sources", tuple(self.sources))
        for month, high, low in zip(MONTH_NAMES, self.tmax_c, self.tmin_c, strict=True):
            if high < low:
                raise ValueError(f"tmax_c of {month} ({high:g}) is below tmin_c ({low:g}); swap the two series")

    def _content(self) -> tuple[bytes | tuple[str, ...] | None, ...]:
        values = (getattr(self, item.name) for item in fields(self))
        return tuple(v.tobytes() if isinstance(v, np.ndarray) else v for v in values)

    def __eq__(self, other: object) -> bool:
        return self._content() == other._content() if isinstance(other, Normals) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._content())

    @property
    def tmean_c(self) -> FloatArray:
        """Mean temperature (12,) [C], half of maximum plus minimum (FAO-56 Eq. 9)."""
        return (self.tmax_c + self.tmin_c) / 2


@dataclass(frozen=True)
class StatedFrost:
    """A frost date that somebody knows: days of a common year 1-365, None where not known.

    In one year of ten the frost comes before ``early``, in one of ten after ``late``. Raises ``ValueError``.
    """

    median: int
    early: int | None = None
    late: int | None = None

    def __post_init__(self) -> None:
        for label in ("median", "early", "late"):
            day = getattr(self, label)
            if day is not None and not 1 <= day <= DAYS:
                raise ValueError(f"{label} of a frost date is day {day}, allowed is 1 to {DAYS}")


@dataclass(frozen=True)
class TakenFrom:
    """The reference place that a spot has its normals of: how far off [km], and how much higher the spot lies [m]."""

    name: str
    country: str
    distance_km: float
    rise_m: float
    cooler_c: float


@dataclass(frozen=True)
class Place:
    """A spot on Earth with its climate.

    ``latitude_deg`` north positive [deg], ``longitude_deg`` east positive [deg], ``elevation_m`` above sea
    [m].
    ``longitude_deg`` may be NaN where it is not known; the spread of minima is then that of the annual range alone.
    ``coastal``: at or near a sea whose air it breathes; matters only where radiation is guessed from
    temperature.
    ``last_spring_frost``, ``first_autumn_frost``: air frost dates known of this spot, which go before computed ones.
    ``taken_from``: where its normals are from when they are not its own.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    normals: Normals
    climate: str = ""
    notes: tuple[str, ...] = field(default=())
    coastal: bool = False
    last_spring_frost: StatedFrost | None = None
    first_autumn_frost: StatedFrost | None = None
    taken_from: TakenFrom | None = None

    def __post_init__(self) -> None:
        for label, value, low, high in (
            ("latitude_deg", self.latitude_deg, -90.0, 90.0),
            ("longitude_deg", self.longitude_deg, -180.0, 180.0),
            ("elevation_m", self.elevation_m, -450.0, 6000.0),
        ):
            if label == "longitude_deg" and np.isnan(value):
                continue
            if not low <= value <= high:
                raise ValueError(f"{label} of {self.name} is {value:g}, allowed is {low:g} to {high:g}")

    @property
    def southern(self) -> bool:
        """True when the place lies south of the equator."""
        return self.latitude_deg < 0
