"""Water in the soil of a bed, the reference with arrays.

A daily balance after FAO-56 (Allen et al. 1998, chapters 7 and 8) over layers that roots share.

Rain and watering come early in the day, fill the layers from the top, and drain away below the last one.  Evaporation and
transpiration follow the dual crop coefficient of chapter 7: the surface layer dries in two stages (readily and totally
evaporable water of Table 19, eq. 74), only where soil lies bare (eqs. 71 and 75).  Drought follows chapter 8: a planting's
stress coefficient (eq. 84) comes from what its whole root zone lacks, so that roots in wet layers make good for those in dry
ones, or from what the surface layer lacks where rain on dry soil has made that the wetter (as in AquaCrop, Raes et al. 2009,
Agronomy Journal 101:438-447); the water is then taken where roots and water are.  Plantings whose roots share a layer share
its water; their twins, which grow alone, have beds of their own.

Taken as simple: rain and watering wet the whole surface and none runs off; no water rises from below, but a layer that roots
have entered gives from its whole depth; roots also dry the bare surface (Tew of eq. 77); snow counts as rain;
the air's dryness and wind are those of FAO-56's standard climate (minimum humidity 45 %, wind 2 m/s) in the greatest crop
coefficient; ground under leaves or mulch is not followed apart from the bare.  A bed watered whenever it needs it knows no
stress and is not followed.  A weekly gift falls on the plan's first day and every seventh day after, whatever the weather:
a gardener's fixed round, neither skipped after rain nor brought forward in drought.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PLANTED
from mixcraft.place import Place, weather_years
from mixcraft.place.series import day_of_year
from mixcraft.recipe.plan import Plan
from mixcraft.season.columns import LONE, SOLE, columns_of
from mixcraft.season.constants import constant
from mixcraft.season.roots import SOILS, Texture, available_water_m3_m3, layer_bounds, root_layers, texture
from mixcraft.season.setting import BEFORE_DAYS, Setting
from mixcraft.season.stand import BalanceError
from mixcraft.season.water import rain_passed

Floats = NDArray[np.float64]

__all__ = [
    "SOILS", "BedWater", "Profile", "SeasonWater", "Texture", "available_water_m3_m3", "layer_bounds", "root_layers", "texture",
]  # fmt: skip

MM_PER_M = 1000.0
WEEK = 7
FALLOW_YEARS = 10
"""Stochastic years over which a bed lies fallow before the season."""
FALLOW_SEED = 19980101
NORMAL_YEAR = 365
KEPT = 16
"""Places and soils whose fallow is kept."""


def _roots(depth_m: Floats, edges_m: Floats) -> tuple[Floats, Floats]:
    """Share of the root zone and share of the roots in each layer between `edges_m` (L + 1,), each (..., L)."""
    inside = np.minimum(edges_m / np.maximum(depth_m, 1e-6)[..., None], 1.0)
    above, below = inside[..., :-1], inside[..., 1:]
    zone = below - above
    return zone, zone * (2.0 - above - below)


def stress(depletion: Floats, available: Floats | float, p: Floats) -> Floats:
    """Water stress coefficient Ks (FAO-56 eq. 84): 1 while depletion is below p x available water, 0 when all is used."""
    left = np.maximum(available - depletion, 0.0)
    return np.asarray(np.minimum(left / np.maximum((1.0 - p) * available, 1e-9), 1.0))


def depletion_share(p: Floats, etc_mm: Floats) -> Floats:
    """Share p of the available water that is taken without stress (FAO-56 Table 22 and its footnote).

    `p` of Table 22, which holds for 5 mm/d; `etc_mm` the day's evapotranspiration without stress [mm/d].
    """
    moved = p + constant("depletion_slope") * (constant("depletion_reference") - etc_mm)
    return np.asarray(np.minimum(np.maximum(moved, constant("depletion_least")), constant("depletion_most")))


def evaporation_reduction(surface_mm: Floats, evaporable_mm: float, readily_mm: float) -> Floats:
    """Evaporation reduction coefficient Kr (FAO-56 eq. 74): 1 until the readily evaporable water is gone, then falling to 0."""
    left = (evaporable_mm - surface_mm) / (evaporable_mm - readily_mm)
    return np.asarray(np.minimum(np.maximum(left, 0.0), 1.0))


def evaporation_coefficient(kr: Floats, kcb: Floats, bare: Floats, kc_max: Floats) -> Floats:
    """Soil evaporation coefficient Ke (FAO-56 eq. 71), with `bare` the exposed and wetted share of the ground (eq. 75)."""
    return np.asarray(np.minimum(kr * (kc_max - kcb), bare * kc_max))


def greatest_coefficient(kcb: Floats) -> Floats:
    """Upper limit Kc max of evaporation and transpiration (FAO-56 eq. 72) in the standard climate."""
    return np.asarray(np.maximum(constant("kc_max"), kcb + constant("kc_max_over_basal")))


def ground_cover(dense_m2: Floats, area_m2: Floats, bed_m2: float) -> tuple[Floats, Floats]:
    """Ground that leaves cover as a share of the bed: of each planting alone (Y, P), and of all together (Y,).

    `dense_m2` leaf area times extinction coefficient (Y, P), `area_m2` (P,) or (Y, P).  Together is the lesser of side by side
    (the sum) and mixed evenly over the ground they hold (Beer's law for all leaves): exact for either, and between where they
    overlap.
    """
    each = np.expm1(-dense_m2 / area_m2) * (-area_m2 / bed_m2)
    ground = np.minimum(area_m2.sum(axis=-1), bed_m2)
    mixed = np.expm1(-dense_m2.sum(axis=1) / ground) * (-ground / bed_m2)
    return each, np.minimum(each.sum(axis=1), mixed)


@dataclass(frozen=True)
class _Draw:
    """What a day takes [mm]: evaporation (Y,), uptake by layer (Y, L), and the stress coefficient of plantings (Y, P)."""

    evaporation: Floats
    uptake: Floats
    stress: Floats


class Profile:
    """The water that a soil lacks to field capacity, by year.

    `depletion` (Y, L) by layer and `surface` (Y,) of the surface layer where it lies bare, both [mm].
    """

    def __init__(self, soil: str, depletion: Floats, surface: Floats) -> None:
        held = texture(soil)
        self.depletion, self.surface = depletion, surface
        self.edges = np.concatenate([[0.0], layer_bounds()])
        self.capacity = held.available * MM_PER_M * np.diff(self.edges)
        self.evaporable, self.readily = held.evaporable, held.readily

    def wet(self, water_mm: Floats) -> Floats:
        """Fill the layers from the top with water (Y,) [mm]; returns what drains away (Y,)."""
        lacking = np.cumsum(self.depletion, axis=1)
        left = np.maximum(lacking - water_mm[:, None], 0.0)
        self.depletion = left.copy()
        self.depletion[:, 1:] -= left[:, :-1]
        self.surface = np.maximum(self.surface - water_mm, 0.0)
        return np.asarray(np.maximum(water_mm - lacking[:, -1], 0.0))

    def bare(self, et0_mm: Floats, kcb: Floats, bare: Floats) -> tuple[Floats, Floats]:
        """Soil evaporation [mm] (Y,) and evapotranspiration without stress [mm] (Y,)."""
        kr = evaporation_reduction(self.surface, self.evaporable, self.readily)
        ke = evaporation_coefficient(kr, kcb, bare, greatest_coefficient(kcb))
        return np.minimum(ke * et0_mm, bare * (self.evaporable - self.surface)), (kcb + ke) * et0_mm

    def roots(self, depth_m: Floats) -> tuple[Floats, Floats]:
        """Share of the root zone and of the roots in each layer, (..., L), for root depths (...) [m]."""
        return _roots(depth_m, self.edges)

    def draw(self, et0_mm: Floats, kcb: Floats, covered: Floats, rooting: tuple[Floats, Floats], p: Floats) -> _Draw:
        """A day's evaporation and transpiration, taken from the soil.

        `et0_mm` (Y,), basal crop coefficients over the whole bed `kcb` (Y, P), `covered` share of the ground (Y,), `rooting`
        from `roots` (Y, P, L) and depletion shares of Table 22 `p` (P,) or (Y, P).
        """
        zone, roots = rooting
        exposed = np.maximum(1.0 - covered, constant("exposed_least"))
        evaporation, etc = self.bare(et0_mm, kcb.sum(axis=1), exposed)
        used = np.minimum(self.depletion / self.capacity, 1.0)
        felt = np.minimum((zone @ used[:, :, None])[..., 0], used[:, :1])
        ks = stress(felt, 1.0, depletion_share(p, etc[:, None]))
        left = 1.0 - used
        reach = roots * left[:, None, :]
        whole = np.maximum(reach.sum(axis=2), 1e-9)
        uptake = ((kcb * ks * et0_mm[:, None] / whole)[:, None, :] @ reach)[:, 0]
        most = left * self.capacity
        if (uptake > most).any():
            kept = np.minimum(most / np.maximum(uptake, 1e-9), 1.0)
            ks = ks * (reach @ kept[:, :, None])[..., 0] / whole
            uptake = uptake * kept
        evaporation = np.minimum(evaporation, self.evaporable - self.depletion[:, 0] - uptake[:, 0])
        self._take(evaporation, exposed, uptake)
        return _Draw(evaporation, uptake, ks)

    def _take(self, evaporation: Floats, exposed: Floats, uptake: Floats) -> None:
        self.depletion += uptake
        self.depletion[:, 0] += evaporation
        self.surface = np.minimum(self.surface + evaporation / exposed + uptake[:, 0], self.evaporable)


class _Fallow:
    """Weeds and leftovers on a bed out of season: a short grass sward over part of the ground (see `fallow_states`)."""

    def __init__(self, years: int) -> None:
        self.kcb = np.full((years, 1), constant("fallow_kcb") * constant("fallow_cover"))
        self.covered = np.full(years, constant("fallow_cover"))
        depth = np.full((years, 1), constant("fallow_root_depth"))
        self.rooting = _roots(depth, np.concatenate([[0.0], layer_bounds()]))
        self.p = np.array([constant("fallow_depletion")])

    def day(self, profile: Profile, water_mm: Floats, et0_mm: Floats) -> None:
        """One day of rain (Y,) and reference evapotranspiration (Y,) [mm]."""
        profile.wet(water_mm)
        profile.draw(et0_mm, self.kcb, self.covered, self.rooting, self.p)


_kept: dict[tuple[int, str], tuple[Place, Floats, Floats]] = {}


def fallow_states(place: Place, soil: str) -> tuple[Floats, Floats]:
    """How dry a bed that is not gardened lies on each day of the year: depletion (365, `FALLOW_YEARS`, L) and bare surface
    (365, `FALLOW_YEARS`) [mm].

    The bed lies under weeds or the leftovers of a crop, taken as short grass (FAO-56 Tables 17 and 22) over half the ground,
    in stochastic weather of the place (a smooth normal year would drizzle daily, and lose to the air what real rain puts
    down); never watered.  The soil begins dry and runs for two years, of which the second counts: wet winters fill it in
    the first, and where none is wet enough the depth stays dry.  Kept for the places last asked for.
    """
    kept = _kept.get((id(place), soil))
    if kept is not None and kept[0] is place:
        return kept[1], kept[2]
    weather = weather_years(place, "2001-01-01", 2 * NORMAL_YEAR, FALLOW_YEARS, FALLOW_SEED)
    profile = Profile(soil, np.zeros((FALLOW_YEARS, 1)), np.zeros(FALLOW_YEARS))
    profile.depletion = np.tile(profile.capacity, (FALLOW_YEARS, 1))
    profile.surface = np.full(FALLOW_YEARS, profile.evaporable)
    fallow = _Fallow(FALLOW_YEARS)
    depletion, surface = [], []
    for day in range(2 * NORMAL_YEAR):
        depletion.append(profile.depletion)
        surface.append(profile.surface)
        fallow.day(profile, weather.rain_mm[:, day], weather.et0_mm[:, day])
    if len(_kept) > KEPT:
        _kept.clear()
    states = np.array(depletion[NORMAL_YEAR:]), np.array(surface[NORMAL_YEAR:])
    _kept[id(place), soil] = (place, *states)
    return states


def soil_before(setting: Setting) -> Profile:
    """The soil on the plan's first day: fallow in the place's climate (`fallow_states`), then `BEFORE_DAYS` of the given
    weather.

    The fallow years are dealt to the weather years in turn; a single year, such as the normal one, begins from their mean.
    """
    plan, weather = setting.plan, setting.weather
    day = min(int(day_of_year(weather.dates[0])), NORMAL_YEAR) - 1
    depletion, surface = (states[day] for states in fallow_states(plan.place, plan.bed.soil))
    if weather.years == 1:
        depletion, surface = depletion.mean(axis=0, keepdims=True), surface.mean(axis=0, keepdims=True)
    dealt = np.arange(weather.years) % len(surface)
    profile = Profile(plan.bed.soil, depletion[dealt], surface[dealt])
    fallow = _Fallow(weather.years)
    for before in range(BEFORE_DAYS):
        fallow.day(profile, weather.rain_mm[:, before], weather.et0_mm[:, before])
    return profile


def watered_in(plan: Plan, area_m2: Floats) -> Floats:
    """What plantings on `area_m2` (P,) are given over the whole bed when they are planted out [mm], (D, P)."""
    gifts = np.zeros((plan.days, len(area_m2)))
    for i, planned in enumerate(plan.plantings):
        if planned.planting.establish in PLANTED and planned.start < plan.days:
            gifts[planned.start, i] = constant("watering_in") * min(float(area_m2[i]) / plan.bed.area_m2, 1.0)
    return gifts


class BedWater:
    """The soil water of a bed through a season; call it once a day, in order.  Days passed over are followed as bare soil.
    What is planted out is watered in, however the bed is watered.

    ``bed_water(day, leaf_m2)`` takes leaf areas (Y, P) and returns the factor (Y, P) by which drought slows growth: actual
    over potential transpiration.  `evaporated`, `transpired`, `drained`, `added` are running totals [mm] (Y,), `start` what
    the soil lacked on the first day (Y, L) [mm]; raises `BalanceError` when they do not close.
    """

    def __init__(self, setting: Setting) -> None:
        plan, b = setting.plan, BEFORE_DAYS
        weather, watering = setting.weather, plan.bed.watering
        self.et0, self.rain = weather.et0_mm[:, b:].T, weather.rain_mm[:, b:].T
        self.gift = np.zeros((plan.days, 1))
        self.gift[::WEEK] = watering.mm_per_week if watering.kind == "weekly" else 0.0
        self.profile = soil_before(setting)
        self.start = self.profile.depletion.copy()
        crops = [p.planting.crop for p in plan.plantings]
        self.area = np.array([p.stand.area_m2 for p in plan.plantings])
        self.bed_m2 = plan.bed.area_m2
        self.water = self.rain * rain_passed(plan)[:, None] + self.gift + watered_in(plan, self.area).sum(axis=1)[:, None]
        self.k = np.array([c["canopy.k"] for c in crops])
        self.kcb = np.array([c["root.kc_mid"] for c in crops]) - constant("basal_less")
        self.p = np.array([c["root.depletion"] for c in crops])
        self.depth = np.stack([course.daily.roots for course in setting.courses], axis=-1).transpose(1, 0, 2)
        self.next_day = 0
        self.added, self.drained, self.evaporated, self.transpired = np.zeros((4, weather.years))

    def __call__(self, day: int, leaf_m2: Floats) -> Floats:
        while self.next_day < day:
            self._follow(self.next_day, np.zeros_like(leaf_m2))
        return self._follow(day, leaf_m2)

    def _follow(self, day: int, leaf_m2: Floats) -> Floats:
        profile, before = self.profile, self.profile.depletion.sum(axis=1)
        water = self.water[day]
        drained = profile.wet(water)
        each, covered = ground_cover(self.k * leaf_m2, self.area, self.bed_m2)
        together = covered / np.maximum(each.sum(axis=1), 1e-9)
        kcb = self.kcb * each * together[:, None]
        drawn = profile.draw(self.et0[day], kcb, covered, profile.roots(self.depth[day]), self.p)
        transpired = drawn.uptake.sum(axis=1)
        self.added += water
        self.drained += drained
        self.evaporated += drawn.evaporation
        self.transpired += transpired
        self.next_day = day + 1
        change = profile.depletion.sum(axis=1) - before
        error = np.abs(change - (transpired + drawn.evaporation + drained - water))
        if error.max() > 1e-6 or profile.depletion.min() < -1e-9:
            raise BalanceError("soil water does not balance")
        return np.where(leaf_m2 > 0.0, drawn.stress, 1.0)


class TwinWater(BedWater):
    """The soil water of beds that have one planting each: all lone twins, then all sole twins; called with leaf areas (Y, 2P).

    The beds are followed side by side as so many years more of one, (2P Y,) in all.
    """

    def __init__(self, setting: Setting) -> None:
        super().__init__(setting)
        plan, years = setting.plan, setting.weather.years
        whole = np.full_like(self.area, self.bed_m2)
        gifts = np.concatenate([watered_in(plan, self.area), watered_in(plan, whole)], axis=1)
        beds = gifts.shape[1]

        def rows(values: Floats) -> Floats:
            return np.repeat(values, years)[:, None]

        twins = [c for kind in (LONE, SOLE) for c in columns_of(plan.plantings, kind, self.bed_m2)]
        passed = np.stack([rain_passed(plan, c) for c in twins], axis=1)
        falls = self.rain[:, None, :] * passed[:, :, None]
        self.water = (falls + self.gift[:, :, None] + gifts[:, :, None]).reshape(plan.days, -1)
        self.et0 = np.tile(self.et0, (1, beds))
        before = self.profile
        self.profile = Profile(plan.bed.soil, np.tile(before.depletion, (beds, 1)), np.tile(before.surface, beds))
        self.start = self.profile.depletion.copy()
        self.area = rows(np.concatenate([self.area, whole]))
        self.k, self.kcb, self.p = (rows(np.tile(values, 2)) for values in (self.k, self.kcb, self.p))
        self.depth = np.tile(self.depth.transpose(0, 2, 1), (1, 2, 1)).reshape(plan.days, -1, 1)
        self.added, self.drained, self.evaporated, self.transpired = np.zeros((4, beds * years))

    def __call__(self, day: int, leaf_m2: Floats) -> Floats:
        return super().__call__(day, leaf_m2.T.reshape(-1, 1)).reshape(leaf_m2.shape[::-1]).T


class SeasonWater:
    """The soil water of the mixture's bed and of its twins': ``season_water(day, leaf_m2)`` as `BedWater`, for (Y, 3P)."""

    def __init__(self, setting: Setting) -> None:
        self.mixture, self.twins = BedWater(setting), TwinWater(setting)

    def __call__(self, day: int, leaf_m2: Floats) -> Floats:
        p = leaf_m2.shape[1] // 3
        return np.concatenate([self.mixture(day, leaf_m2[:, :p]), self.twins(day, leaf_m2[:, p:])], axis=1)
