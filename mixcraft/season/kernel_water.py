"""Water in one soil over one day: FAO-56's dual crop coefficient and water stress over layers that roots share.

See `mixcraft.season.water` for what is taken as simple.  `depletion` (L,) is what the layers lack to field capacity [mm], `surface`
what the bare surface lacks [mm].
"""

from __future__ import annotations

import math

from .compiled import compiled, kept
from .tables import ROOT_DEPTH, Constants, Day, Floats, Given, Soil, State, Traits

LEAST = 1e-9
LEAST_M = 1e-6


@compiled
def wet(depletion: Floats, surface_mm: float, water_mm: float) -> tuple[float, float]:
    """Fill the layers from the top with water [mm]; what drains away, and what the surface still lacks."""
    left = water_mm
    for n in range(len(depletion)):
        held = min(depletion[n], left)
        depletion[n] -= held
        left -= held
    return max(left, 0.0), max(surface_mm - water_mm, 0.0)


@compiled
def stress(depletion: float, available: float, p: float) -> float:
    """Water stress coefficient Ks (FAO-56 eq. 84): 1 while depletion is below p x available water, 0 when all is used."""
    left = max(available - depletion, 0.0)
    return min(left / max((1.0 - p) * available, LEAST), 1.0)


@compiled
def depletion_share(p: float, etc_mm: float, constants: Constants) -> float:
    """Share p of the available water that is taken without stress (FAO-56 Table 22 and its footnote), by the day's
    evapotranspiration without stress [mm]."""
    moved = p + constants.depletion_slope * (constants.depletion_reference - etc_mm)
    return min(max(moved, constants.depletion_least), constants.depletion_most)


@compiled
def evaporation_reduction(surface_mm: float, evaporable_mm: float, readily_mm: float) -> float:
    """Evaporation reduction coefficient Kr (FAO-56 eq. 74): 1 until the readily evaporable water is gone, then falling to 0."""
    left = (evaporable_mm - surface_mm) / (evaporable_mm - readily_mm)
    return min(max(left, 0.0), 1.0)


@compiled
def evaporation_coefficient(kr: float, kcb: float, bare: float, kc_max: float) -> float:
    """Soil evaporation coefficient Ke (FAO-56 eq. 71), with `bare` the exposed and wetted share of the ground (eq. 75)."""
    return min(kr * (kc_max - kcb), bare * kc_max)


@compiled
def greatest_coefficient(kcb: float, constants: Constants) -> float:
    """Upper limit Kc max of evaporation and transpiration (FAO-56 eq. 72) in the standard climate."""
    return max(constants.kc_max, kcb + constants.kc_max_over_basal)


@compiled
def roots_between(depth_m: float, upper_m: float, lower_m: float) -> tuple[float, float]:
    """Share of the root zone and share of the roots between two depths: they fall in a straight line from the surface down."""
    depth = max(depth_m, LEAST_M)
    above, below = min(upper_m / depth, 1.0), min(lower_m / depth, 1.0)
    zone = below - above
    return zone, zone * (2.0 - above - below)


@compiled
def ground_cover(first: int, last: int, leaf_m2: Floats, k: Floats, area_m2: Floats, bed_m2: float, each: Floats) -> float:
    """Ground that leaves of columns `first` to `last` - 1 cover as a share of the bed: of each, into `each`, and of all together.

    Together is the lesser of side by side (the sum) and mixed evenly over the ground they hold (Beer's law for all leaves): exact
    for either, and between where they overlap.
    """
    total, dense, ground = 0.0, 0.0, 0.0
    for c in range(first, last):
        each[c] = -math.expm1(-k[c] * leaf_m2[c] / area_m2[c]) * (area_m2[c] / bed_m2)
        total += each[c]
        dense += k[c] * leaf_m2[c]
        ground += area_m2[c]
    ground = min(ground, bed_m2)
    return min(total, -math.expm1(-dense / ground) * (ground / bed_m2))


@compiled
def _demand(
    first: int, last: int, et0_mm: float, covered: float, traits: Traits, now: Day, surface_mm: float, soil: Soil,
    constants: Constants,
) -> tuple[float, float, float]:  # fmt: skip
    """Transpiration that columns ask for [mm], into `demand`; soil evaporation and evapotranspiration without stress [mm], and
    the share of the ground that lies bare."""
    each = 0.0
    for c in range(first, last):
        each += now.covers[c]
    together = covered / max(each, LEAST)
    kcb = 0.0
    for c in range(first, last):
        basal = traits.kcb[c] * now.covers[c] * together
        now.demand[c] = basal * et0_mm
        kcb += basal
    exposed = max(1.0 - covered, constants.exposed_least)
    kr = evaporation_reduction(surface_mm, soil.evaporable, soil.readily)
    ke = evaporation_coefficient(kr, kcb, exposed, greatest_coefficient(kcb, constants))
    return min(ke * et0_mm, exposed * (soil.evaporable - surface_mm)), (kcb + ke) * et0_mm, exposed


