"""Perennials: picked from some year on, and standing when they are not picked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import grown, planting

from mixcraft.files import FileFaults
from mixcraft.recipe.model import OnDate
from mixcraft.season.result import Season
from mixcraft.words.notes import note_sentence


def bed(years: int | None, crop: str = "asparagus", way: str = "crown") -> Season:
    item = planting(crop, establish=way, density_per_m2=3.0, start=OnDate("03-25"))
    return grown(replace(item, years=years), years=2)


def test_asparagus_is_picked_from_its_third_spring() -> None:
    """Common practice, no source: none in the year of planting and in the next."""
    assert [bool(bed(years).picked_kg.sum() > 0.0) for years in (0, 1, 2, 10, None)] == [False, False, True, True, True]
    assert "not picked this year" in " ".join(map(note_sentence, bed(1).plan.notes))
    assert "pick little or nothing" in " ".join(map(note_sentence, bed(None).plan.notes))


def test_a_perennial_stands_and_shades_when_its_harvest_is_over() -> None:
    """The fern of asparagus is full-grown in August, weeks after the last spear."""
    season = bed(5)
    last = int(np.flatnonzero(season.picked_kg.sum(axis=(1, 2)))[-1])
    august = int((np.datetime64(f"{season.plan.date(0).astype(object).year}-08-15") - season.plan.date(0)).astype(int))
    assert last + 14 < august
    assert season.leaf_m2[august].min() >= season.leaf_m2[last].max() > 0.0


def test_only_perennials_have_years() -> None:
    with pytest.raises(FileFaults, match="does not stand for years"):
        bed(2, "carrot-early", "drills")
