"""Weather from an EPW file, the open hourly format of EnergyPlus (typical or actual years)."""

from __future__ import annotations

import os
from dataclasses import dataclass

import numpy as np

from mixcraft.files.faults import Fault, FileFaults
from mixcraft.place._constants import constant
from mixcraft.place.et0 import et0_penman_monteith, saturation_vapour_pressure, wind_at_2m
from mixcraft.place.model import FloatArray
from mixcraft.place.readers_common import MAX_FAULTS, fault, file_fault, read_lines
from mixcraft.place.series import DateArray, Day, Weather, as_day, day_of_year, daylength
from mixcraft.place.sun import extraterrestrial_radiation

_HEADER_LINES = 8
_HOURS = 24
_COMMON_YEAR, _LEAP_YEAR = 2001, 2004
# field of the data lines -> (place in the line, lowest, value from which it counts as missing)
_FIELDS = {
    "dry_bulb_c": (6, -90.0, 99.0),
    "dew_point_c": (7, -90.0, 99.0),
    "global_wh": (13, 0.0, 9999.0),
    "wind_m_s": (21, 0.0, 999.0),
}
_RAIN_FIELD, _RAIN_MISSING = 33, 999.0


@dataclass(frozen=True)
class EpwStation:
    """Where an EPW file was measured: name, latitude and longitude [deg], elevation [m]."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float


def epw_station(path: str | os.PathLike[str]) -> EpwStation:
    """Station of an EPW file, from its LOCATION line. Raises ``FileFaults``."""
    return _station(os.fspath(path), read_lines(path))


def weather_from_epw(path: str | os.PathLike[str], *, start: Day | None = None, n_days: int | None = None) -> Weather:
    """Daily weather, Y = 1, from the hours of an EPW file.

    Without ``start`` the days of the file, 1 January to 31 December, dated in a year of that length. With
    ``start`` (and ``n_days``, by default a whole year) the year is taken as coming round again and again,
    so a season may run over New Year. Rain is often missing in EPW files; it is then 0 and a note says so.
    ET0 is FAO-56 Penman-Monteith with the file's dew point and its wind brought from 10 m to 2 m.
    Raises ``FileFaults`` with all faults at once, each with its line.
    """
    name = os.fspath(path)
    lines = read_lines(path)
    station = _station(name, lines)
    hours, rain = _hours(name, lines)
    daily = {key: values.reshape(-1, _HOURS) for key, values in hours.items()}
    year = _LEAP_YEAR if len(daily["dry_bulb_c"]) == 366 else _COMMON_YEAR
    dates = np.datetime64(f"{year}-01-01", "D") + np.arange(len(daily["dry_bulb_c"]))
    index = np.arange(dates.size)
    if start is not None:
        shown = as_day(start) + np.arange(n_days if n_days is not None else dates.size)
        index = _days_of_file(shown, dates)
        dates = shown
    elif n_days is not None:
        dates, index = dates[:n_days], index[:n_days]
    return _weather(station, daily, rain, dates, index)


def _weather(
    station: EpwStation,
    daily: dict[str, FloatArray],
    rain: FloatArray | None,
    dates: DateArray,
    index: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> Weather:
    dry = daily["dry_bulb_c"][index]
    tmax, tmin = dry.max(axis=1), dry.min(axis=1)
    to_mj = constant("joule_per_watt_hour") / 1e6
    radiation = daily["global_wh"][index].sum(axis=1) * to_mj
    ra = extraterrestrial_radiation(station.latitude_deg, day_of_year(dates))
    ea = saturation_vapour_pressure(daily["dew_point_c"][index]).mean(axis=1)
    wind = wind_at_2m(daily["wind_m_s"][index].mean(axis=1))
    et0 = et0_penman_monteith(tmax, tmin, radiation, ra, station.elevation_m, ea_kpa=ea, wind_2m=wind)
    notes = () if rain is not None else ("rain: none in the file, taken as 0",)
    fallen = np.zeros(dates.size) if rain is None else rain.reshape(-1, _HOURS).sum(axis=1)[index]
    return Weather(
        dates=dates,
        tmean_c=dry.mean(axis=1)[np.newaxis],
        tmin_c=tmin[np.newaxis],
        tmax_c=tmax[np.newaxis],
        radiation_mj=radiation[np.newaxis],
        rain_mm=fallen[np.newaxis],
        et0_mm=et0[np.newaxis],
        daylength_h=daylength(station.latitude_deg, dates),
        source=f"EPW file of {station.name}",
        notes=notes,
    )


def _station(name: str, lines: list[str]) -> EpwStation:
    cells = lines[0].split(",") if lines else []
    if len(cells) < 10 or cells[0].strip().upper() != "LOCATION":
        raise file_fault(
            name,
            1,
            "epw-header",
            "this is no EPW file: its first line does not begin with LOCATION",
            "take a .epw file, or write the days as a CSV file",
        )
    try:
        latitude, longitude, elevation = (float(cells[k]) for k in (6, 7, 9))
    except ValueError:
        raise file_fault(
            name,
            1,
            "epw-header",
            "the LOCATION line has no latitude, longitude and elevation",
            "write them as numbers in its 7th, 8th and 10th place",
        ) from None
    return EpwStation(cells[1].strip(), latitude, longitude, elevation)


def _hours(name: str, lines: list[str]) -> tuple[dict[str, FloatArray], FloatArray | None]:
    """The hourly fields (hours,) and rain, or None where the file has none."""
    data = [(k + 1, line) for k, line in enumerate(lines) if k >= _HEADER_LINES and line.strip()]
    if len(data) not in (365 * _HOURS, 366 * _HOURS):
        raise file_fault(
            name,
            0,
            "epw-hours",
            f"the file has {len(data)} hours, a year has 8760 or 8784",
            "take a file of a whole year of hourly values",
        )
    found: list[Fault] = []
    table = np.empty((len(data), len(_FIELDS)))
    rain = np.zeros(len(data))
    for row, (line, text) in enumerate(data):
        cells = text.split(",")
        for column, (field, (place, low, missing)) in enumerate(_FIELDS.items()):
            value = _cell(cells, place)
            table[row, column] = value
            if not low <= value < missing:
                found.append(
                    fault(
                        name,
                        line,
                        "epw-value",
                        f"{field} (field {place + 1}) is missing or out of bounds",
                        "fill the hour from the hours beside it",
                        found=cells[place] if place < len(cells) else "",
                        text=text,
                        column=sum(len(cell) + 1 for cell in cells[:place]) + 1,
                    )
                )
        rain[row] = _cell(cells, _RAIN_FIELD)
        if len(found) > MAX_FAULTS:
            break
    if found:
        raise FileFaults(found)
    known = (rain >= 0) & (rain < _RAIN_MISSING)
    has_rain = bool(known.all() and rain.any())
    return {field: table[:, k] for k, field in enumerate(_FIELDS)}, rain if has_rain else None


def _cell(cells: list[str], place: int) -> float:
    try:
        return float(cells[place])
    except (IndexError, ValueError):
        return float("nan")


def _days_of_file(shown: DateArray, dates: DateArray) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Index into the file's days for each date, by month and day; 29 February is 28 February if need be."""
    month_day = {str(day)[5:]: k for k, day in enumerate(dates)}
    month_day.setdefault("02-29", month_day["02-28"])
    return np.array([month_day[str(day)[5:]] for day in shown])
