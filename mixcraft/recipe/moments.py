"""Moments as people write them: ``start``, ``emergence + 3 weeks``, ``first harvest - 5 days``, ``10-15``."""

from __future__ import annotations

import re
from decimal import Decimal

from mixcraft.files.everyday import Unread, is_month_day, month_day

from .model import AtEvent, Moment, OnDay

EVENTS = ("start", "emergence", "first harvest", "flower", "last harvest", "end")
_MONTH_DAY = re.compile(r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")
_EVENT = re.compile(r"^(?P<event>[a-z][a-z ]*?)\s*(?:(?P<sign>[+-])\s*(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[a-z]+))?$")
_WORDED = re.compile(
    r"^(?:(?P<number>\d+(?:\.\d+)?) (?P<unit>[a-z]+) )?(?:(?P<side>before|after|from)|at|on)? ?(?P<event>[a-z ]+)$"
)
EVERYDAY = {
    "sowing": "start", "sown": "start", "planting": "start", "planted": "start", "planting out": "start",
    "germination": "emergence", "up": "emergence", "first picking": "first harvest", "harvest": "first harvest",
    "last picking": "last harvest", "flowering": "flower", "cleared": "end", "clearing": "end",
}  # fmt: skip
"""Events in everyday words."""
_DAYS = {"d": 1.0, "day": 1.0, "days": 1.0, "wk": 7.0, "week": 7.0, "weeks": 7.0}
_DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


FARTHEST_DAYS = 800.0
"""A moment lies at most so many days from its event: longer than any season is followed."""


class MomentError(ValueError):
    """The text is no moment; the message says how to write one."""


def parse_moment(text: str) -> Moment:
    """The `Moment` that `text` means; raises `MomentError` with the ways of writing one."""
    plain = " ".join(text.strip().casefold().replace("-harvest", " harvest").split())
    if _MONTH_DAY.match(plain):
        check_month_day(plain)
        return OnDay(plain)
    if is_month_day(plain):
        return OnDay(month_day(plain))
    match = _EVENT.match(_with_sign(plain))
    if match and match["event"] in EVENTS:
        if match["number"] is None:
            return AtEvent(match["event"])
        factor = _DAYS.get(match["unit"])
        if factor is not None:
            days = float(match["number"]) * factor
            return AtEvent(match["event"], -days if match["sign"] == "-" else days)
    if "/" in plain:
        raise MomentError(_day_fault(plain))
    raise MomentError(f"{text!r} is no moment; write one of {', '.join(EVENTS)}, with '+ 3 weeks' if wanted, or '10-15'")


def _with_sign(plain: str) -> str:
    """``2 weeks after planting`` as ``start + 2 weeks``."""
    found = _WORDED.match(plain)
    if found is None:
        word, sign, rest = plain.partition("+") if "+" in plain else plain.partition("-")
        return f"{EVERYDAY.get(word.strip(), word.strip())} {sign}{rest}".strip()
    event = found["event"].strip().removeprefix("the ").strip()
    event = EVERYDAY.get(event, event)
    if not found["number"]:
        return event if not found["side"] else plain
    return f"{event} {'-' if found['side'] == 'before' else '+'} {found['number']} {found['unit']}" if found["side"] else plain


def _day_fault(plain: str) -> str:
    try:
        return month_day(plain)
    except Unread as error:
        return f"{error.message}; {error.repair}"


def moment_text(moment: Moment) -> str:
    """A moment as it is written in a recipe; `parse_moment` gives it back."""
    if isinstance(moment, OnDay):
        return moment.month_day
    if not moment.days:
        return moment.event
    sign, size = ("-" if moment.days < 0 else "+"), abs(moment.days)
    weeks = size % 7 == 0
    number = plain_number(size / 7 if weeks else size)
    unit = ("week" if weeks else "day") + ("" if number == "1" else "s")
    return f"{moment.event} {sign} {number} {unit}"


def plain_number(value: float) -> str:
    """The shortest decimal without an exponent that reads as exactly this number."""
    text = repr(float(value))
    if "e" in text or "E" in text:
        text = format(Decimal(text), "f")
    return text.removesuffix(".0")


def check_month_day(text: str) -> tuple[int, int]:
    """Month and day of ``MM-DD``; raises `MomentError` for a day that the month does not have (29 February too)."""
    if not isinstance(text, str) or not _MONTH_DAY.match(text):
        raise MomentError(f"{text!r} is no month-day; month-day such as '04-15'")
    month, day = int(text[:2]), int(text[3:])
    if not (1 <= month <= 12 and 1 <= day <= _DAYS_IN_MONTH[month - 1]):
        raise MomentError(f"{text!r} is no day of every year; month-day such as '04-15'")
    return month, day
