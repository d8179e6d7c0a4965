"""What the day loop works on: named tables of plain arrays, which a compiler takes as they are.

C columns stand in a bed in Y weather years over D days.  Every column grows one planting of a plan with its own numbers; the
first `Ground.mixed` of them share light and room, the first `Ground.watered_together` one soil, and the others stand alone.  H
harvests pick from the columns.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from .constants import constant

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

PAR, POTENTIAL, LEAF_RATE, LEAF_AREA, HEIGHT, ORGAN_SHARE, UNRIPE, AGEING, DIES_BACK, ROOT_DEPTH = range(10)
"""Rows of `Given.daily`: light on the planting [MJ m-2 d-1]; dry matter from it [g m-2 d-1]; relative growth of young leaf
[1/d]; leaf area of new leaf [m2/g]; height without cutting [m]; share of growth that is organ; share of the fruit that is not
ripe; relative death rate of leaf by age [1/d]; 1 where frost takes the tops; depth of the roots [m]."""
DRIVERS = 10

ORGAN, LEAF, SIDE = range(3)
"""What a harvest takes from: `Picks.pool`."""
WITH_MAIN, WHOLE, HEAD, LEAVES, CUT, RIPE, THINNINGS = range(7)
"""Ways of picking, `Picks.way`: what comes with the pulling of the main part; whole plants; a head alone, from plants that stay
for their side shoots; outer leaves; a cut; what is ripe; nothing but thinnings."""


class Constants(NamedTuple):
    """Constants of the day loop, each as in ``constants.yaml``."""

    shade_death_rate: float
    young_leaf_thinness: float
    stubble: float
    sprout_share: float
    canopy_floor: float
    regrown: float
    ripe_share: float
    first_pick_lai: float
    first_pick_wait: float
    side_lead: float
    clearing_take: float
    exposed_least: float
    kc_max: float
    kc_max_over_basal: float
    depletion_slope: float
    depletion_reference: float
    depletion_least: float
    depletion_most: float


def loop_constants() -> Constants:
    """The `Constants` of the day loop."""
    return Constants(*(constant(name) for name in Constants._fields))


class Traits(NamedTuple):
    """Numbers by column, (C,): extinction coefficient, specific leaf area [m2/g], share of growth to leaf, greatest leaf area
    index, ground [m2], plants, best density [1/m2], seedlings for each plant, leaf of a plant at its start [m2]; whether the organ
    sits in the soil, whether the plant sprouts again, whether it is cut back; basal crop coefficient and depletion share."""

    k: Floats
    sla: Floats
    leaf_share: Floats
    lai_max: Floats
    area: Floats
    plants: Floats
    best: Floats
    sown: Floats
    leaf0: Floats
    buried: Bools
    resprouts: Bools
    trims: Bools
    kcb: Floats
    depletion: Floats


class Given(NamedTuple):
    """What the days bring: `daily` (N, `DRIVERS`, Y, D) by planting; day of emergence, last day and day of death by frost,
    (N, Y) each; `of` (C,) the planting of each column."""

    daily: Floats
    emergence: Ints
    last: Ints
    death: Ints
    of: Ints


class Picks(NamedTuple):
    """Harvests, in the order in which they are picked on a day: column, way, pool, main harvest of the same column (-1: none),
    share taken, most cuts, days between, whether all is taken at once, whether the planting ends with it, share of the growth
    that goes to a side pool, dry matter of what is picked, (H,) each; first and last day and number of pullings, (H, Y);
    `thin_day` (C, Y)."""

    column: Ints
    way: Ints
    pool: Ints
    main: Ints
    take: Floats
    cuts: Ints
    interval: Floats
    at_once: Bools
    ends: Bools
    side_share: Floats
    dry: Floats
    opens: Ints
    closes: Ints
    pulls: Ints
    thin_day: Ints


class Ground(NamedTuple):
    """How columns share: number that share light and room, number that share one soil; `overlap` (M, M) share of i's ground that
    j stands on, `crowds` (M, M) how much j's leaf counts as i's in crowding; `factor` (D, C + M) corrections of the light of all
    columns and of the mixture's leaves alone; `attribute` 1 where who takes whose light is to be found."""

    mixed: int
    watered_together: int
    overlap: Floats
    crowds: Floats
    factor: Floats
    attribute: int


class Soil(NamedTuple):
    """Soils of the columns that share one and of each that has its own, B in all, in layers (L,): 1 where water is `followed`;
    water held [mm] and lower and upper bounds [m] of layers; total and readily evaporable water [mm]; area of a bed [m2]; water
    given (B, Y, D) and reference evapotranspiration (Y, D) [mm]; what they lack on the first day (Y, L) and at the bare surface
    (Y,) [mm]."""

    followed: int
    capacity: Floats
    edges: Floats
    evaporable: float
    readily: float
    bed_m2: float
    water: Floats
    et0: Floats
    depletion: Floats
    surface: Floats


