"""Quantities as people write them: ``30 cm``, ``4 ft 6 in``, ``4 g/m2``, ``9 C``, ``3 weeks``.

A quantity is read for a dimension, and its value is handed on in that dimension's base unit: length m, area
m2, volume l, mass g, density 1/m2, seed_rate g/m2, temperature C, temperature_difference C, duration d, angle
deg, rain mm, fraction 1 and so on. Units, factors and their sources are in ``units.yaml``.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NoReturn

from mixcraft.files.near import did_you_mean, or_list
from mixcraft.files.units import (
    Dimension,
    Ratio,
    Show,
    Unit,
    UnitError,
    decimal_ratio,
    dimension,
    parse_unit,
    table,
    unit_names,
)

LONGEST = 80  # characters of a quantity

_VULGAR = {
    "½": (1, 2),
    "¼": (1, 4),
    "¾": (3, 4),
    "⅓": (1, 3),
    "⅔": (2, 3),
    "⅛": (1, 8),
    "⅜": (3, 8),
    "⅝": (5, 8),
    "⅞": (7, 8),
}
_NUMBER = re.compile(
    r"\s*(?P<sign>[-+\u2212]?)\s*(?:(?P<mixed>\d+)\s+(?=\d+/\d))?"
    r"(?:(?P<above>\d+)/(?P<below>\d+)|(?P<decimal>(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][-+]?\d{1,3}(?!\w))?)?\s*(?P<vulgar>[½¼¾⅓⅔⅛⅜⅝⅞])?)",
    re.ASCII,
)
_COMMA = re.compile(r"\s*[-+\u2212]?(\d+),(\d+)(.*)", re.DOTALL)
_RANGE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:-|–|—|\.\.\.?|to)\s*(\d+(?:\.\d+)?)\s*(.*)", re.DOTALL)
_NEXT = re.compile(r"(?<=[\s'\"′″’”])(?!1\s*/\s*\D)[-+]?[\d½¼¾⅓⅔⅛⅜⅝⅞]")
_PRETTY = (
    (re.compile(r"(?<=[a-z])2\b"), "²"),
    (re.compile(r"(?<=[a-z])3\b"), "³"),
    (re.compile(r"(?<= )([CF])\b"), r"°\1"),
    (re.compile(r" deg\b"), "°"),
)


class QuantityError(ValueError):
    """A quantity that cannot be read. message: what is wrong; repair: what to write instead."""

    def __init__(self, message: str, repair: str) -> None:
        super().__init__(message)
        self.message = message
        self.repair = repair


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity: its value in the base unit of its dimension, and the text it was read from."""

    value: float
    dimension: str
    text: str

    @classmethod
    def read(cls, text: str | float, dimension: str) -> Quantity:
        """Read a quantity. Raises QuantityError as parse_quantity."""
        return cls(parse_quantity(text, dimension), dimension, str(text))


def parse_quantity(given: str | float, name: str) -> float:
    """Read a quantity of one dimension and return its value in the base unit of that dimension.

    given: a text such as ``"30 cm"``; a bare number only for ``fraction`` and ``count``, and zero.
    name: a dimension of ``units.yaml``, such as ``"length"`` [m] or ``"seed_rate"`` [g/m2].
    Raises QuantityError with a repair: no unit, unknown unit, wrong dimension, a decimal comma, a
    range, a negative value where none makes sense. Raises KeyError for an unknown dimension.

    >>> parse_quantity("4 ft 6 in", "length")
    1.3716
    """
    wanted = dimension(name)
    if isinstance(given, bool) or not isinstance(given, (str, int, float)):
        raise QuantityError(f"this is not {wanted.noun}", f"write it like `{wanted.example}`")
    text = given.strip() if isinstance(given, str) else _plain(given)
    if len(text) > LONGEST:
        raise QuantityError(f"this is too long for {wanted.noun}", f"write it like `{wanted.example}`")
    word = text.casefold().replace(" ", "-")
    if word in wanted.words:
        return float(wanted.words[word])
    _refuse_comma_and_range(text, wanted)
    above, below = _total(text, wanted)
    try:
        value = above / below
    except OverflowError:
        raise QuantityError("the number is too large", f"write it like `{wanted.example}`") from None
    if value < wanted.least:
        limit = "below absolute zero" if wanted.scale else "negative"
        raise QuantityError(f"`{text}` is {limit}", f"write it like `{wanted.example}`")
    return value


