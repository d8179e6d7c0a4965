"""A small builder of SVG drawings in points: enough for plans and calendars, and nothing else.

Everything is drawn in plain shapes, without patterns or style sheets, so that every reader draws it alike; one clip at most.
"""

from __future__ import annotations

import base64
import contextlib
import math
import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from mixcraft.files.markup import escape

INK = "#000"
PAPER = "#fff"
GREY = "#767676"
PALE = "#c4c4c4"
FONT = "Card Sans, Card Arabic, Card Japanese"
ELSEWHERE = "Fira Sans Condensed, Arial Narrow, sans-serif"
"""The face of the card, and what stands for it in a file that is read without the card's fonts."""

Point = tuple[float, float]
TITLE = re.compile("<title>(.*?)</title>")
ENDS = re.compile(r'<line x1="(\S+)" y1="(\S+)" x2="(\S+)" y2="(\S+)"( stroke=.*/>)')
DECIMAL = re.compile(r"(?<=\d)\.(?=\d)")
"""The point of a number with decimals."""


def number(value: float) -> str:
    """A coordinate to a hundredth of a point, without idle zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@dataclass
class Drawing:
    """An SVG drawing of `width` x `height` points that grows by its methods; y runs downwards."""

    width: float
    height: float
    label: str = ""
    parts: list[str] = field(default_factory=list)
    least: float = 0.0
    """Smallest size of its text [pt]."""
    comma: bool = False
    """Whether decimals are written with a comma."""

    def line(self, a: Point, b: Point, width: float = 0.6, colour: str = INK, dash: str = "", cap: str = "butt") -> None:
        """A straight line of `width` [pt]."""
        extra = f' stroke-dasharray="{dash}"' if dash else ""
        extra += f' stroke-linecap="{cap}"' if cap != "butt" else ""
        self.parts.append(
            f'<line x1="{number(a[0])}" y1="{number(a[1])}" x2="{number(b[0])}" y2="{number(b[1])}" '
            f'stroke="{colour}" stroke-width="{number(width)}"{extra}/>'
        )

    def path(self, data: str, width: float = 0.6, fill: str = "none", stroke: str = INK, dash: str = "") -> None:
        """A path given by its SVG `data`."""
        extra = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<path d="{data}" fill="{fill}" stroke="{stroke}" stroke-width="{number(width)}" '
            f'stroke-linejoin="round" stroke-linecap="round"{extra}/>'
        )

    def rectangle(
        self, x: float, y: float, width: float, height: float, line: float = 0.6, fill: str = "none",
        colour: str = INK, dash: str = "", round_: float = 0.0,
    ) -> None:  # fmt: skip
        """A rectangle from its upper left corner; `line` 0 leaves the outline away."""
        stroke = f' stroke="{colour}" stroke-width="{number(line)}"' if line > 0 else ""
        stroke += f' stroke-dasharray="{dash}"' if dash else ""
        stroke += f' rx="{number(round_)}" ry="{number(round_)}"' if round_ else ""
        self.parts.append(
            f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}" fill="{fill}"{stroke}/>'
        )

    def circle(
        self, centre: Point, radius: float, line: float = 0.6, fill: str = "none", dash: str = "", colour: str = INK
    ) -> None:
        """A circle."""
        stroke = f' stroke="{colour}" stroke-width="{number(line)}"' if line > 0 else ""
        stroke += f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<circle cx="{number(centre[0])}" cy="{number(centre[1])}" r="{number(radius)}" fill="{fill}"{stroke}/>'
        )

    def text(
        self, at: Point, text: str, size: float, *, anchor: str = "start", bold: bool = False, colour: str = INK,
        turn: float = 0.0,
    ) -> None:  # fmt: skip
        """A line of text whose base line begins, is centred or ends at `at`; `turn` clockwise [deg]."""
        size = max(size, self.least)
        text = DECIMAL.sub(",", text) if self.comma else text
        extra = ' font-weight="600"' if bold else ""
        extra += f' text-anchor="{anchor}"' if anchor != "start" else ""
        if turn:
            extra += f' transform="rotate({number(turn)} {number(at[0])} {number(at[1])})"'
        self.parts.append(
            f'<text x="{number(at[0])}" y="{number(at[1])}" font-family="{FONT}" font-size="{number(size)}" '
            f'fill="{colour}"{extra}>{escape(text)}</text>'
        )

    @contextlib.contextmanager
    def inside(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """What is drawn within is cut at a rectangle."""
        name = f"box-{zlib.crc32(''.join((self.label, *self.parts)).encode('utf-8')):08x}"
        self.parts.append(
            f'<clipPath id="{name}">'
            f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"/></clipPath>'
            f'<g clip-path="url(#{name})">'
        )
        yield
        self.parts.append("</g>")

    def badge(self, centre: Point, text: str, radius: float) -> None:
        """The number of a planting: white on a black disc with a white rim."""
        size = max(radius * (1.5 if len(text) < 2 else 1.25), self.least)
        x, y, half = *centre, max(radius, (0.0, 0.36, 0.62, 0.88)[min(len(text), 3)] * size)
        self.rectangle(x - half - 0.8, y - radius - 0.8, 2 * half + 1.6, 2 * radius + 1.6, 0.0, PAPER, round_=radius + 0.8)
        self.rectangle(x - half, y - radius, 2 * half, 2 * radius, 0.0, INK, round_=radius)
        self.text((centre[0], centre[1] + 0.36 * size), text, size, anchor="middle", bold=True, colour=PAPER)

    def polyline(self, points: Sequence[Point], width: float = 0.6, close: bool = False, fill: str = "none") -> None:
        """A line through `points`."""
        data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if close else "")
        self.path(data, width, fill)

    def svg(self) -> str:
        """The drawing as an SVG element."""
        label = f"<title>{escape(self.label)}</title>" if self.label else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(self.width)}pt" height="{number(self.height)}pt" '
            f'viewBox="0 0 {number(self.width)} {number(self.height)}">' + label + "".join(_joined(self.parts)) + "</svg>"
        )

    def alone(self) -> str:
        """The drawing as a file of its own, in a face that readers have."""
        return self.svg().replace(f'font-family="{FONT}"', f'font-family="{ELSEWHERE}"') + "\n"


def picture(svg: str) -> str:
    """A drawing as a picture of HTML, which its parser and style sheet need not go through; its title is said in its place."""
    title = TITLE.search(svg)
    data = base64.b64encode(svg.encode("utf-8", "replace")).decode("ascii")
    return f'<img class="drawing" alt="{title[1] if title else ""}" src="data:image/svg+xml;base64,{data}">'


def _joined(parts: Sequence[str]) -> Iterator[str]:
    """Parts with lines of one style that follow one another made one path, which is drawn many times as fast."""
    for style, group in groupby(parts, _style_of):
        same = list(group)
        if style is None or len(same) == 1:
            yield from same
            continue
        ends = [ENDS.match(part) for part in same]
        yield f'<path d="{"".join("M{} {}L{} {}".format(*found.groups()[:4]) for found in ends if found)}" fill="none"{style}'


def _style_of(part: str) -> str | None:
    found = ENDS.match(part)
    return found[5] if found else None


def on_circle(centre: Point, radius: float, bearing_deg: float) -> Point:
    """The point of a circle in a direction counted clockwise from the top of the page."""
    turn = math.radians(bearing_deg)
    return centre[0] + radius * math.sin(turn), centre[1] - radius * math.cos(turn)


def between(a: Point, b: Point, share: float) -> Point:
    """The point at a share of the way from `a` to `b`."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
