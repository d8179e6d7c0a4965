"""From the events of the YAML parser to values and their places, within bounds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple, NoReturn

from mixcraft.files.document import LINE_END, NOTHING, Place, Spot
from mixcraft.files.faults import Fault, FileFaults, shorten
from mixcraft.files.scalars import LongNumberError, plain_scalar, tagged_scalar
from mixcraft.files.text import unseen_character

MAX_DEPTH = 40  # of lists and mappings inside one another
MAX_NODES = 200_000  # values, keys and items, each alias counted as what it stands for

_CORE_TAGS = {f"tag:yaml.org,2002:{name}": name for name in ("str", "int", "float", "bool", "null", "map", "seq")}


def yaml_module() -> Any:
    """Import PyYAML when it is first needed."""
    import yaml

    return yaml


class _Anchored(NamedTuple):
    value: Any
    spot: Spot
    nodes: int
    height: int


class Builder:
    """Builds values and spots from the events of one text; collects faults, stops at the bounds."""

    def __init__(self, text: str, name: str) -> None:
        self.yaml = yaml_module()
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
            self.stop(
                0,
                0,
                "empty",
                "the file holds only comments",
                "write something under them, or name another file",
            )
        data, spot, _ = self.node(self.next(), 0)
        self.next()  # end of document
        event = self.next()
        if isinstance(event, yaml.DocumentStartEvent):
            mark = event.start_mark
            self.stop(
                mark.line,
                mark.column,
                "several-documents",
                "a second document starts here (`---`)",
                "keep one document in a file: remove the line, or move the rest to a file of its own",
            )
        if data is None and not self.faults:
            self.stop(
                spot.line - 1,
                spot.column - 1,
                "empty",
                "the document is empty",
                "write something into it, or name another file",
            )
        return data, spot

    def next(self) -> Any:
        """The next event of the stream."""
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
            self.stop(
                mark.line,
                mark.column,
                "alias",
                f"`*{event.anchor}` refers to nothing above it",
                f"mark a value above with `&{event.anchor}`, or put the text in quotes",
                f"*{event.anchor}",
            )
        anchored = self.anchors[event.anchor]
        if anchored is None:
            self.stop(
                mark.line,
                mark.column,
                "alias",
                f"`*{event.anchor}` stands inside what it refers to",
                "write the value out instead",
                f"*{event.anchor}",
            )
        self.count(anchored.nodes, mark)
        self.check_depth(depth + anchored.height, mark)
        return anchored.value, anchored.spot, anchored.height

    def sequence(self, event: Any, depth: int) -> tuple[list[Any], Spot, int]:
        """A list from its events."""
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
        """A mapping from its events; a key given twice is a fault."""
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
            self.fault(
                mark,
                "key",
                "a key must be a plain text",
                "write `key: value`; put a text with { or [ in quotes",
            )
            return None
        self.check_tag(event, "str")
        if event.anchor is not None:
            self.anchors[event.anchor] = _Anchored(event.value, self.scalar_spot(event), 1, 0)
        key: str = event.value
        self.check_characters(event)
        if key in keys:
            line = keys[key][0]
            self.fault(
                mark,
                "duplicate-key",
                f"the key `{shorten(key)}` is given twice, first on line {line}",
                "keep one of the two",
                key,
            )
            return None
        if event.implicit[0] and key in ("", "<<"):
            said = (
                ("a colon stands here without a key before it", "write `key: value`")
                if key == ""
                else ("`<<` (merging) is not part of YAML 1.2", "write the keys out")
            )
            self.fault(mark, "key", *said, found=key)
            return None
        return key

    def scalar(self, event: Any) -> Any:
        """A plain, quoted or tagged scalar as its YAML 1.2 core value."""
        tag = event.tag
        self.check_characters(event)
        try:
            if tag is None:
                return plain_scalar(event.value) if event.implicit[0] else event.value
            if tag == "!":
                return event.value
            return tagged_scalar(event.value, _CORE_TAGS[tag])
        except LongNumberError:
            self.fault(event.start_mark, "number", "this number is too long", "shorten it, or put it in quotes")
        except KeyError:
            self.check_tag(event, "str")
        except ValueError:
            self.fault(
                event.start_mark,
                "tag",
                f"the value is not of the type of its tag `!!{_CORE_TAGS[tag]}`",
                "remove the tag",
                event.value,
            )
        return event.value

    def check_characters(self, event: Any) -> None:
        """Note a fault for a control or direction character that an escape such as ``\\e`` stands for."""
        unseen = unseen_character(event.value)
        if unseen:
            self.fault(
                event.start_mark, "character", "the text holds a control or direction character", "delete the escape", unseen
            )

    def check_tag(self, event: Any, kind: str) -> None:
        """Note a fault for a tag that a mixcraft file may not have."""
        tag = event.tag
        if tag is None or tag == "!" or _CORE_TAGS.get(tag) == kind:
            return
        shown = tag.replace("tag:yaml.org,2002:", "!!")
        self.fault(
            event.start_mark,
            "tag",
            f"the tag `{shorten(shown)}` is not used in these files",
            "remove the tag; put a text that starts with ! in quotes",
            shown,
        )

    def scalar_spot(self, event: Any) -> Spot:
        """Where a scalar stands and how it is written."""
        style = "quoted" if event.style in ("'", '"') else "block" if event.style else "plain"
        return self.spot(event, event, style, NOTHING, NOTHING)

    def spot(self, first: Any, last: Any, style: str, keys: Mapping[str, Place], parts: Mapping[str | int, Spot]) -> Spot:
        """Where a node stands, from its first event to its last."""
        start, end = first.start_mark, last.end_mark
        return Spot(start.line + 1, start.column + 1, start.index, end.index, style, keys, parts)

    # Bounds and faults

    def count(self, nodes: int, mark: Any) -> None:
        """Count nodes and stop at the bound."""
        self.nodes += nodes
        if self.nodes > MAX_NODES:
            self.stop(
                mark.line,
                mark.column,
                "too-many-values",
                "the file holds too many values, or its aliases do",
                "check that this is the right file; write fewer aliases",
                "",
                f"up to {MAX_NODES} values",
            )

    def check_depth(self, depth: int, mark: Any) -> None:
        """Stop at the greatest depth."""
        if depth > MAX_DEPTH:
            self.stop(
                mark.line,
                mark.column,
                "too-deep",
                "lists and mappings are nested too deep here",
                "check the brackets and the indentation",
                "",
                f"up to {MAX_DEPTH} levels",
            )

    def fault(self, mark: Any, rule: str, message: str, repair: str, found: str = "") -> None:
        """Note a fault at a mark and go on."""
        self.faults.append(self.make(mark.line, mark.column, rule, message, repair, found, ""))

    def stop(self, line: int, column: int, rule: str, message: str, repair: str, found: str = "", allowed: str = "") -> NoReturn:
        """End reading with a fault, together with those noted before."""
        fault = self.make(line, column, rule, message, repair, found, allowed)
        raise FileFaults([*self.faults, fault]) from None

    def make(self, line: int, column: int, rule: str, message: str, repair: str, found: str, allowed: str) -> Fault:
        """A fault at a line and column (0-based) of the text."""
        if self._lines is None:
            self._lines = LINE_END.split(self.text)
        source = self._lines[line] if line < len(self._lines) else ""
        return Fault(self.name, line + 1, column + 1, "", rule, message, shorten(found), allowed, repair, source)
