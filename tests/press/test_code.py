"""The recipe as a QR code: Base45 by the examples of RFC 9285, the code beside segno's own reckoning, and back again."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import segno
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from mixcraft.files import UsageError
from mixcraft.press import press_card
from mixcraft.press.code import MARK, MOST_MODULES, QUIET, base45, drawn_code, from_base45, packed, unpacked
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.season.result import Season

DEMO = Path(__file__).parents[2] / "recipes_demo"


@pytest.mark.parametrize(
    ("data", "text"),
    [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581"), (b"ietf!", "QED8WEX0")],
)
def test_examples_of_rfc_9285(data: bytes, text: str) -> None:
    """RFC 9285, sections 4.3 and 4.4."""
    assert base45(data) == text
    assert from_base45(text) == data


@pytest.mark.parametrize("text", ["GGW", ":::", "A", "ab"])
def test_what_no_bytes_are_written_as(text: str) -> None:
    """RFC 9285, section 4.2: GGW is 65,536."""
    with pytest.raises(ValueError, match=r"."):
        from_base45(text)


@given(st.binary(max_size=3000))
def test_what_is_packed_comes_back(data: bytes) -> None:
    assert unpacked(packed(data)) == data


def test_a_bomb_and_a_stranger_are_refused() -> None:
    with pytest.raises(UsageError, match="cut off"):
        unpacked(packed(bytes(30_000_000)))
    for text in ("", "https://example.org", MARK + "A", MARK + "000"):
        with pytest.raises(UsageError, match="not the text of a card's code"):
            unpacked(text)


@pytest.mark.parametrize("name", sorted(p.name for p in DEMO.glob("*.recipe.yaml")))
def test_demo_recipes_fit(name: str) -> None:
    """Each demonstration recipe fits a code that is printed, module by module as segno makes it, with its quiet zone."""
    recipe = (DEMO / name).read_bytes()
    svg, side = drawn_code(recipe, "code")
    made = segno.make(packed(recipe), error="l", micro=False, mode="alphanumeric")
    count = len(made.matrix)
    assert side == count + 2 * QUIET <= MOST_MODULES + 2 * QUIET
    dark = sum(sum(row) for row in made.matrix)
    assert sum(int(end) - int(start) for start, end in re.findall(r"M(\d+) \d+\.5H(\d+)", svg)) == dark


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_a_scanner_reads_the_recipe_off_the_printed_card(paper: str, quiet: Callable[[Plan], Season]) -> None:
    """The sides as grey pictures of 300 dots an inch, read by ZXing, a general reader of codes."""
    recipe = DEMO / "salad-and-roots.recipe.yaml"
    season = quiet(plan(load_recipe(recipe), load_garden(DEMO / "kiln-lane.garden.yaml"), "long bed"))
    pages = pdfium.PdfDocument(press_card(season, paper=paper))
    found = [code for page in pages for code in zxingcpp.read_barcodes(page.render(scale=300 / 72, grayscale=True).to_pil())]
    assert [unpacked(code.text) for code in found] == [recipe.read_bytes()]


def test_what_does_not_fit_has_none() -> None:
    import random

    noise = random.Random(1).randbytes(4000)
    assert drawn_code(noise, "code") == ("", 0.0)
