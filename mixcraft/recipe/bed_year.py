"""The bed's year: in which order plain dates follow one another.

"20 October" and "10 April" in one recipe may mean garlic of the autumn before among the salads of spring, or salads first and
garlic after them.  The order is taken in which everything has come to its harvest soonest after the first sowing, unless plants
that share their ground would then stand on it together for longer.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .calendar import YEAR
from .constants import constant
from .layout import Stand
from .model import After, Recipe

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def years_later(
    recipe: Recipe, starts: Sequence[int], ready: Sequence[int], ends: Sequence[int], shared: Floats
) -> tuple[int, ...]:
    """Days, 0 or a year, by which each planting starts later, (P,), so that all come to their harvest soonest.

    `starts`, `ready` (first picking) and `ends` are day indices of the plantings as first found, `shared` (P, P) the share of its
    ground that each has in common with each other.  What waits for another planting moves with it; what stands from a year before
    is there all the time, and makes nobody wait for its harvest.
    """
    first, last, root = np.array(starts), np.array(ends), _roots(recipe)
    come = np.where([p.stands for p in recipe.plantings], first, np.array(ready))
    best, least = np.zeros(len(first), dtype=np.int64), _together(first, last, shared)
    wait = int(come.max() - first.min()) - int(constant("bed_year_gain_days"))
    for begin in sorted({int(first[r]) for r in root})[1:]:
        later = np.where(first[root] < begin, YEAR, 0)
        a, b = first + later, come + later
        if b.max() - a.min() < wait and _together(a, last + later, shared) <= least:
            best, wait = later, int(b.max() - a.min())
    return tuple(int(days) for days in best)


def _roots(recipe: Recipe) -> Ints:
    """Index of the planting whose own date each planting hangs on, (P,)."""
    index = {p.name: i for i, p in enumerate(recipe.plantings)}

    def root(i: int) -> int:
        start = recipe.plantings[i].start
        return root(index[start.planting]) if isinstance(start, After) else i

    return np.array([root(i) for i in range(len(index))])


def _together(starts: Ints, ends: Ints, shared: Floats) -> float:
    """Days that plantings stand on ground that they share, summed over pairs by the share."""
    days = np.minimum(ends[:, None], ends) - np.maximum(starts[:, None], starts)
    really = np.where(shared > constant("bed_year_shared"), shared, 0.0)
    return float((np.triu(really, 1) * np.maximum(days, 0)).sum())


def shared_ground(stands: Sequence[Stand]) -> Floats:
    """Share of the smaller one's ground that two stands have in common, (P, P)."""
    cells = np.stack([s.cells.ravel() for s in stands])
    both = np.minimum(cells[:, None, :], cells[None, :, :]).sum(axis=2)
    return np.asarray(both / np.maximum(np.minimum(cells.sum(axis=1)[:, None], cells.sum(axis=1)), 1e-9))
