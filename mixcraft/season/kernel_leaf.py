"""Growth, leaf and organ of a day: dry matter from absorbed light (Monteith 1977), leaf area limited first by temperature and
then by dry matter (Spitters & Schapendonk 1990) and by the room that all leaves on the same ground leave, organ mass by a
rising harvest index (EPIC; Williams et al. 1989).

Every function but `crowd` is of one column, of which it gets the records: what the day brings (`given`), what it comes to
(`now`), the `state` and the `traits`.  Rates are found first, then states are changed.
"""

from __future__ import annotations

import math

from .compiled import compiled
from .constants import constant
from .tables import Ground, Record, Table

LEAST_M = 1e-6
"""Heights are compared from this one [m]."""
STUBBLE = constant("stubble")
SHADE_DEATH_RATE = constant("shade_death_rate")
YOUNG_LEAF_THINNESS = constant("young_leaf_thinness")
SPROUT_SHARE = constant("sprout_share")
LEAST_OF_START = 0.5
"""Leaf is never thinned below this share of a plant's leaf at its start."""


@compiled
def come_up(day: int, dates: Record, state: Record, traits: Record) -> None:
    """Plants that come up or are planted out today."""
    if dates.emergence == day and state.done == 0:
        leaf = traits.leaf0 * traits.plants * traits.sown
        state.leaf = leaf
        state.leaf_mass = leaf / traits.sla
        state.grown = leaf / traits.sla / traits.leaf_share
        state.alive = 1


@compiled
def stand_up(given: Record, now: Record, state: Record, traits: Record) -> None:
    """Height; after cutting or leaf picking with the square root of the leaf left over the greatest leaf."""
    state.peak = max(state.peak, state.leaf)
    now.height = given.height
    if traits.trims == 1:
        left = state.leaf / state.peak if state.peak > 0.0 else 0.0
        now.height *= max(math.sqrt(left), STUBBLE)


@compiled
def crowd(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """Leaf area index, and with the neighbours' leaf that shades the lowest one: by its overlap, by its extinction coefficient
    and, where it is lower, by the share of the column's height that it reaches."""
    for c in range(len(state)):
        now[c].lai = state[c].leaf / traits[c].area
        now[c].crowding = now[c].lai
    for i in range(ground.mixed):
        if state[i].alive == 1:
            height = max(now[i].height, LEAST_M)
            for j in range(ground.mixed):
                if ground.crowds[i, j] > 0.0 and state[j].leaf > 0.0:
                    reach = min(1.0, max(now[j].height, LEAST_M) / height)
                    now[i].crowding += ground.crowds[i, j] * reach * now[j].lai


@compiled
def growth_rates(given: Record, now: Record, state: Record) -> None:
    """Dry matter [g d-1], and what of it goes to the organ: as much as the harvest index reached asks for."""
    now.growth = given.potential * now.light * now.drought
    wanted = given.organ_share * (state.grown + now.growth) - state.made
    now.to_organ = min(max(wanted, 0.0), now.growth)


@compiled
def leaf_rates(given: Record, now: Record, state: Record, traits: Record) -> None:
    """Dry matter that goes to leaf [g d-1], the leaf that comes of it [m2 d-1], and the share that dies [1/d]."""
    now.to_leaf = traits.leaf_share * (now.growth - now.to_organ) - now.to_side
    young = state.leaf * given.leaf_rate * now.drought
    fed = max(now.to_leaf, 0.0) * given.leaf_area
    held = now.lai / now.crowding if now.crowding > 0.0 else 0.0
    room = max(traits.lai_max - now.crowding, 0.0) * traits.area * held
    now.leaf_gain = min(young, fed, room)
    crowded = SHADE_DEATH_RATE * min(max(now.crowding / traits.lai_max - 1.0, 0.0), 1.0)
    now.death = crowded + given.ageing


@compiled
def grow_on(now: Record, state: Record, traits: Record) -> None:
    """State after a day's growth."""
    state.grown += now.growth
    state.made += now.to_organ
    state.organ += now.to_organ
    lives = 1.0 - now.death
    state.leaf_mass = max(state.leaf_mass * lives + now.to_leaf, 0.0)
    leaf = max(state.leaf * lives + now.leaf_gain, 0.0)
    thinnest = state.leaf_mass * traits.sla * YOUNG_LEAF_THINNESS
    state.leaf = min(leaf, max(thinnest, traits.leaf0 * LEAST_OF_START))


@compiled
def die_back(given: Record, state: Record, traits: Record) -> None:
    """Leaf and fruit that frost takes from plants whose rootstock lives on; what sprouts again is held back by the cold."""
    if given.dies_back == 0.0:
        return
    sprouts = max(traits.leaf0 * traits.plants, SPROUT_SHARE * state.peak)
    kept = min(1.0, sprouts / state.leaf) if state.leaf > 0.0 else 1.0
    state.leaf *= kept
    state.leaf_mass *= kept
    if traits.buried == 0:
        state.organ = 0.0


@compiled
def clear(day: int, dates: Record, state: Record) -> None:
    """Plants whose last day this is, or whose harvest has ended them, go."""
    if state.done == 1 or dates.last <= day:
        state.alive = 0
        state.leaf = 0.0
        state.leaf_mass = 0.0
