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


def japanese() -> list[int]:
    """Kana, signs and the 2,965 kanji of level 1 of JIS X 0208 (rows 1 to 8 and 16 to 47), and the spaces that follow a name in a
    sentence."""
    found = [0x20, 0xA0]
    for row in (1, 4, 5, *range(16, 48)):
        for cell in range(1, 95):
            try:
                found.append(ord(bytes((row + 0xA0, cell + 0xA0)).decode("euc_jp")))
            except UnicodeDecodeError:
                continue
    return found


def localised(font: TTFont, language: str) -> dict[str, str]:
    """Glyphs and their forms in a language (`locl`), by glyph name."""
    table, found = font["GSUB"].table, dict[str, str]()
    records = [record for script in table.ScriptList.ScriptRecord for record in script.Script.LangSysRecord]
    wanted = {index for record in records if record.LangSysTag == language for index in record.LangSys.FeatureIndex}
    for index in wanted:
        feature = table.FeatureList.FeatureRecord[index]
        if feature.FeatureTag == "locl":
            for lookup in feature.Feature.LookupListIndex:
                for part in table.LookupList.Lookup[lookup].SubTable:
                    found |= getattr(getattr(part, "ExtSubTable", part), "mapping", {})
    return found


def make_name_font(source: Path, target: Path, unicodes: list[int], language: str = "") -> None:
    """Cut down a font for names in another script: all features that shape its letters stay; a variable font at its default."""
    from fontTools.varLib import instancer

    font = TTFont(source, recalcTimestamp=False)
    if "fvar" in font:
        font = instancer.instantiateVariableFont(font, {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes})
    forms = localised(font, language) if language else {}
    for table in font["cmap"].tables if forms else ():
        if hasattr(table, "cmap"):
            table.cmap = {code: forms.get(name, name) for code, name in table.cmap.items()}
    shaping = ["ccmp", "isol", "init", "medi", "fina", "rlig", "calt", "mark", "mkmk", "kern"] if not language else []
    options = subset.Options(layout_features=shaping, name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14], hinting=False, notdef_outline=True)
    options.desubroutinize = True
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=unicodes)
    cutter.subset(font)
    font["head"].modified = FIXED_TIME
    font.save(target)


ARABIC = [*range(0x600, 0x700), *range(0xFE70, 0xFF00), 0x20, 0xA0, 0x200C, 0x200D]
"""The Arabic block, and the joined forms of its letters, by which a PDF says what a joined letter is."""

if __name__ == "__main__":
    folder = Path(__file__).parents[2] / "templates" / "fonts"
    given = Path(sys.argv[1])
    if (given / "NotoSansArabic[wdth,wght].ttf").exists():
        make_name_font(given / "NotoSansArabic[wdth,wght].ttf", folder / "NotoSansArabic-Regular.ttf", ARABIC)
        make_name_font(given / "NotoSansCJKtc-Regular.otf", folder / "NotoSansJapanese-Regular.otf", japanese(), "JAN ")
    for face in FACES if (given / "FiraSansCondensed-Regular.ttf").exists() else ():
        make(Path(sys.argv[1]) / f"FiraSansCondensed-{face}.ttf", folder / f"FiraSansCondensed-{face}.ttf")
