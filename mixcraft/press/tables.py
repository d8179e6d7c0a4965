"""What a bed gives and asks for as tables: harvest by week, seed list, tasks; as CSV, XLSX or Parquet.

CSV is written by the standard library (RFC 4180), XLSX by openpyxl, Parquet by pyarrow; the last two are asked for only when they
are needed.  Text that a spreadsheet would take for a formula is written as text.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from mixcraft.files import UsageError
from mixcraft.season.result import BAND, Season
from mixcraft.words import step_amount, step_sentence
from mixcraft.words.amounts import Units, rounded_up

from .dates import real_date
from .jobs import jobs

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

Cell = str | float | int | date | None
Table = Mapping[str, Sequence[Cell]]
"""Columns by name, all of one length."""
KINDS = ("harvest", "seed", "tasks")
ENDINGS = (".csv", ".xlsx", ".parquet")
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""Beginnings of a cell that spreadsheets take for a formula (OWASP, CSV injection)."""
FIXED = datetime(2001, 1, 1)
"""A workbook must carry a time of making; the same input gives the same bytes."""


def harvest_table(season: Season, year: int) -> Table:
    """Fresh kilograms by week and harvest: the middle of the years and the band of eight in ten; weeks without any left out."""
    weekly = np.quantile(season.weekly_kg(), BAND, axis=1)
    plan, rows = season.plan, []
    for week in range(weekly.shape[1]):
        for h, harvest in enumerate(season.harvests):
            low, middle, high = (round(float(v), 3) for v in weekly[:, week, h])
            if high > 0.0:
                name = plan.plantings[harvest.planting].name
                rows.append((real_date(plan, 7 * week, year), plan.bed.name, name, harvest.part.name, low, middle, high))
    return _columns(("week_from", "bed", "planting", "part", "kg_low", "kg_middle", "kg_high"), rows)


def seed_table(season: Season) -> Table:
    """What is bought for each planting: seeds and grams, or plants and pieces."""
    plan, rows = season.plan, []
    for planned in plan.plantings:
        planting = planned.planting
        if planting.stands:
            continue
        piece = planting.establish not in ("broadcast", "drills", "stations", "module")
        grams = round(planned.seed_g, 2)
        rows.append(
            (plan.bed.name, planned.name, planting.crop.name, planting.crop.botanical, planting.cultivar,
             planting.establish if piece else "seed", rounded_up(planned.seeds), grams)
        )  # fmt: skip
    return _columns(("bed", "planting", "crop", "botanical", "cultivar", "sold_as", "number", "grams"), rows)


def task_table(season: Season, score: Score | None, year: int, units: Units = "metric") -> Table:
    """Every job with its day; what is done again has the days between and the last day."""
    plan, rows = season.plan, []
    for step in jobs(season, score):
        every = step.amounts.get("every_days", 0.0)
        until = real_date(plan, int(step.amounts["until"]), year) if every else None
        names = ", ".join(plan.plantings[n - 1].name for n in step.numbers)
        words = step_sentence(step, plan, units, dated=True), step_amount(step, plan, units=units)
        rows.append(
            (real_date(plan, step.day, year), plan.bed.name, step.kind, names, *(_plain(w) for w in words), step.note,
             every or None, until)
        )  # fmt: skip
    return _columns(("date", "bed", "task", "plantings", "what", "amount", "note", "every_days", "until"), rows)


def _plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def _columns(names: Sequence[str], rows: Sequence[Sequence[Cell]]) -> Table:
    return {name: [row[i] for row in rows] for i, name in enumerate(names)}


def joined(tables: Sequence[Table]) -> Table:
    """Tables with the same columns one below the other."""
    return {name: [cell for table in tables for cell in table[name]] for name in tables[0]}


def table_bytes(tables: Mapping[str, Table], ending: str) -> bytes:
    """The file of one table, or of several as the sheets of a workbook; raises `UsageError` for a library that lacks."""
    if ending != ".xlsx" and len(tables) != 1:
        raise UsageError(f"a {ending} file holds one table; choose one of {', '.join(tables)}")
    return WRITERS[ending](tables)


def safe(cell: Cell) -> Cell:
    """A cell as a spreadsheet may read it: text that looks like a formula with an apostrophe before it."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def _csv(tables: Mapping[str, Table]) -> bytes:
    (table,) = tables.values()
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(table)
    writer.writerows([["" if c is None else safe(c) for c in row] for row in zip(*table.values(), strict=True)])
    return out.getvalue().encode("utf-8")


def _xlsx(tables: Mapping[str, Table]) -> bytes:
    try:
        import openpyxl
    except ImportError as error:
        raise UsageError("workbooks are written by openpyxl; install it: pip install mixcraft[tables]") from error
    book = openpyxl.Workbook()
    book.remove(book.active)
    book.properties.created = book.properties.modified = FIXED
    for name, table in tables.items():
        sheet = book.create_sheet(name)
        for column, title in enumerate(table, 1):
            sheet.cell(1, column, title).font = openpyxl.styles.Font(bold=True)
            for row, value in enumerate(table[title], 2):
                _fill(sheet.cell(row, column), value)
        sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return _without_times(out.getvalue())


def _fill(cell: Any, value: Cell) -> None:
    """A value into a cell, text as text whatever it begins with."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cell.value = ILLEGAL_CHARACTERS_RE.sub("", value) if isinstance(value, str) else value
    if isinstance(value, str):
        cell.data_type = "s"


def _without_times(data: bytes) -> bytes:
    """A zip archive with one fixed time for all its members, and the time of saving in the workbook put back."""
    import re
    import zipfile

    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            content = old.read(info)
            if info.filename == "docProps/core.xml":
                content = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2001-01-01T00:00:00Z", content)
            new.writestr(zipfile.ZipInfo(info.filename, (2001, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _parquet(tables: Mapping[str, Table]) -> bytes:
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as error:
        raise UsageError("Parquet is written by pyarrow; install it: pip install mixcraft[parquet], or write .csv") from error
    (table,) = tables.values()
    out = io.BytesIO()
    pq.write_table(pa.table({name: list(column) for name, column in table.items()}), out)
    return out.getvalue()


WRITERS: Mapping[str, Callable[[Mapping[str, Table]], bytes]] = {".csv": _csv, ".xlsx": _xlsx, ".parquet": _parquet}
