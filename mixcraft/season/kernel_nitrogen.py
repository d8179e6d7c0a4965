"""Nitrogen of a day: what soil and feeding bring, what plants want, fix and take, and how far it slows their growth.

A crop wants the nitrogen at which its growth is just not held back: a share of its dry matter that falls as the stand grows
(critical dilution: Greenwood et al. 1990; Lemaire & Gastal 1997); in a mixture the mass of the whole stand counts (Louarn et al.
2021).  Only the growth that a well-kept bed attains wants it.  Legumes fix a part of what they want, and more where the soil has
none, up to what they fix in a season.  Where the soil is short, all get the same part of their asking.  Growth falls with the
nitrogen nutrition index: what a crop has over what it wants.

Every column has the nitrogen of its own ground; what neighbours take from ground that they share is taken from its.
"""

from __future__ import annotations

import math

from .compiled import compiled
from .constants import constant
from .tables import Ground, Record, Table

ATTAINED = constant("attained")
DILUTION_FROM = constant("dilution_from")
DILUTION_FALL = constant("dilution_fall")
FIXED_SHARE = constant("fixed_share")
LEAST_G_M2 = 1e-9
"""Less than this is nothing."""
G_M2_PER_T_HA = 100.0
"""A unit."""
PERCENT = 0.01
"""A unit."""


@compiled
def critical_share(stand_g_m2: float, most: float, power: float, more: float) -> float:
    """Share of dry matter that is nitrogen where it just does not hold back growth: a power of the mass that stands (Lemaire &
    Gastal 1997), or with `more` an exponential fall (Greenwood et al. 1990, and the handbooks after it)."""
    stand = max(stand_g_m2 / G_M2_PER_T_HA, DILUTION_FROM)
    if more > 0.0:
        return float(PERCENT * most * (1.0 + more * math.exp(-DILUTION_FALL * stand)))
    return float(PERCENT * most * stand**-power)


@compiled
def enrich(day: int, year: int, state: Table, ground: Ground) -> None:
    """What the day brings to the soils."""
    for c in range(len(state)):
        state[c].soil_n += ground.nitrogen[year, day]


@compiled
def ask(mass_g_m2: float, now: Record, state: Record, traits: Record) -> None:
    """What a column wants today, what it fixes of that, and what it asks of the soil, on ground where so much dry matter stands.

    Nitrogen has gone with what was picked or thinned since yesterday.
    """
    if state.grown < state.fed_grown:
        state.nitrogen *= state.grown / state.fed_grown
    share = critical_share(ATTAINED * mass_g_m2, traits.n_most, traits.n_power, traits.n_more)
    now.n_full = share * ATTAINED * (state.grown + now.growth)
    now.n_want = max(now.n_full - state.nitrogen, 0.0) / traits.area
    now.n_fixed = min(FIXED_SHARE * now.n_want, max(traits.n_fixes - state.fixed, 0.0))
    now.n_asked = now.n_want - now.n_fixed


@compiled
def take(now: Record, state: Record, traits: Record) -> None:
    """Put a day's nitrogen into a column, and find how far what it has slows its growth."""
    short = now.n_want - now.n_fixed - now.n_taken
    fixed = now.n_fixed + max(min(short, traits.n_fixes - state.fixed - now.n_fixed), 0.0)
    state.fixed += fixed
    state.taken += now.n_taken
    state.lacked = max(state.lacked, now.n_want - fixed - now.n_taken)
    state.nitrogen += (now.n_taken + fixed) * traits.area
    now.hunger = min(state.nitrogen / now.n_full, 1.0) if now.n_full > 0.0 else 1.0
    state.fed_grown = state.grown + now.growth * now.hunger


@compiled
def asking(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """What all columns ask of their soils."""
    for c in range(len(state)):
        now[c].n_asked = now[c].n_taken = 0.0
        now[c].hunger = 1.0
        if state[c].alive == 1:
            mass = state[c].grown / traits[c].area
            for j in range(ground.mixed if c < ground.mixed else 0):
                if j != c and state[j].alive == 1:
                    mass += ground.overlap[c, j] * state[j].grown / traits[j].area
            ask(mass, now[c], state[c], traits[c])


@compiled
def draw(now: Table, state: Table, ground: Ground) -> None:
    """What all columns take from their soils, and what that leaves there."""
    for c in range(len(state)):
        asked = now[c].n_asked
        if asked > 0.0:
            for j in range(ground.mixed if c < ground.mixed else 0):
                if j != c and now[j].n_asked > 0.0:
                    asked += ground.overlap[c, j] * now[j].n_asked
            if asked > LEAST_G_M2:
                now[c].n_taken = now[c].n_asked * min(1.0, state[c].soil_n / asked)
    for c in range(len(state)):
        taken = now[c].n_taken
        if taken > 0.0:
            state[c].soil_n -= taken
            for i in range(ground.mixed if c < ground.mixed else 0):
                if i != c:
                    state[i].soil_n -= ground.overlap[i, c] * taken
    for c in range(len(state)):
        state[c].soil_n = max(state[c].soil_n, 0.0)


@compiled
def feed(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """The nitrogen of a day; `growth` is what plants would do with enough, `hunger` the factor by which it falls short."""
    asking(now, state, traits, ground)
    draw(now, state, ground)
    for c in range(len(state)):
        if state[c].alive == 1:
            take(now[c], state[c], traits[c])
