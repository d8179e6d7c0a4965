"""Crops of the library as they were read, kept from one run to the next: reading a crop's file takes twenty times as long."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from mixcraft.files import keeping

from .model import Crop

HERE = Path(__file__).parent


def folders() -> Iterator[Path]:
    """Folders in which crops may be kept, the best first."""
    return keeping.folders(HERE)


@lru_cache(maxsize=1)
def _reader() -> bytes:
    """Digest of what makes a crop of a file."""
    return keeping.digest_of(HERE, "*.py", "*.yaml")


def kept_crop(path: Path, read: Callable[[bytes], Crop]) -> Crop:
    """The crop of a file: as it was kept if file and reader are those of then, else read, and kept."""
    data = path.read_bytes()
    key = sha256(_reader() + data).digest()
    return keeping.kept_thing(folders, f"crop.{path.stem}.pickle", key, Crop, lambda: read(data))
