"""Picking: what each harvest takes on a day (how much), what it leaves (what stays) and when it is due again (when next).

Each way of picking is one function that gives the dry mass taken [g] and changes the state; `pick` goes through the table.
"""

from __future__ import annotations

from .compiled import compiled
from .tables import (
    CUT,
    HEAD,
    LEAF,
    LEAVES,
    ORGAN,
    RIPE,
    SIDE,
    THINNINGS,
    UNRIPE,
    WHOLE,
    WITH_MAIN,
    Constants,
    Day,
    Given,
    Picks,
    State,
    Traits,
)

NEVER = 10**6
ALL = 1.0 - 1e-9
"""A share from which on nothing is left."""


@compiled
def divert(day: int, year: int, now: Day, state: State, picks: Picks, constants: Constants) -> None:
    """Growth of every column that goes to flowers, pods and shoots whose windows are open [g], kept in their pools; it is left
    in `to_leaf` for `leaf_rates`."""
    for c in range(len(now.to_leaf)):
        now.to_leaf[c] = 0.0
    lead = int(constants.side_lead)
    for h in range(len(picks.column)):
        if picks.pool[h] == SIDE and picks.opens[h, year] - lead <= day <= picks.closes[h, year]:
            part = now.growth[picks.column[h]] * picks.side_share[h]
            state.pool[h] += part
            now.to_leaf[picks.column[h]] += part


@compiled
def standing(h: int, state: State, picks: Picks) -> float:
    """Dry mass [g] that a harvest finds."""
    c = picks.column[h]
    if picks.pool[h] == ORGAN:
        return state.organ[c]
    if picks.pool[h] == SIDE:
        return state.pool[h]
    return state.leaf_mass[c] * picks.take[h]


@compiled
def shrink(c: int, keep: float, state: State, picks: Picks) -> None:
    """Leave a share `keep` of a column's plants with all that is on them."""
    state.leaf[c] *= keep
    state.leaf_mass[c] *= keep
    state.peak[c] *= keep
    state.organ[c] *= keep
    state.made[c] *= keep
    state.grown[c] *= keep
    for h in range(len(picks.column)):
        if picks.column[h] == c:
            state.pool[h] *= keep
            state.first_mass[h] *= keep


@compiled
def thin(day: int, year: int, now: Day, state: State, traits: Traits, picks: Picks) -> None:
    """Take out the surplus seedlings whose day has come; those of a harvest of thinnings are eaten."""
    for c in range(len(state.leaf)):
        if picks.thin_day[c, year] != day or not state.alive[c]:
            continue
        keep = 1.0 / traits.sown[c]
        for h in range(len(picks.column)):
            if picks.column[h] == c and picks.way[h] == THINNINGS and picks.pool[h] != SIDE:
                now.picked[h] += standing(h, state, picks) * (1.0 - keep)
        shrink(c, keep, state, picks)


@compiled
def _share(h: int, year: int, state: State, picks: Picks) -> float:
    """Share of the plants that are pulled today: all at once, or evenly over the window, on the last day what is left."""
    return 1.0 if picks.at_once[h] else 1.0 / max(picks.pulls[h, year] - state.count[h], 1)


@compiled
def _with_main(h: int, day: int, year: int, state: State, picks: Picks) -> float:
    """Tops, leaves of roots and the like, of the plants that are pulled for their main part today."""
    main = picks.main[h]
    if not state.next[main] <= day <= picks.closes[main, year]:
        return 0.0
    return standing(h, state, picks) * _share(main, year, state, picks)


@compiled
def _whole(h: int, day: int, year: int, state: State, picks: Picks) -> float:
    """Whole plants; a side part pulled by itself leaves them standing."""
    c, share = picks.column[h], _share(h, year, state, picks)
    grams = standing(h, state, picks) * share
    state.count[h] += 1
    state.next[h] = day + int(picks.interval[h])
    if picks.pool[h] == SIDE:
        state.pool[h] *= 1.0 - share
        return grams
    shrink(c, 1.0 - share, state, picks)
    if picks.ends[h] and share >= ALL:
        state.done[c] = True
    return grams


