"""Which repairs were found, kept on disk: trying them takes longer than all else that a score does, and the same recipe is scored
again for its card, in other units or with other options.

What is kept is which candidate mends a reason and what it gives, under a digest of all that this was found from: recipe, garden,
bed, years and seed, all crops and schemas, and the sources and constants of the engine.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from functools import lru_cache, partial
from pathlib import Path

from mixcraft.files import keeping, resource
from mixcraft.recipe.plan import Plan

from .found import PACKAGE, engine
from .reference import place_key

HERE = Path(__file__).parent
FILE = "repairs.pickle"
MOST, MOST_WRITTEN = 300, 40
"""Recipes of which it is kept what mends them, some hundred bytes each, the newest; and how often one process writes them."""
SOURCES = ("scoring", "scoring/parts", "graph", "files", "place/data")
"""Folders on whose sources and data repairs depend, besides those that `found.engine` looks at, crops and schemas."""
Pick = tuple[int, float]
"""The candidate that mends a reason, by its place among those that are tried against it, and the overall score that it gives."""
Picks = list[Pick | None]
"""Of each reason that candidates are tried against, what mends it."""


@lru_cache(maxsize=1)
def _engine() -> bytes:
    digests = [keeping.digest_of(PACKAGE / name, "*.py", "*.yaml") for name in SOURCES]
    data = (PACKAGE / "crops" / "data", "*.yaml"), (resource("schemas", "recipe.schema.json").parent, "*.json")
    return b"".join([engine().encode(), *digests, *(keeping.digest_of(*one) for one in data)])


LEDGER = keeping.Ledger(partial(keeping.folders, HERE), FILE, lambda: _engine(), MOST, MOST_WRITTEN)


def mark_of(plan: Plan, overall: float, grown: object, tried: Sequence[int]) -> str:
    """What tells searches for repairs apart: a plan, its overall score, how it was grown (whose text says all about it), and how
    many candidates are tried against each reason."""
    here = plan.garden, plan.bed.name, place_key(plan.place)
    return hashlib.sha256(repr((plan.recipe, here, overall, grown, tuple(tried))).encode("utf-8", "surrogatepass")).hexdigest()


def kept_picks(mark: str) -> Picks | None:
    """What was found before under a mark."""
    kept = LEDGER.get(mark)
    return None if kept is None else [one and (int(one[0]), float(one[1])) for one in json.loads(kept)]


def keep_picks(mark: str, picks: Picks) -> None:
    """Keep what was found."""
    LEDGER.keep({mark: json.dumps(picks).encode()})
