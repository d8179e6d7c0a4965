"""The user's own weather laid over a plan."""

from __future__ import annotations

from pathlib import Path

from mixcraft.files import UsageError
from mixcraft.place import Weather, weather_from_csv, weather_from_epw
from mixcraft.place.readers_common import file_fault
from mixcraft.place.weather import epw_station
from mixcraft.recipe.plan import Plan

from .setting import BEFORE_DAYS


def own_weather(path: str, plan: Plan) -> Weather:
    """Weather of the days of `plan` (with `BEFORE_DAYS` in front) from a daily CSV or an EPW file; every season the CSV covers
    becomes a year.

    Raises `UsageError` for another kind of file, `mixcraft.files.FileFaults` for faults in the file.
    """
    start, days = plan.date(-BEFORE_DAYS), plan.days + BEFORE_DAYS
    suffix = Path(path).suffix.casefold()
    if suffix == ".csv":
        place = plan.place
        return weather_from_csv(path, place.latitude_deg, place.elevation_m, start=start, n_days=days)
    if suffix == ".epw":
        station, here = epw_station(path), plan.place.latitude_deg
        if station.latitude_deg * here < 0.0:
            raise file_fault(
                path, 1, "epw-hemisphere",
                f"{station.name} lies at {station.latitude_deg:g} degrees, the garden at {here:g}: the seasons are opposite",
                "take a weather file of the garden's own hemisphere, from as near as there is",
            )  # fmt: skip
        return weather_from_epw(path, start=start, n_days=days)
    raise UsageError(f"{path}: weather is read from a daily .csv or an .epw file")
