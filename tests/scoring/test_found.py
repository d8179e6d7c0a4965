"""What crops give alone is kept from one run to the next, and nothing about the file that holds it stops a score."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from strategies import place

from mixcraft.crops import load_crop
from mixcraft.files import keeping
from mixcraft.scoring import found, reference
from mixcraft.scoring.found import FILE, Best, found_before


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of the test's own, read again at every asking, as by processes afresh."""
    monkeypatch.setattr(found.LEDGER, "where", lambda: iter([tmp_path]))
    monkeypatch.setattr(found.LEDGER, "get", lambda mark: found.LEDGER.read().get(mark))
    yield tmp_path
    found.LEDGER.forget()


def grow_as(best: Best, grown: list[int]):
    """Grows nothing: says `best` of every crop, and which were asked for."""

    def grow(new: list[int]) -> list[Best]:
        grown.extend(new)
        return [best] * len(new)

    return grow


def test_what_is_known_is_not_grown_again(folder: Path) -> None:
    grown: list[int] = []
    assert found_before(["a"], grow_as((2.0, 60.0), grown)) == [(2.0, 60.0)]
    assert found_before(["b", "a"], grow_as((3.0, 70.0), grown)) == [(3.0, 70.0), (2.0, 60.0)]
    assert found_before(["a", "b"], grow_as((9.0, 9.0), grown)) == [(2.0, 60.0), (3.0, 70.0)]
    assert grown == [0, 0]


@pytest.mark.parametrize("harm", ["garbled", "cut short", "empty", "locked", "no object"])
def test_a_damaged_file_is_made_anew(folder: Path, harm: str) -> None:
    found_before(["a"], grow_as((2.0, 60.0), []))
    file = folder / FILE
    whole = file.read_bytes()
    if harm == "locked":
        file.unlink()
        file.mkdir()
    elif harm == "no object":
        keeping.keep_in([folder], FILE, pickle.dumps([1]))
    else:
        file.write_bytes({"garbled": whole[:-1] + bytes([whole[-1] ^ 1]), "cut short": whole[:-9], "empty": b""}[harm])
    assert found_before(["a"], grow_as((3.0, 70.0), [])) == [(3.0, 70.0)]
    if harm != "locked":
        assert found_before(["a"], grow_as((9.0, 9.0), [])) == [(3.0, 70.0)]


def test_nowhere_to_keep_it_is_no_hindrance(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(found.LEDGER, "where", lambda: iter([tmp_path / "file"]))
    found.LEDGER.forget()
    assert found_before(["a"], grow_as((2.0, 60.0), [])) == [(2.0, 60.0)]
    found.LEDGER.forget()


def test_another_engine_finds_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found_before(["a"], grow_as((2.0, 60.0), []))
    monkeypatch.setattr(found, "engine", lambda: "another")
    assert found_before(["a"], grow_as((3.0, 70.0), [])) == [(3.0, 70.0)]


def test_the_oldest_go_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(found.LEDGER, "most", 2)
    for key in "abc":
        found_before([key], grow_as((2.0, 60.0), []))
    grown: list[int] = []
    found_before(["a", "b", "c"], grow_as((2.0, 60.0), grown))
    assert grown == [0]


def test_another_place_or_crop_is_another_key(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A place by its climate and not by its name, a crop by its numbers."""
    monkeypatch.setattr(reference, "_known", reference.Shelf(9))
    asked: list[str] = []
    monkeypatch.setattr(reference, "found_before", lambda keys, grow: asked.extend(keys) or [(2.0, 60.0)] * len(keys))
    radish = load_crop("radish")
    taller = radish.with_values({"canopy.height": 0.9}, "own")
    here = place()
    higher, renamed = replace(here, elevation_m=500.0), replace(here, name="here")
    for crop, spot in ((radish, here), (taller, here), (radish, higher), (radish, renamed)):
        reference.references([crop], spot)
    assert len(asked) == len(set(asked)) == 3
