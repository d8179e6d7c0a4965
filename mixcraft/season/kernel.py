"""The day loop: light, water, growth, leaf and organ, picking.  All rates of a day first, then all states.

A year is followed from its first day to its last before the next is begun; no year knows another.  What happens on a day stands
in `kernel_light`, `kernel_water`, `kernel_nitrogen`, `kernel_leaf` and `kernel_harvest`, each formula in a function of its own.
"""

from __future__ import annotations

from .compiled import compiled, kept
from .constants import constant
from .kernel_asking import ask_today
from .kernel_harvest import G_PER_KG, divert, dry_share, pick, thin
from .kernel_leaf import (
    clear,
    climb,
    come_up,
    crowd,
    die_back,
    fade,
    find_shade,
    grow_on,
    growth_rates,
    keep_room,
    leaf_rates,
    organ_rates,
    stand_up,
)
from .kernel_light import correct_light, share_light
from .kernel_nitrogen import enrich, feed
from .kernel_water import follow
from .tables import THINNINGS, Asking, Floats, Ground, Running, Stand, Table, Trace

ATTAINED = constant("attained")
ATTAINED_YOUNG = float(ATTAINED ** constant("attained_by_size"))
"""What thinnings attain: they may be small, but none of them is lost or culled."""
DONE = -1
WEEK = 7
"""Who takes whose light is found once a week."""
SOURCES = (
    "kernel", "kernel_asking", "kernel_harvest", "kernel_leaf", "kernel_light", "kernel_nitrogen", "kernel_water", "tables",
)  # fmt: skip
"""Modules that compiled code of the loop is made from."""


@compiled
def begin(year: int, stand: Stand, running: Running) -> None:
    """The state before a year's first day."""
    for c in range(len(running.state)):
        state = running.state[c]
        state.alive = state.done = 0
        state.dim = state.tall = state.before = 0.0
        state.leaf = state.leaf_mass = state.peak = state.grown = state.organ = state.made = state.about_flower = 0.0
        state.nitrogen = state.fed_grown = state.soil_n = state.taken = state.fixed = state.lacked = 0.0
        state.could = state.dry = state.hungry = state.squeezed = 0.0
    for h in range(len(running.baskets)):
        basket = running.baskets[h]
        basket.pool = basket.first_mass = basket.picked = basket.small = 0.0
        basket.left = 1.0
        basket.count, basket.anew, basket.next = 0, 0, stand.windows[h, year].opens
        basket.closes = stand.windows[h, year].closes
    if stand.soil.followed == 1:
        for b in range(len(running.wetness.surface)):
            running.wetness.surface[b] = stand.soil.surface[year]
            for n in range(len(stand.soil.capacity)):
                running.wetness.depletion[b, n] = stand.soil.depletion[year, n]


@compiled
def rise(day: int, year: int, daily: Table, dates: Table, now: Table, state: Table, traits: Table, ground: Ground) -> bool:
    """Plants come up, and stand as high as they are; whether anything is alive."""
    anything = False
    for c in range(len(state)):
        come_up(day, dates[c, year], now[c], state[c], traits[c])
        anything |= state[c].alive == 1
        stand_up(daily[traits[c].planting, year, day], now[c], state[c], traits[c])
    climb(now, state, traits, ground)
    return anything


@compiled
def drink(day: int, year: int, stand: Stand, running: Running, depth_m: Floats, sums: Floats) -> None:
    """The day of every soil, and the drought of every column; `depth_m` (C,) is room for the roots' depths."""
    now, state, columns, together = running.now, running.state, len(running.state), stand.ground.watered_together
    for c in range(columns):
        now[c].drought = 1.0
        depth_m[c] = stand.daily[stand.traits[c].planting, year, day].roots
    b, first = 0, 0
    while first < columns and stand.soil.followed == 1:
        last = together if first < together else first + 1
        follow(b, first, last, day, year, depth_m, now, state, stand.traits, stand.soil, running.wetness, sums[b])
        first = last
        b += 1


@compiled
def grow(day: int, year: int, daily: Table, traits: Table, now: Table, state: Table, ground: Ground) -> None:
    """Rates of leaf of all columns, then states."""
    for c in range(len(state)):
        if state[c].alive == 1:
            leaf_rates(daily[traits[c].planting, year, day], now[c], state[c], traits[c])
    for c in range(len(state)):
        if state[c].alive == 1:
            grow_on(now[c], state[c], traits[c])
    keep_room(now, state, traits, ground)
    for c in range(len(state)):
        if state[c].alive == 1:
            die_back(daily[traits[c].planting, year, day], state[c], traits[c])


