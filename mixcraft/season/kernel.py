"""The day loop: light, water, growth, leaf and organ, picking.  All rates of a day first, then all states.

A year is followed from its first day to its last before the next is begun; no year knows another.  What happens on a day stands
in `kernel_light`, `kernel_water`, `kernel_leaf` and `kernel_harvest`, each formula in a function of its own.
"""

from __future__ import annotations

from .compiled import compiled, kept
from .kernel_asking import ask_today
from .kernel_harvest import divert, pick, thin
from .kernel_leaf import clear, come_up, crowd, die_back, grow_on, growth_rates, leaf_rates, stand_up
from .kernel_light import correct_light, share_light
from .kernel_water import follow
from .tables import PAR, Asking, Day, Floats, Stand, State, Trace

DONE = -1
SOURCES = (
    "constants", "kernel", "kernel_asking", "kernel_harvest", "kernel_leaf", "kernel_light", "kernel_water", "tables",
)  # fmt: skip
"""Modules that compiled code of the loop is made from."""


@compiled
def begin(year: int, stand: Stand, state: State) -> None:
    """The state before a year's first day."""
    state.alive[:] = False
    state.done[:] = False
    for values in (state.leaf, state.leaf_mass, state.peak, state.grown, state.organ, state.made, state.pool, state.first_mass):
        values[:] = 0.0
    state.count[:] = 0
    for h in range(len(state.next)):
        state.next[h] = stand.picks.opens[h, year]
    if stand.soil.followed == 1:
        for b in range(len(state.depletion)):
            state.depletion[b] = stand.soil.depletion[year]
            state.surface[b] = stand.soil.surface[year]


@compiled
def drink(day: int, year: int, now: Day, state: State, stand: Stand, sums: Floats) -> None:
    """The day of every soil, and the drought of every column."""
    now.drought[:] = 1.0
    if stand.soil.followed == 0:
        return
    columns, together = len(state.leaf), stand.ground.watered_together
    b, first = 0, 0
    while first < columns:
        last = together if first < together else first + 1
        follow(b, first, last, day, year, now, state, stand.traits, stand.given, stand.soil, stand.constants, sums[b])
        first = last
        b += 1


@compiled
def grow(day: int, year: int, now: Day, state: State, stand: Stand) -> None:
    """Rates of all columns, then their states."""
    traits, given, constants, columns = stand.traits, stand.given, stand.constants, len(state.leaf)
    crowd(now, state, traits, stand.ground)
    for c in range(columns):
        growth_rates(day, year, c, now, state, given)
    divert(day, year, now, state, stand.picks, constants)
    for c in range(columns):
        if state.alive[c]:
            leaf_rates(day, year, c, now.to_leaf[c], now, state, traits, given, constants)
    for c in range(columns):
        if state.alive[c]:
            grow_on(c, now, state, traits, constants)
            die_back(day, year, c, state, traits, given, constants)


@compiled
def write(day: int, year: int, now: Day, state: State, stand: Stand, trace: Trace) -> None:
    """Put a day into the trace."""
    for c in range(len(state.leaf)):
        trace.leaf_m2[day, year, c] = state.leaf[c]
        trace.height_m[day, year, c] = now.height[c] if state.alive[c] else 0.0
        trace.absorbed_mj[day, year, c] = now.light[c] * stand.given.daily[stand.given.of[c], PAR, year, day]
        trace.growth_g[day, year, c] = now.growth[c]
        trace.water[day, year, c] = now.drought[c]
    for i in range(stand.ground.mixed):
        trace.alone_mj[day, year, i] = now.alone[i] * stand.given.daily[stand.given.of[i], PAR, year, day]


@compiled
def write_picked(day: int, year: int, now: Day, stand: Stand, trace: Trace) -> None:
    """Put a day's pickings into the trace [kg fresh mass], and start anew."""
    for h in range(len(now.picked)):
        if now.picked[h] != 0.0:
            trace.picked_kg[day, year, h] = now.picked[h] / stand.picks.dry[h] / 1000.0
            now.picked[h] = 0.0


@compiled
def live(day: int, year: int, stand: Stand, state: State, now: Day, trace: Trace, asking: Asking, sums: Floats) -> bool:
    """One day of one year; false if the voxel model is to be asked before it is gone on with."""
    traits, picks, given, constants = stand.traits, stand.picks, stand.given, stand.constants
    grows = come_up(day, year, state, traits, given)
    if grows:
        trace.anything[day] = True
        stand_up(day, year, now, state, traits, given, constants)
        share_light(day, now, state, traits, stand.ground)
        if asking.asks == 1 and ask_today(day, now, state, traits, asking):
            return False
        if stand.ground.attribute == 1 and day % 7 == 0:
            trace.takers[day] += now.takers / given.daily.shape[2]
        correct_light(day, now, stand.ground)
    drink(day, year, now, state, stand, sums)
    if grows:
        grow(day, year, now, state, stand)
        thin(day, year, now, state, traits, picks)
    pick(day, year, now, state, traits, picks, given, constants)
    if grows:
        clear(day, year, state, given)
        write(day, year, now, state, stand, trace)
    write_picked(day, year, now, stand, trace)
    return True


@kept(*SOURCES)
def run_days(year: int, day: int, stand: Stand, state: State, now: Day, trace: Trace, asking: Asking, sums: Floats) -> int:
    """Follow all years from a day of a `year` on; the day on which the voxel model is to be asked before it is gone on with, else
    `DONE`.

    `sums` (Y, B, 5): water given, drained, evaporated and transpired by each soil, and what it lacks at last [mm].
    """
    years, days = stand.given.daily.shape[2], stand.given.daily.shape[3]
    for this in range(year, years):
        first = day if this == year else 0
        if first == 0:
            begin(this, stand, state)
        for today in range(first, days):
            if not live(today, this, stand, state, now, trace, asking, sums[this]):
                return today
    return DONE
