"""The plate: what a household eats of what a bed gives, week by week, from what is fresh and from what keeps.

A picking is eaten in its week or as long after as it keeps, in the summer of a kitchen less long than in a cold store. Nobody
eats one thing alone: of one kind no more is counted in a week than a set share of the plate, and what stays over spoils. So a
glut counts for little and a picking every second week of something that keeps leaves no gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from .constants import constants

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TRACE = 1e-9
"""Portions that are none: what rounding leaves of a store that has been eaten up."""


@dataclass(frozen=True)
class Wanted:
    """What a household wants of a bed: `portions` a week, `kinds` of different things a week; of one kind at most the share
    `most_of_one` of the portions counts, one share for all or one for each kind (K,).  Up to `used` portions of a kind, (K,), are
    used in a week all the same: herbs that season a dish and do not fill the plate."""

    portions: float
    kinds: float
    most_of_one: float | Floats
    used: float | Floats = 0.0


@dataclass(frozen=True)
class Eaten:
    """What is eaten by week: `portions` (W, Y, K) by kind; `spoiled` (W, Y, K) portions that nobody used in time, in the week in
    which they were picked; `served` (W, Y) share of the portions wanted; `kinds` (W, Y) number of kinds on the plate, a kind of
    which less than a portion is eaten counting as that part."""

    portions: Floats
    spoiled: Floats
    served: Floats
    kinds: Floats


def good_until(keeps_weeks: Ints, weekly_c: Floats, cool: NDArray[np.bool_]) -> Ints:
    """Last week in which a picking is still good, (W, K), by the week of its picking; `weekly_c` (W,) is the air's mean [C].

    `keeps_weeks` (K,) holds in the cold of a store; where that is asked for (`cool`, (K,)), what does not go into the
    refrigerator for the weeks that it may be there lies in a cellar as warm as the air, and each week costs as much of its life
    as spoiling is quicker by the warmth (`spoils_times` for ten degrees).
    """
    c, weeks = constants(), len(weekly_c)
    spent = np.cumsum(np.concatenate([[0.0], c["spoils_times"] ** (np.maximum(weekly_c, 0.0) / c["spoils_step"])]))
    begins = np.arange(weeks)[:, None]
    cellar = np.searchsorted(spent, spent[:weeks, None] + keeps_weeks + 1e-9, side="right") - 1
    past_end = np.where(cellar >= weeks, begins + keeps_weeks, cellar)
    short = np.maximum(past_end, begins + np.minimum(keeps_weeks, int(c["refrigerator_weeks"])))
    return np.asarray(np.where(cool, np.minimum(short, begins + keeps_weeks), begins + keeps_weeks), dtype=np.int64)


def eat(
    picked: Floats, keeps_weeks: Ints, wanted: Wanted, on: NDArray[np.bool_] | None = None, until: Ints | None = None
) -> Eaten:
    """Eat from what is picked, `picked` (W, Y, K) portions by week, year and kind, that keeps `keeps_weeks` (K,) whole weeks, or
    up to the weeks `until` (W, K) by the week of picking.

    `on` (W,) are the weeks in which the household eats from the bed (all of them if None); what is in store or is picked after
    the last of them it eats too, in weeks that nobody asked for.  A kind that keeps 0 weeks is eaten in the week of its picking
    or not at all.  Every week the portions are shared evenly over the kinds at hand, of which those that have too little give
    all.  Mass is closed: what is eaten, used or spoiled in these weeks and after them is what was picked.
    """
    weeks, years, kinds = picked.shape
    last = np.arange(weeks)[:, None] + keeps_weeks if until is None else until
    after = max(int(last.max(initial=0)) - weeks + 1, 0)
    picked = np.concatenate([picked, np.zeros((after, years, kinds))])
    last = np.concatenate([last, np.broadcast_to(last.max(axis=0, initial=0), (after, kinds))])
    taken, gone_from_store = np.zeros_like(picked), np.zeros_like(picked)
    arrived = np.cumsum(picked, axis=0)
    gone = np.zeros(picked.shape[1:])
    cap = np.broadcast_to(np.asarray(wanted.most_of_one) * wanted.portions, kinds)
    old = _picked_before(arrived, last)
    for week in _eating_weeks(weeks, after, on):
        gone = np.maximum(gone, old[week])  # what is past its last week and is still here has spoiled
        at_hand = arrived[week] - gone
        if week >= weeks and at_hand.max(initial=0.0) <= TRACE:
            break
        if (at_hand > 0.0).any():
            taken[week] = share_out(at_hand, wanted.portions, cap)
            gone_from_store[week] = np.maximum(taken[week], np.minimum(at_hand, wanted.used))
            gone = gone + gone_from_store[week]
    kinds_eaten = np.minimum(taken[:weeks], 1.0).sum(axis=2)
    served = np.minimum(taken[:weeks].sum(axis=2) / max(wanted.portions, 1e-9), 1.0)
    return Eaten(taken[:weeks], _spoiled(picked, gone_from_store, last)[:weeks], served, kinds_eaten)


def _eating_weeks(weeks: int, after: int, on: NDArray[np.bool_] | None) -> list[int]:
    """The weeks in which the household eats: those of `on` (W,), and all after the last of them, `after` weeks more than W."""
    wanted = list(range(weeks)) if on is None else np.nonzero(on)[0].tolist()
    return [*wanted, *range(wanted[-1] + 1, weeks + after)] if wanted else []


def _picked_before(arrived: Floats, last: Ints) -> Floats:
    """What of `arrived` (W, Y, K), picked up to each week, is past its `last` week (W, K) by then, (W, Y, K)."""
    past = (last[None, :, :] < np.arange(len(arrived))[:, None, None]).sum(axis=1)
    found = np.take_along_axis(arrived, np.maximum(past - 1, 0)[:, None, :], axis=0)
    return np.where((past > 0)[:, None, :], found, 0.0)


def share_out(at_hand: Floats, portions: float, cap: Floats) -> Floats:
    """Portions eaten of each kind, (Y, K): an even share of each kind, of none more than `cap` (K,) or than is `at_hand` (Y, K),
    in all no more than `portions`."""
    most = np.minimum(np.maximum(at_hand, 0.0), cap)
    if not most.size:  # a bed of green manure
        return most
    return np.minimum(most, even_share(most, portions)[:, None])


def even_share(most: Floats, portions: float) -> Floats:
    """The share s (Y,) with sum(min(most, s)) = portions, `most` (Y, K); the greatest of `most` where all is too little.

    What is left after the k least, shared among the others, rises with k as long as it is more than the next has to give.
    """
    rising, left = most.copy(), np.empty(most.shape)
    rising.sort(axis=1)
    left[:, 0] = portions
    np.subtract(portions, rising[:, :-1].cumsum(axis=1), out=left[:, 1:])
    left /= _others(most.shape[1])
    return np.asarray(np.minimum(left.max(axis=1), rising[:, -1]))


@lru_cache(maxsize=64)
def _others(kinds: int) -> Floats:
    """How many share what the first 0, 1, .. kinds leave, (K,)."""
    return np.arange(kinds, 0, -1, dtype=float)


def _spoiled(picked: Floats, taken: Floats, last: Ints) -> Floats:
    """Portions spoiled, put down to the week of their picking, first in first out: what was picked up to a week less what was
    used while it kept, `last` (W, K) the last week of each.  What still keeps when the weeks end is in store and not spoiled."""
    arrived, eaten = np.cumsum(picked, axis=0), np.cumsum(taken, axis=0)
    by_then = np.take_along_axis(eaten, np.minimum(last, len(picked) - 1)[:, None, :], axis=0)
    lost = np.where((last < len(picked))[:, None, :], np.maximum(arrived - by_then, 0.0), 0.0)
    return np.diff(np.maximum.accumulate(lost, axis=0), axis=0, prepend=0.0)
