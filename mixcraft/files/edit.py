"""Changing a YAML text without losing comments, order or layout.

The common changes (another value on the same line, a new last key or item, a key or item taken away) are
made in the text itself, by the marks of the reader. Everything else goes through ruamel.yaml's round trip, of
which only the lines that differ are taken over. Either way the result is read again and compared.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, Final

from mixcraft.files.document import LINE_END, Document, Spot
from mixcraft.files.faults import FileFaults, PathTuple, path_text
from mixcraft.files.load import parse_document
from mixcraft.files.scalars import plain_scalar


class _Remove:
    """The kind of REMOVE."""

    def __repr__(self) -> str:
        return "REMOVE"


REMOVE: Final = _Remove()
"""As the value of a change: take the key or item away."""

Change = tuple[PathTuple, Any]

_UNSAFE = "\\x00-\\x1f\\x7f-\\x9f\\u2028\\u2029\\ufeff:#,\\[\\]{}\"'"  # signs that always lead to quotes
_SAFE = re.compile(rf"[^\W_]([^{_UNSAFE}]*[^\s{_UNSAFE}])?")

_OLD_WORDS = frozenset(["y", "n", "yes", "no", "on", "off", "true", "false", "null"])  # YAML 1.1 values
_OLD_NUMBER = re.compile(r"[0-9][0-9a-fA-FxXoO_:.+-]*|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*")  # such as 12:30, 1_000, 0x_

_MONTH_DAY = re.compile(r"[01][0-9]-[0-3][0-9]")  # a text in every version of YAML
_PLAIN_KEYS = frozenset(["on", "off", "y"])  # keys of these formats


def edit_document(text: str, changes: Sequence[Change]) -> str:
    """Return a YAML text with some values changed, and comments, order and layout kept.

    changes: pairs of a path and its new value, in order. A path one past the last item of a list
    appends; a key that is not there is added as the last; the value REMOVE takes a key or item
    away. Only lines that must change do. The result is read again: it holds what was asked for.
    Raises FileFaults if the text is not valid, KeyError for a path whose parent does not exist or
    that shares its value with another through an alias.
    """
    lead = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix("\ufeff")
    for path, value in changes:
        document = parse_document(text, "text")
        wanted = _changed(document.data, path, value)
        text = _first_good(_candidates(document, path, value), wanted, path)
    return lead + text


def _candidates(document: Document, path: PathTuple, value: Any) -> Iterator[str]:
    """Ways to make the change, the one that keeps most first."""
    for way in (_replace_scalar, _replace_flow, _append, _take_away):
        made = way(document, path, value)
        if made is not None:
            yield made
    yield from _round_trips(document, path, value)


def _first_good(candidates: Iterator[str], wanted: Any, path: PathTuple) -> str:
    """The first text that reads as the wanted data."""
    for text in candidates:
        with contextlib.suppress(FileFaults):
            if same_data(parse_document(text, "text").data, wanted):
                return text
    raise KeyError(f"{path_text(path)} cannot be changed in place")


def same_data(a: Any, b: Any) -> bool:
    """True if two values are equal in value and type, order of keys aside."""
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(same_data(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(same_data(x, y) for x, y in zip(a, b, strict=True))
    return type(a) is type(b) and (a == b or (a != a and b != b))


def _changed(data: Any, path: PathTuple, value: Any) -> Any:
    """The data with one change; parts that do not change are shared."""
    if not path:
        return value
    key, rest = path[0], path[1:]
    if isinstance(data, list) and isinstance(key, int) and 0 <= key <= len(data):
        made: Any = list(data)
        inside = key < len(data)
    elif isinstance(data, dict) and isinstance(key, str):
        made = dict(data)
        inside = key in data
    else:
        raise KeyError(f"there is nothing at {path_text(path)}")
    if not inside and (rest or value is REMOVE):
        raise KeyError(f"there is nothing at {path_text(path)}")
    if not rest and value is REMOVE:
        del made[key]
    elif inside:
        made[key] = _changed(data[key], rest, value)
    elif isinstance(made, list):
        made.append(value)
    else:
        made[key] = value
    return made


# In the text itself ----------------------------------------------------------------------------


def _replace_scalar(document: Document, path: PathTuple, value: Any) -> str | None:
    """Put a scalar in the place of a scalar that stands on one line."""
    parent = document.spot(path[:-1])
    spot = parent.parts.get(path[-1]) if path else None
    if spot is None or isinstance(value, (dict, list, _Remove)) or spot.style not in ("plain", "quoted"):
        return None
    old = document.text[spot.start : spot.end]
    if LINE_END.search(old):
        return None
    new = scalar_text(value, quote=old[:1] if spot.style == "quoted" else "")
    new = new if old else " " + new
    return document.text[: spot.start] + new + document.text[spot.end :]


def _replace_flow(document: Document, path: PathTuple, value: Any) -> str | None:
    """Put a mapping or list in the place of one that stands on one line in { } or [ ]."""
    spot = document.spot(path[:-1]).parts.get(path[-1]) if path else None
    if spot is None or not isinstance(value, (dict, list)) or spot.style not in ("flow mapping", "flow list"):
        return None
    if LINE_END.search(document.text[spot.start : spot.end]):
        return None
    return document.text[: spot.start] + flow_text(value) + document.text[spot.end :]


def _append(document: Document, path: PathTuple, value: Any) -> str | None:
    """Add a last key or item to a block mapping or list, right under what is there."""
    parent = document.spot(path[:-1])
    if not path or path[-1] in parent.parts:
        return None
    if parent.style in ("flow mapping", "flow list"):
        return _append_in_flow(document, parent, path[-1], value)
    if not parent.parts or parent.style not in ("mapping", "list"):
        return None
    lines = block_lines([value] if parent.style == "list" else {str(path[-1]): value})
    newline = _newline(document.text)
    at = _content_end(document, parent)
    indent = " " * (parent.column - 1)
    return document.text[:at] + "".join(f"{newline}{indent}{line}" for line in lines) + document.text[at:]


def _append_in_flow(document: Document, parent: Spot, key: str | int, value: Any) -> str:
    """Add a last key or item inside { } or [ ]."""
    new = flow_text(value) if parent.style == "flow list" else f"{_key_text(str(key))}: {flow_text(value)}"
    at = max((part.end for part in parent.parts.values()), default=parent.end - 1)
    return document.text[:at] + (", " if parent.parts else "") + new + document.text[at:]


def _take_away(document: Document, path: PathTuple, value: Any) -> str | None:
    """Take the whole lines of a key or item away, if it is not the only one and starts its line."""
    parent = document.spot(path[:-1])
    if value is not REMOVE or len(parent.parts) < 2 or parent.style not in ("mapping", "list"):
        return None
    spot = parent.parts[path[-1]]
    line, column = parent.keys[str(path[-1])] if parent.style == "mapping" else (spot.line, parent.column)
    before = document.lines[line - 1][: column - 1]
    if before.strip() or (parent.style == "list" and not document.lines[line - 1].startswith(before + "-")):
        return None
    starts = [0, *(found.end() for found in LINE_END.finditer(document.text))]
    end = _content_end(document, spot) if spot.end > spot.start else starts[line - 1] + column
    rest = LINE_END.search(document.text, end)
    return document.text[: starts[line - 1]] + (document.text[rest.end() :] if rest else "")


def _content_end(document: Document, spot: Spot) -> int:
    """The end of the line on which the last written character of a value stands (comment included)."""
    while spot.style in ("mapping", "list") and spot.parts:
        spot = max(spot.parts.values(), key=lambda part: (part.line, part.column, part.start))
    written = document.text[: spot.end].rstrip() if spot.style == "block" else document.text[: spot.end]
    following = LINE_END.search(document.text, len(written))
    return following.start() if following else len(document.text)


def _newline(text: str) -> str:
    found = LINE_END.search(text)
    return found.group() if found else "\n"


def scalar_text(value: Any, *, quote: str = "") -> str:
    """Write a scalar as YAML, in the given quotes if it is a text, without quotes where that is safe.

    It can stand in block and in flow. quote: ``"``, ``'`` or nothing. Raises TypeError for other values.
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return _number_text(value)
    if not isinstance(value, str):
        raise TypeError(f"{type(value).__name__} cannot be written as a YAML scalar")
    if not quote and _is_safe(value):
        return value
    if quote == "'" and value.isprintable():
        return "'" + value.replace("'", "''") + "'"
    escaped = json.dumps(value, ensure_ascii=False)
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}" for c in escaped)


