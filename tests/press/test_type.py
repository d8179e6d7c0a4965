"""Measuring text: lines, cut names, and columns that leave no room."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixcraft.press.type import line_count, shortened, text_width

WORDS = st.text(st.sampled_from("bW i m日̈ "), max_size=200)


@given(WORDS, st.floats(-500.0, 500.0), st.floats(5.0, 15.0), st.integers(0, 200))
def test_any_column_has_an_end(text: str, width: float, size: float, bold: int) -> None:
    """A bed's name of 90 letters once left the title a width below zero, and lines were counted for ever."""
    lines = line_count(text, size, width, bold)
    assert 1 <= lines <= max(1, 2 * len(text))
    if width > 0.0:
        assert lines >= math.floor(max(text_width(word, size) for word in text.split(" ")) / max(width, size))


@pytest.mark.parametrize(("letters", "lines"), [(0, 1), (10, 1), (11, 2), (20, 2), (21, 3), (1_000, 100)])
def test_a_word_goes_on_in_the_next_line(letters: int, lines: int) -> None:
    assert line_count("b" * letters, 10.0, text_width("b" * 10, 10.0) + 1e-3) == lines


@given(WORDS, st.floats(0.0, 300.0))
def test_what_is_cut_fits_and_says_so(text: str, width: float) -> None:
    cut = shortened(text, 10.0, width)
    if text_width(text, 10.0) <= width:
        assert cut == text
    else:
        assert cut.endswith("…")
        assert cut == "…" or text_width(cut, 10.0) <= width + 1e-6
        assert text.startswith(cut[:-1])
        longer = text[: len(cut)] + "…"
        assert text_width(longer, 10.0) > width or cut[:-1] != text[: len(cut) - 1] or text[len(cut) - 1].isspace()