class Stand(NamedTuple):
    """All that is given to the day loop."""

    traits: Traits
    given: Given
    picks: Picks
    ground: Ground
    soil: Soil
    constants: Constants


class State(NamedTuple):
    """What a year has come to: by column (C,), by harvest (H,) and by soil (B, L) or (B,).

    `leaf` [m2], `leaf_mass` [g], `peak` greatest leaf [m2], `grown` [g], `organ` standing and `made` in all [g]; times picked, next
    day of picking, pool of side parts [g], leaf mass of the first cut or greatest [g]; what the soil lacks [mm].
    """

    alive: Bools
    done: Bools
    leaf: Floats
    leaf_mass: Floats
    peak: Floats
    grown: Floats
    organ: Floats
    made: Floats
    count: Ints
    next: Ints
    pool: Floats
    first_mass: Floats
    depletion: Floats
    surface: Floats


class Day(NamedTuple):
    """Room for what is found on a day.

    By column (C,): height [m], light absorbed [m2 of open sky], factor of drought, growth, growth to organ, growth to leaf [g],
    gain of leaf [m2], share of leaf that dies, leaf area index, crowding; by mixed column (M,): light `alone`, `rank` by height,
    tallest first, and rows of `canopy`; who takes whose light, `takers`, with room to find it, `above` and `weight`, (M, M);
    `picked` [g] (H,); roots in reach of water `reach` (C, L), by layer (L,) water drawn `uptake` and used before `used`, and
    by column (C,) ground covered `covers`, transpiration asked for `demand` [mm] and depth of `roots` [m].
    """

    height: Floats
    light: Floats
    drought: Floats
    growth: Floats
    to_organ: Floats
    to_leaf: Floats
    leaf_gain: Floats
    death: Floats
    lai: Floats
    crowding: Floats
    covers: Floats
    demand: Floats
    roots: Floats
    alone: Floats
    rank: Ints
    canopy: Floats
    takers: Floats
    above: Floats
    weight: Floats
    picked: Floats
    reach: Floats
    uptake: Floats
    used: Floats


class Trace(NamedTuple):
    """What the loop writes down, (D, Y, C) but for what belongs to mixed columns (D, Y, M), takers (D, M, M), picked fresh mass
    [kg] (D, Y, H), and whether anything grew on a day (D,)."""

    leaf_m2: Floats
    height_m: Floats
    absorbed_mj: Floats
    alone_mj: Floats
    growth_g: Floats
    water: Floats
    picked_kg: Floats
    takers: Floats
    anything: Bools


class Asking(NamedTuple):
    """When the voxel model is asked in a scouting season: 1 where it is; `columns` (A,) whose cover counts, the mixture first;
    their cover when last asked and the day, (A,); whether due now, (A,); `day` (1,) of the last asking; `raw` (C + M,) the
    layered canopy's light on a day of asking."""

    asks: int
    columns: Ints
    cover: Floats
    asked: Ints
    due: Bools
    day: Ints
    raw: Floats


def new_state(stand: Stand) -> State:
    """A state before anything has come up."""
    columns, harvests, soils = len(stand.traits.k), len(stand.picks.column), len(stand.soil.water)
    flags, amounts = np.zeros((2, columns), dtype=bool), np.zeros((6, columns))
    return State(
        flags[0], flags[1], *amounts, np.zeros(harvests, dtype=np.int64), np.zeros(harvests, dtype=np.int64),
        np.zeros(harvests), np.zeros(harvests), np.zeros((soils, len(stand.soil.capacity))), np.zeros(soils),
    )  # fmt: skip


def new_day(stand: Stand) -> Day:
    """Room for a day."""
    columns, m, layers = len(stand.traits.k), stand.ground.mixed, len(stand.soil.capacity)
    return Day(
        *np.zeros((13, columns)), np.zeros(m), np.arange(m), np.zeros((4, m)), *np.zeros((3, m, m)),
        np.zeros(len(stand.picks.column)), np.zeros((columns, layers)), *np.zeros((2, layers)),
    )  # fmt: skip


def new_trace(stand: Stand) -> Trace:
    """A trace with nothing in it."""
    _, _, years, days = stand.given.daily.shape
    columns, harvests, m = len(stand.traits.k), len(stand.picks.column), stand.ground.mixed

    def zeros(*shape: int) -> Floats:
        return np.zeros((days, years, *shape))

    water: Any = np.ones((days, years, columns))
    return Trace(
        zeros(columns), zeros(columns), zeros(columns), zeros(m), zeros(columns), water, zeros(harvests),
        np.zeros((days, m, m)), np.zeros(days, dtype=bool),
    )  # fmt: skip


def not_asking(stand: Stand) -> Asking:
    """No asking: the season is grown in one go."""
    none = np.zeros(0)
    return Asking(
        0, np.zeros(0, dtype=np.int64), none, np.zeros(0, dtype=np.int64), np.zeros(0, dtype=bool), np.zeros(1, dtype=np.int64),
        np.zeros(len(stand.traits.k) + stand.ground.mixed),
    )  # fmt: skip
