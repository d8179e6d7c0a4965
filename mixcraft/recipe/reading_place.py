"""The place of a garden: built in, a spot by its coordinates, or monthly normals of one's own; frost dates that are known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.files import parse_quantity
from mixcraft.files.units import convert
from mixcraft.place import (
    NoPosition,
    Normals,
    Place,
    StatedFrost,
    UnknownPlace,
    frost_dates,
    parse_latitude,
    parse_longitude,
    place_at,
    reference_place,
)
from mixcraft.place.series import day_of_year
from mixcraft.place.spread import about_the_season

from .reader import Reader

Floats = NDArray[np.float64]

LATITUDES = (-66.5, 70.0)
LOWEST_M, HIGHEST_M = -430.0, 5500.0
SERIES = {
    "tmax": "tmax_c", "tmin": "tmin_c", "rain": "rain_mm", "wet_days": "wet_days", "sunshine": "sunshine_h_per_day",
    "radiation": "radiation_mj", "humidity": "humidity_pct", "wind": "wind_m_s",
}  # fmt: skip
"""Keys of a garden's normals and the series they are."""
HALVES = ("last_spring", "first_autumn")
HOTTEST_C = 55.0
"""A mean maximum above this was never known for a month on Earth; the bound of `Normals`."""


def read_place(reader: Reader, data: Mapping[str, Any]) -> Place | None:
    """The `Place` of a garden's checked data; None after a fault, which `reader` then holds."""
    before = len(reader.faults)
    made = READERS[data["kind"]](reader, data)
    if made is None or len(reader.faults) > before:
        return None
    return _with_frost(reader, made, data.get("frost") or {})


def _reference(reader: Reader, data: Mapping[str, Any]) -> Place | None:
    try:
        return reference_place(data["name"])
    except UnknownPlace as error:
        reader.fault(
            ("place", "name"), str(error), "place.unknown", found=data["name"], allowed="a built-in place",
            repair="`mixcraft places` lists them, `mixcraft places --near` the nearest; or write kind: coordinates with latitude "
            "and longitude, or kind: normals with twelve monthly values each",
        )  # fmt: skip
        return None


def _coordinates(reader: Reader, data: Mapping[str, Any]) -> Place | None:
    latitude, longitude = _latitude(reader, data), _longitude(reader, data)
    height = _elevation(reader, data) if "elevation" in data else None
    if latitude is None or longitude is None:
        return None
    return place_at(latitude, longitude, height, data.get("name", ""))


def _normals(reader: Reader, data: Mapping[str, Any]) -> Place | None:
    latitude, longitude = _latitude(reader, data), _longitude(reader, data)
    values = {key: _months(data, key) for key in SERIES if key in data}
    _check_temperatures(reader, data, values)
    height = _elevation(reader, data)
    if reader.faults or latitude is None or longitude is None:
        return None
    series = {SERIES[key]: months for key, months in values.items()}
    if "tmin_spread" in data:
        spread = np.array(data["tmin_spread"], dtype=float) * (convert(1.0, "F", "C") if data.get("units") == "us" else 1.0)
        series["tmin_sd_c"] = about_the_season(spread, values["tmin"])
    try:
        normals = Normals(**series, sources=(data.get("source", "the garden file"),))
    except ValueError as error:
        reader.fault(("place",), str(error), "place.normals", repair="check the value and the units of the place")
        return None
    return Place(data["name"], latitude, longitude, height, normals)


def _months(data: Mapping[str, Any], key: str) -> Floats:
    """Twelve monthly values in the units of the weather: C and mm."""
    values = np.array(data[key], dtype=float)
    if data.get("units") != "us":
        return values
    if key in ("tmax", "tmin"):
        return np.array([parse_quantity(f"{value:f} F", "temperature") for value in values])
    return convert(1.0, "in", "mm") * values if key == "rain" else values


def _check_temperatures(reader: Reader, data: Mapping[str, Any], values: Mapping[str, Floats]) -> None:
    """No month hotter than any on Earth, which values in Fahrenheit are; no minimum above the maximum."""
    if values["tmax"].max() > HOTTEST_C:
        month = int(values["tmax"].argmax())
        reader.fault(
            ("place", "tmax", month), f"a mean maximum of {values['tmax'][month]:g} C is hotter than anywhere on Earth",
            "place.normals", found=f"{data['tmax'][month]:g}", allowed=f"up to {HOTTEST_C:g} C",
            repair="if the temperatures are in F and the rain in inches, add `units: us` to the place",
        )  # fmt: skip
        return
    for month, (high, low) in enumerate(zip(values["tmax"], values["tmin"], strict=True)):
        if low > high:
            reader.fault(
                ("place", "tmin", month), f"the mean minimum {low:g} C is above the mean maximum {high:g} C",
                "place.normals", found=f"{data['tmin'][month]:g}", allowed=f"below {data['tmax'][month]:g}",
                repair="swap the two values",
            )  # fmt: skip


