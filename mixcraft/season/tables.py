"""What the day loop works on: tables of plain records and arrays, which a compiler takes as they are.

C columns stand in a bed in Y weather years over D days.  Every column grows one planting of a plan with its own numbers; the
first `Ground.mixed` of them share light and room, the first `Ground.watered_together` one soil, and the others stand alone.  H
harvests pick from the columns.  A table is an array of records; what its fields mean stands beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
CANOPY_ROWS, SUMS = 9, 5
"""Rows of room for the canopy, and what is added up of a soil."""
Table = Any
"""An array of records of one of the types below."""
Record = Any
"""One record of a table."""

ORGAN, LEAF, SIDE = range(3)
"""What a harvest takes from."""
WITH_MAIN, WHOLE, HEAD, LEAVES, CUT, RIPE, THINNINGS = range(7)
"""Ways of picking: what comes with the pulling of the main part; whole plants; a head alone, from plants that stay for their side
shoots; outer leaves; a cut; what is ripe; nothing but thinnings."""
OVER_TIME, OF_SIZE, RIPENED, ALL_RIPE = range(4)
"""When whole plants are taken: over time; in one go, when most are of size; in one go, on the day on which they are ripe; in one
go, when the last of their fruit is ripe."""


def _records(**fields: type) -> np.dtype[Any]:
    return np.dtype([(name, np.float64 if kind is float else np.int64) for name, kind in fields.items()])


DRIVERS = _records(
    par=float,  # light on the planting [MJ m-2 d-1]
    potential=float,  # dry matter from it [g m-2 d-1]
    leaf_rate=float,  # relative growth of young leaf [1/d]
    leaf_area=float,  # area of new leaf [m2/g]
    height=float,  # height without cutting [m]
    organ_share=float,  # share of growth that is organ
    unripe=float,  # share of the fruit that is not ripe
    ageing=float,  # relative death rate of leaf by age [1/d]
    dies_back=float,  # share of the leaf that frost takes
    roots=float,  # depth of the roots [m]
    cool=float,  # 1 in weeks so cool that leaf is cut as often as it grows again
    anew=float,  # 1 on the day on which growth goes on after a winter's rest
    bright=float,  # light of a leaf under open sky over that which half saturates it
    shade=float,  # shade under covers: minus the logarithm of the share of the open sky's light
)
"""What a day brings to a planting; tables (N, Y, D)."""

TRAITS = _records(
    planting=int,  # which it grows, among those of the drivers
    k=float,  # extinction coefficient
    sla=float,  # specific leaf area [m2/g]
    leaf_share=float,  # share of growth that goes to leaf
    lai_max=float,  # greatest leaf area index
    area=float,  # ground [m2]
    plants=float,
    best=float,  # best density alone [1/m2]
    sown=float,  # seedlings for each plant that stays
    rounds=int,  # in which the surplus is thinned
    leaf0=float,  # leaf of a plant at its start [m2]
    leaf_most=float,  # greatest leaf of a plant, however much room it has [m2]
    buried=int,  # whether the organ sits in the soil
    resprouts=int,  # whether the rootstock lives on
    trims=int,  # whether leaf is cut back
    sheds=int,  # whether leaf that makes room falls
    sets_from=float,  # share of the open sky's light from which all fruit, tubers and heads set
    grains_none=float,  # growth of a plant about its flower at and below which it sets no grain [g/d]
    grains_full=float,  # that at which it sets as many as it fills [g/d]; 0 where what sets is not counted
    grains_most=float,  # most that a plant sets over what it sets then
    stretch=float,  # power to which height grows with shade
    free=int,  # whether it climbs and has no support of its own
    pole=int,  # whether climbers without a support of their own climb it
    critical=float,  # leaf area index from which leaf dies of shade
    young_ground=float,  # ground of its plants at their best density, if that is less than all [m2]
    n_most=float,  # critical nitrogen at 1 t/ha, or of a very large stand if `n_more` is given [% of dry matter]
    n_power=float,  # power to which it falls with the mass that stands
    n_more=float,  # share by which that of a small stand is more
    n_fixes=float,  # most nitrogen fixed in a season [g/m2]
    kcb=float,  # basal crop coefficient
    depletion=float,  # share of soil water taken without stress
)
"""Numbers of a column; tables (C,)."""

DATES = _records(emergence=int, organ=int, last=int, death=int, thinned=int)
"""Day on which a column comes up, on which its organ begins to grow, its last, on which frost kills it and on which its thinning
begins; tables (C, Y)."""

STATE = _records(
    alive=int,
    done=int,  # whether a harvest has ended it
    leaf=float,  # [m2]
    leaf_mass=float,  # [g]
    dim=float,  # shade in which the leaf has grown, as above
    tall=float,  # height without cutting [m]
    before=float,  # that of a plant in the open, when last seen [m]
    peak=float,  # greatest leaf [m2]
    grown=float,  # all growth but for leaf that has been picked [g]
    organ=float,  # organ that stands [g]
    made=float,  # organ made in all [g]
    about_flower=float,  # growth in the days about the flower [g]
    nitrogen=float,  # in the plants [g]
    fed_grown=float,  # the same when they last took nitrogen [g]
    soil_n=float,  # mineral nitrogen in the soil of its ground [g/m2]
    taken=float,  # nitrogen taken from it [g/m2]
    fixed=float,  # nitrogen fixed [g/m2]
    lacked=float,  # most nitrogen that was wanted and not had [g/m2]
    could=float,  # growth in the light that it used, with enough water and nitrogen [g]
    dry=float,  # of it times the logarithm of what drought divides it by [g]
    hungry=float,  # the same of what too little nitrogen divides it by [g]
    squeezed=float,  # the same of what neighbours' leaf in the room of its own divides its light by [g]
)
"""What a column has come to; tables (C,)."""

NOW = _records(
    height=float,  # [m]
    light=float,  # absorbed [m2 of open sky]
    use=float,  # of it used as well as weak light is [m2 of open sky]
    free_use=float,  # the same of young leaf among neighbours if it had all light [m2 of open sky], else 0
    top=float,  # share of open sky at its top
    shade=float,  # shade in which it grows, as above
    drought=float,  # factor on growth, 1 = none
    could=float,  # growth in the light that it uses, with enough water and nitrogen [g]
    growth=float,  # [g]
    to_organ=float,  # [g]
    to_side=float,  # to flowers, pods and shoots [g]
    to_leaf=float,  # [g]
    leaf_gain=float,  # [m2]
    death=float,  # share of the leaf that dies
    lai=float,
    crowding=float,  # leaf area index with the neighbours' that shade the lowest leaf
    beside=float,  # leaf area index with the neighbours', as room is counted
    n_full=float,  # nitrogen that it would hold with enough [g]
    n_want=float,  # wanted today [g/m2]
    n_fixed=float,  # fixed today [g/m2]
    n_asked=float,  # asked of the soil [g/m2]
    n_taken=float,  # taken from the soil [g/m2]
    hunger=float,  # factor on growth, 1 = enough nitrogen
    covers=float,  # share of the bed under its leaves
    demand=float,  # transpiration asked for [mm]
)
"""What a day comes to for a column; tables (C,)."""

PICKS = _records(
    column=int,
    way=int,  # as above
    pool=int,  # as above
    main=int,  # harvest of the same column that takes the main part, -1 if none does
    take_share=float,  # share taken
    cuts=int,  # most cuts, in the cool too if they are counted
    counted=int,
    interval=float,  # days between pickings
    at_once=int,  # as above
    ends=int,  # whether the column ends with it
    side_share=float,  # share of growth that goes to a side pool
    stored=float,  # dry mass that the rootstock of a plant sends up in a season [g]
    dry=float,  # dry matter of what is picked
    least=float,  # dry mass of a plant's part below which it is no harvest [g]
    usual=float,  # that of its usual size [g]
    spared=float,  # share of the plants that stay for what comes of their stems
    spread=float,  # how far the sizes of plants lie from their mean, as a share of it; 0 where there is no least size
    clears=int,  # whether the last picking of leaves takes the stand
    ripe_only=int,  # whether what is not ripe is no harvest on the last day either
)
"""A harvest, in the order in which they are picked on a day; tables (H,)."""

WINDOWS = _records(opens=int, closes=int, latest=int, grown=int)
"""First and last day of a harvest, that until which what is too small is left to grow, and the first on which its plants are
full-grown; tables (H, Y)."""

BASKETS = _records(
    count=int,  # times picked
    anew=int,  # whether leaf that grows again after a winter's rest is still to be picked
    next=int,  # day from which it is due again
    closes=int,  # its last day, put off while what there is is too small
    pool=float,  # what has gone into side parts [g]
    first_mass=float,  # leaf mass at the first cut, or the greatest that was found since a winter's rest [g]
    picked=float,  # dry mass picked today [g]
    small=float,  # dry mass picked today that is below the least size [g]
    left=float,  # share of the plants, the smallest, that have not been pulled
)
"""What a harvest has come to; tables (H,)."""


class Ground(NamedTuple):
    """How columns share: number that share light and room, M, and number that share one soil; `overlap` (M, M) share of i's
    ground that j stands on, `crowds` (M, M) how much j's leaf counts as i's in crowding, `fills` (M, M) how much of i's
    room it takes; `factor` (D, C + M) corrections of the
    light of all columns and of the mixture's leaves alone; `attribute` 1 where who takes whose light is to be found;
    `holds` (M, M) 1 where j is a pole for i; `nitrogen` (Y, D) what a day brings to the soil [g/m2]."""

    mixed: int
    watered_together: int
    overlap: Floats
    crowds: Floats
    fills: Floats
    factor: Floats
    attribute: int
    holds: Ints
    nitrogen: Floats


class Canopy(NamedTuple):
    """Room to share light in: light of the mixture's leaves `alone` (M,), plantings by height in `rank` (M,), `room` (9, M),
    who takes whose light, `takers`, and room to find it, `above` and `weight`, (M, M)."""

    alone: Floats
    rank: Ints
    room: Floats
    takers: Floats
    above: Floats
    weight: Floats


class Soil(NamedTuple):
    """Soils of the columns that share one and of each that has its own, B in all, in layers (L,): 1 where water is `followed`;
    water held [mm] and bounds [m] (L + 1,) of layers; total and readily evaporable water [mm]; area of a bed [m2]; water given
    (B, Y, D) and reference evapotranspiration (Y, D) [mm]; what they lack on the first day (Y, L) and at the bare surface (Y,)
    [mm]."""

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


class Wetness(NamedTuple):
    """What soils lack, `depletion` (B, L) and at the bare `surface` (B,) [mm], with room for a day: roots in `reach` of water
    (C, L), water drawn and share used before by layer, `uptake` and `used` (L,)."""

    depletion: Floats
    surface: Floats
    reach: Floats
    uptake: Floats
    used: Floats


class Stand(NamedTuple):
    """All that is given to the day loop: tables of `DRIVERS`, `TRAITS`, `DATES`, `PICKS` and `WINDOWS`, ground and soil."""

    daily: Table
    traits: Table
    dates: Table
    picks: Table
    windows: Table
    ground: Ground
    soil: Soil


class Running(NamedTuple):
    """What changes from day to day: tables of `NOW`, `STATE` and `BASKETS`, the canopy's room and the soils."""

    now: Table
    state: Table
    baskets: Table
    canopy: Canopy
    wetness: Wetness