def format_quantity(value: float, name: str, system: str = "metric", *, digits: int = 10, pretty: bool = False) -> str:
    """Write a value [base unit of its dimension] as people write it.

    system: "metric" or "us". digits: significant digits kept; with 10 or more, parse_quantity gives
    the value back (relative error 1e-9; 1e-7 C for a temperature); 2 or 3 are for print. pretty: ``m²`` and ``°C``
    for print, else the plain signs that are easy to type. Raises ValueError for a value that is no number.

    >>> format_quantity(0.3, "length"), format_quantity(1.3716, "length", "us")
    ('30 cm', '4 ft 6 in')
    """
    wanted = dimension(name)
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be written as {wanted.noun}")
    show = _choose(value, wanted.show[system], digits)
    text = _feet_and_inches(value, digits) if show.unit == "ft in" else _in_unit(value, wanted, show, digits)
    if pretty:
        for pattern, sign in _PRETTY:
            text = pattern.sub(sign, text)
    return text


# Reading ---------------------------------------------------------------------------------------


def _total(text: str, wanted: Dimension) -> Ratio:
    """The exact sum of the parts of a text such as ``4 ft 6 in``, in the base unit."""
    above, below = 0, 1
    last: float | None = None
    position = 0
    while position < len(text) or last is None:
        found = _NUMBER.match(text, position)
        if not found or not (found["decimal"] or found["below"] or found["vulgar"]):
            _no_number(text, wanted)
        number = _number(found, text, wanted)
        following = _NEXT.search(text, found.end())
        position = following.start() if following else len(text)
        written = text[found.end() : position].strip()
        unit = _unit(written, number, text, wanted, first=last is None and position == len(text))
        size = unit.ratio[0] / unit.ratio[1]
        if last is not None and (size >= last or wanted.scale or number[0] < 0):
            raise QuantityError(f"`{text}` is not one quantity", f"write it like `{wanted.example}`")
        last = size
        top, bottom = _in_base(number, unit, wanted)
        if above < 0:
            top = -top
        above, below = above * bottom + top * below, below * bottom
    return above, below


def _number(found: re.Match[str], text: str, wanted: Dimension) -> Ratio:
    above, below = (0, 1) if not found["mixed"] else (int(found["mixed"]), 1)
    if found["below"]:
        parts = [(int(found["above"]), int(found["below"]))]
    else:
        parts = [decimal_ratio(found["decimal"])] if found["decimal"] else []
        parts += [_VULGAR[found["vulgar"]]] if found["vulgar"] else []
    for top, bottom in parts:
        if bottom == 0:
            raise QuantityError(f"`{text}` divides by zero", f"write it like `{wanted.example}`")
        above, below = above * bottom + top * below, below * bottom
    return (-above if found["sign"] in ("-", "\u2212") else above), below


def _unit(written: str, number: Ratio, text: str, wanted: Dimension, first: bool) -> Unit:
    """The unit as written, checked for the dimension; a bare number where that is allowed."""
    base = parse_unit(wanted.unit)
    if not written:
        if first and (wanted.bare or (number[0] == 0 and not wanted.scale)):
            return _bare(number, text, wanted)
        _no_unit(number, text, wanted)
    try:
        unit = parse_unit(written)
    except UnitError as error:
        _unknown_unit(error, text, written, wanted)
    if unit.powers != base.powers or (wanted.scale and unit.zero is None):
        other = next((d.noun for d in table().dimensions.values() if parse_unit(d.unit).powers == unit.powers), "")
        said = f"`{text}` is {other}" if other else f"`{written}` does not fit"
        raise QuantityError(f"{said}; {wanted.noun} is needed here", f"write it like `{wanted.example}`")
    return unit


def _bare(number: Ratio, text: str, wanted: Dimension) -> Unit:
    if wanted.name == "fraction" and number[0] > number[1]:
        raise QuantityError(f"`{text}` is more than the whole", f"did you mean `{text} %`?")
    return Unit((1, 1), parse_unit(wanted.unit).powers)


def _in_base(number: Ratio, unit: Unit, wanted: Dimension) -> Ratio:
    """The number of base units, exactly."""
    base = parse_unit(wanted.unit)
    above, below = number
    if wanted.scale and unit.zero:
        above, below = above * unit.zero[1] - unit.zero[0] * below, below * unit.zero[1]
    return above * unit.ratio[0] * base.ratio[1], below * unit.ratio[1] * base.ratio[0]