def _latitude(reader: Reader, data: Mapping[str, Any]) -> float | None:
    found = _degrees(reader, data, "latitude", parse_latitude)
    if found is not None and not LATITUDES[0] <= found <= LATITUDES[1]:
        reader.fault(
            ("place", "latitude"), f"no bed is reckoned at a latitude of {found:g}", "place.latitude",
            found=str(data["latitude"]), allowed=f"from {LATITUDES[0]:g} to {LATITUDES[1]:g}",
            repair="check latitude and longitude, and N and S",
        )  # fmt: skip
    return found


def _longitude(reader: Reader, data: Mapping[str, Any]) -> float | None:
    """Longitude [deg]; NaN where it is not given."""
    return _degrees(reader, data, "longitude", parse_longitude) if "longitude" in data else float("nan")


def _degrees(reader: Reader, data: Mapping[str, Any], key: str, parse: Callable[[str | float], float]) -> float | None:
    try:
        return parse(data[key])
    except NoPosition as error:
        example = "44.9 N, 12 S or 44°54'N" if key == "latitude" else "93.2 W, 8.3 E or 93°12'W"
        reader.fault(
            ("place", key), str(error), "place.position", found=str(data[key]), allowed=f"a {key} such as {example}",
            repair=f"write it like {example}, or as a number of degrees",
        )  # fmt: skip
        return None


def _elevation(reader: Reader, data: Mapping[str, Any]) -> float:
    """Height above the sea [m]; some gardens lie below it."""
    text = str(data.get("elevation", "0 m")).strip()
    try:
        height = parse_quantity(text.removeprefix("-"), "length") * (-1.0 if text.startswith("-") else 1.0)
        if LOWEST_M <= height <= HIGHEST_M:
            return height
    except ValueError:
        pass
    reader.fault(
        ("place", "elevation"), f"{text!r} is no height of a garden above the sea", "place.elevation", found=text,
        allowed=f"{LOWEST_M:g} m to {HIGHEST_M:g} m", repair='write it like "450 m" or "-5 m"',
    )  # fmt: skip
    return 0.0


def _with_frost(reader: Reader, place: Place, data: Mapping[str, Any]) -> Place | None:
    """The place with the frost dates that the garden states, or None where they cannot be."""
    before = len(reader.faults)
    last, first = (_stated(reader, data, half) for half in HALVES)
    if len(reader.faults) > before:
        return None
    if last is None and first is None:
        return place
    known = replace(place, last_spring_frost=last, first_autumn_frost=first)
    try:
        frost_dates(known)
    except ValueError as error:
        usual = frost_dates(place)
        half = HALVES[0] if last is not None else HALVES[1]
        found = usual.last_spring if last is not None else usual.first_autumn
        reader.fault(
            ("place", "frost", half), f"frost cannot fall so with these normals: {error}", "place.frost", found=str(data[half]),
            allowed="a date at which frost comes in every other year",
            repair="check month and day" + (f"; reckoned from the normals it is {_month_day(found.median)}" if found else ""),
        )  # fmt: skip
        return None
    return known


def _stated(reader: Reader, data: Mapping[str, Any], half: str) -> StatedFrost | None:
    """One half's dates; the spread of years alone, without the middle one, is a fault."""
    days = {key: _doy(reader, data, key) for key in (half, f"{half}_early", f"{half}_late") if key in data}
    if days and half not in days:
        key = next(iter(days))
        reader.fault(
            ("place", "frost", key), f"`{key}` needs the date of the middle year too", "place.frost", found=str(data[key]),
            allowed=f"{half} beside it", repair=f"add `{half}:`, such as `{half}: {'05-02' if half == HALVES[0] else '10-14'}`",
        )  # fmt: skip
        return None
    return StatedFrost(days[half], days.get(f"{half}_early"), days.get(f"{half}_late")) if days else None


def _doy(reader: Reader, data: Mapping[str, Any], key: str) -> int:
    text = reader.month_day(data[key], ("place", "frost", key))
    return int(day_of_year(np.datetime64(f"2001-{text}", "D")))


def _month_day(doy: int) -> str:
    return str(np.datetime64("2001-01-01", "D") + (doy - 1)).partition("-")[2]


READERS: dict[str, Callable[[Reader, Mapping[str, Any]], Place | None]] = {
    "reference": _reference, "coordinates": _coordinates, "normals": _normals,
}  # fmt: skip
