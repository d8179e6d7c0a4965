"""Places and their frosts in words."""

from __future__ import annotations

import numpy as np

from mixcraft.place import FrostDates
from mixcraft.place.model import TakenFrom

from .amounts import INCH_M, Units
from .catalogue import ENGLISH, Catalogue
from .dates import day_words
from .plain import percent

MILE_KM, FOOT_M = 1.609344, 12 * INCH_M
"""International mile [km] and foot [m], by definition."""
_COMMON_YEAR = np.datetime64("2001-01-01", "D")
_LEVEL_M = 1.0  # less height than this is not worth a word


def taken_from_words(taken: TakenFrom, t: Catalogue = ENGLISH, units: Units = "metric") -> str:
    """Which reference place a spot has its normals of, how far it lies and what height makes of them."""
    us = units == "us"
    far = f"{taken.distance_km / MILE_KM:.0f}\u00a0mi" if us else f"{taken.distance_km:.0f}\u00a0km"
    said = t.gettext("normals of {name} ({country}), {distance} away").format(
        name=taken.name, country=taken.country, distance=far
    )
    if abs(taken.rise_m) < _LEVEL_M:
        return said
    template = (
        t.gettext("{said} and {height} lower; temperatures lowered by {change} for it")
        if taken.rise_m > 0
        else t.gettext("{said} and {height} higher; temperatures raised by {change} for it")
    )
    rise, change = abs(taken.rise_m), abs(taken.cooler_c)
    height = f"{rise / FOOT_M:.0f}\u00a0ft" if us else f"{rise:.0f}\u00a0m"
    return template.format(said=said, height=height, change=f"{change * 9 / 5:.1f}\u00a0F" if us else f"{change:.1f}\u00a0C")


def frost_words(air: FrostDates, ground: FrostDates, t: Catalogue = ENGLISH) -> str:
    """Last and first air frost with the span of eight years in ten, and those on the ground; less where frost is rare."""
    last, first = air.last_spring, air.first_autumn
    if last is None and first is None:
        return t.gettext("No frost is expected in a normal year.")
    if last is None or first is None:
        return t.gettext("Air frost comes in {share} of years.").format(share=percent(air.frost_share, t))
    said = t.gettext(
        "Last air frost of spring {last}, in eight years of ten from {last_early} to {last_late}; first of autumn {first}, from "
        "{first_early} to {first_late}."
    ).format(
        last=doy_words(last.median, t), last_early=doy_words(last.early, t), last_late=doy_words(last.late, t),
        first=doy_words(first.median, t), first_early=doy_words(first.early, t), first_late=doy_words(first.late, t),
    )  # fmt: skip
    if ground.last_spring is None or ground.first_autumn is None:
        return said
    below = t.gettext("On the ground the last is {last} and the first {first}.").format(
        last=doy_words(ground.last_spring.median, t), first=doy_words(ground.first_autumn.median, t)
    )
    return f"{said} {below}"


def doy_words(day: int, t: Catalogue = ENGLISH) -> str:
    """A day of a common year 1-365 in words, such as ``14 April``."""
    return day_words(_COMMON_YEAR + (day - 1), t)
