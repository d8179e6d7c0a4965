"""Widths of text in the card's own face, so that what a side holds is known before it is set."""

from __future__ import annotations

import math
from functools import lru_cache

from mixcraft.files import resource

FACES = {False: "FiraSansCondensed-Regular.ttf", True: "FiraSansCondensed-SemiBold.ttf"}
LINE = 1.22
"""Distance of lines in units of the text size, as in the style sheet."""
OTHER = 0.55
"""Width of a letter that the face lacks, in units of the text size: a broad guess, such letters come from another face."""


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[str, float]:
    """Advance widths by letter, in units of the text size."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    with TTFont(resource("templates", "fonts") / FACES[bold], lazy=True) as font:
        names, metrics, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
        return {chr(code): metrics[name][0] / em for code, name in names.items()}


WIDE_FROM = "\u2e80"
"""From this letter on (CJK radicals) letters are as wide as they are high (Unicode Standard Annex 11)."""


def _unknown(letter: str) -> float:
    return 1.0 if letter >= WIDE_FROM else OTHER


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width [pt] of `text` in `size` [pt], without kerning."""
    advances = _advances(bold)
    return size * sum(advances.get(c) or _unknown(c) for c in text)


def shortened(text: str, size: float, width: float, bold: bool = False) -> str:
    """`text`, cut with an ellipsis so that it is at most `width` [pt] wide."""
    if text_width(text, size, bold) <= width:
        return text
    advances = _advances(bold)
    filled, room = advances.get("…", OTHER), width / size
    for i, c in enumerate(text):
        filled += advances.get(c) or _unknown(c)
        if filled > room:
            return text[:i].rstrip() + "…"
    return text


def line_count(text: str, size: float, width: float, bold_until: int = 0) -> int:
    """Lines that `text` takes in a column of `width` [pt], its first `bold_until` letters bold: broken at blanks.

    A word wider than the column goes on in the next line. A column has room for one letter at least, whatever `width` is.
    """
    width = max(width, size)
    lines, filled, at = 1, 0.0, 0
    blank = text_width(" ", size)
    for word in text.split(" "):
        wide = text_width(word, size, at < bold_until)
        if filled > 0.0 and filled + blank + wide > width:
            lines, filled = lines + 1, 0.0
        filled += wide + (blank if filled > 0.0 else 0.0)
        if filled > width:
            more = math.ceil(filled / width) - 1
            lines, filled = lines + more, filled - more * width
        at += len(word) + 1
    return lines
