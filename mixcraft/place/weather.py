"""Daily weather, however it was had: the public face of this package for weather.

``daily_from_normals`` smooth average year; ``weather_years`` stochastic years; ``weather_from_csv`` and
``weather_from_epw`` the user's own files; ``frost_dates`` first and last frosts.
"""

from __future__ import annotations

from mixcraft.place.climate import daily_from_normals, monthly_radiation
from mixcraft.place.csv_weather import weather_from_csv
from mixcraft.place.epw import EpwStation, epw_station, weather_from_epw
from mixcraft.place.frost import FrostDate, FrostDates, frost_dates, ground_frost_dates
from mixcraft.place.generator import weather_years
from mixcraft.place.series import Weather, date_range, day_of_year

__all__ = [
    "EpwStation",
    "FrostDate",
    "FrostDates",
    "Weather",
    "daily_from_normals",
    "date_range",
    "day_of_year",
    "epw_station",
    "frost_dates",
    "ground_frost_dates",
    "monthly_radiation",
    "weather_from_csv",
    "weather_from_epw",
    "weather_years",
]
