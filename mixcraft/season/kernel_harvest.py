"""Picking: what each harvest takes on a day (how much), what it leaves (what stays) and when it is due again (when next).

Each way of picking is one function that gives the dry mass taken [g] and changes the state; `pick` goes through the table.
They get the records of one harvest (`row`, `window` of the year, `basket`) and of its column (`state`, `traits`).
"""

from __future__ import annotations

import math

from mixcraft.recipe.constants import constant as recipe_constant

from .compiled import compiled
from .constants import constant
from .tables import (
    ALL_RIPE,
    CUT,
    HEAD,
    LEAF,
    LEAVES,
    ORGAN,
    OVER_TIME,
    RIPE,
    RIPENED,
    SIDE,
    THINNINGS,
    WHOLE,
    WITH_MAIN,
    Record,
    Table,
)

NEVER = 10**6
ALL = 1.0 - 1e-9
"""A share from which on nothing is left."""
SIDE_LEAD = int(constant("side_lead"))
FIRST_PICK_LAI = constant("first_pick_lai")
FIRST_PICK_WAIT = constant("first_pick_wait")
FIRST_CUT_LAI = constant("first_cut_lai")
YOUNG_LAI = constant("young_lai")
ROUND_DAYS = int(recipe_constant("thinning_every"))
REGROWN = constant("regrown")
CANOPY_FLOOR = constant("canopy_floor")
CLEARING_TAKE = constant("clearing_take")
RIPE_SHARE = constant("ripe_share")
SHADE_DRY_POWER = constant("shade_dry_power")
FIRST_SHARE = constant("first_share")
MOST_OF_STAND = constant("most_of_stand")
WAIT_FOR_USUAL = constant("wait_for_usual")
FIRST_WORTH = constant("first_worth")
LARGEST_GO = constant("largest_go")
G_PER_KG = 1000.0


@compiled
def divert(
    day: int, year: int, now: Table, state: Table, traits: Table, picks: Table, windows: Table, baskets: Table
) -> None:  # fmt: skip
    """Growth of every column that goes to flowers, pods and shoots whose windows are open [g], kept in their pools, and what its
    rootstocks send up into them, as much a day."""
    for c in range(len(now)):
        now[c].to_side = 0.0
    for h in range(len(picks)):
        if picks[h].pool == SIDE and windows[h, year].opens - SIDE_LEAD <= day <= windows[h, year].closes:
            part = now[picks[h].column].growth * picks[h].side_share
            baskets[h].pool += part
            now[picks[h].column].to_side += part
        if picks[h].stored > 0.0 and windows[h, year].opens <= day <= windows[h, year].closes:
            c = picks[h].column
            if state[c].alive == 1 and state[c].done == 0:
                baskets[h].pool += picks[h].stored * traits[c].plants / (windows[h, year].closes - windows[h, year].opens + 1)


@compiled
def standing(row: Record, basket: Record, state: Record) -> float:
    """Dry mass [g] that a harvest finds."""
    if row.pool == ORGAN:
        return state.organ
    if row.pool == SIDE:
        return basket.pool
    return state.leaf_mass * row.take_share


@compiled
def pulled(row: Record, basket: Record, state: Record) -> float:
    """Dry mass [g] that is eaten of thinnings if all plants are pulled: of seedlings, stems as well as leaves."""
    if row.pool == LEAF:
        return state.grown * row.take_share
    return standing(row, basket, state)


@compiled
def dry_share(row: Record, state: Table) -> float:
    """Dry matter of what a harvest takes: leaf grown in shade holds more water."""
    dim = state[row.column].dim if row.pool == LEAF else 0.0
    return float(row.dry * math.exp(-SHADE_DRY_POWER * dim)) if dim > 0.0 else float(row.dry)


@compiled
def shrink(c: int, keep: float, state: Table, picks: Table, baskets: Table) -> None:
    """Leave a share `keep` of a column's plants with all that is on them."""
    state[c].leaf *= keep
    state[c].leaf_mass *= keep
    state[c].peak *= keep
    state[c].organ *= keep
    state[c].made *= keep
    state[c].grown *= keep
    for h in range(len(picks)):
        if picks[h].column == c:
            baskets[h].pool *= keep
            baskets[h].first_mass *= keep


