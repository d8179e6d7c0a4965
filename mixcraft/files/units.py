"""The table of units, and reading of unit expressions such as ``g/m2``, ``oz/sq yd`` or ``1/(C d)``.

Factors are exact ratios of whole numbers, so that ``30 cm`` is exactly the nearest float to 0.3.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from mixcraft.files import keeping

FILE = Path(__file__).with_name("units.yaml")
Powers = tuple[tuple[str, int], ...]  # base unit and exponent, sorted by name: (("g", 1), ("m", -2))
Ratio = tuple[int, int]  # numerator and denominator

_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_GLUED = re.compile(r"\bsq\.?\s*(?=(?:ft|feet|foot|yd|yards?|in|inch(?:es)?|m|cm)\b)", re.IGNORECASE)
_TRAILING = re.compile(r"\b(ft|foot|feet|yd|yard|yards|in|inch|inches|m|metre|meter) ?(?:sq|squared|square)\b", re.IGNORECASE)
_SQUARE = {"sq": 2, "square": 2, "cu": 3, "cubic": 3}


class UnitError(ValueError):
    """A unit that is not known. word: the part that is not known; advice: what to write, or empty."""

    def __init__(self, word: str, advice: str = "") -> None:
        super().__init__(f"`{word}` is not a unit that is known")
        self.word = word
        self.advice = advice


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit, or a product of powers of units: `ratio` of the base units in `powers`.

    zero: for a temperature scale, the reading at 0 C as a ratio; None for everything else.
    """

    ratio: Ratio
    powers: Powers
    zero: Ratio | None = None


@dataclass(frozen=True, slots=True)
class Show:
    """One way to print values: in `unit`, for values from `start` on [base unit]."""

    unit: str
    one: str
    start: float
    whole: float


@dataclass(frozen=True, slots=True)
class Dimension:
    """What a quantity measures, with its base unit, its noun for messages, and how it is printed."""

    name: str
    unit: str
    noun: str
    example: str
    least: float
    bare: bool
    scale: bool
    likely: tuple[tuple[str, float, float], ...]  # unit, from, to [of the bare number]
    show: Mapping[str, tuple[Show, ...]]
    words: Mapping[str, float]  # words that stand for a value [base unit], in lower case


@dataclass(frozen=True)
class Table:
    """All units by every spelling, spellings that are refused with the reason, and dimensions."""

    units: Mapping[str, Unit]
    folded: Mapping[str, str]
    refused: Mapping[str, str]
    dimensions: Mapping[str, Dimension]
    token: re.Pattern[str] = field(repr=False)


@lru_cache(maxsize=1)
def table() -> Table:
    """The table of ``units.yaml``, read once, and kept as it was read: reading takes seven times as long."""
    key = sha256(keeping.reader() + FILE.read_bytes()).digest()
    return keeping.kept_thing(partial(keeping.folders, FILE.parent), f"{FILE.stem}.pickle", key, Table, _read)


def _read() -> Table:
    from mixcraft.files.load import load_document

    data = load_document(FILE).data
    units: dict[str, Unit] = {}
    folded: dict[str, str] = {}
    spellings = [*data["units"], *(name for record in data["units"].values() for name in record["names"])]
    token = _token_pattern(spellings)
    for symbol, record in data["units"].items():
        unit = _unit(symbol, record, units, token)
        for name in (symbol, *record["names"]):
            units[name] = unit
            folded.setdefault(name.casefold(), name)
    dimensions = {name: _dimension(name, record) for name, record in data["dimensions"].items()}
    return Table(units, folded, data["refused"], dimensions, token)


def dimension(name: str) -> Dimension:
    """Return a dimension by name. Raises KeyError for an unknown one: a mistake in our own code."""
    try:
        return table().dimensions[name]
    except KeyError:
        raise KeyError(f"no dimension {name!r}; known: {', '.join(table().dimensions)}") from None


@lru_cache(maxsize=1024)
def parse_unit(text: str) -> Unit:
    """Read a unit expression. Raises UnitError for an unknown unit."""
    known = table()
    return _parse(text, known.units, known.folded, known.token, known.refused)


def convert(value: float, unit: str, to: str) -> float:
    """Convert a value between two units of one dimension; temperatures as differences.

    ``convert(1.3, "cm", "m")`` is 0.013. Raises UnitError for an unknown unit, ValueError if the
    two units do not measure the same.
    """
    have, want = parse_unit(unit), parse_unit(to)
    if have.powers != want.powers:
        raise ValueError(f"{unit} and {to} do not measure the same thing")
    return value * (have.ratio[0] * want.ratio[1]) / (have.ratio[1] * want.ratio[0])


def unit_names(base: str) -> list[str]:
    """Symbols of the units that measure the same as `base`, for messages."""
    wanted = parse_unit(base).powers
    seen: dict[Unit, str] = {}
    for name, unit in table().units.items():
        if unit.powers == wanted:
            seen.setdefault(unit, name)
    return list(seen.values())