def _number_text(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    if value != value:
        return ".nan"
    if value in (float("inf"), float("-inf")):
        return ".inf" if value > 0 else "-.inf"
    return repr(value)


def _is_safe(text: str) -> bool:
    """True if a text can stand without quotes, in block or flow, for this reader and older ones."""
    if not _SAFE.fullmatch(text) or not text.isprintable() or text.casefold() in _OLD_WORDS:
        return False
    return plain_scalar(text) == text and (not _OLD_NUMBER.fullmatch(text) or bool(_MONTH_DAY.fullmatch(text)))


def _key_text(key: str) -> str:
    """Write a key; one that a YAML 1.1 reader takes for true or false (`on`) needs no quotes here."""
    return key if key in _PLAIN_KEYS else scalar_text(key)


def block_lines(value: Any) -> list[str]:
    """Write data as lines of block YAML; lists of scalars stand on one line inside a mapping."""
    if isinstance(value, dict) and value:
        lines = []
        for key, item in value.items():
            name = _key_text(str(key))
            inline = _inline(item)
            if inline is not None:
                lines.append(f"{name}: {inline}")
            else:
                lines += [f"{name}:", *(f"  {line}" for line in block_lines(item))]
        return lines
    if isinstance(value, list) and value:
        lines = []
        for item in value:
            inner = [inline] if (inline := _inline(item)) is not None else block_lines(item)
            lines += [f"- {inner[0]}", *(f"  {line}" for line in inner[1:])]
        return lines
    return [_inline(value) or "null"]


def flow_text(value: Any) -> str:
    """Write data on one line, as it can stand inside { } or [ ]."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key_text(str(key))}: {flow_text(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow_text(item) for item in value) + "]"
    return scalar_text(value)


def _inline(value: Any) -> str | None:
    """A scalar, an empty collection or a list of scalars on one line; None for everything else."""
    if isinstance(value, dict) and value:
        return None
    if isinstance(value, list) and any(isinstance(item, (dict, list)) for item in value):
        return None
    return flow_text(value)


# Through ruamel.yaml ---------------------------------------------------------------------------


def _round_trips(document: Document, path: PathTuple, value: Any) -> Iterator[str]:
    """The text through a round trip: first with only the differing lines taken over, then as it comes."""
    mapping, offset = _indents(document)
    text = "\n".join(document.lines)
    before = _dump(text, (), None, mapping, offset)
    after = _dump(text, path, value, mapping, offset)
    transplanted = _transplant(document.text, before, after)
    if transplanted is not None:
        yield transplanted
    yield after.replace("\n", _newline(document.text))


def _for_ruamel(value: Any) -> Any:
    """A new value in the style of this module: lists of scalars on one line, quotes where they are needed."""
    from ruamel.yaml.comments import CommentedMap, CommentedSeq
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    if isinstance(value, dict):
        return CommentedMap({key: _for_ruamel(item) for key, item in value.items()})
    if isinstance(value, list):
        made = CommentedSeq([_for_ruamel(item) for item in value])
        if _inline(value) is not None:
            made.fa.set_flow_style()
        return made
    if isinstance(value, str) and not _is_safe(value):
        return DoubleQuotedScalarString(value)
    return value


def _dump(text: str, path: PathTuple, value: Any, mapping: int, offset: int) -> str:
    from ruamel.yaml import YAML

    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 1_000_000
    yaml.indent(mapping=mapping, sequence=offset + 2, offset=offset)
    data = yaml.load(text)
    if path:
        node = data
        for key in path[:-1]:
            node = node[key]
        if value is REMOVE:
            del node[path[-1]]
        elif isinstance(node, list) and path[-1] == len(node):
            node.append(_for_ruamel(value))
        else:
            node[path[-1]] = _for_ruamel(value)
    stream = io.StringIO()
    yaml.dump(data, stream)
    return stream.getvalue()


def _indents(document: Document) -> tuple[int, int]:
    """The usual indent of mappings, and how far list dashes stand to the right of their key."""
    mappings: Counter[int] = Counter()
    lists: Counter[int] = Counter()

    def walk(spot: Spot) -> None:
        for part in spot.parts.values():
            if spot.style == "mapping" and part.style in ("mapping", "list"):
                (mappings if part.style == "mapping" else lists)[part.column - spot.column] += 1
            walk(part)

    walk(document.marks)
    mapping = mappings.most_common(1)[0][0] if mappings else 2
    offset = lists.most_common(1)[0][0] if lists else 2
    return max(mapping, 1), max(offset, 0)


def _transplant(original: str, before: str, after: str) -> str | None:
    """Take over from `before` -> `after` only the lines that differ; None if lines cannot be matched."""
    newline = _newline(original)
    old, plain, new = (LINE_END.split(text.removesuffix("\n")) for text in (original, before, after))
    if len(old) != len(plain):
        return None
    import difflib

    made: list[str] = []
    for tag, start, end, new_start, new_end in difflib.SequenceMatcher(None, plain, new, autojunk=False).get_opcodes():
        made += old[start:end] if tag == "equal" else new[new_start:new_end]
    return newline.join(made) + (newline if LINE_END.search(original[-1:]) else "")