# What to say -----------------------------------------------------------------------------------


def _refuse_comma_and_range(text: str, wanted: Dimension) -> None:
    comma = _COMMA.match(text)
    if comma:
        whole, part, rest = comma.groups()
        repair = f"write `{whole}.{part}{rest}` with a point"
        if len(part) == 3 and whole != "0":
            repair += f", or `{whole}{part}{rest}` if the comma marks thousands"
        raise QuantityError("a comma is not understood in a number", repair)
    span = _RANGE.match(text)
    if span:
        low, high, rest = span.groups()
        middle = _plain((float(low) + float(high)) / 2)
        raise QuantityError("one value is needed here, not a range", f"write one value, such as `{middle} {rest}`".rstrip())


def _no_number(text: str, wanted: Dimension) -> NoReturn:
    said = "there is no value" if not text else f"`{text}` does not start with a number"
    raise QuantityError(said, f"write {wanted.noun} like `{wanted.example}`")


def _no_unit(number: Ratio, text: str, wanted: Dimension) -> NoReturn:
    size = abs(Fraction(*number))  # which may be too large for a float
    likely = [f"`{text} {unit}`" for unit, low, high in wanted.likely if low <= size <= high]
    repair = f"did you mean {or_list(likely)}?" if likely else f"write it like `{wanted.example}`"
    raise QuantityError(f"`{text}` has no unit", repair)


def _unknown_unit(error: UnitError, text: str, written: str, wanted: Dimension) -> NoReturn:
    if error.advice:
        raise QuantityError(f"`{error.word}` is not clear enough", error.advice) from None
    known = unit_names(wanted.unit)
    near = did_you_mean(error.word, [*known, *(name for name, unit in table().units.items() if name.isalpha())], 1)
    if not near and len(error.word) in (2, 3):
        near = [name for name in known if _one_letter_off(error.word, name)][:1]
    if near and re.search(rf"(?<!\w){re.escape(error.word)}(?!\w)", written):
        better = text.removesuffix(written) + re.sub(rf"(?<!\w){re.escape(error.word)}(?!\w)", near[0], written)
        repair = f"did you mean `{better}`?"
    else:
        repair = f"write it like `{wanted.example}`"
    raise QuantityError(f"`{written}` is not a unit that is known", repair) from None


def _one_letter_off(word: str, other: str) -> bool:
    return len(word) == len(other) and sum(a != b for a, b in zip(word, other, strict=True)) == 1


# Writing ---------------------------------------------------------------------------------------


def _choose(value: float, shows: tuple[Show, ...], digits: int) -> Show:
    """The last way to print that fits the size of the value."""
    size = abs(value) * (1 + 0.5 * 10.0 ** (1 - digits))
    fitting = [s for s in shows if size >= s.start and (not s.whole or value % s.whole == 0)]
    return fitting[-1] if fitting else shows[0]


def _in_unit(value: float, wanted: Dimension, show: Show, digits: int) -> str:
    unit, base = parse_unit(show.unit), parse_unit(wanted.unit)
    shown = value * (base.ratio[0] * unit.ratio[1]) / (base.ratio[1] * unit.ratio[0])
    if wanted.scale and unit.zero:
        shown += unit.zero[0] / unit.zero[1]
    number = _plain(shown, digits)
    return f"{number} {show.one if number == '1' else show.unit}"


def _feet_and_inches(value: float, digits: int) -> str:
    """A length [m] in feet and inches."""
    inch, foot = parse_unit("in"), parse_unit("ft")
    inches_per_foot = foot.ratio[0] * inch.ratio[1] // (foot.ratio[1] * inch.ratio[0])
    inches = float(_plain(value * inch.ratio[1] / inch.ratio[0], digits))
    feet = math.floor(inches / inches_per_foot)
    rest = _plain(inches - feet * inches_per_foot, digits)
    if float(rest) >= inches_per_foot:
        feet, rest = feet + 1, "0"
    return f"{feet} ft" if float(rest) == 0 else f"{feet} ft {rest} in"


def _plain(number: float, digits: int = 15) -> str:
    """A number without exponent where that is readable, with so many significant digits."""
    text = f"{number:.{digits}g}"
    if "e" in text and 1e-9 < abs(number) < 1e15:
        places = max(0, digits - 1 - math.floor(math.log10(abs(number))))
        text = f"{float(text):.{places}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if float(text) == 0 else text
