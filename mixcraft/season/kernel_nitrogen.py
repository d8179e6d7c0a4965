"""Nitrogen of a day: what the soil and the beds' feeding give, what plants want, take and fix, and how far it slows their growth.

A crop wants the nitrogen at which its growth is just not held back: a share of its dry matter that falls as the stand grows
(critical dilution: Greenwood et al. 1990, Lemaire & Gastal 1997); in a mixture the whole stand's mass counts (Louarn et al. 2021).
Legumes fix a part of what they want, and more where the soil has none, up to what they fix in a season.  What the soil has is shared
by what is asked for and by the roots that ask; where it is short, everyone gets the same share of its asking.  Growth falls with the
nitrogen nutrition index, what a crop has over what it wants.

Every column has the nitrogen of its own ground, and what its neighbours take from ground they share is taken from its own.
"""

from __future__ import annotations

from .compiled import compiled
from .tables import Constants, Day, Feed, Ground, State, Traits

LEAST_G_M2 = 1e-9
G_M2_PER_T_HA = 100.0
PERCENT = 0.01


@compiled
def critical_share(stand_g_m2: float, most: float, power: float, from_t_ha: float) -> float:
    """Share of dry matter that is nitrogen where it just does not hold back growth; constant until the stand has `from_t_ha`."""
    return PERCENT * most * max(stand_g_m2 / G_M2_PER_T_HA, from_t_ha) ** -power


@compiled
def _shed(c: int, state: State) -> None:
    """Nitrogen that has gone with what was picked or thinned since yesterday, with a share of all that was grown."""
    if state.grown[c] < state.fed_grown[c]:
        state.nitrogen[c] *= state.grown[c] / state.fed_grown[c] if state.fed_grown[c] > 0.0 else 0.0


@compiled
def _stand_mass(c: int, state: State, traits: Traits, ground: Ground) -> float:
    """Dry matter that stands on a column's ground, its neighbours' counted in [g/m2]."""
    mass = state.grown[c] / traits.area[c]
    if c < ground.mixed:
        for j in range(ground.mixed):
            if j != c and state.alive[j]:
                mass += ground.overlap[c, j] * state.grown[j] / traits.area[j]
    return mass


@compiled
def _ask(c: int, potential_g: float, state: State, traits: Traits, ground: Ground, feed: Feed, now: Day, constants: Constants) -> None:
    """What a column wants today, what it fixes and what it asks of the soil [g/m2 of its own ground]."""
    mass = _stand_mass(c, state, traits, ground)
    share = critical_share(mass, feed.most[c], feed.power[c], constants.dilution_from)
    full = share * (state.grown[c] + potential_g)
    want = max(full - state.nitrogen[c], 0.0) / traits.area[c]
    left = max(feed.fixes[c] - state.fixed[c], 0.0)
    fixed = min(constants.fixed_share * want, left) if left > 0.0 else 0.0
    now.n_full[c] = full
    now.n_want[c] = want
    now.n_fixed[c] = fixed
    now.n_asked[c] = want - fixed


@compiled
def feed_today(
    day: int, year: int, now: Day, state: State, traits: Traits, ground: Ground, feed: Feed, constants: Constants
) -> None:
    """The nitrogen of a day, and `now.hunger`, the factor by which it slows growth, of every column; growth of `now.growth` is what
    the plants would do with enough."""
    columns = len(state.leaf)
    for c in range(columns):
        state.soil_n[c] += feed.supply[year, day]
        if state.alive[c]:
            _shed(c, state)
            _ask(c, now.growth[c], state, traits, ground, feed, now, constants)
        else:
            now.n_asked[c] = 0.0
    for c in range(columns):
        now.n_taken[c] = 0.0
        now.hunger[c] = 1.0
        if state.alive[c]:
            asked = now.n_asked[c]
            if c < ground.mixed:
                for j in range(ground.mixed):
                    if j != c:
                        asked += ground.overlap[c, j] * now.n_asked[j]
            if asked > LEAST_G_M2:
                now.n_taken[c] = now.n_asked[c] * min(1.0, state.soil_n[c] / asked)
    for c in range(columns):
        taken = now.n_taken[c]
        if c < ground.mixed:
            for j in range(ground.mixed):
                if j != c:
                    taken += ground.overlap[c, j] * now.n_taken[j]
        state.soil_n[c] = max(state.soil_n[c] - taken, 0.0)
        if state.alive[c]:
            _take(c, state, traits, feed, now)


@compiled
def _take(c: int, state: State, traits: Traits, feed: Feed, now: Day) -> None:
    """Put a day's nitrogen into a column, and find how far what it has slows its growth."""
    short = now.n_want[c] - now.n_fixed[c] - now.n_taken[c]
    fixed = now.n_fixed[c] + max(min(short, feed.fixes[c] - state.fixed[c] - now.n_fixed[c]), 0.0)
    state.fixed[c] += fixed
    state.taken[c] += now.n_taken[c]
    state.nitrogen[c] += (now.n_taken[c] + fixed) * traits.area[c]
    if now.n_full[c] > 0.0:
        now.hunger[c] = min(state.nitrogen[c] / now.n_full[c], 1.0)
    state.fed_grown[c] = state.grown[c] + now.growth[c] * now.hunger[c]
