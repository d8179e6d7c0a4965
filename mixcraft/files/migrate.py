"""Files of older format versions, brought to the newest one as they are read.

A step is what a new version needs of a file of the version before: changes of its data, which are made in its text, so that
comments, order and the lines that faults point to stay. Whoever raises the version of a format adds the step here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from .document import Document
from .edit import Change, edit_document
from .load import parse_document
from .schema import kind_of, newest_version

Step = Callable[[Any], Sequence[Change]]
"""From the data of a file to the changes that make it one of the next version, its `format` line aside."""

STEPS: Mapping[tuple[str, int], Step] = {}
"""Steps by kind of file and the version that they start from; every format is in its first version so far."""


def up_to_date(document: Document) -> Document:
    """A document of any kind in the newest version of its format; itself if it is that.

    Raises FileFaults for a document of no kind, of no version or of a newer one.
    """
    kind, version = kind_of(document)
    for old in range(version, newest_version(kind)):
        changes = [*STEPS[kind, old](document.data), (("format",), f"mixcraft-{kind}/{old + 1}")]
        document = parse_document(("\ufeff" if document.marked else "") + edit_document(document.text, changes), document.name)
    return document


__all__ = ["STEPS", "Step", "up_to_date"]
