"""Safe YAML with positions.

The text is read event by event (PyYAML, with its C parser when present); values are built by ``build.py``, so
that every value and key keeps its place in the file, and so that size, depth, and what aliases expand to
are bounded before any memory is spent. Scalars follow the YAML 1.2 core schema.
"""

from __future__ import annotations

import os
from pathlib import Path

from mixcraft.files.build import MAX_DEPTH, MAX_NODES, Builder, yaml_module
from mixcraft.files.document import LINE_END, Document, Place, Spot
from mixcraft.files.faults import Fault, FileFaults
from mixcraft.files.syntax import syntax_advice
from mixcraft.files.text import MAX_BYTES, check_text, read_text

__all__ = [
    "LINE_END",
    "MAX_BYTES",
    "MAX_DEPTH",
    "MAX_NODES",
    "Document",
    "Place",
    "Spot",
    "load_document",
    "parse_document",
]


def load_document(path: str | os.PathLike[str]) -> Document:
    """Read a YAML file of the user.

    Raises FileFaults with every fault: a file that is missing, not a file, too large, not text or not
    UTF-8; a syntax error; a duplicate key; an unknown tag; too deep, or too much behind aliases.
    """
    name = os.fspath(path)
    return parse_document(read_text(Path(path), name), name)


def parse_document(text: str, name: str) -> Document:
    """Read a YAML text. `name` stands for the file in faults. Raises FileFaults as load_document."""
    marked = text.startswith("\ufeff")
    text = text.removeprefix("\ufeff")
    check_text(text, name)
    yaml = yaml_module()
    builder = Builder(text, name)
    try:
        data, marks = builder.document()
    except yaml.MarkedYAMLError as error:
        lines = LINE_END.split(text)
        advice = syntax_advice(error, lines)
        syntax = Fault(
            name,
            advice.line + 1,
            advice.column + 1,
            "",
            advice.rule,
            advice.message,
            repair=advice.repair,
            source_line=lines[advice.line],
        )
        raise FileFaults([*builder.faults, syntax]) from None
    if builder.faults:
        raise FileFaults(builder.faults)
    return Document(data, name, text, marks, marked)
