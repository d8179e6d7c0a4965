"""Water in one soil over one day: FAO-56's dual crop coefficient and water stress over layers that roots share.

See `mixcraft.season.water` for what is taken as simple.  `depletion` (L,) is what the layers lack to field capacity [mm],
`surface` what the bare surface lacks [mm].
"""

from __future__ import annotations

import math

from .compiled import compiled, kept
from .constants import constant
from .tables import Floats, Soil, Table, Wetness

LEAST = 1e-9
LEAST_M = 1e-6
DEPLETION_SLOPE = constant("depletion_slope")
DEPLETION_REFERENCE = constant("depletion_reference")
DEPLETION_LEAST = constant("depletion_least")
DEPLETION_MOST = constant("depletion_most")
KC_MAX = constant("kc_max")
KC_MAX_OVER_BASAL = constant("kc_max_over_basal")
EXPOSED_LEAST = constant("exposed_least")


@compiled
def total(values: Floats) -> float:
    """Sum of values."""
    found = 0.0
    for n in range(len(values)):
        found += values[n]
    return found


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
def depletion_share(p: float, etc_mm: float) -> float:
    """Share p of the available water that is taken without stress (FAO-56 Table 22 and its footnote), by the day's
    evapotranspiration without stress [mm]."""
    moved = p + DEPLETION_SLOPE * (DEPLETION_REFERENCE - etc_mm)
    return min(max(moved, DEPLETION_LEAST), DEPLETION_MOST)


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
def greatest_coefficient(kcb: float) -> float:
    """Upper limit Kc max of evaporation and transpiration (FAO-56 eq. 72) in the standard climate."""
    return max(KC_MAX, kcb + KC_MAX_OVER_BASAL)


@compiled
def roots_between(depth_m: float, upper_m: float, lower_m: float) -> tuple[float, float]:
    """Share of the root zone and share of the roots between two depths: they fall in a straight line from the surface down."""
    depth = max(depth_m, LEAST_M)
    above, below = min(upper_m / depth, 1.0), min(lower_m / depth, 1.0)
    zone = below - above
    return zone, zone * (2.0 - above - below)


@compiled
def ground_cover(first: int, last: int, now: Table, state: Table, traits: Table, bed_m2: float) -> float:
    """Ground that leaves of columns `first` to `last` - 1 cover as a share of the bed: of each, into `covers`, and of all
    together.

    Together is the lesser of side by side (the sum) and mixed evenly over the ground they hold (Beer's law for all leaves): exact
    for either, and between where they overlap.
    """
    each, dense, ground = 0.0, 0.0, 0.0
    for c in range(first, last):
        leaves, area = traits[c].k * state[c].leaf * state[c].alive, traits[c].area
        now[c].covers = -math.expm1(-leaves / area) * (area / bed_m2)
        each += now[c].covers
        dense += leaves
        ground += area
    ground = min(ground, bed_m2)
    return min(each, -math.expm1(-dense / ground) * (ground / bed_m2))


@compiled
def _demand(
    first: int, last: int, et0_mm: float, covered: float, surface_mm: float, now: Table, traits: Table, soil: Soil
) -> tuple[float, float, float]:
    """Transpiration that columns ask for [mm], into `demand`; soil evaporation and evapotranspiration without stress [mm], and
    the share of the ground that lies bare."""
    each = 0.0
    for c in range(first, last):
        each += now[c].covers
    together = covered / max(each, LEAST)
    kcb = 0.0
    for c in range(first, last):
        basal = traits[c].kcb * now[c].covers * together
        now[c].demand = basal * et0_mm
        kcb += basal
    exposed = max(1.0 - covered, EXPOSED_LEAST)
    kr = evaporation_reduction(surface_mm, soil.evaporable, soil.readily)
    ke = evaporation_coefficient(kr, kcb, exposed, greatest_coefficient(kcb))
    return min(ke * et0_mm, exposed * (soil.evaporable - surface_mm)), (kcb + ke) * et0_mm, exposed


@compiled
def _reach(c: int, depth_m: float, soil: Soil, wetness: Wetness) -> float:
    """Water that a column's roots reach, by layer into `reach`; how much of the root zone's water is used, or of the surface
    layer's where rain on dry soil has made that the wetter."""
    felt = 0.0
    for n in range(len(soil.capacity)):
        zone, roots = roots_between(depth_m, soil.edges[n], soil.edges[n + 1])
        felt += zone * wetness.used[n]
        wetness.reach[c, n] = roots * (1.0 - wetness.used[n])
    return min(felt, wetness.used[0])


@compiled
def _kept(n: int, soil: Soil, wetness: Wetness) -> float:
    """Share of what is asked of a layer that it has to give."""
    most = (1.0 - wetness.used[n]) * soil.capacity[n]
    return min(most / max(wetness.uptake[n], LEAST), 1.0)


