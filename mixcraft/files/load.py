"""Safe YAML with positions.

The text is read event by event (PyYAML, with its C parser when present); values are built here, so
that every value and key keeps its place in the file, and so that size, depth, and what aliases
expand to are bounded before any memory is spent. Scalars follow the YAML 1.2 core schema.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple, NoReturn

from mixcraft.files.faults import Fault, FileFaults, PathTuple, path_text, shorten
from mixcraft.files.scalars import NumberTooLong, plain_scalar, tagged_scalar
from mixcraft.files.syntax import syntax_advice

MAX_BYTES = 2_000_000  # of one file
MAX_DEPTH = 40  # of lists and mappings inside one another
MAX_NODES = 200_000  # values, keys and items, each alias counted as what it stands for

LINE_END = re.compile("\r\n|[\r\n\x85\u2028\u2029]")  # what YAML 1.1 parsers count as a line end
_NOT_PRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")  # YAML 1.2.2 [1]
_CORE_TAGS = {f"tag:yaml.org,2002:{name}": name for name in ("str", "int", "float", "bool", "null", "map", "seq")}
_NOTHING: Mapping[Any, Any] = MappingProxyType({})

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
    keys: Mapping[str, Place] = _NOTHING
    parts: Mapping[str | int, Spot] = _NOTHING


@dataclass(frozen=True)
class Document:
    """A file that was read: its data, its name as the user gave it, its text, and where values stand.

    The data is not to be changed: an alias shares its value with the anchor.
    """

    data: Any
    name: str
    text: str = field(repr=False)
    marks: Spot = field(repr=False)

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


def load_document(path: str | os.PathLike[str]) -> Document:
    """Read a YAML file of the user.

    Raises FileFaults with every fault: a file that is missing, not a file, too large, not text or not
    UTF-8; a syntax error; a duplicate key; an unknown tag; too deep, or too much behind aliases.
    """
    name = os.fspath(path)
    return parse_document(_decode(_read_bytes(Path(path), name), name), name)


def parse_document(text: str, name: str) -> Document:
    """Read a YAML text. `name` stands for the file in faults. Raises FileFaults as load_document."""
    text = text.removeprefix("\ufeff")
    _check_text(text, name)
    yaml = _yaml()
    builder = _Builder(text, name)
    try:
        data, marks = builder.document()
    except yaml.MarkedYAMLError as error:
        lines = LINE_END.split(text)
        advice = syntax_advice(error, lines)
        syntax = Fault(
            name, advice.line + 1, advice.column + 1, "", "syntax", advice.message,
            repair=advice.repair, source_line=lines[advice.line],
        )  # fmt: skip
        raise FileFaults([*builder.faults, syntax]) from None
    if builder.faults:
        raise FileFaults(builder.faults)
    return Document(data, name, text, marks)


def _yaml() -> Any:
    """Import PyYAML when it is first needed."""
    import yaml

    return yaml


# Bytes -----------------------------------------------------------------------------------------


def _file_fault(name: str, rule: str, message: str, repair: str, **more: str) -> NoReturn:
    raise FileFaults(Fault(name, 0, 0, "", rule, message, repair=repair, **more)) from None


def _read_bytes(path: Path, name: str) -> bytes:
    """Read at most MAX_BYTES of a regular file, whose size is looked at before it is opened."""
    try:
        status = os.stat(path)
    except FileNotFoundError:
        _file_fault(name, "missing-file", "there is no such file", _near_file(path))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        _file_fault(name, "unreadable", f"the file cannot be read ({reason})", "check the name and its folder")
    if stat.S_ISDIR(status.st_mode):
        _file_fault(name, "not-a-file", "this is a folder, not a file", _inside_folder(path))
    if not stat.S_ISREG(status.st_mode):
        _file_fault(name, "not-a-file", "this is not an ordinary file", "save the text as a .yaml file first")
    if status.st_size <= MAX_BYTES:
        try:
            with open(path, "rb") as stream:
                data = stream.read(MAX_BYTES + 1)
        except OSError as error:
            _file_fault(
                name, "unreadable", f"the file cannot be read ({error.strerror})", "check who may read the file"
            )
        if len(data) <= MAX_BYTES:
            return data
    _too_large(name, status.st_size)


def _too_large(name: str, size: int) -> NoReturn:
    _file_fault(
        name,
        "too-large",
        "the file is too large for a mixcraft file",
        "check that this is the right file; split it if it is",
        found=f"{size / 1e6:.1f} MB",
        allowed=f"up to {MAX_BYTES / 1e6:.0f} MB",
    )


def _near_file(path: Path) -> str:
    """A repair for a missing file: a near name in the same folder, if there is one."""
    from mixcraft.files.near import meant

    try:
        names = [entry.name for entry in os.scandir(path.parent) if entry.name.endswith((".yaml", ".yml"))]
    except OSError:
        return f"there is no folder `{path.parent}` either; check the name"
    return meant(path.name, names) or "check the name and the folder you are in"


def _inside_folder(path: Path) -> str:
    try:
        names = sorted(entry.name for entry in os.scandir(path) if entry.name.endswith((".yaml", ".yml")))
    except OSError:
        names = []
    return f"name a file in it, such as `{path / names[0]}`" if names else "name a .yaml file"


_KINDS_OF_FILE = ((b"%PDF", "a PDF"), (b"PK\x03\x04", "a zip or office file"), (b"\x89PNG", "an image"),
                  (b"\xff\xd8\xff", "an image"), (b"\x1f\x8b", "a compressed file"))  # fmt: skip


def _decode(data: bytes, name: str) -> str:
    """Decode UTF-8 (a byte order mark is allowed), or say what else the file seems to be."""
    for start, kind in _KINDS_OF_FILE:
        if data.startswith(start):
            _file_fault(name, "not-text", f"this is {kind}, not a YAML text", "name the .yaml file")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or (data[:4].count(0) in (2, 3) and len(data) >= 4):
        _file_fault(name, "encoding", "the text is saved as UTF-16 or UTF-32", "save it again as UTF-8")
    if b"\0" in data:
        _file_fault(name, "not-text", "this is not a text file", "name the .yaml file")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        _not_utf8(data, error.start, name)


def _not_utf8(data: bytes, at: int, name: str) -> NoReturn:
    """One fault at the first byte that is not UTF-8."""
    before = data[:at].decode("utf-8")
    lines = LINE_END.split(before)
    source = LINE_END.split(data[at - len(lines[-1].encode()) :][:400].decode("cp1252", errors="replace"))[0]
    raise FileFaults(
        Fault(
            name, len(lines), len(lines[-1]) + 1, "", "encoding", "the text is not UTF-8 from here on",
            found=f"byte 0x{data[at]:02X}", repair="save the file again as UTF-8", source_line=source,
        )
    ) from None  # fmt: skip


def _check_text(text: str, name: str) -> None:
    """Refuse a text that is too long, empty, or holds characters that YAML does not allow."""
    if len(text) > MAX_BYTES:
        _too_large(name, len(text))
    bad = _NOT_PRINTABLE.search(text)
    if bad:
        _bad_character(text, bad.start(), name)
    if not text.strip():
        _file_fault(name, "empty", "the file is empty", "write something into it, or name another file")


def _bad_character(text: str, at: int, name: str) -> NoReturn:
    lines = LINE_END.split(text[:at])
    if text[at] == "\0" or sum(1 for _ in _NOT_PRINTABLE.finditer(text[:2000])) > 20:
        _file_fault(name, "not-text", "this is not a text file", "name the .yaml file")
    rest = LINE_END.split(text[at : at + 400])[0]
    raise FileFaults(
        Fault(
            name, len(lines), len(lines[-1]) + 1, "", "character", "a control character stands here",
            found=f"U+{ord(text[at]):04X}", repair="delete the character (it may be invisible)",
            source_line=lines[-1] + rest,
        )
    ) from None  # fmt: skip


# Events to values ------------------------------------------------------------------------------


class _Anchored(NamedTuple):
    value: Any
    spot: Spot
    nodes: int
    height: int


class _Builder:
    """Builds values and spots from the events of one text; collects faults, stops at the bounds."""

    def __init__(self, text: str, name: str) -> None:
        self.yaml = _yaml()
        self.loader = getattr(self.yaml, "CSafeLoader", self.yaml.SafeLoader)(text)
        self.text = text
        self.name = name
        self.faults: list[Fault] = []
        self.anchors: dict[str, _Anchored | None] = {}
        self.nodes = 0
        self._lines: list[str] | None = None

    def document(self) -> tuple[Any, Spot]:
        """Build the one document of the stream."""
        yaml = self.yaml
        self.next()  # start of stream
        if isinstance(self.next(), yaml.StreamEndEvent):
            self.stop(0, 0, "empty", "the file holds only comments", "write something under them, or name another file")
        data, spot, _ = self.node(self.next(), 0)
        self.next()  # end of document
        event = self.next()
        if isinstance(event, yaml.DocumentStartEvent):
            mark = event.start_mark
            self.stop(mark.line, mark.column, "several-documents", "a second document starts here (`---`)",
                      "keep one document in a file: remove the line, or move the rest to a file of its own")  # fmt: skip
        if data is None and not self.faults:
            self.stop(spot.line - 1, spot.column - 1, "empty", "the document is empty", "write something into it, or name another file")
        return data, spot

    def next(self) -> Any:
        return self.loader.get_event()

    def node(self, event: Any, depth: int) -> tuple[Any, Spot, int]:
        """Build one node from its first event. Returns value, spot and height (0 for a scalar)."""
        yaml = self.yaml
        if isinstance(event, yaml.AliasEvent):
            return self.alias(event, depth)
        self.count(1, event.start_mark)
        if event.anchor is not None:
            self.anchors[event.anchor] = None
        before = self.nodes
        if isinstance(event, yaml.ScalarEvent):
            value, spot, height = self.scalar(event), self.scalar_spot(event), 0
        else:
            self.check_depth(depth + 1, event.start_mark)
            build = self.mapping if isinstance(event, yaml.MappingStartEvent) else self.sequence
            value, spot, height = build(event, depth + 1)
        if event.anchor is not None:
            self.anchors[event.anchor] = _Anchored(value, spot, self.nodes - before + 1, height)
        return value, spot, height

    def alias(self, event: Any, depth: int) -> tuple[Any, Spot, int]:
        """Take over the value of an anchor, counted in full."""
        mark = event.start_mark
        if event.anchor not in self.anchors:
            self.stop(mark.line, mark.column, "alias", f"`*{event.anchor}` refers to nothing above it",
                      f"mark a value above with `&{event.anchor}`, or put the text in quotes", f"*{event.anchor}")  # fmt: skip
        anchored = self.anchors[event.anchor]
        if anchored is None:
            self.stop(mark.line, mark.column, "alias", f"`*{event.anchor}` stands inside what it refers to",
                      "write the value out instead", f"*{event.anchor}")  # fmt: skip
        self.count(anchored.nodes, mark)
        self.check_depth(depth + anchored.height, mark)
        return anchored.value, anchored.spot, anchored.height

    def sequence(self, event: Any, depth: int) -> tuple[list[Any], Spot, int]:
        self.check_tag(event, "seq")
        values: list[Any] = []
        parts: dict[str | int, Spot] = {}
        height = 0
        while not isinstance(item := self.next(), self.yaml.SequenceEndEvent):
            value, spot, below = self.node(item, depth)
            parts[len(values)] = spot
            values.append(value)
            height = max(height, below)
        style = "flow list" if event.flow_style else "list"
        return values, self.spot(event, item, style, {}, parts), height + 1

    def mapping(self, event: Any, depth: int) -> tuple[dict[str, Any], Spot, int]:
        self.check_tag(event, "map")
        values: dict[str, Any] = {}
        keys: dict[str, Place] = {}
        parts: dict[str | int, Spot] = {}
        height = 0
        while not isinstance(item := self.next(), self.yaml.MappingEndEvent):
            key = self.key(item, keys, depth)
            self.count(1, item.start_mark)
            value, spot, below = self.node(self.next(), depth)
            height = max(height, below)
            if key is None or key in values:
                continue
            place = (item.start_mark.line + 1, item.start_mark.column + 1)
            if value is None and spot.start == spot.end:
                spot = spot._replace(line=place[0], column=place[1])
            values[key], keys[key], parts[key] = value, place, spot
        style = "flow mapping" if event.flow_style else "mapping"
        return values, self.spot(event, item, style, keys, parts), height + 1

    def key(self, event: Any, keys: dict[str, Place], depth: int) -> str | None:
        """The key as text, or None (with a fault) if it is no text, empty, or there already."""
        mark = event.start_mark
        if not isinstance(event, self.yaml.ScalarEvent):
            self.node(event, depth)
            self.fault(mark, "key", "a key must be a plain text", "write `key: value`; put a text with { or [ in quotes")
            return None
        self.check_tag(event, "str")
        if event.anchor is not None:
            self.anchors[event.anchor] = _Anchored(event.value, self.scalar_spot(event), 1, 0)
        key: str = event.value
        if key in keys:
            line = keys[key][0]
            self.fault(mark, "duplicate-key", f"the key `{shorten(key)}` is given twice, first on line {line}",
                       "keep one of the two", key)  # fmt: skip
            return None
        if event.implicit[0] and key in ("", "<<"):
            said = ("a colon stands here without a key before it", "write `key: value`") if key == "" else (
                "`<<` (merging) is not part of YAML 1.2", "write the keys out")  # fmt: skip
            self.fault(mark, "key", *said, found=key)
            return None
        return key

    def scalar(self, event: Any) -> Any:
        tag = event.tag
        try:
            if tag is None:
                return plain_scalar(event.value) if event.implicit[0] else event.value
            if tag == "!":
                return event.value
            return tagged_scalar(event.value, _CORE_TAGS[tag])
        except NumberTooLong:
            self.fault(event.start_mark, "number", "this number is too long", "shorten it, or put it in quotes")
        except KeyError:
            self.check_tag(event, "str")
        except ValueError:
            self.fault(event.start_mark, "tag", f"the value is not of the type of its tag `!!{_CORE_TAGS[tag]}`",
                       "remove the tag", event.value)  # fmt: skip
        return event.value

    def check_tag(self, event: Any, kind: str) -> None:
        tag = event.tag
        if tag is None or tag == "!" or _CORE_TAGS.get(tag) == kind:
            return
        shown = tag.replace("tag:yaml.org,2002:", "!!")
        self.fault(event.start_mark, "tag", f"the tag `{shorten(shown)}` is not used in these files",
                   "remove the tag; put a text that starts with ! in quotes", shown)  # fmt: skip

    def scalar_spot(self, event: Any) -> Spot:
        style = "plain" if event.implicit[0] and not event.style else "quoted" if event.style in ("'", '"') else "block"
        return self.spot(event, event, style if event.style or style != "block" else "plain", _NOTHING, _NOTHING)

    def spot(self, first: Any, last: Any, style: str, keys: Mapping[str, Place], parts: Mapping[str | int, Spot]) -> Spot:
        start, end = first.start_mark, last.end_mark
        return Spot(start.line + 1, start.column + 1, start.index, end.index, style, keys, parts)

    # Bounds and faults

    def count(self, nodes: int, mark: Any) -> None:
        self.nodes += nodes
        if self.nodes > MAX_NODES:
            self.stop(mark.line, mark.column, "too-many-values", "the file holds too many values, or its aliases do",
                      "check that this is the right file; write fewer aliases", "", f"up to {MAX_NODES} values")  # fmt: skip

    def check_depth(self, depth: int, mark: Any) -> None:
        if depth > MAX_DEPTH:
            self.stop(mark.line, mark.column, "too-deep", "lists and mappings are nested too deep here",
                      "check the brackets and the indentation", "", f"up to {MAX_DEPTH} levels")  # fmt: skip

    def fault(self, mark: Any, rule: str, message: str, repair: str, found: str = "") -> None:
        self.faults.append(self.make(mark.line, mark.column, rule, message, repair, found, ""))

    def stop(self, line: int, column: int, rule: str, message: str, repair: str, found: str = "", allowed: str = "") -> NoReturn:
        fault = self.make(line, column, rule, message, repair, found, allowed)
        raise FileFaults([*self.faults, fault]) from None

    def make(self, line: int, column: int, rule: str, message: str, repair: str, found: str, allowed: str) -> Fault:
        if self._lines is None:
            self._lines = LINE_END.split(self.text)
        source = self._lines[line] if line < len(self._lines) else ""
        return Fault(self.name, line + 1, column + 1, "", rule, message, shorten(found), allowed, repair, source)
