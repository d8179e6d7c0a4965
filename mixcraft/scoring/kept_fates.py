"""Fates of plantings over many years, kept on disk: they depend on place, crop, start and covers alone, and a bed is scored again
and again while its amounts and places change.

What is kept was found with an engine whose sources are those of now; see `mixcraft.files.keeping` for files that cannot be
written or are damaged.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import lru_cache, partial
from pathlib import Path

import numpy as np

from mixcraft.files import keeping

from .fates import Fate
from .found import KEY_LETTERS, PACKAGE, engine

HERE = Path(__file__).parent
SOURCES = ("outlook.py", "fates.py", "constants.yaml")
"""Files of this package that fates depend on, besides the packages that `found.engine` looks at and the covers."""
FILE = "fates.pickle"
MOST, MOST_WRITTEN = 600, 40
"""Fates that are kept, a kilobyte each, the newest; and how often one process writes them: a search over hundreds of starts need
not."""
YEARS = ("killed", "by_heat", "by_chill", "lost", "bolted", "unready")
DAYS = ("death", "bolt")
NUMBERS = ("still", "bitter")
WORD = np.dtype(np.int64).itemsize
"""Bytes of a day index, and of a number."""


@lru_cache(maxsize=1)
def _engine() -> bytes:
    covers = keeping.digest_of(PACKAGE / "place" / "data", "covers.yaml")
    return engine().encode() + keeping.digest_of(HERE, *SOURCES) + covers


LEDGER = keeping.Ledger(partial(keeping.folders, HERE), FILE, lambda: _engine(), MOST, MOST_WRITTEN)


def mark(*parts: object) -> str:
    """What tells one fate from another, of parts whose texts tell all about them."""
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:KEY_LETTERS]


def kept_fate(key: str, years: int) -> Fate | None:
    """The fate with this mark over so many years, if it is kept."""
    data = LEDGER.get(key)
    if data is None or len(data) != years * (len(YEARS) + WORD * len(DAYS)) + WORD * len(NUMBERS):
        return None
    bools = np.frombuffer(data, dtype=bool, count=years * len(YEARS)).reshape(len(YEARS), years)
    days = np.frombuffer(data, dtype=np.int64, count=years * len(DAYS), offset=bools.size).reshape(len(DAYS), years)
    still, bitter = np.frombuffer(data, offset=bools.size + days.nbytes).reshape(len(NUMBERS), 1)
    killed, by_heat, by_chill, lost, bolted, unready = bools
    return Fate(killed, by_heat, by_chill, lost, bolted, unready, days[0], days[1], still.reshape(()), bitter.reshape(()))


def keep_fates(new: Mapping[str, Fate]) -> None:
    """Keep fates by their marks."""
    LEDGER.keep({key: _bytes(fate) for key, fate in new.items()})


def _bytes(fate: Fate) -> bytes:
    bools = np.stack([getattr(fate, name) for name in YEARS]).astype(bool)
    days = np.stack([getattr(fate, name) for name in DAYS]).astype(np.int64)
    return bools.tobytes() + days.tobytes() + np.array([getattr(fate, name) for name in NUMBERS], dtype=float).tobytes()
