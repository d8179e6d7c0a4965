"""A document: the data of a YAML file, with the place of every value and key in the text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from mixcraft.files.faults import Fault, PathTuple, path_text
from mixcraft.files.frozen import FrozenMap

LINE_END = re.compile("\r\n|[\r\n\x85\u2028\u2029]")  # what YAML 1.1 parsers count as a line end
NOTHING: Mapping[Any, Any] = FrozenMap()

Place = tuple[int, int]  # line and column, both 1-based, in characters


class Spot(NamedTuple):
    """Where one value stands: line, column (1-based), first and past-the-end character of the text.

    keys: the place of each key of a mapping. parts: the spot of each value of a mapping or item of a
    list. style: "plain", "quoted", "block", "flow mapping", "mapping", "flow list" or "list".
    """

    line: int
    column: int
    start: int
    end: int
    style: str
    keys: Mapping[str, Place] = NOTHING
    parts: Mapping[str | int, Spot] = NOTHING


@dataclass(frozen=True)
class Document:
    """A file that was read: its data, its name as the user gave it, its text, and where values stand.

    The data is not to be changed: an alias shares its value with the anchor.
    """

    data: Any
    name: str
    text: str = field(repr=False)
    marks: Spot = field(repr=False)
    marked: bool = False
    """Whether the file began with a byte order mark, which is not part of the text."""

    @property
    def source(self) -> bytes:
        """The file byte for byte."""
        return (b"\xef\xbb\xbf" if self.marked else b"") + self.text.encode("utf-8")

    @cached_property
    def lines(self) -> list[str]:
        """The source lines, without line ends."""
        return LINE_END.split(self.text)

    def spot(self, path: PathTuple) -> Spot:
        """Return the spot of a value, or of its nearest parent that exists."""
        return self._walk(path)[0]

    def mark(self, path: PathTuple) -> Place:
        """Return line and column of a value, or of its nearest parent that exists. 1-based."""
        found = self._walk(path)[0]
        return found.line, found.column

    def key_mark(self, path: PathTuple) -> Place:
        """Return line and column of the key that leads to a value (of the item in a list). 1-based."""
        parent, left = self._walk(path[:-1])
        if path and not left and path[-1] in parent.keys:
            return parent.keys[str(path[-1])]
        return self.mark(path)

    def written(self, path: PathTuple) -> str:
        """The scalar at a path as text; nothing for lists, mappings and what is not there."""
        node = self.data
        for part in path:
            inside = part in node if isinstance(node, dict) else isinstance(node, list) and part in range(len(node))
            if not inside:
                return ""
            node = node[part]
        return "" if isinstance(node, dict | list) or node is None else str(node)

    def fault(
        self,
        path: PathTuple,
        message: str,
        *,
        rule: str,
        found: str = "",
        allowed: str = "",
        repair: str = "",
        at_key: bool = False,
    ) -> Fault:
        """Make a fault that points at a value of this document, or at its key."""
        line, column = self.key_mark(path) if at_key else self.mark(path)
        source = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        return Fault(self.name, line, column, path_text(path), rule, message, found, allowed, repair, source)

    def _walk(self, path: PathTuple) -> tuple[Spot, int]:
        """Return the deepest spot on the path, and how many steps were left."""
        found = self.marks
        for depth, part in enumerate(path):
            if part not in found.parts:
                return found, len(path) - depth
            found = found.parts[part]
        return found, 0
