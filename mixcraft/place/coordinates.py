"""Latitude, longitude and height as people write them: ``44.9 N 93.2 W``, ``44.9, -93.2``, ``12 S``, ``44°54'N``."""

from __future__ import annotations

import re
from collections.abc import Sequence

_SIGNS = {"n": 1, "s": -1, "e": 1, "w": -1}
_WORDS = {"north": "n", "south": "s", "east": "e", "west": "w"}
_TOKEN = re.compile(r"[+-]?\d+(?:\.\d+)?|[a-z]+")
_FEET = re.compile(r"(-?\d+(?:\.\d+)?)\s*(m|metres?|meters?|ft|feet|foot)\b\s*$")
_METRES_PER_FOOT = 0.3048
_PARTS = (1.0, 60.0, 3600.0)  # degrees, minutes, seconds
_HELP = "write it like 44.9 N 93.2 W, 44.9, -93.2 or 44°54'N 93°12'W; south and west may be negative"
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d+\s*°?\s*[nsew]\b)")


class NoPosition(ValueError):  # noqa: N818 -- reads as what happened
    """A text that is no latitude, longitude or pair of them; the message says how to write it."""


def _tokens(text: str) -> list[str]:
    plain = text.strip().lower().replace("−", "-").replace("–", "-")
    for mark in ("degrees", "deg", "°", "º", "'", "’", "′", '"', "”", "″", "''"):
        plain = plain.replace(mark, " ")
    return [_WORDS.get(t, t) for t in _TOKEN.findall(plain)]


def _degrees(tokens: Sequence[str], axis: str, text: str) -> float:
    """Degrees of one coordinate from up to three numbers and a letter; ``axis`` the letters it may have."""
    numbers = [float(t) for t in tokens if t not in _SIGNS]
    letters = [t for t in tokens if t in _SIGNS]
    if not 1 <= len(numbers) <= len(_PARTS) or len(letters) > 1:
        raise NoPosition(f"{text!r} cannot be read as a position; {_HELP}")
    if letters and letters[0] not in axis:
        kind = "latitude, which is N or S" if axis == "ns" else "longitude, which is E or W"
        raise NoPosition(f"{text!r} gives {letters[0].upper()} for a {kind}")
    if letters and numbers[0] < 0:
        raise NoPosition(f"{text!r} has both a sign and a letter; keep one of them")
    if any(not 0 <= n < _PARTS[1] for n in numbers[1:]):
        raise NoPosition(f"{text!r} has minutes or seconds outside 0 to 60; {_HELP}")
    size = sum(abs(n) / part for n, part in zip(numbers, _PARTS, strict=False))
    value = size * (_SIGNS[letters[0]] if letters else (-1 if str(tokens[0]).startswith("-") else 1))
    most = 90.0 if axis == "ns" else 180.0
    if abs(value) > most:
        kind = "latitude" if axis == "ns" else "longitude"
        raise NoPosition(f"{text!r} gives a {kind} of {value:g}, allowed is -{most:g} to {most:g}")
    return value


def _checked(tokens: Sequence[str], text: str) -> None:
    odd = [t for t in tokens if t.isalpha() and t not in _SIGNS]
    if odd or not tokens:
        raise NoPosition(f"{text!r} cannot be read as a position; {_HELP}")


def parse_latitude(text: str | float) -> float:
    """Latitude [deg, north positive] from a number or from text such as ``12 S`` or ``44°54'N``. Raises ``NoPosition``."""
    return _one(text, "ns")


def parse_longitude(text: str | float) -> float:
    """Longitude [deg, east positive] from a number or from text such as ``93.6 W``. Raises ``NoPosition``."""
    return _one(text, "ew")


def _one(text: str | float, axis: str) -> float:
    said = _DECIMAL_COMMA.sub(".", str(text).lower())
    tokens = _tokens(said)
    _checked(tokens, str(text))
    return _degrees(tokens, axis, str(text))


def _halves(text: str) -> tuple[list[str], list[str]]:
    """Tokens of the two coordinates of a text."""
    plain = _DECIMAL_COMMA.sub(".", text.lower())
    parts = [_tokens(part) for part in re.split(r"[,;/]", plain) if part.strip()]
    if len(parts) == 2:
        return parts[0], parts[1]
    tokens = [t for part in parts for t in part]
    at = [i for i, t in enumerate(tokens) if t in _SIGNS]
    if len(at) == 2:
        cut = at[0] + 1 if at[0] > 0 else at[1]
        return tokens[:cut], tokens[cut:]
    if at or len(tokens) % 2:
        raise NoPosition(f"{text!r} cannot be read as latitude and longitude; {_HELP}")
    return tokens[: len(tokens) // 2], tokens[len(tokens) // 2 :]


def parse_position(text: str) -> tuple[float, float, float | None]:
    """Latitude and longitude [deg] and, where it stands behind, height above the sea [m].

    ``44.9 N 93.2 W``, ``44.9, -93.2``, ``44 54 N 93 12 W``, ``12 S 77 W 150 m``; letters may stand first and in either
    order. Raises ``NoPosition``, a ``ValueError`` that says how to write it.

    >>> parse_position("44.9 N 93.2 W 260 m")
    (44.9, -93.2, 260.0)
    """
    found = _FEET.search(text.lower())
    height = None
    if found and not re.match(r"^\s*[nsew]?\s*$", text[: found.start()].lower()):
        height = float(found[1]) * (_METRES_PER_FOOT if found[2].startswith("f") else 1.0)
        text = text[: found.start()]
    first, second = _halves(text)
    for half in (first, second):
        _checked(half, text)
    if any(t in ("e", "w") for t in first) or any(t in ("n", "s") for t in second):
        first, second = second, first
    return _degrees(first, "ns", text), _degrees(second, "ew", text), height
