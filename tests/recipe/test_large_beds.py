"""Large beds cost no more than others: their cells grow, the card says so, and what is no bed is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import bed, planned, planting

from mixcraft.files import FileFaults
from mixcraft.recipe.layout import CELL_M, MOST_CELLS, MOST_PLANTED_CELLS, grid_of
from mixcraft.recipe.reading import load_garden
from mixcraft.words.notes import note_sentence


@given(st.floats(0.2, 1000.0), st.floats(0.2, 1000.0), st.integers(1, 1000))
def test_cells_are_bounded(length: float, width: float, plantings: int) -> None:
    grid = grid_of(length, width, plantings=plantings)
    assert 4 <= grid.nx * grid.ny <= MOST_CELLS
    assert grid.nx * grid.ny * plantings <= MOST_PLANTED_CELLS
    assert grid.nx * grid.dx_m == pytest.approx(length)
    assert grid.ny * grid.dy_m == pytest.approx(width)


@given(st.floats(0.5, 20.0), st.floats(0.5, 2.4))
def test_usual_beds_keep_their_cells(length: float, width: float) -> None:
    grid = grid_of(length, width)
    assert (grid.nx, grid.ny) == (round(length / CELL_M), round(width / CELL_M))


def test_larger_cells_are_said() -> None:
    large, usual = (planned(planting("radish"), one=bed(length, 10.0)) for length in (50.0, 5.0))
    said = [note_sentence(note) for note in large.notes if note.kind == "large cells"]
    assert len(said) == 1
    assert "cells of 32 cm instead of 10 cm" in said[0]
    assert not any(note.kind == "large cells" for note in usual.notes)


@pytest.mark.parametrize(("length", "refused"), [("25 m", False), ("26 m", True), ("60 m", True)])
def test_a_field_is_no_bed(length: str, refused: bool, tmp_path: Path) -> None:
    path = tmp_path / "field.garden.yaml"
    text = "format: mixcraft-garden/1\nname: Field\nplace: {kind: reference, name: Oxford}\nbeds:\n"
    path.write_text(f"{text}  - {{name: field, length: {length}, width: 20 m}}\n", "utf-8")
    if not refused:
        assert load_garden(path).beds[0].width_m == 20.0
        return
    with pytest.raises(FileFaults) as caught:
        load_garden(path)
    (fault,) = caught.value.faults
    assert fault.rule == "bed.size"
    assert fault.allowed == "500 m2"
    assert "divide the ground" in fault.repair
