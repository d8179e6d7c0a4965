"""What the tests of things that are kept on disk by their marks share."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mixcraft.files.keeping import Ledger


@contextmanager
def kept_apart(ledger: Ledger, folder: Path, monkeypatch: pytest.MonkeyPatch, writes: int) -> Iterator[Path]:
    """A ledger that keeps in a folder of the test's own, as in a process that may write so often."""
    monkeypatch.setattr(ledger, "where", lambda: iter([folder]))
    monkeypatch.setattr(ledger, "writes", writes)
    ledger.forget()
    yield folder
    ledger.forget()
