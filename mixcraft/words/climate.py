"""Places and their frosts in words."""

from __future__ import annotations

import numpy as np

from mixcraft.place import FrostDates
from mixcraft.place.model import TakenFrom
from mixcraft.recipe.calendar import day_words

from .catalogue import ENGLISH, Catalogue
from .plain import percent

_COMMON_YEAR = np.datetime64("2001-01-01", "D")
_LEVEL_M = 1.0  # less height than this is not worth a word


def taken_from_words(taken: TakenFrom, t: Catalogue = ENGLISH) -> str:
    """Which reference place a spot has its normals of, how far it lies and what height makes of them."""
    said = t.gettext("normals of {name} ({country}), {distance:.0f} km away").format(
        name=taken.name, country=taken.country, distance=taken.distance_km
    )
    if abs(taken.rise_m) < _LEVEL_M:
        return said
    template = (
        t.gettext("{said} and {height:.0f} m lower; temperatures lowered by {change:.1f} C for it")
        if taken.rise_m > 0
        else t.gettext("{said} and {height:.0f} m higher; temperatures raised by {change:.1f} C for it")
    )
    return template.format(said=said, height=abs(taken.rise_m), change=abs(taken.cooler_c))


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
        last=doy_words(last.median), last_early=doy_words(last.early), last_late=doy_words(last.late),
        first=doy_words(first.median), first_early=doy_words(first.early), first_late=doy_words(first.late),
    )  # fmt: skip
    if ground.last_spring is None or ground.first_autumn is None:
        return said
    below = t.gettext("On the ground the last is {last} and the first {first}.").format(
        last=doy_words(ground.last_spring.median), first=doy_words(ground.first_autumn.median)
    )
    return f"{said} {below}"


def doy_words(day: int) -> str:
    """A day of a common year 1-365 in words, such as ``14 April``."""
    return day_words(_COMMON_YEAR + (day - 1))
