"""The book of a garden: all its beds, what is ordered, sown indoors and done month by month."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import pypdf
import pytest

from mixcraft.files import UsageError
from mixcraft.press.book import BedPages, grown_beds, pages_of, press_book
from mixcraft.press.jobs import jobs
from mixcraft.press.options import Options
from mixcraft.press.orders import merged, orders_of, seeds_in_packet
from mixcraft.press.sides import content_of
from mixcraft.words.amounts import rounded_up

OPTIONS = Options(year=2027)


@pytest.fixture(scope="module")
def pages(fixed: SimpleNamespace) -> list[BedPages]:
    """Two beds alike, the second under another name."""
    first = pages_of(content_of(fixed.season, fixed.score, OPTIONS), "-0")
    bed = replace(fixed.plan.bed, name="second bed")
    other = replace(fixed.season, plan=replace(fixed.plan, bed=bed))
    return [first, pages_of(content_of(other, None, OPTIONS), "-1")]


@pytest.mark.slow
def test_everything_of_every_bed_is_in_it(
    fixed: SimpleNamespace, pages: list[BedPages], text_of: Callable[[bytes], list[str]]
) -> None:
    garden = replace(fixed.plan.garden, beds=(fixed.plan.bed, replace(fixed.plan.bed, name="second bed")))
    book = press_book(garden, pages, OPTIONS)
    text = text_of(book)
    whole = " ".join(text)
    headings = "Test Yard, 2027", "The garden", "Seed and plants to order", "Sowing indoors", "Work month by month", "April 2027"
    for heading in headings:
        assert heading in whole
    assert whole.count("What to do, in order, 2027") == 2
    reader = pypdf.PdfReader(io.BytesIO(book))
    assert sorted(reader.attachments) == ["fixed.garden.yaml", "fixed.recipe.yaml"]  # each file once
    fronts = [i + 1 for i, page in enumerate(text) if "What to do, in order" in page]
    assert [f"page {n}" in text[0] for n in fronts] == [True, True]


def test_work_is_that_of_all_beds(fixed: SimpleNamespace, pages: list[BedPages]) -> None:
    assert len(pages[0].tasks) == len(jobs(fixed.season, fixed.score))
    assert {task.bed for page in pages for task in page.tasks} == {"test bed", "second bed"}


def test_orders_add_up(fixed: SimpleNamespace) -> None:
    """The salad is grown twice, and two beds are alike: one line with all its seeds and the packets that hold them."""
    orders = orders_of(fixed.plan)
    lines = {line.crop: line for line in merged([*orders, *orders], OPTIONS)}
    seeds = 2 * sum(p.seeds for p in fixed.plan.plantings if p.planting.crop.id == "card-salad")
    salad = next(p.planting.crop for p in fixed.plan.plantings if p.planting.crop.id == "card-salad")
    line = lines[salad.name]
    assert f"{rounded_up(seeds)}\u00a0seeds" in line.amount
    assert line.packets == f"{-(-int(seeds) // int(seeds_in_packet(salad)))} packet"
    assert line.beds == "test bed"


def test_a_garden_without_recipes_says_so(fixed: SimpleNamespace) -> None:
    with pytest.raises(UsageError, match="no bed names its recipe"):
        grown_beds(fixed.plan.garden, OPTIONS)
    with pytest.raises(UsageError, match="for a year"):
        press_book(fixed.plan.garden, [], Options())
