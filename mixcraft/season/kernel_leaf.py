"""Growth, leaf and organ of a day: dry matter from absorbed light (Monteith 1977), leaf area limited first by temperature and then
by dry matter (Spitters & Schapendonk 1990) and by the room that all leaves on the same ground leave, organ mass by a rising harvest
index (EPIC; Williams et al. 1989).

Every function here is of one column or of few; rates are found first, then states are changed.
"""

from __future__ import annotations

import math

from .compiled import compiled
from .tables import (
    AGEING,
    DIES_BACK,
    HEIGHT,
    LEAF_AREA,
    LEAF_RATE,
    ORGAN_SHARE,
    POTENTIAL,
    Constants,
    Day,
    Given,
    Ground,
    State,
    Traits,
)

LEAST_M = 1e-6
"""Heights are compared from this one [m]."""


@compiled
def come_up(day: int, year: int, state: State, traits: Traits, given: Given) -> bool:
    """Plants that come up or are planted out today; whether anything is alive."""
    anything = False
    for c in range(len(state.leaf)):
        if given.emergence[given.of[c], year] == day and not state.done[c]:
            leaf = traits.leaf0[c] * traits.plants[c] * traits.sown[c]
            state.leaf[c] = leaf
            state.leaf_mass[c] = leaf / traits.sla[c]
            state.grown[c] = state.leaf_mass[c] / traits.leaf_share[c]
            state.alive[c] = True
        anything |= state.alive[c]
    return anything


@compiled
def stand_up(day: int, year: int, now: Day, state: State, traits: Traits, given: Given, constants: Constants) -> None:
    """Heights; after cutting or leaf picking with the square root of the leaf left over the greatest leaf."""
    for c in range(len(state.leaf)):
        state.peak[c] = max(state.peak[c], state.leaf[c])
        now.height[c] = given.daily[given.of[c], HEIGHT, year, day]
        if traits.trims[c]:
            left = state.leaf[c] / state.peak[c] if state.peak[c] > 0.0 else 0.0
            now.height[c] *= max(math.sqrt(left), constants.stubble)


@compiled
def crowd(now: Day, state: State, traits: Traits, ground: Ground) -> None:
    """Leaf area index, and with the neighbours' leaf that shades the lowest one: by its overlap, by its extinction coefficient
    and, where it is lower, by the share of the column's height that it reaches."""
    for c in range(len(state.leaf)):
        now.lai[c] = state.leaf[c] / traits.area[c]
        now.crowding[c] = now.lai[c]
    for i in range(ground.mixed):
        if state.alive[i]:
            height = max(now.height[i], LEAST_M)
            for j in range(ground.mixed):
                if ground.crowds[i, j] > 0.0 and state.leaf[j] > 0.0:
                    reach = min(1.0, max(now.height[j], LEAST_M) / height)
                    now.crowding[i] += ground.crowds[i, j] * reach * now.lai[j]


@compiled
def growth_rates(day: int, year: int, c: int, now: Day, state: State, given: Given) -> None:
    """Dry matter of a column [g d-1], and what of it goes to its organ: as much as the harvest index reached asks for."""
    daily = given.daily[given.of[c]]
    growth = daily[POTENTIAL, year, day] * now.light[c] * now.drought[c]
    wanted = daily[ORGAN_SHARE, year, day] * (state.grown[c] + growth) - state.made[c]
    now.growth[c] = growth
    now.to_organ[c] = min(max(wanted, 0.0), growth)


@compiled
def leaf_rates(
    day: int, year: int, c: int, diverted: float, now: Day, state: State, traits: Traits, given: Given, constants: Constants
) -> None:
    """Dry matter that goes to a column's leaf [g d-1], the leaf that comes of it [m2 d-1], and the share that dies [1/d]."""
    daily = given.daily[given.of[c]]
    now.to_leaf[c] = traits.leaf_share[c] * (now.growth[c] - now.to_organ[c]) - diverted
    young = state.leaf[c] * daily[LEAF_RATE, year, day] * now.drought[c]
    fed = max(now.to_leaf[c], 0.0) * daily[LEAF_AREA, year, day]
    crowding, most = now.crowding[c], traits.lai_max[c]
    held = now.lai[c] / crowding if crowding > 0.0 else 0.0
    room = max(most - crowding, 0.0) * traits.area[c] * held
    now.leaf_gain[c] = min(young, fed, room)
    crowded = constants.shade_death_rate * min(max(crowding / most - 1.0, 0.0), 1.0)
    now.death[c] = crowded + daily[AGEING, year, day]


@compiled
def grow_on(c: int, now: Day, state: State, traits: Traits, constants: Constants) -> None:
    """A column's state after a day's growth."""
    state.grown[c] += now.growth[c]
    state.made[c] += now.to_organ[c]
    state.organ[c] += now.to_organ[c]
    lives = 1.0 - now.death[c]
    state.leaf_mass[c] = max(state.leaf_mass[c] * lives + now.to_leaf[c], 0.0)
    leaf = max(state.leaf[c] * lives + now.leaf_gain[c], 0.0)
    thinnest = state.leaf_mass[c] * traits.sla[c] * constants.young_leaf_thinness
    state.leaf[c] = min(leaf, max(thinnest, traits.leaf0[c] * 0.5))


@compiled
def die_back(day: int, year: int, c: int, state: State, traits: Traits, given: Given, constants: Constants) -> None:
    """Leaf and fruit that frost takes from plants whose rootstock lives on; what sprouts again is held back by the cold."""
    if given.daily[given.of[c], DIES_BACK, year, day] == 0.0:
        return
    sprouts = max(traits.leaf0[c] * traits.plants[c], constants.sprout_share * state.peak[c])
    kept = min(1.0, sprouts / state.leaf[c]) if state.leaf[c] > 0.0 else 1.0
    state.leaf[c] *= kept
    state.leaf_mass[c] *= kept
    if not traits.buried[c]:
        state.organ[c] = 0.0


@compiled
def clear(day: int, year: int, state: State, given: Given) -> None:
    """Plants whose last day this is, or whose harvest has ended them, go."""
    for c in range(len(state.leaf)):
        if state.done[c] or given.last[given.of[c], year] <= day:
            state.alive[c] = False
            state.leaf[c] = 0.0
            state.leaf_mass[c] = 0.0
