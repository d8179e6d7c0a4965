"""The recipe itself as a QR code: packed (DEFLATE, RFC 1951) and written in the 45 letters of a QR code (Base45, RFC 9285)."""

from __future__ import annotations

import zlib
from functools import lru_cache

from mixcraft.files import UsageError
from mixcraft.files.text import MAX_BYTES

from .svg import INK, PAPER, number

MARK = "MIXCRAFT1:"
LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
MOST_MODULES = 125
"""Sides of a code that is still printed (version 27); a larger one is not read from a phone's distance."""
MODULE_PT = 1.0
"""Side of a module [pt], 0.35 mm: what a phone's camera reads from a hand's breadth.  Common practice, no source."""
QUIET = 4
"""Modules left white around the code (ISO/IEC 18004, section 9.1)."""


def base45(data: bytes) -> str:
    """Bytes in Base45 (RFC 9285, section 4)."""
    found = []
    for i in range(0, len(data) - 1, 2):
        rest, a = divmod(data[i] * 256 + data[i + 1], 45)
        c, b = divmod(rest, 45)
        found += [a, b, c]
    if len(data) % 2:
        b, a = divmod(data[-1], 45)
        found += [a, b]
    return "".join(LETTERS[n] for n in found)


def from_base45(text: str) -> bytes:
    """Bytes of a text in Base45; raises ValueError for what is none."""
    numbers = [LETTERS.index(c) for c in text]
    if len(numbers) % 3 == 1:
        raise ValueError("the text is cut off")
    found = bytearray()
    for i in range(0, len(numbers), 3):
        group = numbers[i : i + 3]
        value = sum(n * 45**k for k, n in enumerate(group))
        found += value.to_bytes(len(group) - 1, "big") if value < 256 ** (len(group) - 1) else _no_byte()
    return bytes(found)


def _no_byte() -> bytes:
    raise ValueError("the text holds what no byte is written as")


def packed(recipe: bytes) -> str:
    """A recipe file as the text of its code."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    return MARK + base45(packer.compress(recipe) + packer.flush())


def unpacked(text: str) -> bytes:
    """The recipe file of a code's text; raises `UsageError` for another text or one that unpacks to more than a recipe."""
    said = "this is not the text of a card's code"
    if not text.startswith(MARK) or len(text) > MAX_BYTES:
        raise UsageError(said)
    try:
        unpacker = zlib.decompressobj(-15)
        data = unpacker.decompress(from_base45(text[len(MARK) :].rstrip("\r\n")), MAX_BYTES + 1)
    except (ValueError, zlib.error) as error:
        raise UsageError(f"{said}: {error}") from error
    if len(data) > MAX_BYTES or not unpacker.eof:
        raise UsageError(f"{said}, or it was cut off")
    return data


@lru_cache(maxsize=16)
def drawn_code(recipe: bytes, label: str) -> tuple[str, float]:
    """The code of a recipe as SVG and its side [pt]; nothing and 0 where it does not fit."""
    import segno

    try:
        made = segno.make(packed(recipe), error="l", micro=False, mode="alphanumeric")
    except segno.DataOverflowError:
        return "", 0.0
    rows = [bytes(row) for row in made.matrix]
    if not recipe or len(rows) > MOST_MODULES:
        return "", 0.0
    parts = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                parts.append(f"M{x} {y}.5H{end}")
            x = max(end, x + 1)
    count = len(rows) + 2 * QUIET
    side = number(count * MODULE_PT)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}pt" height="{side}pt" viewBox="-{QUIET} -{QUIET} {count} {count}" '
        f'shape-rendering="crispEdges"><title>{label}</title><rect x="-{QUIET}" y="-{QUIET}" width="{count}" height="{count}" '
        f'fill="{PAPER}"/><path d="{"".join(parts)}" fill="none" stroke="{INK}" stroke-width="1"/></svg>'
    )
    return svg, count * MODULE_PT