@compiled
def _head(h: int, state: State, picks: Picks) -> float:
    """A head cut from plants that stay for their side shoots."""
    grams = standing(h, state, picks)
    state.organ[picks.column[h]] = 0.0
    state.next[h] = NEVER
    return grams


@compiled
def _leaves(
    h: int, day: int, year: int, state: State, traits: Traits, picks: Picks, constants: Constants
) -> float:
    """Outer leaves (never below a floor) or a cut (only when regrown, and only so often), from a stand that is big enough.

    A stand with time for one picking only is taken whole.
    """
    c, first = picks.column[h], state.count[h] == 0
    mass = state.leaf_mass[c]
    if picks.way[h] == LEAVES:
        state.first_mass[h] = max(state.first_mass[h], mass)
    ground = min(traits.area[c], traits.plants[c] / traits.best[c])
    waited = day >= picks.opens[h, year] + constants.first_pick_wait and not traits.resprouts[c]
    if first and not waited and state.leaf[c] / ground < constants.first_pick_lai:
        return 0.0
    if picks.way[h] == CUT:
        if mass < constants.regrown * state.first_mass[h] or state.count[h] >= picks.cuts[h]:
            return 0.0
        grams = mass * picks.take[h]
        if first:
            state.first_mass[h] = mass
    else:
        spare = max(mass - constants.canopy_floor * state.first_mass[h], 0.0)
        grams = min(mass * picks.take[h], spare)
    if first and picks.closes[h, year] - day < picks.interval[h]:
        grams = mass * max(picks.take[h], constants.clearing_take)
    keep = 1.0 - grams / mass if mass > 0.0 else 1.0
    state.leaf[c] *= keep
    state.leaf_mass[c] *= keep
    state.count[h] += 1
    state.next[h] = day + int(picks.interval[h])
    return grams


@compiled
def _ripe(h: int, day: int, year: int, state: State, picks: Picks, given: Given, constants: Constants) -> float:
    """Ripe fruit, pods or flowers; everything on the last day of the window or on the eve of a killing frost."""
    c = picks.column[h]
    planting = given.of[c]
    last = picks.closes[h, year] - day < picks.interval[h] or day >= given.death[planting, year] - 1
    grams = standing(h, state, picks)
    if picks.pool[h] == ORGAN:
        if not last:
            grams = max(grams - state.made[c] * given.daily[planting, UNRIPE, year, day], 0.0)
        state.organ[c] -= grams
    elif picks.pool[h] == SIDE:
        if not last:
            grams *= constants.ripe_share
        state.pool[h] -= grams
    state.count[h] += 1
    state.next[h] = day + int(picks.interval[h])
    return grams


@compiled
def pick(
    day: int, year: int, now: Day, state: State, traits: Traits, picks: Picks, given: Given, constants: Constants
) -> None:
    """Pick what is due on `day`, in the order of the table, from what is not cleared."""
    for h in range(len(picks.column)):
        if not state.next[h] <= day <= picks.closes[h, year] or state.done[picks.column[h]]:
            continue
        way = picks.way[h]
        if way == WITH_MAIN:
            now.picked[h] += _with_main(h, day, year, state, picks)
        elif way == WHOLE:
            now.picked[h] += _whole(h, day, year, state, picks)
        elif way == HEAD:
            now.picked[h] += _head(h, state, picks)
        elif way == LEAVES or way == CUT:  # noqa: PLR1714 -- two comparisons compile to less than a tuple
            now.picked[h] += _leaves(h, day, year, state, traits, picks, constants)
        elif way == RIPE:
            now.picked[h] += _ripe(h, day, year, state, picks, given, constants)


__all__ = ["LEAF", "divert", "pick", "thin"]
