"""Documents that have passed their schema, known by their digests from one run to the next: the same files are checked again and
again, and loading the validator takes longer than all that it does.

A document that differs in a single value is checked, as is every document after a change to schemas or to what checks them.
"""

from __future__ import annotations

import hashlib
from functools import partial
from pathlib import Path
from typing import Any

from mixcraft.files import keeping

HERE = Path(__file__).parent
FILE = "documents-passed"
MOST, MOST_WRITTEN = 300, 20
"""Digests that are kept, the newest, and how often one process writes them."""


def digest(data: Any, kind: str, schemas: bytes) -> str:
    """What tells documents apart: kind, all values with their types, and what checks them."""
    return hashlib.sha256(repr((kind, data)).encode("utf-8", "surrogatepass") + schemas + keeping.reader()).hexdigest()


LEDGER = keeping.Ledger(partial(keeping.folders, HERE), FILE, bytes, MOST, MOST_WRITTEN)  # a digest holds what it was made with


def passed_before(mark: str) -> bool:
    """Whether a document with this digest has passed before."""
    return LEDGER.get(mark) is not None


def passes(mark: str) -> None:
    """Keep the digest of a document that has passed."""
    LEDGER.keep({mark: b""})
