"""The user's own daily weather from a CSV file.

Columns, in any order, named in the first line (``,``, ``;`` or tab between them; ``#`` lines are passed
over):

===============  =============================================================  ==========
``date``         YYYY-MM-DD, every day once, in order                           needed
``tmin_c``       minimum temperature [C]                                        needed
``tmax_c``       maximum temperature [C]                                        needed
``rain_mm``      rain [mm]                                                      needed
``tmean_c``      mean temperature [C]                                           else (tmax + tmin) / 2
``radiation_mj`` global radiation [MJ/(m2 d)]                                   else from sunshine
``sunshine_h``   bright sunshine [h]                                            else from the temperature
range
``et0_mm``       reference evapotranspiration [mm]                              else FAO-56 Penman-Monteith
``humidity_pct`` mean relative humidity [%], for ET0                            else dew point at tmin
``wind_m_s``     wind speed at 2 m [m/s], for ET0                               else 2 m/s
===============  =============================================================  ==========
"""

from __future__ import annotations

import csv
import os
from dataclasses import dataclass

import numpy as np

from mixcraft.files.faults import Fault, FileFaults
from mixcraft.files.near import meant
from mixcraft.place.et0 import et0_penman_monteith, vapour_pressure_from_mean_humidity
from mixcraft.place.model import FloatArray
from mixcraft.place.readers_common import (
    MAX_FAULTS,
    fault,
    file_fault,
    read_lines,
    season_dates,
    season_rows,
)
from mixcraft.place.series import DateArray, Day, Weather, as_day, day_of_year, daylength
from mixcraft.place.sun import (
    daylight_hours,
    extraterrestrial_radiation,
    hargreaves_radiation,
    solar_radiation_from_sunshine,
)

NEEDED = ("date", "tmin_c", "tmax_c", "rain_mm")
# column -> (lowest, highest) value of a day anywhere on Earth
BOUNDS = {
    "tmin_c": (-90.0, 60.0),
    "tmax_c": (-90.0, 60.0),
    "tmean_c": (-90.0, 60.0),
    "rain_mm": (0.0, 2000.0),
    "radiation_mj": (0.0, 50.0),
    "sunshine_h": (0.0, 24.0),
    "et0_mm": (0.0, 30.0),
    "humidity_pct": (0.0, 100.0),
    "wind_m_s": (0.0, 60.0),
}
_SLACK_C = 0.05  # rounding between tmin, tmean and tmax


def weather_from_csv(
    path: str | os.PathLike[str],
    latitude_deg: float,
    elevation_m: float = 0.0,
    *,
    start: Day | None = None,
    n_days: int | None = None,
    coastal: bool = False,
) -> Weather:
    """Daily weather from a CSV file with the columns told at the head of this module.

    ``latitude_deg`` [deg] and ``elevation_m`` [m] of the station. Without ``start`` and ``n_days`` all days
    come as one year, Y = 1. With both, every season of ``n_days`` that begins on the month and day of
    ``start`` and is covered in full becomes a row, dated as from ``start``.
    Raises ``FileFaults`` with all faults at once, each with its line and repair; ``ValueError`` when only
    one of
    ``start`` and ``n_days`` is given.
    """
    if (start is None) != (n_days is None):
        raise ValueError("a season needs both start and n_days")
    name = os.fspath(path)
    dates, columns = _read_columns(name, read_lines(path))
    values, notes = _completed(columns, dates, latitude_deg, elevation_m, coastal)
    if start is None or n_days is None:
        rows, shown = np.arange(dates.size)[np.newaxis], dates
    else:
        first = as_day(start)
        rows, shown = season_rows(dates, first, n_days), season_dates(first, n_days)
        if not rows.size:
            raise file_fault(
                name,
                0,
                "too-short",
                f"the file has no {n_days} days in a row from {str(first)[5:]}",
                "add days, or ask for a shorter season",
                found=f"{dates[0]} to {dates[-1]}",
            )
    return Weather(
        dates=shown,
        daylength_h=daylength(latitude_deg, shown),
        source=f"{os.path.basename(name)}, {dates[0]} to {dates[-1]}",
        notes=notes,
        **{key: series[rows] for key, series in values.items()},  # type: ignore[arg-type]
    )


def _header(name: str, lines: list[str]) -> tuple[int, list[str], str]:
    """Index of the header line, column names and delimiter."""
    for index, line in enumerate(lines):
        if line.strip() and not line.startswith("#"):
            delimiter = max(",;\t", key=line.count)
            names = [cell.strip().lower() for cell in next(csv.reader([line], delimiter=delimiter))]
            _check_header(name, index + 1, line, names)
            return index, names, delimiter
    raise file_fault(name, 0, "empty", "the weather file has no lines", f"begin with {','.join(NEEDED)}")


def _check_header(name: str, line: int, text: str, names: list[str]) -> None:
    known = (*NEEDED, *(column for column in BOUNDS if column not in NEEDED))
    found: list[Fault] = []
    for column in dict.fromkeys(names):
        at = max(text.lower().find(column), 0) + 1
        if column not in known:
            said = f"the column `{column}` is not known"
            repair = meant(column, known) or "take it out, or name it as one of the columns"
            allowed = ", ".join(known)
            found.append(fault(name, line, "column", said, repair, allowed=allowed, text=text, column=at))
        elif names.count(column) > 1:
            said = f"the column `{column}` stands twice"
            found.append(fault(name, line, "column", said, "take one out", text=text, column=at))
    for column in NEEDED:
        if column not in names:
            said = f"there is no column `{column}`"
            found.append(fault(name, line, "column", said, f"add {column}", text=text))
    if found:
        raise FileFaults(found)


