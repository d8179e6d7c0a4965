"""Repairs that were found are kept from one run to the next, and found anew where anything that they depend on has changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from cases import case, case_garden
from ledgers import kept_apart

from mixcraft.recipe.model import OnDate
from mixcraft.recipe.plan import plan
from mixcraft.scoring import kept_repairs, repairs, score
from mixcraft.scoring.kept_repairs import Picks
from mixcraft.scoring.model import Score
from mixcraft.scoring.repairs import with_repairs
from mixcraft.season.grow import grow

GROWN = (3, None)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of the test's own."""
    with kept_apart(kept_repairs.LEDGER, tmp_path, monkeypatch, 40) as own:
        yield own


@pytest.fixture
def tried(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Numbers of reasons for which candidates were tried; nothing is grown, the last candidate mends each but the first."""
    asked: list[int] = []

    def picked(result: Score, todo: list[tuple[object, list[object]]], _: object) -> Picks:
        asked.append(len(todo))
        return [None, *((len(found) - 1, result.overall + 1.5) for _, found in todo[1:])]

    monkeypatch.setattr(repairs, "_picked", picked)
    return asked


@lru_cache(maxsize=2)
def plain(later: bool = False) -> Score:
    """A recipe's score, or the same with the first planting a day later."""
    settled = case("killed")
    if later:
        one = settled.recipe.plantings[0]
        day = str(settled.date(settled.plantings[0].start + 1))[5:10]
        moved = replace(settled.recipe, plantings=(replace(one, start=OnDate(day)), *settled.recipe.plantings[1:]), document=None)
        settled = plan(moved, case_garden("oxford"), settled.bed.name)
    return score(grow(settled, 3, voxels=False))


def test_what_is_kept_is_what_was_found(monkeypatch: pytest.MonkeyPatch) -> None:
    first = with_repairs(plain(), most=2, grown=GROWN)
    assert any(reason.repair for reason in first.reasons)
    kept_repairs.LEDGER.forget()
    monkeypatch.setattr(repairs, "Trial", None)
    assert [r.repair for r in with_repairs(plain(), most=2, grown=GROWN).reasons] == [r.repair for r in first.reasons]


def test_another_recipe_way_of_growing_number_or_engine_is_tried(monkeypatch: pytest.MonkeyPatch, tried: list[int]) -> None:
    first = with_repairs(plain(), grown=GROWN)
    again = with_repairs(plain(), grown=GROWN)
    assert len(tried) == 1
    found = [r.repair for r in again.reasons]
    assert found == [r.repair for r in first.reasons]
    assert [round(r.gain, 9) for r in found if r] == [1.5] * (tried[0] - 1)
    with_repairs(plain(later=True), grown=GROWN)
    with_repairs(plain(), grown=(30, None))
    with_repairs(plain(), most=2, grown=GROWN)
    assert len(tried) == 4
    monkeypatch.setattr(kept_repairs, "_engine", lambda: b"other")
    kept_repairs.LEDGER.forget()
    with_repairs(plain(), grown=GROWN)
    assert len(tried) == 5


def test_what_cannot_be_named_is_not_kept(tried: list[int], folder: Path) -> None:
    """A library's own way of growing may be anything."""
    assert with_repairs(plain()).reasons == with_repairs(plain()).reasons
    assert len(tried) == 2
    assert not list(folder.iterdir())


@pytest.mark.parametrize("harm", [b"", b"garbled"])
def test_a_damaged_file_only_costs_another_search(harm: bytes, tried: list[int], folder: Path) -> None:
    first = with_repairs(plain(), grown=GROWN)
    (folder / kept_repairs.FILE).write_bytes(harm)
    kept_repairs.LEDGER.forget()
    assert with_repairs(plain(), grown=GROWN).reasons == first.reasons
    assert len(tried) == 2
