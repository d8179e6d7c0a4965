"""Growth, leaf and organ of a day: dry matter from the light that is used (Monteith 1977), leaf area limited first by temperature
and then by dry matter (Spitters & Schapendonk 1990), organ mass by a rising harvest index (EPIC; Williams et al. 1989).

Every function but `climb`, `crowd` and `keep_room` is of one column, of which it gets the records: what the day brings (`given`),
what it comes to (`now`), the `state` and the `traits`.  Rates are found first, then states are changed.
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
AGE_DEATH_RATE = constant("age_death_rate")
YOUNG_LAI = constant("young_lai")
LEAF_THINNEST = constant("leaf_thinnest")
SHADE_THINNESS_POWER = constant("shade_thinness_power")
SHADE_LEAF_POWER = constant("shade_leaf_power")
LEAF_SHARE_MOST = constant("leaf_share_most")
STRETCH_MOST = constant("stretch_most")
SETS_NONE = constant("sets_none")
ABOUT_FLOWER = int(constant("about_flower"))
SPRAWL_HEIGHT = constant("sprawl_height")
CLIMBER_LEAF_DENSITY = constant("climber_leaf_density")
SPROUT_SHARE = constant("sprout_share")
MOST_CROWDING = 10.0
"""More than any leaf counts for as a neighbour's: with less gain than would fill the room by that, there is room."""
LEAST_FACTOR = 0.001
"""Least factor on growth whose logarithm is taken."""
LEAST_OF_START = 0.5
"""Leaf is never thinned below this share of a plant's leaf at its start."""


@compiled
def come_up(day: int, dates: Record, now: Record, state: Record, traits: Record) -> None:
    """Plants that come up or are planted out today."""
    if state.alive == 0:
        now.shade = 0.0
    if dates.emergence == day and state.done == 0:
        leaf = traits.leaf0 * traits.plants * traits.sown
        state.leaf = leaf
        state.leaf_mass = leaf / traits.sla
        state.grown = leaf / traits.sla / traits.leaf_share
        state.alive = 1


@compiled
def stand_up(given: Record, now: Record, state: Record, traits: Record) -> None:
    """Height: stems and stalks that grow in shade grow longer; after cutting or leaf picking with the square root of the leaf
    left over the greatest leaf."""
    state.peak = max(state.peak, state.leaf)
    if given.height > state.before:
        longer = min(math.exp(traits.stretch * now.shade), STRETCH_MOST) if now.shade > 0.0 else 1.0
        state.tall += (given.height - state.before) * longer
    elif given.height < state.before:
        state.tall *= given.height / state.before
    state.before = given.height
    now.height = state.tall
    if traits.trims == 1:
        left = state.leaf / state.peak if state.peak > 0.0 else 0.0
        now.height *= max(math.sqrt(left), STUBBLE)