class Trace(NamedTuple):
    """What the loop writes down, (D, Y, C) but for what belongs to mixed columns (D, Y, M), takers (D, M, M), picked fresh mass
    and what was too small to count [kg] (D, Y, H), whether anything grew on a day (D,), nitrogen taken from the soil, fixed and
    lacked at most [g/m2] (Y, C, 3), and what held growth back (Y, C, 3): the mean logarithm of what drought, too little nitrogen
    and the neighbours' leaf in its room divide it by, weighted by what each day could have made."""

    leaf_m2: Floats
    height_m: Floats
    absorbed_mj: Floats
    alone_mj: Floats
    growth_g: Floats
    water: Floats
    picked_kg: Floats
    small_kg: Floats
    takers: Floats
    anything: Bools
    nitrogen: Floats
    held_back: Floats


class Asking(NamedTuple):
    """When the voxel model is asked in a scouting season: `every` so many days from the `first` on, never if 0; `day` (1,) of the
    last asking; `raw` (C + M,) the layered canopy's light on such a day, of all columns and of the mixture's leaves alone."""

    every: int
    first: int
    day: Ints
    raw: Floats


def table(records: np.dtype[Any], *shape: int) -> Table:
    """A table of so many records, all nought."""
    return np.zeros(shape, dtype=records).view(np.recarray)