@compiled
def _take_up(first: int, last: int, depletion: Floats, now: Table, soil: Soil, wetness: Wetness) -> float:
    """Draw what columns ask for, slowed by their drought, from where roots and water are; no layer gives more than it has."""
    layers, dry = len(depletion), False
    for n in range(layers):
        wetness.uptake[n] = 0.0
    for c in range(first, last):
        asked = now[c].demand * now[c].drought / max(total(wetness.reach[c]), LEAST)
        for n in range(layers):
            wetness.uptake[n] += asked * wetness.reach[c, n]
    for n in range(layers):
        dry |= wetness.uptake[n] > (1.0 - wetness.used[n]) * soil.capacity[n]
    if dry:
        for c in range(first, last):
            given = 0.0
            for n in range(layers):
                given += wetness.reach[c, n] * _kept(n, soil, wetness)
            now[c].drought *= given / max(total(wetness.reach[c]), LEAST)
        for n in range(layers):
            wetness.uptake[n] *= _kept(n, soil, wetness)
    for n in range(layers):
        depletion[n] += wetness.uptake[n]
    return total(wetness.uptake)


@compiled
def draw(
    first: int, last: int, covered: float, et0_mm: float, depth_m: Floats, depletion: Floats, surface_mm: float, now: Table,
    traits: Table, soil: Soil, wetness: Wetness,
) -> tuple[float, float, float]:  # fmt: skip
    """A day's evaporation and transpiration of columns `first` to `last` - 1, taken from their soil.

    `covered` is the share of the ground under leaves, `depth_m` (C,) of roots.  Water stress goes to `drought`.  Gives
    evaporation and transpiration [mm] and what the surface then lacks [mm].
    """
    evaporation, etc, exposed = _demand(first, last, et0_mm, covered, surface_mm, now, traits, soil)
    for n in range(len(depletion)):
        wetness.used[n] = min(depletion[n] / soil.capacity[n], 1.0)
    for c in range(first, last):
        felt = _reach(c, depth_m[c], soil, wetness)
        now[c].drought = stress(felt, 1.0, depletion_share(traits[c].depletion, etc))
    before = depletion[0]
    transpiration = _take_up(first, last, depletion, now, soil, wetness)
    evaporation = min(evaporation, soil.evaporable - before - wetness.uptake[0])
    depletion[0] += evaporation
    surface = min(surface_mm + evaporation / exposed + wetness.uptake[0], soil.evaporable)
    return evaporation, transpiration, surface


@compiled
def follow(
    b: int, first: int, last: int, day: int, year: int, depth_m: Floats, now: Table, state: Table, traits: Table, soil: Soil,
    wetness: Wetness, sums: Floats,
) -> None:  # fmt: skip
    """One day of soil `b`, which columns `first` to `last` - 1 share, with roots `depth_m` (C,); adds water given, drained,
    evaporated and transpired to `sums` (5,) [mm], whose last item is what the soil then lacks."""
    depletion, water = wetness.depletion[b], soil.water[b, year, day]
    drained, surface = wet(depletion, wetness.surface[b], water)
    covered = ground_cover(first, last, now, state, traits, soil.bed_m2)
    evaporated, transpired, surface = draw(
        first, last, covered, soil.et0[year, day], depth_m, depletion, surface, now, traits, soil, wetness
    )
    wetness.surface[b] = surface
    for c in range(first, last):
        if state[c].leaf <= 0.0 or state[c].alive == 0:
            now[c].drought = 1.0
    sums[0] += water
    sums[1] += drained
    sums[2] += evaporated
    sums[3] += transpired
    sums[4] = total(depletion)


@kept("kernel_water", "tables")
def lie_fallow(
    water: Floats, et0: Floats, covered: float, depth_m: Floats, depletion: Floats, surface: Floats, now: Table, traits: Table,
    soil: Soil, wetness: Wetness, depletions: Floats, surfaces: Floats,
) -> None:  # fmt: skip
    """Follow soils (Y,) under an even cover of one kind of plant, the first column of `traits`, on D days.

    `water` and `et0` (Y, D) [mm]; `depletion` (Y, L) and `surface` (Y,) are changed, and each day's, before it, written to
    `depletions` (D, Y, L) and `surfaces` (D, Y).
    """
    now[0].covers = covered
    for year in range(water.shape[0]):
        for day in range(water.shape[1]):
            for n in range(depletion.shape[1]):
                depletions[day, year, n] = depletion[year, n]
            surfaces[day, year] = surface[year]
            _, left = wet(depletion[year], surface[year], water[year, day])
            _, _, left = draw(0, 1, covered, et0[year, day], depth_m, depletion[year], left, now, traits, soil, wetness)
            surface[year] = left
