"""Tables read back by other libraries: the csv module, openpyxl, pyarrow."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from types import SimpleNamespace

import openpyxl
import pyarrow.parquet as pq
import pytest

from mixcraft.files import UsageError
from mixcraft.press.jobs import jobs
from mixcraft.press.tables import harvest_table, safe, seed_table, table_bytes, task_table


def test_harvest_by_week_adds_up(fixed: SimpleNamespace) -> None:
    """The quiet season gives every year the same, so that the middles of the weeks add up to all that is picked."""
    table = harvest_table(fixed.season, 2027)
    assert sum(table["kg_middle"]) == pytest.approx(fixed.season.picked_kg[:, 0].sum(), abs=0.01)
    assert {d.year for d in table["week_from"]} == {2027}


def test_tasks_are_the_jobs(fixed: SimpleNamespace) -> None:
    assert task_table(fixed.season, fixed.score, 2027)["task"] == [s.kind for s in jobs(fixed.season, fixed.score)]


def test_three_files_hold_the_same(fixed: SimpleNamespace) -> None:
    table = seed_table(fixed.season)
    rows = list(csv.reader(io.StringIO(table_bytes({"seed": table}, ".csv").decode("utf-8"), newline="")))
    assert rows[0] == list(table)
    sheet = openpyxl.load_workbook(io.BytesIO(table_bytes({"seed": table}, ".xlsx")))["seed"]
    cells = [["" if c.value is None else c.value for c in row] for row in sheet.iter_rows(min_row=2)]
    assert cells == [list(r) for r in zip(*table.values(), strict=True)]
    back = pq.read_table(io.BytesIO(table_bytes({"seed": table}, ".parquet"))).to_pydict()
    assert back == {name: list(column) for name, column in table.items()}
    assert [float(r[-1]) for r in rows[1:]] == table["grams"]


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-2", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x")'])
def test_no_text_is_a_formula(fixed: SimpleNamespace, text: str) -> None:
    """A planting, crop or note may be called what a spreadsheet would run (OWASP, CSV injection)."""
    first = fixed.plan.plantings[0]
    odd = replace(first, planting=replace(first.planting, name=text, note=text))
    season = replace(fixed.season, plan=replace(fixed.plan, plantings=(odd, *fixed.plan.plantings[1:])))
    table = seed_table(season)
    rows = list(csv.reader(io.StringIO(table_bytes({"seed": table}, ".csv").decode("utf-8"), newline="")))
    assert rows[1][1] == safe(text) == f"'{text}"
    cell = openpyxl.load_workbook(io.BytesIO(table_bytes({"seed": table}, ".xlsx")))["seed"].cell(2, 2)
    assert cell.data_type in ("s", "inlineStr")
    assert cell.value.strip() == text.strip()


def test_numbers_below_zero_stay_numbers() -> None:
    assert safe(-2.5) == -2.5


def test_a_workbook_has_the_same_bytes_again(fixed: SimpleNamespace) -> None:
    tables = {"seed": seed_table(fixed.season), "harvest": harvest_table(fixed.season, 2027)}
    assert table_bytes(tables, ".xlsx") == table_bytes(tables, ".xlsx")
    with pytest.raises(UsageError, match="one table"):
        table_bytes(tables, ".csv")


def test_a_library_that_lacks_is_named(fixed: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    for name, ending in (("openpyxl", ".xlsx"), ("pyarrow", ".parquet")):
        monkeypatch.setitem(sys.modules, name, None)
        with pytest.raises(UsageError, match=f"{name}; install it: pip install mixcraft"):
            table_bytes({"seed": seed_table(fixed.season)}, ending)