def stacked(tables: Sequence[Table]) -> Table:
    """Tables of drivers (Y, D), whose rows may be parts of longer ones, as one (N, Y, D)."""
    years, days = tables[0].shape
    numbers = np.empty((len(tables), years, days * len(DRIVERS.names or ())))
    for n, one in enumerate(tables):
        numbers[n] = one.view(np.ndarray).view(np.float64)
    return numbers.view(DRIVERS).view(np.recarray)


def new_canopy(plantings: int) -> Canopy:
    """Room to share light in."""
    m = plantings
    return Canopy(np.zeros(m), np.arange(m), np.zeros((CANOPY_ROWS, m)), *np.zeros((3, m, m)))


def new_running(stand: Stand) -> Running:
    """What changes from day to day, before anything has come up."""
    columns, harvests, m = len(stand.traits), len(stand.picks), stand.ground.mixed
    soils, layers = len(stand.soil.water), len(stand.soil.capacity)
    wetness = Wetness(np.zeros((soils, layers)), np.zeros(soils), np.zeros((columns, layers)), *np.zeros((2, layers)))
    return Running(table(NOW, columns), table(STATE, columns), table(BASKETS, harvests), new_canopy(m), wetness)


def new_trace(stand: Stand) -> Trace:
    """A trace with nothing in it."""
    _, years, days = stand.daily.shape
    columns, harvests, m = len(stand.traits), len(stand.picks), stand.ground.mixed

    def zeros(*shape: int) -> Floats:
        return np.zeros((days, years, *shape))

    return Trace(
        zeros(columns), zeros(columns), zeros(columns), zeros(m), zeros(columns), np.ones((days, years, columns)),
        zeros(harvests), zeros(harvests), np.zeros((days, m, m)), np.zeros(days, dtype=bool), *np.zeros((2, years, columns, 3)),
    )  # fmt: skip


def not_asking() -> Asking:
    """No asking: the season is grown in one go."""
    return Asking(0, 0, np.zeros(1, dtype=np.int64), np.zeros(0))