@compiled
def write(day: int, year: int, stand: Stand, running: Running, trace: Trace) -> None:
    """Put a day into the trace."""
    for c in range(len(running.state)):
        now, state, par = running.now[c], running.state[c], stand.daily[stand.traits[c].planting, year, day].par
        trace.leaf_m2[day, year, c] = state.leaf
        trace.height_m[day, year, c] = now.height if state.alive == 1 else 0.0
        trace.absorbed_mj[day, year, c] = now.light * par
        trace.growth_g[day, year, c] = now.growth
        trace.water[day, year, c] = now.drought
        if c < stand.ground.mixed:
            trace.alone_mj[day, year, c] = running.canopy.alone[c] * par


@compiled
def write_takers(takers: Floats, into: Floats, years: int) -> None:
    """Add who takes whose light in one year to the mean of all."""
    for i in range(len(takers)):
        for j in range(len(takers)):
            into[i, j] += takers[i, j] / years


@compiled
def write_picked(day: int, year: int, state: Table, picks: Table, baskets: Table, trace: Trace) -> None:
    """Put a day's pickings, and what of them was too small, into the trace [kg fresh mass], and empty the baskets."""
    for h in range(len(baskets)):
        if baskets[h].picked != 0.0:
            attained = ATTAINED_YOUNG if picks[h].way == THINNINGS else ATTAINED
            trace.picked_kg[day, year, h] = attained * baskets[h].picked / dry_share(picks[h], state) / G_PER_KG
            baskets[h].picked = 0.0
        if baskets[h].small != 0.0:
            trace.small_kg[day, year, h] = ATTAINED * baskets[h].small / dry_share(picks[h], state) / G_PER_KG
            baskets[h].small = 0.0


@compiled
def live(
    day: int, year: int, stand: Stand, running: Running, trace: Trace, asking: Asking, depth_m: Floats, sums: Floats
) -> bool:
    """One day of one year; false if the voxel model is to be asked before it is gone on with."""
    daily, traits, dates, picks, windows, ground, _ = stand
    now, state, baskets, canopy, _ = running
    grows = rise(day, year, daily, dates, now, state, traits, ground)
    if grows:
        attribute = ground.attribute == 1 and day % WEEK == 0
        share_light(attribute, day, year, daily, now, state, traits, ground, canopy)
        for c in range(len(state)):
            find_shade(daily[traits[c].planting, year, day], now[c])
        if asking.every > 0 and ask_today(day, now, canopy, asking):
            return False
        if attribute:
            write_takers(canopy.takers, trace.takers[day], daily.shape[1])
        correct_light(day, now, ground, canopy)
        trace.anything[day] = True
    drink(day, year, stand, running, depth_m, sums)
    enrich(day, year, state, ground)
    if grows:
        crowd(now, state, traits, ground)
        for c in range(len(state)):
            growth_rates(daily[traits[c].planting, year, day], now[c], state[c])
        feed(now, state, traits, ground)
        for c in range(len(state)):
            organ_rates(day, daily[traits[c].planting, year, day], dates[c, year], now[c], state[c], traits[c])
        divert(day, year, now, state, traits, picks, windows, baskets)
        grow(day, year, daily, traits, now, state, ground)
        for c in range(len(state)):
            thin(day, c, dates[c, year], state, traits, picks, baskets)
    pick(day, year, daily, dates, traits, picks, windows, now, state, baskets)
    if grows:
        for c in range(len(state)):
            clear(day, dates[c, year], state[c])
        for c in range(len(state)):
            fade(c, state, ground)
        write(day, year, stand, running, trace)
    write_picked(day, year, state, picks, baskets, trace)
    return True


@kept(*SOURCES)
def run_days(
    year: int, day: int, stand: Stand, running: Running, trace: Trace, asking: Asking, depth_m: Floats, sums: Floats
) -> int:
    """Follow all years from a day of a `year` on; the day on which the voxel model is to be asked before it is gone on with, else
    `DONE`.

    `depth_m` (C,) is room; `sums` (Y, B, 5): water given, drained, evaporated and transpired by each soil, and what it lacks at
    last [mm].
    """
    years, days = stand.daily.shape[1], stand.daily.shape[2]
    for this in range(year, years):
        first = day if this == year else 0
        if first == 0:
            begin(this, stand, running)
        for today in range(first, days):
            if not live(today, this, stand, running, trace, asking, depth_m, sums[this]):
                return today
        for c in range(len(running.state)):
            state, found = running.state[c], trace.nitrogen[this, c]
            found[0], found[1], found[2] = state.taken, state.fixed, state.lacked
            if state.could > 0.0:
                held = trace.held_back[this, c]
                held[0], held[1], held[2] = state.dry / state.could, state.hungry / state.could, state.squeezed / state.could
    return DONE
