"""Fates of plantings over many years are kept from one run to the next, and are what would be found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from cases import case, case_garden
from ledgers import kept_apart

from mixcraft.files.shelf import Shelf
from mixcraft.recipe.model import OnDate
from mixcraft.recipe.plan import Plan, plan
from mixcraft.scoring import kept_fates, outlook
from mixcraft.scoring.fates import Fate, Fates


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of the test's own."""
    with kept_apart(kept_fates.LEDGER, tmp_path, monkeypatch, 40) as own:
        yield own


def forget(monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a process afresh."""
    kept_fates.LEDGER.forget()
    for name in ("_skies", "_clocks", "_fates", "_plans"):
        monkeypatch.setattr(outlook, name, Shelf())


def skies(monkeypatch: pytest.MonkeyPatch) -> list[np.datetime64]:
    """First days of weathers that are drawn."""
    drawn: list[np.datetime64] = []
    real = outlook.Sky
    monkeypatch.setattr(outlook, "Sky", lambda place, first: drawn.append(first) or real(place, first))
    return drawn


def assert_same(one: Fates, other: Fates) -> None:
    assert one.mains == other.mains
    for item in fields(Fate):
        a, b = getattr(one, item.name), getattr(other, item.name)
        assert a.dtype == b.dtype
        assert np.array_equal(a, b), item.name


@pytest.mark.parametrize("name", ["strips-and-covers", "killed", "southern"])
def test_what_is_kept_is_what_was_found(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    forget(monkeypatch)
    drawn = skies(monkeypatch)
    first = outlook.outlook(case(name))
    assert drawn
    forget(monkeypatch)
    drawn.clear()
    assert_same(outlook.outlook(case(name)), first)
    assert_same(outlook.outlook(case(name), known=True), first)
    assert not drawn


def later(settled: Plan) -> Plan:
    """The first planting of a plan a fortnight later."""
    one = settled.plantings[0].planting
    day = str(settled.date(settled.plantings[0].start + 14))[5:10]
    moved = replace(settled.recipe, plantings=(replace(one, start=OnDate(day)), *settled.recipe.plantings[1:]), document=None)
    return plan(moved, case_garden("oxford"), settled.bed.name)


def test_another_start_is_found_anew_and_kept_beside(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    forget(monkeypatch)
    outlook.outlook(case("killed"))
    before = len(kept_fates.LEDGER.read())
    other = outlook.outlook(later(case("killed")))
    assert len(kept_fates.LEDGER.read()) > before
    assert not np.array_equal(other.death, outlook.outlook(case("killed")).death)


@pytest.mark.parametrize("harm", [b"", b"garbled", b"\x80\x04N."])
def test_a_damaged_file_is_made_anew(harm: bytes, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    forget(monkeypatch)
    first = outlook.outlook(case("killed"))
    (folder / kept_fates.FILE).write_bytes(harm)
    forget(monkeypatch)
    assert_same(outlook.outlook(case("killed")), first)
    assert kept_fates.LEDGER.read()


def test_another_engine_or_number_of_years_finds_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    forget(monkeypatch)
    outlook.outlook(case("killed"))
    key = next(iter(kept_fates.LEDGER.read()))
    years = len(outlook.safe().killed)
    assert kept_fates.kept_fate(key, years) is not None
    assert kept_fates.kept_fate(key, years - 1) is None
    monkeypatch.setattr(kept_fates, "_engine", lambda: b"other")
    assert kept_fates.LEDGER.read() == {}
