"""What a terminal shows: its width, colour where a person reads it and plain text where a file or a pipe does (rich)."""

from __future__ import annotations

import os
import sys
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

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


@lru_cache(maxsize=1)
def _console() -> Console:
    from rich.console import Console

    return Console(width=width(), highlight=False, markup=False, emoji=False, soft_wrap=True, legacy_windows=False)


def show(text: str) -> None:
    """Print a text for people: coloured on a terminal, as it is elsewhere (`NO_COLOR` is heeded)."""
    if not is_terminal() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        print(text)
        return
    _console().print(coloured(text))
