"""The file of places: a CSV with a built-in place, or a spot by its coordinates, in each line.

=============  ==============================================================  ======
``name``       what the place is called; alone in its line, a built-in place   needed
``latitude``   degrees, as 44.9, 44.9 N or 12 S
``longitude``  degrees, as -93.2 or 93.2 W
``height``     metres above the sea; else that of the nearest built-in place
=============  ==============================================================  ======
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from mixcraft.files import Fault, FileFaults
from mixcraft.files.near import meant
from mixcraft.place import NoPosition, Place, UnknownPlace, parse_latitude, parse_longitude, place_at, reference_place

from .model import Spot, digest

COLUMNS = ("name", "latitude", "longitude", "height")
MOST_BYTES = 10_000_000
MOST_PLACES = 100_000
MOST_FAULTS = 200
LOWEST_M, HIGHEST_M = -430.0, 5500.0
NAME_LETTERS = 60


def read_spots(path: str) -> tuple[Spot, ...]:
    """The places of a file, each with a key of its own; raises `FileFaults` with every fault."""
    lines = _lines(path)
    start = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), None)
    if start is None:
        raise FileFaults(_fault(path, 0, "the file of places has no lines", f"begin with {','.join(COLUMNS)}"))
    delimiter = max(",;\t", key=lines[start].count)
    header = [cell.strip().lower() for cell in next(csv.reader([lines[start]], delimiter=delimiter))]
    _check_header(path, start + 1, lines[start], header)
    faults: list[Fault] = []
    spots: dict[str, Spot] = {}
    for number, line in enumerate(lines[start + 1 :], start + 2):
        if line.strip() and not line.startswith("#"):
            cells = [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter))]
            _read(path, number, line, dict(zip(header, cells, strict=False)), spots, faults)
    if faults:
        raise FileFaults(faults)
    if not spots:
        raise FileFaults(_fault(path, 0, "the file of places has no place", "write one in each line below the first"))
    return tuple(spots.values())


def _lines(path: str) -> list[str]:
    file = Path(path)
    try:
        if not file.exists():
            raise FileFaults(_fault(path, 0, "there is no such file of places", "check the name and its folder"))
        if not file.is_file():
            raise FileFaults(_fault(path, 0, "the file of places is not an ordinary file", "name a .csv file on the disk"))
        if file.stat().st_size > MOST_BYTES:
            raise FileFaults(_fault(path, 0, f"the file of places has over {MOST_BYTES // 10**6} MB", "cut it into several"))
        return file.read_bytes().decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise FileFaults(_fault(path, 0, f"byte {error.start + 1} is not UTF-8 text", "save the file as UTF-8")) from None
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise FileFaults(_fault(path, 0, f"the file of places cannot be read ({said})", "check its rights")) from None


def _check_header(path: str, number: int, line: str, header: list[str]) -> None:
    for name in header:
        if name not in COLUMNS:
            repair = meant(name, COLUMNS) or f"the columns are {', '.join(COLUMNS)}"
            raise FileFaults(_fault(path, number, f"there is no column {name!r}", repair, line))
    for name in COLUMNS[:1]:
        if name not in header:
            raise FileFaults(_fault(path, number, f"the column {name} is missing", f"begin with {','.join(COLUMNS)}", line))
    if len(set(header)) < len(header):
        raise FileFaults(_fault(path, number, "a column stands there twice", "keep one of each", line))


def _read(path: str, number: int, line: str, cells: Mapping[str, str], spots: dict[str, Spot], faults: list[Fault]) -> None:
    """Put the place of one line to the spots, or what is wrong with it to the faults."""
    try:
        name = cells.get("name", "")
        if not name or len(name) > NAME_LETTERS or not name.isprintable():
            raise ValueError(f"a place has a name of 1 to {NAME_LETTERS} letters")
        key = _key(name)
        if key in spots:
            raise ValueError(f"{name!r} stands there already")
        if len(spots) >= MOST_PLACES:
            raise ValueError(f"more than {MOST_PLACES:,} places")
        spots[key] = Spot(key, _place(name, cells))
    except (ValueError, UnknownPlace, NoPosition) as error:
        if len(faults) < MOST_FAULTS:
            faults.append(_fault(path, number, str(error), "mend or drop this line", line))


def _place(name: str, cells: Mapping[str, str]) -> Place:
    latitude, longitude, height = (cells.get(column, "") for column in COLUMNS[1:])
    if not (latitude or longitude or height):
        return reference_place(name)
    if not (latitude and longitude):
        raise ValueError("a spot needs latitude and longitude")
    metres = None
    if height:
        metres = _metres(height)
        if not LOWEST_M <= metres <= HIGHEST_M:
            raise ValueError(f"a height lies between {LOWEST_M:g} and {HIGHEST_M:g} m, found {height}")
    return place_at(parse_latitude(latitude), parse_longitude(longitude), metres, name)


def _metres(height: str) -> float:
    try:
        return float(re.sub(r"\s*m$", "", height))
    except ValueError:
        raise ValueError(f"a height is a number of metres, found {height!r}") from None


def _key(name: str) -> str:
    """A name as a folder: lower-case letters, digits and dashes; other alphabets by their digest."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    key = re.sub(r"[^a-z0-9]+", "-", "".join(c for c in plain if not unicodedata.combining(c))).strip("-")
    return key if key and plain.isascii() else f"{key}-{digest(name)[:6]}".strip("-")


def _fault(path: str, line: int, message: str, repair: str, text: str = "") -> Fault:
    return Fault(path, line, 1 if line else 0, "", "places", message, repair=repair, source_line=text)
