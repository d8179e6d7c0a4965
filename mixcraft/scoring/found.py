"""What crops give alone at a place, kept on disk: growing them takes most of a second, and a bed is scored again and again.

What is kept was found with an engine whose sources are those of now, else all is found anew; see `mixcraft.files.keeping` for
files that cannot be written or are damaged.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from mixcraft.files.keeping import folders as folders_beside
from mixcraft.files.keeping import keep_in, kept_in

Best = tuple[float, ...]
"""What the best start of a crop gives [kg m-2], the days that it takes, and what each of the starts round the year gives."""
PACKAGE = Path(__file__).parents[1]
ENGINE = ("crops", "place", "recipe", "season")
"""Packages that it depends on what a crop gives alone; crops and places themselves are part of a key."""
FILE = "crops-alone.json"
KEY_LETTERS = 20
MOST_KEPT = 4000
"""No more than so many crops at places are kept, a few hundred kilobytes; the oldest go first."""


def folders() -> Iterator[Path]:
    """Folders in which it is kept, the best first."""
    return folders_beside(Path(__file__).parent)


@lru_cache(maxsize=1)
def engine() -> str:
    """Digest of the sources and constants of the engine."""
    found = sha256()
    for name in ENGINE:
        for path in sorted([*(PACKAGE / name).glob("*.py"), *(PACKAGE / name).glob("*.yaml")]):
            found.update(path.name.encode())
            found.update(path.read_bytes())
    return found.hexdigest()


def found_before(keys: Sequence[str], grow: Callable[[list[int]], list[Best]]) -> list[Best]:
    """What was found for each of `keys`; for those that are not known, `grow` finds it from their indices."""
    kept = _kept()
    missing = [n for n, key in enumerate(keys) if key not in kept]
    if missing:
        found = grow(missing)
        known = {**kept, **_kept(), **{keys[n]: best for n, best in zip(missing, found, strict=True)}}
        newest = dict(list(known.items())[-MOST_KEPT:])
        keep_in(folders(), FILE, json.dumps({"engine": engine(), "found": newest}).encode())
        kept = known
    return [kept[key] for key in keys]


def _kept() -> dict[str, Best]:
    """All that is kept."""
    for data in kept_in(folders(), FILE):
        try:
            held: Any = json.loads(data)
            if held["engine"] == engine():
                return {str(key): tuple(float(value) for value in best) for key, best in held["found"].items()}
        except (ValueError, TypeError, KeyError, AttributeError):
            continue
    return {}