@compiled
def climb(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """Climbers that have no support of their own sprawl, or come as high as a sturdy neighbour holds them."""
    for c in range(len(state)):
        if traits[c].free == 1:
            held = SPRAWL_HEIGHT
            if c < ground.mixed:
                for j in range(ground.mixed):
                    if ground.holds[c, j] == 1:
                        held = max(held, now[j].height)
            now[c].height = min(now[c].height, held)


@compiled
def height_reached(by_m: float, of_m: float) -> float:
    """Share of the height of a canopy, at most all of it, that another reaches."""
    return min(1.0, max(by_m, LEAST_M) / max(of_m, LEAST_M))


@compiled
def crowd(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """Leaf area index, and with the neighbours' leaf that shades the lowest one: by its overlap, by its extinction coefficient
    and, where it is lower, by the share of the column's height that it reaches; and the same by what each would carry alone, for
    the room on the ground."""
    for c in range(len(state)):
        now[c].lai = state[c].leaf / traits[c].area
        now[c].crowding = now[c].beside = now[c].lai
    for i in range(ground.mixed):
        if state[i].alive == 1:
            for j in range(ground.mixed):
                if ground.crowds[i, j] > 0.0 and state[j].leaf > 0.0:
                    reach = height_reached(now[j].height, now[i].height)
                    now[i].crowding += ground.crowds[i, j] * reach * now[j].lai
                    now[i].beside += ground.fills[i, j] * reach * now[j].lai


@compiled
def find_shade(given: Record, now: Record) -> None:
    """Shade of a plant's covers and of its neighbours."""
    now.shade = given.shade - math.log(now.top) if now.top < 1.0 else given.shade


@compiled
def growth_rates(given: Record, now: Record, state: Record) -> None:
    """Dry matter with enough nitrogen, and with enough water [g d-1]."""
    now.could = given.potential * now.use * state.alive
    now.growth = now.could * now.drought


@compiled
def setting_in_shade(shade: float, sets_from: float) -> float:
    """Share of the fruit, tubers and heads that sets and fills in shade (minus the logarithm of the open sky's light) if all do
    from a share of that light on."""
    light = math.exp(-shade)
    if light >= sets_from:
        return 1.0
    return max(light - SETS_NONE, 0.0) / (sets_from - SETS_NONE) if sets_from > SETS_NONE else 0.0


@compiled
def grains_over_growth(growth_g_d: float, none_g_d: float, full_g_d: float, most: float) -> float:
    """Grain that a plant sets over what its growth about the flower would fill, at most 1.

    What sets rises with that growth along a hyperbola from a threshold on, to little more than one ear holds (Andrade and
    others 2002): plants that neighbours hold down stay barren, plants that stand free have no room for what they could fill.
    """
    over = max(growth_g_d - none_g_d, 0.0) / (full_g_d - none_g_d)
    sets = most * over / (most - 1.0 + over)
    return min(sets * full_g_d / growth_g_d, 1.0) if growth_g_d > 0.0 else 0.0


@compiled
def grain_share(day: int, dates: Record, now: Record, state: Record, traits: Record) -> float:
    """Share of the usual harvest index that the grains allow which have set until today."""
    if traits.grains_full == 0.0 or state.alive == 0:
        return 1.0
    first, last = max(dates.organ - ABOUT_FLOWER, dates.emergence), dates.organ + ABOUT_FLOWER
    if first <= day <= last:
        state.about_flower += now.growth
    days = min(day, last) - first + 1
    if days < 1:
        return 1.0
    return grains_over_growth(
        state.about_flower / (days * traits.plants), traits.grains_none, traits.grains_full, traits.grains_most
    )


@compiled
def organ_rates(day: int, given: Record, dates: Record, now: Record, state: Record, traits: Record) -> None:
    """Dry matter [g d-1], and what of it goes to the organ: as much as the harvest index reached asks for, less in deep shade,
    where stems and leaves get what does not set; in light it is made good as far as what grows then allows.  Pods set as
    the plant is large, however little that is."""
    now.growth *= now.hunger
    state.could += now.could
    if now.drought < 1.0:
        state.dry -= now.could * math.log(max(now.drought, LEAST_FACTOR))
    if now.hunger < 1.0:
        state.hungry -= now.could * math.log(max(now.hunger, LEAST_FACTOR))
    wanted = given.organ_share * grain_share(day, dates, now, state, traits) * (state.grown + now.growth) - state.made
    now.to_organ = min(max(wanted, 0.0), now.growth)
    if now.shade > 0.0:
        now.to_organ *= setting_in_shade(now.shade, traits.sets_from)


@compiled
def leaf_rates(given: Record, now: Record, state: Record, traits: Record) -> None:
    """Dry matter that goes to leaf [g d-1], the leaf that comes of it [m2 d-1], and the share that dies [1/d].

    Young leaf grows by temperature alone, until it shades itself; then by what it is given, thinner in shade, where leaf gets
    more of what grows.  Young leaf that neighbours shade is slowed as far as it uses less light than it would without them.
    Leaf dies where little light comes to its foot.
    """
    share, thin = traits.leaf_share, 1.0
    if now.shade > 0.0:
        share = max(share, min(share * math.exp(SHADE_LEAF_POWER * now.shade), LEAF_SHARE_MOST))
        thin = math.exp(SHADE_THINNESS_POWER * now.shade)
    now.to_leaf = share * (now.growth - now.to_organ) - now.to_side
    young = state.leaf * given.leaf_rate * now.drought
    now.leaf_gain = young
    if max(now.crowding, state.leaf / traits.young_ground) >= YOUNG_LAI:
        now.leaf_gain = min(young, max(now.to_leaf, 0.0) * given.leaf_area * thin)
        if now.free_use > 0.0:
            now.leaf_gain = max(now.leaf_gain, young * min(thin * now.use / now.free_use, 1.0))
    crowded = SHADE_DEATH_RATE * min(max(now.crowding / traits.critical - 1.0, 0.0), 1.0)
    now.death = crowded + given.ageing


@compiled
def grow_on(now: Record, state: Record, traits: Record) -> None:
    """State after a day's growth."""
    state.grown += now.growth
    state.made += now.to_organ
    state.organ += now.to_organ
    lives = 1.0 - now.death
    state.leaf_mass = max(state.leaf_mass * lives + now.to_leaf, 0.0)
    if now.to_leaf > 0.0:
        state.dim += (now.shade - state.dim) * now.to_leaf / state.leaf_mass
    leaf = max(state.leaf * lives + now.leaf_gain, 0.0)
    thinnest = state.grown * traits.sla * LEAF_THINNEST
    state.leaf = min(leaf, max(thinnest, traits.leaf0 * LEAST_OF_START))
    most = traits.leaf_most * traits.plants
    if state.leaf > most:
        if traits.sheds == 1:
            state.leaf_mass *= most / state.leaf
        state.leaf = most


@compiled
def keep_room(now: Table, state: Table, traits: Table, ground: Ground) -> None:
    """Where the leaf on a piece of ground has come to its limit, all of it makes room for what has grown, so that nobody is
    shut off by neighbours: everyone's part of the leaf changes by what it gains against the others.  What stands higher takes
    room from the lower, and the lower only as high as it reaches, so that a tall and a low kind of a crop make little more leaf
    than one.  Nobody carries more leaf than alone.  Leaf of plants that are picked leaf by leaf makes no head: what makes room
    falls, with its mass."""
    gained = 0.0
    for c in range(len(state)):
        now[c].lai = state[c].leaf / traits[c].area
        gained += now[c].leaf_gain / traits[c].area if state[c].alive == 1 else 0.0
    for i in range(len(state)):
        if state[i].alive == 1 and (traits[i].free == 1 or now[i].beside + MOST_CROWDING * gained >= traits[i].lai_max):
            beside = now[i].lai
            if i < ground.mixed:
                for j in range(ground.mixed):
                    if ground.crowds[i, j] > 0.0 and now[j].lai > 0.0:
                        beside += ground.fills[i, j] * height_reached(now[j].height, now[i].height) * now[j].lai
            most = traits[i].lai_max
            if traits[i].free == 1:
                most = min(most, max(CLIMBER_LEAF_DENSITY * now[i].height, YOUNG_LAI))
            most = max(most, now[i].beside)
            left = min(most / beside if beside > most else 1.0, traits[i].lai_max / now[i].lai if now[i].lai > 0.0 else 1.0)
            if left < 1.0:
                state[i].leaf *= left
                if traits[i].sheds == 1:
                    state[i].leaf_mass *= left
                if beside > now[i].lai > 0.0:
                    caught = math.expm1(-traits[i].k * beside) / math.expm1(-traits[i].k * now[i].lai)
                    state[i].squeezed += now[i].could * math.log(caught)


@compiled
def die_back(given: Record, state: Record, traits: Record) -> None:
    """Leaf, and the like share of fruit and heads, that frost takes; what sprouts again is held back by the cold."""
    if given.dies_back == 0.0:
        return
    sprouts = max(traits.leaf0 * traits.plants, SPROUT_SHARE * state.peak)
    kept = min(1.0, max(sprouts / state.leaf, 1.0 - given.dies_back)) if state.leaf > 0.0 else 1.0
    lost = state.leaf_mass * (1.0 - kept)
    state.leaf *= kept
    state.leaf_mass *= kept
    if traits.buried == 0:
        lost += state.organ * given.dies_back
        state.organ *= 1.0 - given.dies_back
    state.grown = max(state.grown - lost, state.leaf_mass)


@compiled
def holds_somebody(c: int, state: Table, ground: Ground) -> bool:
    """Whether a living climber climbs a column."""
    if c < ground.mixed:
        for i in range(ground.mixed):
            if ground.holds[i, c] == 1 and state[i].alive == 1:
                return True
    return False


@compiled
def clear(day: int, dates: Record, state: Record) -> None:
    """Plants whose last day this is, or whose harvest has ended them, go."""
    if state.done == 1 or dates.last <= day:
        state.alive = 0
        state.leaf_mass = 0.0


@compiled
def fade(c: int, state: Table, ground: Ground) -> None:
    """Leaf of plants that have gone goes with them; what still holds a climber stands as it is, and its leaf dies of age."""
    if state[c].alive == 0 and state[c].leaf > 0.0:
        state[c].leaf *= 1.0 - AGE_DEATH_RATE if holds_somebody(c, state, ground) else 0.0