@dataclass
class _Line:
    """One line of the file: where it stands, its text, and its cells by column."""

    name: str
    number: int
    text: str
    cells: dict[str, str]

    def fault(self, rule: str, message: str, repair: str, *, column: str = "date", allowed: str = "") -> Fault:
        before = list(self.cells).index(column)
        at = sum(len(cell) + 1 for cell in list(self.cells.values())[:before]) + 1
        found = self.cells[column].strip()
        return fault(self.name, self.number, rule, message, repair, found=found, allowed=allowed, text=self.text, column=at)


def _read_columns(name: str, lines: list[str]) -> tuple[DateArray, dict[str, FloatArray]]:
    head, names, delimiter = _header(name, lines)
    columns = [column for column in names if column != "date"]
    found: list[Fault] = []
    numbers: list[list[float]] = []
    days: list[np.datetime64] = []
    for index in range(head + 1, len(lines)):
        text = lines[index]
        if not text.strip() or text.startswith("#"):
            continue
        cells = next(csv.reader([text], delimiter=delimiter))
        if len(cells) != len(names):
            said = f"this line has {len(cells)} values, the header has {len(names)}"
            repair = "write one value per column; use a point in decimal numbers"
            found.append(fault(name, index + 1, "cells", said, repair, text=text))
        else:
            line = _Line(name, index + 1, text, dict(zip(names, cells, strict=True)))
            values = {column: _number(line.cells[column]) for column in columns}
            found += _read_day(line, days)
            found += _check_day(line, values)
            numbers.append(list(values.values()))
        if len(found) > MAX_FAULTS:
            break
    if not found and not days:
        found.append(fault(name, 0, "empty", "the weather file has no days", "write one line per day"))
    if found:
        raise FileFaults(found)
    table = np.array(numbers)
    return np.array(days, dtype="datetime64[D]"), {column: table[:, k] for k, column in enumerate(columns)}


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return float("nan")


def _read_day(line: _Line, days: list[np.datetime64]) -> list[Fault]:
    """Append the date of a line to ``days``; the faults of it."""
    text = line.cells["date"].strip()
    try:
        day = np.datetime64(text, "D")
        if len(text) != len("2000-01-01") or np.isnat(day):
            raise ValueError(text)
    except ValueError:
        return [line.fault("date", "this is not a date", "write YYYY-MM-DD")]
    before = days[-1] if days else None
    days.append(day)
    if before is None or day == before + 1:
        return []
    if day > before + 1:
        gap = f"the days from {before + 1} to {day - 1} are missing"
        return [line.fault("gap", gap, "add them; fill short gaps from a neighbour station")]
    return [line.fault("order", f"{day} does not follow {before}", "sort by date, each day once")]


def _check_day(line: _Line, values: dict[str, float]) -> list[Fault]:
    found = []
    for column, value in values.items():
        low, high = BOUNDS[column]
        if not low <= value <= high:
            said = f"{column} {'is no number' if np.isnan(value) else f'is {value:g}'}"
            repair = "write a number within the limits; fill a missing value from the days beside it"
            found.append(line.fault("value", said, repair, column=column, allowed=f"{low:g} to {high:g}"))
    if found:
        return found
    tmin, tmax = values["tmin_c"], values["tmax_c"]
    if tmin > tmax + _SLACK_C:
        said = f"tmin_c {tmin:g} is above tmax_c {tmax:g}"
        return [line.fault("order", said, "swap the two, or mend the reading", column="tmin_c")]
    if not tmin - _SLACK_C <= values.get("tmean_c", tmin) <= tmax + _SLACK_C:
        said = f"tmean_c {values['tmean_c']:g} does not lie between tmin_c and tmax_c"
        return [line.fault("order", said, "mend the reading, or leave the column out", column="tmean_c")]
    return []


def _completed(
    columns: dict[str, FloatArray], dates: DateArray, latitude_deg: float, elevation_m: float, coastal: bool
) -> tuple[dict[str, FloatArray], tuple[str, ...]]:
    """All series (D,) of a Weather, and notes on what was derived."""
    notes = []
    tmin, tmax = columns["tmin_c"], np.maximum(columns["tmax_c"], columns["tmin_c"])
    ra = extraterrestrial_radiation(latitude_deg, day_of_year(dates))
    if "radiation_mj" in columns:
        radiation = columns["radiation_mj"]
    elif "sunshine_h" in columns:
        notes.append("radiation: from sunshine, FAO-56 Eq. 35")
        day = daylight_hours(latitude_deg, day_of_year(dates))
        radiation = solar_radiation_from_sunshine(columns["sunshine_h"], day, ra)
    else:
        notes.append("radiation: from the temperature range, FAO-56 Eq. 50")
        radiation = hargreaves_radiation(ra, tmax, tmin, coastal=coastal)
    et0 = columns.get("et0_mm")
    if et0 is None:
        notes.append("evapotranspiration: FAO-56 Penman-Monteith")
        humidity, wind = columns.get("humidity_pct"), columns.get("wind_m_s")
        ea = None if humidity is None else vapour_pressure_from_mean_humidity(tmax, tmin, humidity)
        et0 = et0_penman_monteith(tmax, tmin, radiation, ra, elevation_m, ea_kpa=ea, wind_2m=wind)
    series = {
        "tmean_c": columns.get("tmean_c", (tmax + tmin) / 2),
        "tmin_c": tmin,
        "tmax_c": tmax,
        "radiation_mj": radiation,
        "rain_mm": columns["rain_mm"],
        "et0_mm": et0,
    }
    return series, tuple(notes)
