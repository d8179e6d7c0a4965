"""What crops give alone at a place, kept on disk: growing them takes most of a second, and a bed is scored again and again.

What is kept was found with an engine whose sources are those of now, else all is found anew; see `mixcraft.files.keeping` for
files that cannot be written or are damaged.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from pathlib import Path

import numpy as np

from mixcraft.files import keeping

Best = tuple[float, ...]
"""What the best start of a crop gives [kg m-2], the days that it takes, and what each of the starts round the year gives."""
HERE = Path(__file__).parent
PACKAGE = HERE.parent
ENGINE = ("crops", "place", "recipe", "season")
"""Packages that it depends on what a crop gives alone; crops and places themselves are part of a key."""
FILE = "crops-alone.pickle"
KEY_LETTERS = 20
MOST_KEPT, MOST_WRITTEN = 4000, 400
"""No more than so many crops at places are kept, a few hundred kilobytes; the oldest go first.  And how often one process writes
them."""


@lru_cache(maxsize=1)
def engine() -> str:
    """Digest of the sources and constants of the engine."""
    return b"".join(keeping.digest_of(PACKAGE / name, "*.py", "*.yaml") for name in ENGINE).hex()


LEDGER = keeping.Ledger(partial(keeping.folders, HERE), FILE, lambda: engine().encode(), MOST_KEPT, MOST_WRITTEN)


def found_before(keys: Sequence[str], grow: Callable[[list[int]], list[Best]]) -> list[Best]:
    """What was found for each of `keys`; for those that are not known, `grow` finds it from their indices."""
    kept = [LEDGER.get(key) for key in keys]
    missing = [n for n, data in enumerate(kept) if data is None]
    if missing:
        new = {n: np.array(best, dtype=float).tobytes() for n, best in zip(missing, grow(missing), strict=True)}
        LEDGER.keep({keys[n]: data for n, data in new.items()})
        kept = [new.get(n, data) for n, data in enumerate(kept)]
    return [tuple(np.frombuffer(data or b"").tolist()) for data in kept]
