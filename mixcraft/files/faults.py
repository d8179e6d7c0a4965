"""Faults in a user's file: what is wrong, where, what is allowed, and how to mend it.

A fault is an object with fields; the text is one rendering of it. Every later step of the
pipeline reports what it finds in a file with the same class, so that all faults look alike.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

PathTuple = tuple[str | int, ...]

SHOWN_FAULTS = 40  # faults printed in full; the rest are counted
SHOWN_LINES = 8  # lines named for a fault that comes again
SHOWN_WIDTH = 110  # characters of a source line shown around the caret
SHOWN_FOUND = 60  # characters of a found value shown


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault of one file.

    file: name as the user gave it. line, column: 1-based, in characters; line 0 means that the
    fault has no place inside the file (it is missing, or no text). path: place in the data, such
    as ``plantings[2].spacing``. rule: short stable name of the rule broken, for tests and tools.
    source_line: the line of the file, without its line end.
    """

    file: str
    line: int
    column: int
    path: str
    rule: str
    message: str
    found: str = ""
    allowed: str = ""
    repair: str = ""
    source_line: str = ""


class FileFaults(Exception):  # noqa: N818 - it carries many faults
    """All faults found in one or several files, sorted by file, line and column."""

    faults: tuple[Fault, ...]

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        given = (faults,) if isinstance(faults, Fault) else tuple(faults)
        self.faults = sort_faults(given)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return render_faults(self.faults)


class UsageError(Exception):
    """A fault without a place in a file: one clear line for the user, exit status 2."""


def sort_faults(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Sort by file, line and column, and drop exact repeats."""
    return tuple(sorted(set(faults)))


def of_one_cause(faults: Iterable[Fault]) -> list[list[Fault]]:
    """Faults in groups of one cause: the same rule at the same key of a file, in the same words but for numbers and places."""
    groups: dict[tuple[str, ...], list[Fault]] = {}
    for fault in faults:
        words = (re.sub(r"\d+(?:\.\d+)?", "0", text) for text in (fault.message, fault.found, fault.repair))
        key = (fault.file, fault.rule, re.sub(r"\[\d+\]", "[]", fault.path), *words)
        groups.setdefault(key, []).append(fault)
    return list(groups.values())


def render_faults(faults: Iterable[Fault]) -> str:
    """Render faults one below the other, an empty line between, those of one cause as one; the rest past 40 is counted."""
    groups = of_one_cause(faults)
    blocks = ["\n".join([render_fault(group[0]), *_again(group)]) for group in groups[:SHOWN_FAULTS]]
    left = sum(len(group) for group in groups[SHOWN_FAULTS:])
    if left > 0:
        blocks.append(f"and {left} more fault{'s' if left > 1 else ''}; mend these first")
    return "\n\n".join(blocks)


def _again(group: list[Fault]) -> list[str]:
    """Where else a fault is found."""
    more = group[1:]
    if not more:
        return []
    lines = list(dict.fromkeys(fault.line for fault in more if fault.line > 0))
    shown = ", ".join(map(str, lines[:SHOWN_LINES])) + (" ..." if len(lines) > SHOWN_LINES else "")
    where = f", on line{'s' if len(lines) > 1 else ''} {shown}" if lines else ""
    return [f"  the same {len(more)} more time{'s' if len(more) > 1 else ''}{where}"]


def render_fault(fault: Fault) -> str:
    """Render one fault as ``file:line:column: message``, the source line, a caret, and the repair."""
    place = f"{fault.file}:{fault.line}:{fault.column}" if fault.line > 0 else fault.file
    lines = [f"{printable(place)}: {printable(fault.message)}"]
    if fault.line > 0 and fault.source_line.strip():
        lines += _source_lines(fault)
    facts = [
        f"{label}: {printable(text)}"
        for label, text in (("found", fault.found), ("allowed", fault.allowed), ("repair", fault.repair))
        if text
    ]
    return "\n".join(lines + ["  " + fact for fact in facts])


def path_text(path: PathTuple) -> str:
    """Write a path as people read it: ``("plantings", 2, "spacing")`` is ``plantings[2].spacing``."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += f".{part}" if text else part
    return text


def printable(text: str) -> str:
    """Escape every character that could disturb a terminal (a file name may hold any)."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def shorten(text: str, width: int = SHOWN_FOUND) -> str:
    """Cut a long text to `width` characters, with an ellipsis."""
    return text if len(text) <= width else text[: width - 1] + "…"


def _source_lines(fault: Fault) -> list[str]:
    """The source line, cut around the column if it is long, and the line with the caret."""
    source = "".join(c if c.isprintable() or c == "\t" else "\N{REPLACEMENT CHARACTER}" for c in fault.source_line)
    column = min(max(fault.column, 1), len(source) + 1)
    start = 0
    if len(source) > SHOWN_WIDTH:
        start = max(0, min(column - 1 - SHOWN_WIDTH // 2, len(source) - SHOWN_WIDTH))
    shown = source[start : start + SHOWN_WIDTH].rstrip()
    lead = "…" if start else ""
    tail = "…" if start + SHOWN_WIDTH < len(source) else ""
    before = shown[: column - 1 - start]
    pad = " " * len(lead) + "".join(_blank(c) for c in before)
    return [f"  {lead}{shown}{tail}", f"  {pad}{_caret(shown[column - 1 - start :], fault.found)}"]


def _blank(character: str) -> str:
    """The space that a character takes up on a terminal."""
    if character == "\t":
        return "\t"
    if unicodedata.combining(character):
        return ""
    return "  " if unicodedata.east_asian_width(character) in "WF" else " "


def _caret(rest: str, found: str) -> str:
    """Carets as wide as the found value when it stands at the column, else one caret."""
    if found and rest.startswith(found):
        return "^" * max(1, sum(len(_blank(c)) for c in found))
    return "^"
