"""Constants as data: every number with its unit, its source and where in the source it stands."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from mixcraft.files import keeping
from mixcraft.files.faults import Fault, FileFaults
from mixcraft.files.frozen import FrozenMap

Number = float | tuple[Any, ...]  # a number, or numbers in (nested) tuples

QUALITIES = ("published", "derived", "trade page", "common practice", "memory")
"""Best first: science, statistics, extension services, standards and handbooks; what follows from such; seed merchants,
nurseries and popular pages; a rule of the trade without a source; a value recalled."""
PACKAGE = Path(__file__).resolve().parents[1]
_NEEDED = ("value", "unit", "source", "at")
_ALLOWED = (*_NEEDED, "range", "quality", "meaning")


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant: `value` in `unit`, from `source` (key of the bibliography) `at` page, table or equation.

    value: a number, or numbers in tuples. range: lowest and highest value that the source allows, or None.
    quality: one of `QUALITIES`. meaning: what it is, in a few words.
    """

    name: str
    value: Any
    unit: str
    source: str
    at: str
    range: tuple[float, float] | None = None
    quality: str = "published"
    meaning: str = ""


def load_constants(package_file: str | os.PathLike[str]) -> Mapping[str, Constant]:
    """Return the constants of a YAML file of records, by name; read once per file, not to be changed.

    Each record is ``name: {value, unit, source, at, range?, quality?, meaning?}``; a line `format:` is
    passed over. Raises FileFaults for a record that is not complete: a number without a source is a defect.
    """
    return _load(os.fspath(Path(package_file).resolve()))


def load_numbers(package_file: str | os.PathLike[str]) -> Mapping[str, float]:
    """Return the plain numbers among the constants of a file, by name; see `load_constants`."""
    return _plain(os.fspath(Path(package_file).resolve()))


@lru_cache(maxsize=64)
def _plain(path: str) -> Mapping[str, float]:
    found = _load(path).items()
    return FrozenMap({name: float(record.value) for name, record in found if not isinstance(record.value, tuple)})


@lru_cache(maxsize=64)
def _load(path: str) -> Mapping[str, Constant]:
    """The constants of a file; those of mixcraft itself are kept as they were read, since reading takes twenty times as long."""
    file = Path(path)
    if not file.is_relative_to(PACKAGE) or not file.is_file():
        return _read(path)
    key = sha256(keeping.reader() + file.read_bytes()).digest()
    return keeping.kept_thing(partial(folders, file.parent), f"{file.stem}.pickle", key, FrozenMap, lambda: _read(path))


def folders(beside: Path) -> Iterator[Path]:
    """Folders in which constants may be kept, the best first."""
    return keeping.folders(beside)


def _read(path: str) -> FrozenMap[str, Constant]:
    from mixcraft.files.load import load_document

    document = load_document(path)
    faults: list[Fault] = []
    if not isinstance(document.data, dict):
        raise FileFaults(
            document.fault(
                (),
                "constants are written as `name: {value: ...}`",
                rule="type",
                repair="write one record for each name",
            )
        )
    constants = {}
    for name, record in document.data.items():
        if name == "format" and isinstance(record, str):
            continue
        found = [document.fault((name, *path), said, rule="constant", repair=repair) for path, said, repair in _check(record)]
        faults += found
        if not found:
            constants[name] = _constant(name, record)
    if faults:
        raise FileFaults(faults)
    return FrozenMap(constants)


def _constant(name: str, record: dict[str, Any]) -> Constant:
    span = record.get("range")
    return Constant(
        name,
        _tuples(record["value"]),
        str(record["unit"]),
        str(record["source"]),
        str(record["at"]),
        (float(span[0]), float(span[1])) if span else None,
        record.get("quality", "published"),
        str(record.get("meaning", "")),
    )


def _check(record: Any) -> list[tuple[tuple[str, ...], str, str]]:
    """Path, message and repair of each fault of a record."""
    if not isinstance(record, dict):
        return [((), "a constant is a record", "write {value: ..., unit: ..., source: ..., at: ...}")]
    found: list[tuple[tuple[str, ...], str, str]] = []
    for key in _NEEDED:
        if record.get(key) is None or record[key] == "":
            found.append(((), f"the constant has no `{key}`", f"add `{key}:` to the record"))
    for key in record:
        if key not in _ALLOWED:
            found.append(((key,), f"`{key}` is not part of a constant", f"use {', '.join(_ALLOWED)}"))
    if "value" in record and not _numbers(record["value"]):
        found.append((("value",), "the value is not a number or a list of numbers", "write numbers"))
    span = record.get("range")
    if span is not None and not (isinstance(span, list) and len(span) == 2 and _numbers(span) and span[0] <= span[1]):
        found.append((("range",), "the range is not two numbers, the lower first", "write [low, high]"))
    elif span is not None and not _inside(record.get("value"), *span):
        found.append((("value",), f"the value lies outside its range, {span[0]:g} to {span[1]:g}", "mend the value or the range"))
    if record.get("quality", "published") not in QUALITIES:
        found.append((("quality",), "the quality is not known", f"use {', '.join(QUALITIES)}"))
    return found


def _numbers(value: Any) -> bool:
    if isinstance(value, list):
        return bool(value) and all(_numbers(item) for item in value)
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _inside(value: Any, low: float, high: float) -> bool:
    if isinstance(value, list):
        return all(_inside(item, low, high) for item in value)
    return not _numbers(value) or low <= value <= high


def _tuples(value: Any) -> Any:
    return tuple(_tuples(item) for item in value) if isinstance(value, list) else value