@compiled
def thin(day: int, c: int, dates: Record, state: Table, traits: Table, picks: Table, baskets: Table) -> None:
    """Take out a column's surplus seedlings if this is a day for it, as many in every round; those of a harvest of thinnings are
    eaten."""
    since = day - dates.thinned
    if dates.thinned < 0 or not 0 <= since <= (traits[c].rounds - 1) * ROUND_DAYS or since % ROUND_DAYS != 0:
        return
    if state[c].alive == 0:
        return
    goes = (traits[c].sown - 1.0) / traits[c].rounds
    keep = 1.0 - goes / (traits[c].sown - goes * (since // ROUND_DAYS))
    for h in range(len(picks)):
        if picks[h].column == c and picks[h].way == THINNINGS and picks[h].pool != SIDE:
            baskets[h].picked += pulled(picks[h], baskets[h], state[c]) * (1.0 - keep)
    shrink(c, keep, state, picks, baskets)


@compiled
def smallest(share: float, spread: float) -> float:
    """Mass of the smallest `share` of a stand over that of all; sizes of plants lie evenly within `spread` of the mean."""
    return share * (1.0 - spread) + spread * share * share


@compiled
def pulled_mass(share: float, row: Record, basket: Record) -> float:
    """Share of the mass that stands which goes with the largest plants, a `share` of all that there were at first."""
    if share <= 0.0:
        return 0.0
    if share >= basket.left * ALL:
        return 1.0
    return 1.0 - smallest(basket.left - share, row.spread) / smallest(basket.left, row.spread)


@compiled
def as_large(size: float, row: Record, basket: Record, state: Record, traits: Record) -> float:
    """Share of the plants, of all that there were at first, that stand and have at least so much [g] to pick: the largest are
    pulled first."""
    found = standing(row, basket, state)
    if found <= 0.0 or basket.left <= 0.0:
        return 0.0
    mean = found / (traits.plants * smallest(basket.left, row.spread))
    large = (1.0 + row.spread - size / mean) / (2.0 * row.spread)
    return max(min(large, 1.0) - (1.0 - basket.left), 0.0)


@compiled
def of_size(row: Record, basket: Record, state: Record, traits: Record) -> float:
    """Share of the plants, of all that there were at first, that stand and have the least size that counts as a harvest."""
    return as_large(row.least, row, basket, state, traits) if row.least > 0.0 else float(basket.left)


@compiled
def is_usual(day: int, row: Record, window: Record, basket: Record, state: Record, traits: Record) -> bool:
    """Whether what is taken in one go has come to its usual size, has been given time to, or grows no more before the winter,
    which has opened its window; fruit, until the last is ripe."""
    if day >= window.opens + WAIT_FOR_USUAL or window.grown > window.opens:
        return True
    return bool(row.at_once != ALL_RIPE and standing(row, basket, state) >= row.usual * traits.plants * basket.left)


@compiled
def share_pulled(day: int, row: Record, window: Record, basket: Record, state: Record, traits: Record) -> float:
    """Share of the plants, of all that there were at first, that are pulled today: all at once, when most are of size and as
    large as usual, or when they are ripe, or evenly over what is left of the window as far as they are of size, and sooner those
    that have come to their usual size, which get no better by standing, in some goes; on the last day what is left."""
    steps = (basket.closes - day) // int(row.interval) + 1
    last = day >= basket.closes if row.at_once != OVER_TIME else steps <= 1
    left = max(basket.left - row.spared, 0.0)
    if last:
        return float(left)
    large = of_size(row, basket, state, traits)
    if row.at_once != OVER_TIME:
        fit = large >= MOST_OF_STAND * basket.left and is_usual(day, row, window, basket, state, traits)
        fit = fit or row.at_once == RIPENED
        return float(left) if fit else 0.0
    grown = as_large(row.usual, row, basket, state, traits) if row.usual > 0.0 else 0.0
    return min(max(left / steps, min(grown, LARGEST_GO)), large, left) if large >= FIRST_SHARE * basket.left else 0.0


@compiled
def put_off(day: int, row: Record, window: Record, basket: Record, state: Record, traits: Record) -> None:
    """Leave what is too small to count to grow beyond its last day, as far as it may be; once it is of size it is picked for as
    long as the window was to last.  Of plants that are pulled one by one those that are still too small are left for as long."""
    step = 1 if row.at_once != OVER_TIME else int(row.interval)
    if not window.opens <= day <= basket.closes < day + step or basket.closes >= window.latest:
        return
    large = of_size(row, basket, state, traits)
    if basket.count > 0:
        if row.at_once == OVER_TIME and large < MOST_OF_STAND * basket.left:
            basket.closes = min(day + step, window.latest)
        return
    wanted = MOST_OF_STAND if row.at_once != OVER_TIME else FIRST_SHARE
    if large < wanted * basket.left:
        basket.closes = min(day + step, window.latest)
    else:
        basket.closes = max(basket.closes, min(day + window.closes - window.opens, window.latest))


@compiled
def again(day: int, row: Record, basket: Record) -> None:
    """Count a picking and set the day of the next."""
    basket.count, basket.anew = basket.count + 1, 0
    basket.next = day + int(row.interval)


@compiled
def pick_with_main(
    h: int, day: int, year: int, state: Table, traits: Table, picks: Table, windows: Table, baskets: Table
) -> float:
    """Tops, leaves of roots and the like, of the plants that are pulled for their main part today."""
    main, c = picks[h].main, picks[h].column
    if not baskets[main].next <= day <= baskets[main].closes:
        return 0.0
    share = share_pulled(day, picks[main], windows[main, year], baskets[main], state[c], traits[c])
    return standing(picks[h], baskets[h], state[c]) * pulled_mass(share, picks[main], baskets[main])


@compiled
def pick_whole(h: int, day: int, year: int, state: Table, traits: Table, picks: Table, windows: Table, baskets: Table) -> float:
    """Whole plants, or the ears of those that climbers climb; a side part pulled by itself leaves them standing.  What is too
    small waits, and on the last day is no harvest."""
    c = picks[h].column
    share = share_pulled(day, picks[h], windows[h, year], baskets[h], state[c], traits[c])
    if share == 0.0:
        return 0.0
    found, mass = standing(picks[h], baskets[h], state[c]), pulled_mass(share, picks[h], baskets[h])
    grams = found * pulled_mass(min(share, of_size(picks[h], baskets[h], state[c], traits[c])), picks[h], baskets[h])
    again(day, picks[h], baskets[h])
    ends = share >= baskets[h].left * ALL
    baskets[h].left = 0.0 if ends else baskets[h].left - share
    if picks[h].pool == SIDE:
        baskets[h].pool *= 1.0 - mass
        return grams
    baskets[h].small += found * mass - grams
    if traits[c].pole == 1:
        state[c].organ *= 1.0 - mass
    else:
        shrink(c, 1.0 - mass, state, picks, baskets)
    if picks[h].ends == 1 and ends:
        state[c].done = 1
    return grams


@compiled
def pick_head(day: int, row: Record, window: Record, basket: Record, state: Record, traits: Record) -> float:
    """Heads cut from plants that stay for their side shoots, when most are of size; those that are too small on the last day are
    no harvest."""
    if share_pulled(day, row, window, basket, state, traits) == 0.0:
        return 0.0
    grams = standing(row, basket, state) * pulled_mass(of_size(row, basket, state, traits), row, basket)
    basket.small += standing(row, basket, state) - grams
    state.organ = 0.0
    basket.next = NEVER
    return grams


@compiled
def big_enough(day: int, window: Record, basket: Record, now: Record, state: Record, traits: Record) -> bool:
    """Whether leaf picking or cutting may begin, or has begun: from a leaf area index on the plants' own ground, a greater one
    while they are not full-grown, and then only where leaves meet; or in a sparse stand some weeks after they are.  What a winter
    has set back is left to grow to that index anew."""
    ground = min(traits.area, traits.plants / traits.best)
    waited = day >= window.grown + FIRST_PICK_WAIT and traits.resprouts == 0
    lai = state.leaf / ground
    young = lai >= FIRST_CUT_LAI and now.crowding >= YOUNG_LAI
    begun = basket.anew == 0 and (basket.count > 0 or waited)
    return begun or young or (day >= window.grown and lai >= FIRST_PICK_LAI)


@compiled
def pick_leaves(
    day: int, given: Record, row: Record, window: Record, basket: Record, now: Record, state: Record, traits: Record
) -> float:  # fmt: skip
    """Outer leaves, never below a floor, or a cut, only when regrown and only so often, but for cool weeks, from a stand that is
    big enough.

    The last picking of plants that then die or run to seed takes what there is, as does one for which alone there is time.
    """
    mass = state.leaf_mass
    if row.way == LEAVES:
        basket.first_mass = max(basket.first_mass, mass)
    if not big_enough(day, window, basket, now, state, traits):
        return 0.0
    if row.way == CUT:
        enough = basket.count >= row.cuts and (row.counted == 1 or given.cool == 0.0)
        if mass < REGROWN * basket.first_mass or enough:
            return 0.0
        grams = mass * row.take_share
        if basket.count == 0:
            basket.first_mass = mass
    else:
        grams = min(mass * row.take_share, max(mass - CANOPY_FLOOR * basket.first_mass, 0.0))
    if (basket.count == 0 or row.clears == 1) and window.closes - day < row.interval:
        grams = mass * max(row.take_share, CLEARING_TAKE)
    keep = 1.0 - grams / mass if mass > 0.0 else 1.0
    state.leaf *= keep
    state.leaf_mass *= keep
    state.grown = max(state.grown - grams, state.leaf_mass)
    again(day, row, basket)
    return grams


@compiled
def head_stands(day: int, row: Record, picks: Table, baskets: Table) -> bool:
    """Whether a head is still to be cut that holds back the shoots of a harvest."""
    if row.main < 0 or row.pool != SIDE or picks[row.main].way != HEAD:
        return False
    return bool(baskets[row.main].next < NEVER and day <= baskets[row.main].closes)


@compiled
def pick_ripe(
    day: int, given: Record, dates: Record, row: Record, window: Record, basket: Record, state: Record, traits: Record
) -> float:  # fmt: skip
    """Ripe fruit, pods or flowers; on the last day of the window or on the eve of a killing frost everything that is food, ripe
    or not.  Fruit and pods are looked at every day until there are enough for a first picking."""
    last = window.closes - day < row.interval or day >= dates.death - 1
    grams = standing(row, basket, state)
    if row.pool == ORGAN:
        if not last or row.ripe_only == 1:
            grams = max(grams - state.made * given.unripe, 0.0)
        if not last:
            ground = min(traits.area, traits.plants / traits.best)
            if basket.count == 0 and grams < FIRST_WORTH * G_PER_KG * row.dry * ground:
                return 0.0
        state.organ -= grams
    else:
        if not last:
            grams *= RIPE_SHARE
        basket.pool -= grams
    again(day, row, basket)
    return grams


@compiled
def pick(
    day: int, year: int, daily: Table, dates: Table, traits: Table, picks: Table, windows: Table, now: Table, state: Table,
    baskets: Table,
) -> None:  # fmt: skip
    """Pick what is due on `day`, in the order of the table, from what is not cleared."""
    for h in range(len(picks)):
        if windows[h, year].latest > windows[h, year].closes:
            put_off(day, picks[h], windows[h, year], baskets[h], state[picks[h].column], traits[picks[h].column])
    for h in range(len(picks)):
        row, window, basket, c = picks[h], windows[h, year], baskets[h], picks[h].column
        if row.way == LEAVES and daily[traits[c].planting, year, day].anew == 1.0:
            basket.first_mass, basket.anew = state[c].leaf_mass, 1
        closes = basket.closes if row.way != WITH_MAIN else max(basket.closes, baskets[row.main].closes)
        if not basket.next <= day <= closes or state[c].done == 1:
            continue
        if row.way == WITH_MAIN:
            basket.picked += pick_with_main(h, day, year, state, traits, picks, windows, baskets)
        elif row.way == WHOLE:
            basket.picked += pick_whole(h, day, year, state, traits, picks, windows, baskets)
        elif row.way == HEAD:
            basket.picked += pick_head(day, row, window, basket, state[c], traits[c])
        elif row.way in (LEAVES, CUT):
            given = daily[traits[c].planting, year, day]
            basket.picked += pick_leaves(day, given, row, window, basket, now[c], state[c], traits[c])
        elif row.way == RIPE and not head_stands(day, row, picks, baskets):
            given = daily[traits[c].planting, year, day]
            basket.picked += pick_ripe(day, given, dates[c, year], row, window, basket, state[c], traits[c])