@compiled
def _reach(c: int, depth_m: float, depletion: Floats, now: Day, soil: Soil) -> float:
    """Water that a column's roots reach, by layer into `reach`; how much of the root zone's water is used, or of the surface
    layer's where rain on dry soil has made that the wetter."""
    felt = 0.0
    for n in range(len(depletion)):
        zone, roots = roots_between(depth_m, soil.edges[n], soil.edges[n + 1])
        felt += zone * now.used[n]
        now.reach[c, n] = roots * (1.0 - now.used[n])
    return min(felt, now.used[0])


@compiled
def _take_up(first: int, last: int, depletion: Floats, now: Day, soil: Soil) -> float:
    """Draw what columns ask for, slowed by their drought, from where roots and water are; no layer gives more than it has."""
    layers, dry = len(depletion), False
    now.uptake[:] = 0.0
    for c in range(first, last):
        whole = max(now.reach[c].sum(), LEAST)
        for n in range(layers):
            now.uptake[n] += now.demand[c] * now.drought[c] / whole * now.reach[c, n]
    for n in range(layers):
        dry |= now.uptake[n] > (1.0 - now.used[n]) * soil.capacity[n]
    if dry:
        for c in range(first, last):
            whole, kept_water = max(now.reach[c].sum(), LEAST), 0.0
            for n in range(layers):
                most = (1.0 - now.used[n]) * soil.capacity[n]
                kept_water += now.reach[c, n] * min(most / max(now.uptake[n], LEAST), 1.0)
            now.drought[c] *= kept_water / whole
        for n in range(layers):
            most = (1.0 - now.used[n]) * soil.capacity[n]
            now.uptake[n] *= min(most / max(now.uptake[n], LEAST), 1.0)
    total = 0.0
    for n in range(layers):
        depletion[n] += now.uptake[n]
        total += now.uptake[n]
    return total


@compiled
def draw(
    first: int, last: int, covered: float, et0_mm: float, depth_m: Floats, depletion: Floats, surface_mm: float, now: Day,
    traits: Traits, soil: Soil, constants: Constants,
) -> tuple[float, float, float]:  # fmt: skip
    """A day's evaporation and transpiration of columns `first` to `last` - 1, taken from their soil.

    `covered` is the share of the ground under leaves, `depth_m` (last - first,) of roots.  Water stress goes to `drought`.  Gives
    evaporation and transpiration [mm] and what the surface then lacks [mm].
    """
    evaporation, etc, exposed = _demand(first, last, et0_mm, covered, traits, now, surface_mm, soil, constants)
    for n in range(len(depletion)):
        now.used[n] = min(depletion[n] / soil.capacity[n], 1.0)
    for c in range(first, last):
        felt = _reach(c, depth_m[c - first], depletion, now, soil)
        now.drought[c] = stress(felt, 1.0, depletion_share(traits.depletion[c], etc, constants))
    before = depletion[0]
    transpiration = _take_up(first, last, depletion, now, soil)
    evaporation = min(evaporation, soil.evaporable - before - now.uptake[0])
    depletion[0] += evaporation
    surface = min(surface_mm + evaporation / exposed + now.uptake[0], soil.evaporable)
    return evaporation, transpiration, surface


@compiled
def follow(
    b: int, first: int, last: int, day: int, year: int, now: Day, state: State, traits: Traits, given: Given, soil: Soil,
    constants: Constants, sums: Floats,
) -> None:  # fmt: skip
    """One day of soil `b`, which columns `first` to `last` - 1 share; adds water given, drained, evaporated and transpired to
    `sums` (5,) [mm], whose last item is what the soil then lacks."""
    depletion = state.depletion[b]
    drained, surface = wet(depletion, state.surface[b], soil.water[b, year, day])
    covered = ground_cover(first, last, state.leaf, traits.k, traits.area, soil.bed_m2, now.covers)
    for c in range(first, last):
        now.roots[c] = given.daily[given.of[c], ROOT_DEPTH, year, day]
    evaporated, transpired, surface = draw(
        first, last, covered, soil.et0[year, day], now.roots[first:last], depletion, surface, now, traits, soil, constants
    )
    state.surface[b] = surface
    for c in range(first, last):
        if state.leaf[c] <= 0.0:
            now.drought[c] = 1.0
    sums[0] += soil.water[b, year, day]
    sums[1] += drained
    sums[2] += evaporated
    sums[3] += transpired
    sums[4] = depletion.sum()


@kept("constants", "kernel_water", "tables")
def lie_fallow(
    water: Floats, et0: Floats, covered: float, depth_m: float, depletion: Floats, surface: Floats, now: Day, traits: Traits,
    soil: Soil, constants: Constants, depletions: Floats, surfaces: Floats,
) -> None:  # fmt: skip
    """Follow soils (Y,) under an even cover of one kind of plant, the first column of `traits`, on D days.

    `water` and `et0` (Y, D) [mm]; `depletion` (Y, L) and `surface` (Y,) are changed, and each day's, before it, written to
    `depletions` (D, Y, L) and `surfaces` (D, Y).
    """
    now.covers[0] = covered
    now.roots[0] = depth_m
    for year in range(water.shape[0]):
        for day in range(water.shape[1]):
            depletions[day, year] = depletion[year]
            surfaces[day, year] = surface[year]
            _, left = wet(depletion[year], surface[year], water[year, day])
            _, _, left = draw(
                0, 1, covered, et0[year, day], now.roots, depletion[year], left, now, traits, soil, constants
            )  # fmt: skip
            surface[year] = left
