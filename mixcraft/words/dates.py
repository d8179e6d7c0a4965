"""Days and months as each language writes them: English by hand, all others by the Common Locale Data Repository (Babel)."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

import numpy as np

from .catalogue import ENGLISH, Catalogue, language_of

NBSP = "\u00a0"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def _day(when: np.datetime64 | date) -> date:
    if isinstance(when, date):
        return when
    text = str(when.astype("datetime64[D]"))
    return date(int(text[:4]), int(text[5:7]), int(text[8:10]))


def _babel(day: date, skeleton: str, language: str) -> str:
    from babel.dates import format_skeleton

    made: Any = format_skeleton(skeleton, day, locale=language)
    return str(made)


def _month(day: date, width: Literal["wide", "abbreviated"], language: str) -> str:
    from babel.dates import get_month_names

    return str(get_month_names(width, context="stand-alone", locale=language)[day.month])


LONG_SPAN_DAYS = 300
"""From so many days on a span that ends in another year says so.  Common practice, no source."""


def ends_next_year(first: np.datetime64, last: np.datetime64) -> bool:
    """Whether a span of days needs its year said: it ends in a later year, and so late that its months alone mislead."""
    later = last.astype("datetime64[Y]") > first.astype("datetime64[Y]")
    return bool(later and last - first >= np.timedelta64(LONG_SPAN_DAYS, "D"))


def day_words(when: np.datetime64 | date, t: Catalogue = ENGLISH) -> str:
    """A day without its year: ``14 April``, ``Apr 14`` in the United States, ``14. April`` in German."""
    day, language = _day(when), language_of(t)
    if language == "en":
        return f"{day.day} {MONTHS[day.month - 1]}"
    if language == "en_US":
        return f"{MONTHS[day.month - 1][:3]} {day.day}"
    return _babel(day, "MMMMd", language)


def short_day(when: np.datetime64 | date, t: Catalogue = ENGLISH) -> str:
    """A day with a short month: ``14 Apr``, ``Apr 14``."""
    day, language = _day(when), language_of(t)
    if language == "en":
        return f"{day.day}{NBSP}{MONTHS[day.month - 1][:3]}"
    if language == "en_US":
        return f"{MONTHS[day.month - 1][:3]}{NBSP}{day.day}"
    return _babel(day, "MMMd", language).replace(" ", NBSP)


def whole_day(when: np.datetime64 | date, t: Catalogue = ENGLISH) -> str:
    """A day with its year: ``14 April 2027``."""
    day, language = _day(when), language_of(t)
    if language in ("en", "en_US"):
        return f"{day_words(day, t)}{',' if language == 'en_US' else ''} {day.year}"
    return _babel(day, "yMMMMd", language)


def month_name(when: np.datetime64 | date, t: Catalogue = ENGLISH) -> str:
    """The month of a day, standing alone: ``April``."""
    day, language = _day(when), language_of(t)
    return MONTHS[day.month - 1] if language in ("en", "en_US") else _month(day, "wide", language)


def short_month(when: np.datetime64 | date, t: Catalogue = ENGLISH) -> str:
    """The month of a day, standing alone and short: ``Apr``."""
    day, language = _day(when), language_of(t)
    return MONTHS[day.month - 1][:3] if language in ("en", "en_US") else _month(day, "abbreviated", language).rstrip(".")
