"""What people write in words, as the plain data it stands for: ``April 15``, ``2 weeks before last frost``, ``drip``.

Where a schema has `x-means`, a word stands for another word or for keys with values; where it has `x-reads`, the text is read by
the function of that name here. The schema accepts both ways of writing; what is read goes on in one of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from mixcraft.files.near import did_you_mean
from mixcraft.files.quantity import QuantityError, parse_quantity

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
LAST_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
PARTS_OF_MONTH: Mapping[str, int] = {"early": 5, "mid": 15, "middle": 15, "late": 25}
"""The day that stands for a part of a month: its middle, with parts of ten days."""
LONGEST = 60  # characters of a text that is read

_PLAIN = re.compile(r"\d\d-\d\d")
_SLASHED = re.compile(r"(\d{1,2})\s*[/.]\s*(\d{1,2})\.?")
_DAY_FIRST = re.compile(r"(\d{1,2})(?:st|nd|rd|th|\.)? (?:of )?([a-z]+)\.?")
_MONTH_FIRST = re.compile(r"([a-z]+)\.? (\d{1,2})(?:st|nd|rd|th)?")
_PART = re.compile(r"(early|mid|middle|late)(?: |-| in | of )+([a-z]+)")
_EDGE_OF_MONTH = re.compile(r"(?:the |at )*(end|beginning|start|first) of ([a-z]+)")
_FROST = re.compile(
    r"(?:(?P<number>\d+(?:\.\d+)?|an?|one|two|three|four|five|six|eight|ten|twelve) (?P<unit>days?|d|weeks?|wks?) "
    r"(?P<side>before|after|from|past) |(?:at|on|after) )?(?:the )?(?P<which>last|first)(?: (?:spring|autumn|fall))?"
    r"(?: air)? frost(?: date)?"
)
_SOIL = re.compile(r"(?:when |once )?(?:the )?soil(?: temperature)?(?: is| has| at| reaches|:)*(?: at least)? (?P<warmth>.+)")
_TIME = re.compile(r"\d.*?(?:d|days?|wks?|weeks?|months?)(?: after (?:the )?start)?")
_TIMES = re.compile(r"(\d{1,2}) (?:times|sowings|plantings)|(once|twice)")
_WEEKLY = re.compile(r"(.+?) (?:a|per|each|every) week")
_COMPOST = re.compile(r"(.+?)(?: of)? compost(?: (?:a|per|each|every) year| yearly)?")
_SPOT = re.compile(r"([\d.°'′\"″ ]+[NSns])[ ,]+([\d.°'′\"″ ]+[EWew])(?:[ ,]+(\d[\d.]* ?[a-z]+))?")
_SIDES = re.compile(r"(.+?)\s*(?:x|×|by)\s*(.+)")
_NUMBERS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8, "ten": 10, "twelve": 12,
}  # fmt: skip
WATERED = (
    "drip", "drip line", "drip irrigation", "soaker hose", "sprinkler", "by hand", "hand", "hose", "irrigated", "as needed",
)  # fmt: skip
RAIN = ("rain", "rainfed", "rain only", "none", "never", "unwatered")


class Unread(ValueError):  # noqa: N818 - reads as what it says
    """A text that stands for nothing: what is wrong with it, and what to write instead."""

    def __init__(self, message: str, repair: str) -> None:
        super().__init__(message)
        self.message, self.repair = message, repair


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace(",", " ").split())


def month_day(text: str) -> str:
    """``MM-DD`` of a day of the year as people write it. Raises Unread, for 29 February and what has two meanings (4/5) too.

    >>> month_day("April 15"), month_day("15th of Apr"), month_day("mid-April")
    ('04-15', '04-15', '04-15')
    """
    plain = _plain(text)
    if _PLAIN.fullmatch(plain):
        return _on_calendar(int(plain[:2]), int(plain[3:]), text)
    if slashed := _SLASHED.fullmatch(plain):
        _refuse_slashed(text, *(int(number) for number in slashed.groups()))
    if found := _PART.fullmatch(plain):
        return f"{_month(found[2], text):02d}-{PARTS_OF_MONTH[found[1]]:02d}"
    if found := _EDGE_OF_MONTH.fullmatch(plain):
        month = _month(found[2], text)
        return f"{month:02d}-{LAST_DAYS[month - 1] if found[1] == 'end' else 1:02d}"
    if found := _DAY_FIRST.fullmatch(plain):
        return _on_calendar(_month(found[2], text), int(found[1]), text)
    if found := _MONTH_FIRST.fullmatch(plain):
        return _on_calendar(_month(found[1], text), int(found[2]), text)
    raise Unread(f"`{text}` is no day of the year", "write month-day with two digits each, such as 04-15, or April 15")


def _refuse_slashed(text: str, first: int, second: int) -> None:
    """Both ways of reading a date such as 4/5, where both are days."""
    ways = [f"{MONTHS[month - 1].capitalize()} {day}" for month, day in ((first, second), (second, first)) if 1 <= month <= 12]
    raise Unread(
        f"`{text}` can be read as month and day or as day and month" if len(ways) == 2 else f"`{text}` is no day of the year",
        f"write {' or '.join(dict.fromkeys(ways))}" if ways else "write it like 04-15, or April 15",
    )


def _month(word: str, text: str) -> int:
    near = [i for i, month in enumerate(MONTHS, 1) if len(word) >= 3 and (month.startswith(word) or (word == "sept" and i == 9))]
    if near:
        return near[0]
    guess = did_you_mean(word, MONTHS, 1)
    raise Unread(
        f"`{word}` is no month" if text.strip() != word else f"`{text}` is no day of the year",
        f"did you mean {guess[0].capitalize()}?" if guess else "write it like 04-15, or April 15",
    )


def _on_calendar(month: int, day: int, text: str) -> str:
    if not 1 <= month <= 12:
        raise Unread(f"there is no month {month}", "write month-day with two digits each, such as 04-15, or April 15")
    if not 1 <= day <= LAST_DAYS[month - 1]:
        name, last = MONTHS[month - 1].capitalize(), LAST_DAYS[month - 1]
        said = f"`{text}` is no day of every year" if (month, day) == (2, 29) else f"{name} has no day {day}"
        raise Unread(said, f"write a day from 1 to {last}, such as {month:02d}-{min(max(day, 1), last):02d}")
    return f"{month:02d}-{day:02d}"


def is_month_day(text: str) -> bool:
    """Whether a text is a day of the year in some way of writing."""
    try:
        month_day(text)
    except Unread:
        return False
    return True


def _weeks(found: re.Match[str]) -> float:
    """Weeks from a frost; negative before it."""
    if found["number"] is None:
        return 0.0
    size = float(_NUMBERS.get(found["number"]) or found["number"])
    weeks = size if found["unit"].startswith("w") else size / 7.0
    return -weeks if found["side"] == "before" else weeks


def _short(value: float) -> int | float:
    return int(value) if float(value).is_integer() else value


def start_rule(text: str) -> dict[str, Any]:
    """When a planting starts, in words. Raises Unread.

    >>> start_rule("2 weeks before last frost"), start_rule("soil at 50 F")
    ({'kind': 'frost', 'weeks': -2}, {'kind': 'soil', 'at_least': '50 f'})
    """
    plain = _plain(text)
    if frost := _FROST.fullmatch(plain):
        return {"kind": "frost" if frost["which"] == "last" else "autumn-frost", "weeks": _short(_weeks(frost))}
    if soil := _SOIL.fullmatch(plain):
        return {"kind": "soil", "at_least": _quantity(soil["warmth"], "temperature")}
    return _date_rule(text, "such as April 15, 2 weeks before last frost, or soil 7 C")


def end_rule(text: str) -> dict[str, Any]:
    """When a planting is cleared, in words. Raises Unread."""
    plain = _plain(text)
    frost = _FROST.fullmatch(plain)
    if frost and frost["which"] == "first":
        return {"kind": "autumn-frost", "weeks": _short(_weeks(frost))}
    if plain in ("harvested", "after harvest", "when harvested", "last harvest"):
        return {"kind": "harvested"}
    if _TIME.fullmatch(plain):
        return {"kind": "age", "time": _quantity(text, "duration")}
    return _date_rule(text, "such as October 15, 90 days, or first frost")


def until_rule(text: str) -> dict[str, Any]:
    """How long a planting is sown again, in words. Raises Unread."""
    plain = _plain(text)
    frost, times = _FROST.fullmatch(plain), _TIMES.fullmatch(plain)
    if frost and frost["which"] == "first":
        return {"kind": "autumn-frost", "weeks": _short(_weeks(frost))}
    if times and times[2] != "once":
        return {"kind": "times", "times": int(times[1] or 2)}
    return _date_rule(text, "such as August 15, 4 times, or 8 weeks before first frost")


def _date_rule(text: str, such_as: str) -> dict[str, Any]:
    looks = any(c.isdigit() for c in text) or bool(did_you_mean(_plain(text).split()[-1], MONTHS, 1)) if text.strip() else False
    try:
        return {"kind": "date", "on": month_day(text)}
    except Unread as error:
        if looks and not re.search(r"frost|soil|week|time", text.casefold()):
            raise
        raise Unread(f"`{text}` is not understood here", f"write it {such_as}, or as keys with values") from error


def _quantity(text: str, name: str) -> str:
    try:
        parse_quantity(text.upper() if name == "temperature" else text, name)
    except QuantityError as error:
        raise Unread(error.message, error.repair) from None
    return text.upper() if name == "temperature" else text


def watering(text: str) -> dict[str, Any]:
    """How a bed is watered, in words. Raises Unread."""
    plain = _plain(text)
    if plain in ("watered", *WATERED):
        return {"kind": "watered"}
    if plain in RAIN:
        return {"kind": "rain"}
    if weekly := _WEEKLY.fullmatch(plain):
        return {"kind": "weekly", "amount": _quantity(weekly[1], "rain")}
    near = did_you_mean(plain, [*WATERED, *RAIN], 1)
    hint = f"did you mean {near[0]}?" if near else "write drip, by hand, rain only, or an amount such as 25 mm a week"
    raise Unread(f"`{text}` is not known as a way of watering", hint)


def feeding(text: str) -> dict[str, Any]:
    """How a bed is fed, in words. Raises Unread."""
    plain = _plain(text)
    if plain in ("usual", "as usual", "fertilised", "fertilized", "fed"):
        return {"kind": "usual"}
    if plain in ("none", "never", "unfed"):
        return {"kind": "none"}
    if compost := _COMPOST.fullmatch(plain):
        return {"kind": "compost", "amount": _quantity(compost[1], "rain")}
    depth = " with its depth" if "compost" in plain else ""
    raise Unread(
        f"`{text}` does not say how much" if depth else f"`{text}` is not known as a way of feeding",
        f"write compost{depth}, such as 2 cm of compost" if depth else "write usual, none, or such as 2 cm of compost",
    )


def sides(text: str) -> dict[str, Any]:
    """Length and width of a bed in words; one unit may stand for both. Raises Unread.

    >>> sides("4 x 8 ft"), sides("3 m x 120 cm")
    ({'length': '8 ft', 'width': '4 ft'}, {'length': '3 m', 'width': '120 cm'})
    """
    found = _SIDES.fullmatch(text.strip())
    if not found:
        raise Unread(f"`{text}` is not length and width", "write it like 3 m x 1.2 m")
    first, second = found.groups()
    unit = re.search(r"[a-z'\"]+$", second.strip(), re.IGNORECASE)
    if unit and first.strip()[-1:].isdigit():
        first = f"{first.strip()} {unit[0]}"
    for side in (first, second):
        _quantity(side, "length")
    long, short = sorted((first.strip(), second.strip()), key=lambda side: -parse_quantity(side, "length"))
    return {"length": long, "width": short}


def place(text: str) -> dict[str, Any]:
    """A place by its name, or by latitude, longitude and height. Raises Unread.

    >>> place("Oxford"), place("44.9 N 93.2 W")
    ({'kind': 'reference', 'name': 'Oxford'}, {'kind': 'coordinates', 'latitude': '44.9 N', 'longitude': '93.2 W'})
    """
    found = _SPOT.fullmatch(text.strip())
    if found:
        spot = {"kind": "coordinates", "latitude": found[1], "longitude": found[2]}
        return spot | ({"elevation": _quantity(found[3], "length")} if found[3] else {})
    if not text.strip() or text.strip()[0].isdigit():
        raise Unread(f"`{text}` is neither a place nor a spot", "write the name of a place, or such as 44.9 N 93.2 W 260 m")
    return {"kind": "reference", "name": text.strip()}


READERS: Mapping[str, Callable[[str], Any]] = {
    "month-day": month_day, "start": start_rule, "end": end_rule, "until": until_rule, "watering": watering, "feeding": feeding,
    "sides": sides, "place": place, "part": lambda text: {"part": text},
}  # fmt: skip
"""The functions that `x-reads` names."""

Resolve = Callable[[Any], Mapping[str, Any]]


def plain_data(data: Any, node: Any, resolve: Resolve) -> Any:
    """The data of a checked document with every everyday word replaced by what it stands for; the data itself stays as it was."""
    rule = resolve(node)
    if isinstance(data, str):
        return _meaning(data, rule, resolve)
    if isinstance(data, list):
        return [plain_data(item, rule.get("items", {}), resolve) for item in data]
    if not isinstance(data, dict):
        return data
    rules = dict(rule.get("properties", {}))
    for branch in map(resolve, rule.get("oneOf", ())):
        kind = resolve(branch.get("properties", {}).get("kind", {}))
        if kind and data.get("kind") in (*kind.get("enum", ()), kind.get("const")):
            rules |= branch["properties"]
    return {key: plain_data(value, rules.get(key, {}), resolve) for key, value in data.items()}


def _meaning(text: str, rule: Mapping[str, Any], resolve: Resolve) -> Any:
    for part in (rule, *map(resolve, rule.get("oneOf", ()))):
        if text in part.get("x-means", {}):
            return part["x-means"][text]
        if "x-reads" in part:
            return READERS[part["x-reads"]](text)
    return text
