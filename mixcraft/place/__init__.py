"""Sun, weather, soil temperature, covers and reference places.

Pure functions over NumPy arrays; frozen data classes hold a place (:class:`Place`, :class:`Normals`), its
weather (:class:`Weather`) and covers (:class:`Cover`). All constants are in ``constants.yaml`` with their
source.
"""

from __future__ import annotations

from mixcraft.place.coordinates import NoPosition, parse_latitude, parse_longitude, parse_position
from mixcraft.place.covers import Cover, UnknownCover, apply_covers, combined, cover, cover_kinds, covers_together, warmed
from mixcraft.place.model import Normals, Place, StatedFrost
from mixcraft.place.near import NearPlace, nearest_places
from mixcraft.place.places import UnknownPlace, place_at, place_from_normals, reference_place, reference_places
from mixcraft.place.soil import bare_surface_temperature, soil_temperature
from mixcraft.place.weather import (
    FrostDates,
    Weather,
    daily_from_normals,
    frost_dates,
    ground_frost_dates,
    weather_from_csv,
    weather_from_epw,
    weather_years,
)

__all__ = [
    "Cover",
    "FrostDates",
    "NearPlace",
    "NoPosition",
    "Normals",
    "Place",
    "StatedFrost",
    "UnknownCover",
    "UnknownPlace",
    "Weather",
    "apply_covers",
    "bare_surface_temperature",
    "combined",
    "cover",
    "cover_kinds",
    "covers_together",
    "daily_from_normals",
    "frost_dates",
    "ground_frost_dates",
    "nearest_places",
    "parse_latitude",
    "parse_longitude",
    "parse_position",
    "place_at",
    "place_from_normals",
    "reference_place",
    "reference_places",
    "soil_temperature",
    "warmed",
    "weather_from_csv",
    "weather_from_epw",
    "weather_years",
]