def decimal_ratio(text: str) -> Ratio:
    """Return a decimal number or fraction (``0.0254``, ``2.5e-3``, ``5/9``) as an exact ratio."""
    if "/" in text:
        above, below = text.split("/")
        return int(above), int(below)
    digits, _, power = text.lower().partition("e")
    whole, _, part = digits.partition(".")
    shift = int(power or 0) - len(part)
    number = int(whole + part)
    return (number * 10**shift, 1) if shift >= 0 else (number, 10**-shift)


def _unit(symbol: str, record: Mapping[str, Any], units: Mapping[str, Unit], token: re.Pattern[str]) -> Unit:
    """The unit of one record; a record may build on units above it."""
    ratio = decimal_ratio(str(record["value"]))
    base = record["unit"]
    zero = decimal_ratio(str(record["zero"])) if "zero" in record else None
    if base in ("1", symbol):
        return Unit(ratio, () if base == "1" else ((symbol, 1),), zero)
    if base == "share":
        return Unit(ratio, (("share", 1),), zero)
    parsed = _parse(base, units, {}, token, {})
    return Unit((ratio[0] * parsed.ratio[0], ratio[1] * parsed.ratio[1]), parsed.powers, zero)


def _dimension(name: str, record: Mapping[str, Any]) -> Dimension:
    likely = tuple((entry["unit"], float(entry.get("from", "-inf")), float(entry.get("to", "inf"))) for entry in record["likely"])
    show = {
        system: tuple(
            Show(e["unit"], e.get("one", e["unit"]), float(e.get("from", 0)), float(e.get("whole", 0))) for e in entries
        )
        for system, entries in record["show"].items()
    }
    return Dimension(
        name,
        record["unit"],
        record["noun"],
        record["example"],
        float(record.get("least", "-inf")),
        record.get("bare", False),
        record.get("scale", False),
        likely,
        show,
        record.get("words", {}),
    )


def _token_pattern(spellings: list[str]) -> re.Pattern[str]:
    """Tokens: a name that has a space or a sign in it, a word, an operator; a power may follow a name."""
    special = sorted((s for s in spellings if not s.isalpha()), key=len, reverse=True)
    names = "|".join(re.escape(s) + (r"(?!\w)" if s[-1].isalpha() else "") for s in special)
    return re.compile(
        r"\s*(?:(?P<sign>[/*·\u00d7()])|(?P<per>per\b(?!\s*cent))"
        rf"|(?P<name>{names}|[^\W\d_]+)\.?(?:\^?(?P<power>-?\d))?"
        r"|(?P<one>1(?=\s*(?:[/p]|$))))",
        re.IGNORECASE,
    )


class _Product:
    """The product of units read so far."""

    def __init__(self) -> None:
        self.ratio = (1, 1)
        self.powers: dict[str, int] = {}
        self.parts = 0
        self.zero: Ratio | None = None

    def times(self, unit: Unit, exponent: int) -> None:
        above, below = unit.ratio if exponent > 0 else unit.ratio[::-1]
        size = abs(exponent)
        self.ratio = (self.ratio[0] * above**size, self.ratio[1] * below**size)
        for base, power in unit.powers:
            self.powers[base] = self.powers.get(base, 0) + power * exponent
        self.parts, self.zero = self.parts + 1, unit.zero

    def unit(self) -> Unit:
        powers = tuple(sorted((base, power) for base, power in self.powers.items() if power))
        is_scale = self.parts == 1 and powers == (("C", 1),)
        return Unit(self.ratio, powers, self.zero if is_scale else None)


def _parse(
    text: str,
    units: Mapping[str, Unit],
    folded: Mapping[str, str],
    token: re.Pattern[str],
    refused: Mapping[str, str],
) -> Unit:
    """Read an expression from left to right; what follows ``/`` or ``per`` divides."""
    source = _GLUED.sub("sq ", _TRAILING.sub(r"sq \1", text.translate(_SUPERSCRIPTS).strip()))
    product = _Product()
    divides = in_group = False
    square = 1
    position = 0
    while position < len(source):
        found = token.match(source, position)
        if not found:
            raise UnitError(source[position:].strip() or text)
        position = found.end()
        word, sign = found["name"], "/" if found["per"] else found["sign"]
        if sign == "/":
            divides = True
        elif sign in ("(", ")"):
            in_group, divides = sign == "(", divides and sign == "("
        elif word and word.casefold() in _SQUARE:
            square = _SQUARE[word.casefold()]
        elif word:
            power = square * int(found["power"] or 1)
            product.times(_look_up(word, units, folded, refused), -power if divides else power)
            divides, square = divides and in_group, 1
    if (divides and not in_group) or square != 1 or (not product.parts and source != "1"):
        raise UnitError(text.strip())
    return product.unit()


def _look_up(word: str, units: Mapping[str, Unit], folded: Mapping[str, str], refused: Mapping[str, str]) -> Unit:
    if word in units:
        return units[word]
    if word.casefold() in refused:
        raise UnitError(word, refused[word.casefold()])
    if word.casefold() in folded:
        return units[folded[word.casefold()]]
    raise UnitError(word)
