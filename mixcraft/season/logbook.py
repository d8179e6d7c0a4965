"""What was really picked: a small file beside the garden, and how it compares with what was expected."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from mixcraft.files import Document, FileFaults, UsageError, check_schema, load_document, parse_document, parse_quantity
from mixcraft.files.migrate import up_to_date

from .result import Band, Season

FORMAT = "mixcraft-log/1"
ENDING = ".log.yaml"


@dataclass(frozen=True, slots=True)
class Picked:
    """A picking: the day, bed, planting and part (empty: its main part), fresh weight [kg]."""

    on: date
    bed: str
    planting: str
    part: str
    kg: float


@dataclass(frozen=True, slots=True)
class Beside:
    """One harvest of a season beside the log: picked so far [kg], what was expected by then and in the whole season (bands)."""

    planting: str
    part: str
    picked_kg: float
    expected_kg: Band
    season_kg: Band


def log_file(garden_file: str) -> Path:
    """The log beside a garden file: ``kiln-lane.log.yaml`` beside ``kiln-lane.garden.yaml``."""
    path = Path(garden_file)
    stem = path.name.removesuffix(path.suffix).removesuffix(".garden")
    return path.with_name(stem + ENDING)


def read_log(path: str | Path) -> tuple[Picked, ...]:
    """The pickings of a log file by day; raises `FileFaults` with every fault of it."""
    return picked_of(load_document(path))


def picked_of(document: Document) -> tuple[Picked, ...]:
    """The pickings of a log document."""
    document = up_to_date(document)
    faults = check_schema(document, "log")
    found = []
    for i, entry in enumerate(document.data["picked"] if not faults else ()):
        try:
            day = date.fromisoformat(entry["on"])
        except ValueError:
            said = f"{entry['on']} is no day of the calendar"
            where = ("picked", i, "on")
            faults.append(document.fault(where, said, rule="log.day", found=entry["on"], repair="check month and day"))
            continue
        kg = parse_quantity(entry["amount"], "mass") / 1000.0
        found.append(Picked(day, entry["bed"], entry["planting"], entry.get("part", ""), kg))
    if faults:
        raise FileFaults(faults)
    return tuple(sorted(found, key=lambda p: p.on))


def with_entry(text: str, name: str, garden: str, entry: Picked, amount: str) -> str:
    """The text of a log with one entry more, all others as they are; an empty text begins a new log.

    Raises `UsageError` where the list of pickings does not end the file.
    """
    said = {"on": entry.on.isoformat(), "bed": entry.bed, "planting": entry.planting, "part": entry.part, "amount": amount}
    parts = ", ".join(f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in said.items() if value)
    before = text if text else f"format: {FORMAT}\ngarden: {json.dumps(garden, ensure_ascii=False)}\npicked:\n"
    after = before.rstrip("\n") + "\n  - {" + parts + "}\n"
    count = len(picked_of(parse_document(text, name))) if text else 0
    try:
        grown = len(picked_of(parse_document(after, name)))
    except FileFaults:
        grown = -1
    if grown != count + 1:
        raise UsageError(f"{name}: write `picked:` last, its entries indented by two, so that one can be added")
    return after


def beside(season: Season, log: Sequence[Picked], until: date, year: int) -> tuple[Beside, ...]:
    """What was picked of each harvest of the season that began in `year`, beside what was expected by the day `until`."""
    plan = season.plan
    start = plan.start.astype("datetime64[D]").astype(date).replace(year=year)
    days = int(np.clip((until - start).days + 1, 0, season.days))
    mains: dict[int, int] = {}
    for h, harvest in enumerate(season.harvests):
        mains.setdefault(harvest.planting, h)
    sums = np.zeros(len(season.harvests))
    for entry in log:
        found = harvest_of(season, entry, mains)
        if found is not None and entry.on >= start:
            sums[found] += entry.kg
    return tuple(
        Beside(
            plan.plantings[harvest.planting].name, harvest.part.name, float(sums[h]),
            Band.of(season.picked_kg[:days, :, h].sum(axis=0)), Band.of(season.picked_kg[:, :, h].sum(axis=0)),
        )
        for h, harvest in enumerate(season.harvests)
    )  # fmt: skip


def harvest_of(season: Season, entry: Picked, mains: dict[int, int]) -> int | None:
    """Which harvest of the season an entry is of; None for another bed or what the recipe does not pick."""
    if entry.bed.casefold() != season.plan.bed.name.casefold():
        return None
    for h, harvest in enumerate(season.harvests):
        planted = season.plan.plantings[harvest.planting].name.casefold() == entry.planting.casefold()
        if planted and (harvest.part.name.casefold() == entry.part.casefold() if entry.part else mains[harvest.planting] == h):
            return h
    return None
