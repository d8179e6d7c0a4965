"""Colours of plantings in pictures: told apart in colour, and by their lightness in grey; each comes with its number."""

from __future__ import annotations

from .svg import INK, PAPER

COLOURS = (
    ("#2f6b3c", PAPER), ("#e8b04a", INK), ("#8e3b46", PAPER), ("#9fc97a", INK), ("#3f5f8f", PAPER), ("#f1d7a7", INK),
    ("#6d4b7c", PAPER), ("#c96f3b", INK), ("#4f9a94", INK), ("#d99aa5", INK), ("#5b5b3a", PAPER), ("#b9c7dd", INK),
)  # fmt: skip
"""Fills and the ink that is legible on them."""


def colour_of(index: int) -> str:
    """The fill of the planting at `index`; after twelve they begin again."""
    return COLOURS[index % len(COLOURS)][0]


def ink_on(index: int) -> str:
    """The colour of text on that fill."""
    return COLOURS[index % len(COLOURS)][1]
