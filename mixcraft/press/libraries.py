"""The system libraries that WeasyPrint draws text with: which are needed, which lack, and what brings them.

``python -m mixcraft.press.libraries`` names what lacks, one line for people, and exits with 2 if a card cannot be printed; with
``--debian`` it prints the packages alone, for the set-up script.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass(frozen=True)
class Library:
    """A shared library: its plain name, its file on Linux, what brings it on each system, and whether a card needs it."""

    name: str
    file: str
    debian: str
    fedora: str
    needed: bool = True


LIBRARIES = (
    Library("gobject-2.0", "libgobject-2.0.so.0", "libglib2.0-0", "glib2"),
    Library("pango-1.0", "libpango-1.0.so.0", "libpango-1.0-0", "pango"),
    Library("pangoft2-1.0", "libpangoft2-1.0.so.0", "libpangoft2-1.0-0", "pango"),
    Library("harfbuzz", "libharfbuzz.so.0", "libharfbuzz0b", "harfbuzz"),
    Library("harfbuzz-subset", "libharfbuzz-subset.so.0", "libharfbuzz-subset0", "harfbuzz", needed=False),
    Library("fontconfig", "libfontconfig.so.1", "libfontconfig1", "fontconfig"),
)
"""What weasyprint/text/ffi.py opens. Without harfbuzz-subset it warns and makes fonts smaller in Python, which is slower."""
MACOS = "pango"
"""The one Homebrew package that brings them all."""


def loads(library: Library) -> bool:
    """Whether the system can open `library`: by its file, or as the system finds a name."""
    for name in (library.file, ctypes.util.find_library(library.name)):
        try:
            if name and ctypes.CDLL(name):
                return True
        except OSError:
            continue
    return False


def missing(found: Callable[[Library], bool] = loads) -> tuple[Library, ...]:
    """The libraries that the system cannot open, as `found` says."""
    return tuple(library for library in LIBRARIES if not found(library))


@contextmanager
def by_file_alone() -> Iterator[None]:
    """For as long as this lasts, libraries are opened on Linux by the names of their files, and not searched for with compiler
    and linker, which Python does for every spelling that is tried and which takes longer than all else of opening them."""
    search = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = lambda name: None
    try:
        yield
    finally:
        ctypes.util.find_library = search


def advice(lacking: Sequence[Library]) -> str:
    """What to install on each system for `lacking`, as one sentence."""
    names = ", ".join(library.name for library in lacking)
    debian = " ".join(dict.fromkeys(library.debian for library in lacking))
    fedora = " ".join(dict.fromkeys(library.fedora for library in lacking))
    return (
        f"the card is drawn with system libraries, and {names} cannot be opened; install: Debian, Ubuntu: apt-get install "
        f"{debian}; Fedora: dnf install {fedora}; macOS: brew install {MACOS}"
    )


def main(arguments: Sequence[str]) -> int:
    """Say what lacks: 0 if nothing does, 1 if a card can be printed without it, 2 if not."""
    lacking = missing()
    if not lacking:
        return 0
    print(" ".join(library.debian for library in lacking) if "--debian" in arguments else advice(lacking))
    return 2 if any(library.needed for library in lacking) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
