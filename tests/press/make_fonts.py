"""Make the card's fonts anew from the full ones: ``python tests/press/make_fonts.py FOLDER_OF_FULL_FONTS``.

Keeps Latin, Greek and Cyrillic with kerning, and makes the tabular figures the usual ones, so that every glyph that a card
uses has its letter in the character map (a PDF/A of level A needs that) and the fonts can be embedded whole.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FACES = ("Regular", "SemiBold", "Italic")
LETTERS = (
    "0020-007E 00A0-017F 0192 0218-021B 0237 02C6-02DD 0300-0304 0306-030C 0326-0328 0370-03FF 0400-045F 0490-0491 1E80-1E85 "
    "1E9E 1EF2-1EF3 2010-2015 2018-201E 2020-2022 2026 2030 2032-2033 2039-203A 2044 20AC 2122 2190-2193 2212 2248 2260 "
    "2264-2265 2153-2154 215B-215E"
)
FIXED_TIME = 3061152000
"""2001-01-01 in seconds since 1904, the epoch of TrueType, so that the same fonts come out each time."""


def letters() -> list[int]:
    """The code points that are kept."""
    found: list[int] = []
    for part in LETTERS.split():
        low, _, high = part.partition("-")
        found += range(int(low, 16), int(high or low, 16) + 1)
    return found


def tabular(font: TTFont) -> dict[str, str]:
    """Figures and their tabular forms, by glyph name."""
    table = font["GSUB"].table
    found: dict[str, str] = {}
    for record in table.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for part in table.LookupList.Lookup[index].SubTable:
                    found |= getattr(part, "ExtSubTable", part).mapping
    best = font.getBestCmap()
    return {best[ord(c)]: found[best[ord(c)]] for c in "0123456789" if best[ord(c)] in found}


def make(source: Path, target: Path) -> None:
    """Cut one font down."""
    font = TTFont(source, recalcTimestamp=False)
    figures = tabular(font)
    assert len(figures) == 10
    for table in font["cmap"].tables:
        for code, name in list(table.cmap.items()):
            table.cmap[code] = figures.get(name, name)
    options = subset.Options(
        layout_features=["kern", "mark"], name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14], hinting=False, notdef_outline=True
    )
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=letters())
    cutter.subset(font)
    font["head"].modified = FIXED_TIME
    font.save(target)


if __name__ == "__main__":
    folder = Path(__file__).parents[2] / "templates" / "fonts"
    for face in FACES:
        make(Path(sys.argv[1]) / f"FiraSansCondensed-{face}.ttf", folder / f"FiraSansCondensed-{face}.ttf")
