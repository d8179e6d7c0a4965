"""What a terminal shows: its width, colour where a person reads it and plain text where a file or a pipe does (rich)."""

from __future__ import annotations

import io
import os
import re
import sys
import textwrap
from typing import TYPE_CHECKING

from .streams import visible

if TYPE_CHECKING:
    from rich.text import Text

WIDEST, NARROWEST, PIPED = 110, 60, 100
"""Columns of text: as wide as the terminal within bounds, and a fixed number where nobody's terminal is asked."""


def width() -> int:
    """Columns to fill."""
    if not is_terminal():
        return PIPED
    import shutil

    return min(max(shutil.get_terminal_size((PIPED, 40)).columns, NARROWEST), WIDEST)


def is_terminal() -> bool:
    """Whether a person reads standard output."""
    return bool(sys.stdout.isatty())


def wrap(text: str, indent: str, first: str | None = None) -> str:
    """A text filled to the width, its first line indented as said."""
    lead = indent if first is None else first
    return textwrap.fill(text, width(), initial_indent=lead, subsequent_indent=indent, break_on_hyphens=False)


def bar(score: float, signs: int = 20) -> str:
    """A score 0 to 100 as a bar."""
    filled = round(score / 100.0 * signs)
    return "#" * filled + "." * (signs - filled)


GOOD, FAIR = 75, 50
"""Scores from which a bar is green, and yellow."""
_SCORED = re.compile(r"^ {0,2}[A-Za-z]+ +(\d+)  [#.]{20}")
_STYLES = (
    (re.compile(r"^ +\d+ - "), "red"), (re.compile(r"^ +\d+ \+ "), "green"), (re.compile(r"^ +Repair: "), "cyan"),
    (re.compile(r"^ ! |^  ! "), "bold red"), (re.compile(r"^[A-Z][^.:]*$"), "bold"), (re.compile(r"^\S.*:\d+:\d+: "), "bold"),
)  # fmt: skip


def coloured(text: str) -> Text:
    """A text with the colours of what its lines say: scores, repairs, lines put in and taken out, headings."""
    from rich.text import Text

    made = Text()
    for line in text.split("\n"):
        made.append(f"{line}\n", _style(line))
    made.right_crop(1)
    return made


def _style(line: str) -> str:
    scored = _SCORED.match(line)
    if scored:
        points = int(scored[1])
        return "green" if points >= GOOD else "yellow" if points >= FAIR else "red"
    return next((style for pattern, style in _STYLES if pattern.match(line)), "")


def show(text: str) -> None:
    """Print a text for people: coloured on a terminal, as it is elsewhere (`NO_COLOR` is heeded)."""
    if not is_terminal() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        print(text)
        return
    from rich.console import Console

    made = io.StringIO()
    Console(file=made, force_terminal=True, width=width(), highlight=False).print(coloured(visible(text)), soft_wrap=True)
    getattr(sys.stdout, "as_it_is", sys.stdout.write)(made.getvalue())
