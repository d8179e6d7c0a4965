"""Which data results rest on."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib import resources
from importlib.metadata import version
from importlib.resources.abc import Traversable

from .model import DIGEST

ENDINGS = (".yaml", ".json", ".csv")


@lru_cache(maxsize=1)
def engine_version() -> str:
    """The version of the installed mixcraft."""
    return version("mixcraft")


@lru_cache(maxsize=1)
def data_version() -> str:
    """Digest of all data of the installed mixcraft: crops, constants, places, schemas."""
    found = hashlib.sha256()
    for name, file in sorted(_files(resources.files("mixcraft"), "")):
        found.update(name.encode() + b"\0" + file.read_bytes() + b"\0")
    return found.hexdigest()[:DIGEST]


def _files(folder: Traversable, at: str) -> list[tuple[str, Traversable]]:
    found: list[tuple[str, Traversable]] = []
    for entry in folder.iterdir():
        name = f"{at}/{entry.name}"
        if entry.is_dir():
            found += _files(entry, name) if not entry.name.startswith(("_", ".")) else []
        elif entry.name.endswith(ENDINGS):
            found.append((name, entry))
    return found
