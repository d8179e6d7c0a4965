"""YAML syntax errors in plain words, each with a repair."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class SyntaxAdvice:
    """Where a syntax error is shown (0-based line and column), what it says and how to mend it."""

    line: int
    column: int
    message: str
    repair: str
    rule: str = "syntax"


_INDENT = "line the key up with its neighbours: keys of one block start in the same column"
_COLON = "put quotes around a text that holds a colon followed by a space, or indent the line under its key"

# (words of the parser's own report, message, repair); the first match counts. `{opened}` is the line
# where the unfinished part began. The words cover both the C parser and the Python one.
_TABLE: tuple[tuple[str, str, str], ...] = (
    (
        "quoted scalar.*unexpected (end of stream|document)",
        "a quote is opened here and never closed",
        "close the text with the same quote mark",
    ),
    (
        "unknown escape character",
        "the backslash here starts no known escape",
        "write the text in 'single quotes', or double the backslash",
    ),
    (
        "flow sequence.*(did not find|expected) .*','",
        "the list opened with [ on line {opened} is not closed here",
        "put a comma between the items, or close the list with ]",
    ),
    (
        "flow mapping.*(did not find|expected) .*','",
        "the mapping opened with { on line {opened} is not closed here",
        "put a comma between the entries, or close it with }",
    ),
    ("mapping values are not allowed", "a colon stands where none is expected", _COLON),
    (
        "mapping keys are not allowed",
        "a question mark stands where a value is expected",
        "put the text in quotes",
    ),
    (
        "sequence entries are not allowed",
        "a list item (`- `) stands where none is expected",
        "start the list on a line of its own under the key, or put the text in quotes",
    ),
    (
        "simple key.*':'",
        "a colon is missing",
        "write `key: value` with a colon and a space, or `- item` with a space after the dash",
    ),
    (
        "block collection.*('-' indicator|<block end>)",
        "a list item (`- `) is expected here",
        "start the line with `- ` in the column of the other items, or indent it under its item",
    ),
    ("tab character", "a tab is used to indent", "use spaces instead of tabs"),
    (
        "alphabetic or numeric",
        "a text cannot start with * or & (YAML reads them as its own signs)",
        "put the text in quotes",
    ),
    (
        "undefined tag handle",
        "a text cannot start with ! (YAML reads it as the start of a tag)",
        "put the text in quotes, or remove the tag",
    ),
    (
        "incompatible YAML document",
        "the file asks for a YAML version that is not known",
        "remove the %YAML line; YAML 1.2 is understood",
    ),
    ("directive", "the line that starts with % is not understood", "remove the line that starts with %"),
    (
        "block scalar",
        "only a line break may follow | or > here",
        "start the text on the next line, or put it in quotes",
    ),
    (
        "document start>",
        "text follows the end of the document",
        "remove the line `...`, or what follows it",
    ),
    (
        "nesting depth",
        "lists and mappings are nested too deep here",
        "check the brackets and the indentation",
    ),
    ("node content", "a value is expected here", "write a value, or put the text in quotes"),
    ("block mapping", "a key is expected here", _INDENT),
)


def syntax_advice(error: Any, lines: list[str]) -> SyntaxAdvice:
    """Translate a marked error of the YAML parser.

    error: yaml.MarkedYAMLError. lines: source lines without line ends.
    """
    mark = error.problem_mark or error.context_mark
    opened = error.context_mark or mark
    words = f"{error.context or ''}; {error.problem or ''}"
    source = lines[mark.line] if mark.line < len(lines) else ""
    special = _special(words, source, mark, opened, lines)
    if special:
        return special
    for pattern, message, repair in _TABLE:
        if re.search(pattern, words, re.IGNORECASE | re.DOTALL):
            at = opened if "never closed" in message or "a colon is missing" in message else mark
            text = message.replace("{opened}", str(opened.line + 1))
            rule = "too-deep" if pattern == "nesting depth" else "syntax"
            return SyntaxAdvice(*_inside(at, lines), text, repair, rule)
    return SyntaxAdvice(
        *_inside(mark, lines),
        f"this is not valid YAML ({error.problem})",
        "check the indentation, quotes and colons of this line and the line above",
    )


def _special(words: str, source: str, mark: Any, opened: Any, lines: list[str]) -> SyntaxAdvice | None:
    """Advice that needs a look at the source line."""
    if "cannot start any token" in words:
        sign = source[mark.column : mark.column + 1]
        if sign == "\t":
            return SyntaxAdvice(mark.line, mark.column, "a tab is used to indent", "use spaces instead of tabs")
        return SyntaxAdvice(mark.line, mark.column, f"a text cannot start with {sign}", "put the text in quotes")
    if re.search(r"^\s*(- *)*\t", source):
        return SyntaxAdvice(mark.line, source.index("\t"), "a tab is used to indent", "use spaces instead of tabs")
    glued = _glued_colon(mark.line, lines) if "mapping values are not allowed" in words else None
    if glued:
        line, column = glued
        return SyntaxAdvice(line, column, "no space follows the colon", "write `key: value` with a space after the colon")
    dash = re.match(r"\s*(- +)*-(?=[^\s-])", lines[opened.line]) if "simple key" in words else None
    if dash:
        return SyntaxAdvice(opened.line, dash.end() - 1, "no space follows the dash", "write `- item` with a space")
    if "block mapping" in words and opened.line <= mark.line:
        return _after_quote(source, mark)
    return None


def _glued_colon(line: int, lines: list[str]) -> tuple[int, int] | None:
    """Find `key:value` without a space on the line above the unexpected colon."""
    for number in range(line - 1, -1, -1):
        if not lines[number].strip() or lines[number].lstrip().startswith("#"):
            continue
        found = re.match(r"\s*(- +)*[\w-]+:(?=[^\s/])", lines[number])
        return (number, found.end() - 1) if found else None
    return None


def _after_quote(source: str, mark: Any) -> SyntaxAdvice | None:
    """Find more text after a closing quote, such as `'it's'` or `"3" cm`."""
    before = source[: mark.column].rstrip()
    if before.endswith(("'", '"')) and source[mark.column : mark.column + 1].strip():
        return SyntaxAdvice(
            mark.line,
            mark.column,
            "text follows the closing quote",
            'put the whole value in quotes; write a single quote inside "double quotes"',
        )
    return None


def _inside(mark: Any, lines: list[str]) -> tuple[int, int]:
    """The mark, or the end of the last written line if the mark lies past the end of the text."""
    if mark.line < len(lines) and lines[mark.line].strip():
        return mark.line, mark.column
    for number in range(min(mark.line, len(lines) - 1), -1, -1):
        if lines[number].strip():
            return number, len(lines[number].rstrip())
    return 0, 0
