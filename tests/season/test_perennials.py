"""Perennials: picked from some year on, and standing when they are not picked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from alone import alone_of
from alone import planting as whole_bed
from strategies import grown, planting

from mixcraft.crops import load_crop
from mixcraft.files import FileFaults
from mixcraft.place.places import reference_place
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


def test_rhubarb_that_stands_is_picked_on_where_the_bed_begins_in_its_season() -> None:
    """Picked from March in the south of England; the bed of a season that begins in the middle of April has it in that spring."""
    item = whole_bed(load_crop("rhubarb"), "crown", "04-15", "bed")
    one = alone_of(load_crop("rhubarb"), reference_place("Oxford"), (replace(item, years=3),), 6, 7)
    assert np.nanmedian(one.first()) < 45


def test_only_perennials_have_years() -> None:
    with pytest.raises(FileFaults, match="does not stand for years"):
        bed(2, "carrot-early", "drills")


@pytest.mark.parametrize(("crop", "how", "first"), [
    ("chives", "plant", ("04-05", "05-10")), ("sorrel", "module", ("03-20", "05-01")), ("lovage", "plant", ("04-10", "05-31")),
    ("rosemary", "plant", ("03-01", "03-15")), ("thyme", "plant", ("03-01", "03-31")), ("rhubarb", "crown", ("04-01", "05-10")),
])  # fmt: skip
def test_what_has_stood_for_years_is_picked_in_spring(crop: str, how: str, first: tuple[str, str]) -> None:
    """Common practice, no source: in the south of England, and no later than what is set out on the same day."""
    item = whole_bed(load_crop(crop), how, "03-01", "bed")
    days = []
    for years in (None, 3):
        one = alone_of(load_crop(crop), reference_place("Oxford"), (replace(item, years=years),), 6, 7)
        days.append(float(np.nanmedian(one.first())))
    date = str(np.datetime64("2001-03-01") + int(days[1]))[5:]
    assert first[0] <= date <= first[1]
    assert days[1] <= days[0]


def first_of_standing(crop: str, how: str, start: str, where: str = "Oxford") -> np.datetime64:
    """Middle first picking of a perennial that has stood for two years in a bed whose season begins on a day of 2001."""
    item = replace(whole_bed(load_crop(crop), how, start, "bed"), years=2)
    days = np.nanmedian(alone_of(load_crop(crop), reference_place(where), (item,), 6, 7).first())
    return np.datetime64(f"2001-{start}") + np.timedelta64(int(days), "D")


@pytest.mark.parametrize(("crop", "how"), [("strawberry", "plant"), ("globe-artichoke", "crown"), ("lavender", "plant")])
def test_what_stands_ripens_when_it_does_whatever_day_the_bed_begins(crop: str, how: str) -> None:
    ripe = [first_of_standing(crop, how, start) for start in ("02-01", "03-15", "05-01")]
    assert max(ripe) - min(ripe) <= np.timedelta64(10, "D"), ripe


def test_what_fruits_once_a_year_has_its_turn_in_the_next_where_it_is_over() -> None:
    """Common practice, no source: June strawberries in June, of a bed that begins in July or October in the next one."""
    for start in ("07-15", "10-15"):
        assert np.datetime64("2002-05-25") <= first_of_standing("strawberry", "plant", start) <= np.datetime64("2002-07-05")


def test_a_clump_is_cut_as_it_stands() -> None:
    """Common practice, no source: chives and mint that stand can be cut at once in May and in June, however they were set out."""
    for crop in ("chives", "mint", "sorrel"):
        for start in ("05-15", "06-15"):
            waits = first_of_standing(crop, "division" if crop != "sorrel" else "module", start) - np.datetime64(f"2001-{start}")
            assert waits <= np.timedelta64(14, "D"), (crop, start)


def bolts(where: str, start: str) -> float:
    """Middle days to the stem of chives that have stood for two years."""
    item = replace(whole_bed(load_crop("chives"), "division", start, "bed"), years=2)
    one = alone_of(load_crop("chives"), reference_place(where), (item,), 6, 7)
    return float(np.median(one.clocks[0].bolt - one.starts[0]))


def test_what_stands_has_had_its_winter_where_there_is_one() -> None:
    """Common practice, no source: chives flower in May and June, in a bed that begins in the middle of April too."""
    assert bolts("Oxford", "02-01") < 140
    assert bolts("Oxford", "04-15") < 75
    assert bolts("Nairobi", "04-01") > 365


def test_spears_come_when_they_do_whatever_day_the_bed_begins() -> None:
    """Common practice, no source: late April and May in the south of England; in a bed of the middle of May they are there."""
    cut = [first_of_standing("asparagus", "crown", start) for start in ("02-01", "03-15", "04-15")]
    assert max(cut) - min(cut) <= np.timedelta64(10, "D"), cut
    assert first_of_standing("asparagus", "crown", "05-15") <= np.datetime64("2001-05-18")
    assert first_of_standing("rhubarb", "crown", "04-15") <= np.datetime64("2001-05-05")


@pytest.mark.parametrize(("crop", "how"), [("strawberry", "plant"), ("mint", "division"), ("rhubarb", "crown")])
def test_what_stands_gives_about_as_much_whatever_day_the_bed_begins(crop: str, how: str) -> None:
    """It has the leaf by then that it would have grown."""
    given = []
    for start in ("02-01", "04-01", "05-01"):
        item = replace(whole_bed(load_crop(crop), how, start, "bed"), years=3)
        given.append(float(np.median(alone_of(load_crop(crop), reference_place("Oxford"), (item,), 6, 7).yields)))
    assert max(given) < 1.45 * min(given), given
