"""`mixcraft places`: the built-in places, one of them, those near a spot, or the place of a garden, with frost dates."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from mixcraft.files import UsageError, convert
from mixcraft.recipe.calendar import MONTHS

if TYPE_CHECKING:
    from mixcraft.place import NearPlace, Place
    from mixcraft.place.frost import FrostDate, FrostDates
    from mixcraft.place.library import Entry
    from mixcraft.words.amounts import Units

FEET_IN_A_MILE = 5280
NEAREST = 5
FAR_KM = 150
MANY = 60


def places(args: Namespace) -> int:
    """List the built-in places, or show one, those near a spot, those of a country, or the place of a garden file."""
    from mixcraft.place.library import entries

    units: Units = args.units
    if args.near:
        print(near_text(" ".join(args.near), units))
    elif not args.name:
        print(list_text(list(entries().values()), units))
    elif args.name.endswith((".yaml", ".yml")):
        print(garden_text(args.name, units))
    else:
        of_country = [e for e in entries().values() if e.country.casefold() == args.name.strip().casefold()]
        print(list_text(of_country, units) if len(of_country) > 1 else place_text(_named(args.name), units))
    return 0


def _named(name: str) -> Place:
    from mixcraft.place import UnknownPlace, reference_place

    try:
        return reference_place(name)
    except UnknownPlace as error:
        raise UsageError(str(error)) from None


def list_text(found: list[Entry], units: Units = "metric") -> str:
    """One line a place: name, country, where it lies, climate."""
    lines = [
        f"{e.names[0]:32s} {e.country:22s} {where_text(e.latitude_deg, e.longitude_deg):>18s} "
        f"{_height(e.elevation_m, units):>8s}  {e.climate}"
        for e in found
    ]
    hint = "mixcraft places NAME shows one, COUNTRY those of a country, --near 44.9 N 93.2 W the nearest, FILE that of a garden"
    return "\n".join([*lines, f"{len(found)} places; {hint}"])


def where_text(latitude_deg: float, longitude_deg: float) -> str:
    """Degrees with their letters; a longitude that is not known (NaN) is left out."""
    north = f"{abs(latitude_deg):.2f} {'N' if latitude_deg >= 0 else 'S'}"
    if longitude_deg != longitude_deg:  # NaN
        return north
    return f"{north} {abs(longitude_deg):.2f} {'E' if longitude_deg >= 0 else 'W'}"


def _height(metres: float, units: Units) -> str:
    return f"{metres:.0f} m" if units == "metric" else f"{convert(metres, 'm', 'ft'):.0f} ft"


def near_text(text: str, units: Units = "metric") -> str:
    """The nearest built-in places to a spot, and what the spot takes from the nearest."""
    from mixcraft.place import NoPosition, nearest_places, parse_position, place_at

    try:
        latitude, longitude, height = parse_position(text)
    except NoPosition as error:
        raise UsageError(f"--near: {error}") from None
    near = nearest_places(latitude, longitude, height, NEAREST)
    lines = [f"nearest to {where_text(latitude, longitude)}" + (f", {_height(height, units)}" if height is not None else "")]
    lines += [_near_line(n, height, units) for n in near]
    if near[0].distance_km > FAR_KM:
        lines.append(
            "  none lies near: if you have normals of your own, write them into the garden (place: {kind: normals, ...})"
        )
    if height is None:
        lines.append(f"  height not given, that of {near[0].name} is taken; add it behind, such as --near {text} 250 m")
    return "\n".join([*lines, "", place_text(place_at(latitude, longitude, height), units)])


def _near_line(near: NearPlace, height: float | None, units: Units) -> str:
    rise = f", {_height(abs(near.rise_m), units)} {'lower' if near.rise_m > 0 else 'higher'}" if height is not None else ""
    miles = convert(near.distance_km, "km", "ft") / FEET_IN_A_MILE
    far = f"{near.distance_km:5.0f} km" if units == "metric" else f"{miles:5.0f} mi"
    return f"  {near.name:32s} {near.country:22s} {far}{rise}"


def garden_text(path: str, units: Units = "metric") -> str:
    """The place of a garden file."""
    from mixcraft import load_garden

    if not Path(path).exists():
        raise UsageError(f"{path}: no such file")
    return place_text(load_garden(path).place, units)


def place_text(place: Place, units: Units = "metric") -> str:
    """A place with its normals, frost dates and sources."""
    from mixcraft.words.climate import taken_from_words
    from mixcraft.words.us import in_dates, in_units

    from .screen import wrap

    n = place.normals
    notes = [*([taken_from_words(place.taken_from)] if place.taken_from else []), *place.notes]
    where = f"{where_text(place.latitude_deg, place.longitude_deg)}, {_height(place.elevation_m, units)}"
    lines = [f"{place.name}  {where}  {place.climate}".rstrip(), *(f"  {in_units(note, units)}" for note in notes)]
    lines.append("              " + "".join(f"{m[:3]:>7s}" for m in MONTHS))
    us = units == "us"
    high, low = (v * 9.0 / 5.0 + 32.0 if us else v for v in (n.tmax_c, n.tmin_c))
    rain = n.rain_mm * convert(1.0, "mm", "in") if us else n.rain_mm
    rows = ((f"tmax {'F' if us else 'C'}", high), (f"tmin {'F' if us else 'C'}", low), (f"rain {'in' if us else 'mm'}", rain),
            ("wet days", n.wet_days), ("sunshine h", n.sunshine_h_per_day), ("radiation MJ", n.radiation_mj))  # fmt: skip
    for label, values in rows:
        if values is not None:
            lines.append(f"  {label:12s}" + "".join(f"{v:7.1f}" for v in values))
    lines += [in_dates(line, units) for line in frost_lines(place)]
    lines.append(wrap(f"sources: {'; '.join(n.sources)}", "    ", "  "))
    return "\n".join(lines)


def frost_lines(place: Place) -> list[str]:
    """Last and first frosts in air and on the ground: middle year, and the dates passed in one year of ten."""
    from mixcraft.place import frost_dates, ground_frost_dates

    air, ground = frost_dates(place), ground_frost_dates(place)
    if ground.last_spring is None and ground.first_autumn is None:
        return [f"  no frost in most years; air frost in {_share(air)}, ground frost in {_share(ground)}"]
    stated = place.last_spring_frost is not None or place.first_autumn_frost is not None
    lines = [f"  {'frost':32s}{'1 year in 10':>16s}{'middle year':>16s}{'1 year in 10':>16s}"]
    for label, dates in (("last of spring, in air", air.last_spring), ("last of spring, on the ground", ground.last_spring)):
        lines.append(f"  {label:32s}{_dates(dates, ('before', 'after'))}")
    for label, dates in (("first of autumn, on the ground", ground.first_autumn), ("first of autumn, in air", air.first_autumn)):
        lines.append(f"  {label:32s}{_dates(dates, ('before', 'after'))}")
    lines.append(f"  air frost in {_share(air)}, ground frost in {_share(ground)}")
    return [*lines, "  air frost dates as the garden states them"] if stated else lines


def _dates(dates: FrostDate | None, words: tuple[str, str]) -> str:
    if dates is None:
        return f"{'-':>16s}{'none':>16s}{'-':>16s}"
    before, after = words
    early, late = f"{before} {_day(dates.early)}", f"{after} {_day(dates.late)}"
    return f"{early:>16s}{_day(dates.median):>16s}{late:>16s}"


def _day(doy: int) -> str:
    """A day of a common year, such as ``4 Mar``."""
    import numpy as np

    text = str(np.datetime64("2001-01-01") + (doy - 1))
    return f"{int(text[8:10])} {MONTHS[int(text[5:7]) - 1][:3]}"


def _share(dates: FrostDates) -> str:
    """Share of years with frost in words."""
    share = dates.frost_share
    if share > 0.995:
        return "every year"
    return "hardly any year" if dates.frost_free else f"{share:.0%} of years"
