"""The reference day loop, with arrays over years and columns.

Light, growth, leaf, organ, and picking.  All rates of a day first, then all states.

The loop runs over days only; years and plantings are array axes.  The plantings of the mixture come first and are followed
by two twins of each: the same plants without the others (`lone`), and the crop alone on the whole bed at its own best
density (`sole`), so that what a mixture costs or gains is computed in the same weather.

Sources: dry matter from absorbed light (Monteith 1977), leaf area limited first by temperature and then by dry matter
(Spitters & Schapendonk 1990), organ mass by a rising harvest index (EPIC; Williams et al. 1989).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.season.columns import climbs_free, is_pole
from mixcraft.season.constants import constant
from mixcraft.season.setting import Setting
from mixcraft.season.stand import BalanceError

from .columns import State, Traits, safe, traits_of
from .harvest import Harvest
from .nitrogen import SeasonNitrogen

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Light:
    """Light of all columns (Y, 3P) and of the mixture's leaves without the others, `alone` (Y, P), in square metres of open sky;
    and who takes whose, (Y or 1, P, P) with rows summing to 1 where light is lost, or None to keep what was said last;
    `used` what of the light is used as well as weak light is [m2] and `top` the share of open sky at the columns' tops, (Y, 3P);
    `free_use` what the mixture's leaves would use without the others (Y, P) [m2].
    """

    absorbed: Floats
    alone: Floats
    takers: Floats | None
    used: Floats
    top: Floats
    free_use: Floats


ShareLight = Callable[[int, Floats, Floats], Light]
"""(day, leaf area [m2] (Y, 3P), height [m] (Y, 3P)) -> `Light`."""
WaterFactor = Callable[[int, Floats], Floats]
"""(day, leaf area [m2] (Y, 3P)) -> factor (Y, 3P) by which drought slows growth."""


@dataclass
class Trace:
    """What the loop writes down: by day (D, Y, C) for states, (D, Y, H3) for picked fresh mass [kg]."""

    leaf_m2: Floats
    height_m: Floats
    absorbed_mj: Floats
    alone_mj: Floats
    growth_g: Floats
    organ_g: Floats
    picked_kg: Floats
    taken_mj: Floats
    water: Floats


def run(setting: Setting, share_light: ShareLight, water: WaterFactor | None = None, overlap: Floats | None = None) -> Trace:
    """Grow the season.

    `share_light` is asked every day for the light of all columns, `water` for drought stress; `overlap` (P, P) is the share of
    planting i's ground that j stands on (`light_layers.overlaps`), None where plantings do not meet.
    """
    traits = traits_of(setting)
    days, years = setting.plan.days, setting.weather.years
    p = len(setting.plan.plantings)
    harvest = Harvest(setting, traits)
    trace = _empty_trace(days, years, 3 * p, len(harvest.column), p)
    state = State(years, 3 * p)
    given = _Given(setting, traits)
    crowd = _Crowd(traits, overlap)
    climb = _Climb(setting, overlap)
    feed = SeasonNitrogen(setting, traits, overlap)
    takers = np.zeros((p, p))
    for day in range(days):
        state.shade = np.where(state.alive, state.shade, 0.0)
        _start(state, given, traits, day)
        _stand_up(state, given, traits, day)
        if not np.count_nonzero(state.alive):
            trace.picked_kg[day] = harvest.pick(day, state)
            continue
        height = climb(state.tall * _cut_back(state, harvest))
        shared = share_light(day, state.leaf, height)
        light = shared.absorbed
        state.shade = given.shade[day] - np.log(shared.top)
        if shared.takers is not None:
            takers = shared.takers[0] if len(shared.takers) == 1 else shared.takers.mean(axis=0)
        stress = 1.0 if water is None else water(day, state.leaf * state.alive)
        growth = given.potential[day] * shared.used * stress * state.alive
        growth = growth * feed(day, state, growth)
        index = given.organ_share[day] * _grain_share(day, growth, state, given, traits)
        asked = index * (state.grown + growth) - state.organ_made
        dark = np.maximum(state.shade, 0.0)
        to_organ = np.minimum(np.maximum(asked, 0.0), growth) * set_share(dark, traits.sets_from)
        share = np.minimum(traits.leaf_share * np.exp(constant("shade_leaf_power") * dark), constant("leaf_share_most"))
        to_leaf = np.maximum(share, traits.leaf_share) * (growth - to_organ) - harvest.divert(day, growth, state.alive)
        crowding, beside = crowd(state.leaf, height), crowd.beside(state.leaf, height, traits.lai_max)
        state.crowding = crowding
        wanted = state.leaf * given.leaf_rate[day] * stress
        thin = np.exp(constant("shade_thinness_power") * dark)
        young = np.maximum(crowding, state.leaf / traits.young_ground) < constant("young_lai")
        leaf_gain = np.where(young, wanted, np.minimum(wanted, np.maximum(to_leaf, 0.0) * given.leaf_area[day] * thin))
        slowed = wanted * np.minimum(thin * _light_left(shared), 1.0)
        small = (state.leaf < constant("young_lai") * traits.young_ground) & ~young
        leaf_gain = np.where(small, np.maximum(leaf_gain, slowed), leaf_gain)
        death_rate = given.death_rate(crowding, traits.critical, day)
        # states
        state.grown = state.grown + growth
        state.organ_made = state.organ_made + to_organ
        state.organ = state.organ + to_organ
        state.leaf_mass = np.maximum(state.leaf_mass * (1.0 - death_rate) + to_leaf, 0.0)
        new = np.where(state.alive, safe(np.maximum(to_leaf, 0.0), state.leaf_mass), 0.0)
        state.dim = state.dim + (state.shade - state.dim) * new
        leaf = np.maximum(state.leaf * (1.0 - death_rate) + leaf_gain, 0.0)
        thinnest = state.grown * traits.sla * constant("leaf_thinnest")
        leaf = np.minimum(leaf, np.maximum(thinnest, traits.leaf0 * 0.5))
        most = np.minimum(leaf, traits.leaf_most * traits.plants)
        state.leaf_mass = np.where(traits.sheds & (leaf > most), state.leaf_mass * safe(most, leaf, 1.0), state.leaf_mass)
        leaf = most
        state.leaf = np.where(state.alive, leaf, state.leaf)
        most = np.maximum(climb.most_leaf(height, traits.lai_max), beside)
        room = np.minimum(1.0, safe(most, crowd.beside(state.leaf, height, traits.lai_max), 1.0))
        room = np.minimum(room, safe(np.full_like(state.leaf, traits.lai_max * traits.area), state.leaf, 1.0))
        room = np.where(state.alive, room, 1.0)
        state.leaf = state.leaf * room
        state.leaf_mass = np.where(traits.sheds, state.leaf_mass * room, state.leaf_mass)
        if given.died_back[day]:
            _die_back(state, given, traits, day)
        trace.picked_kg[day] = harvest.thin(day, state) + harvest.pick(day, state)
        _finish(state, given, day, climb)
        trace.leaf_m2[day], trace.height_m[day] = state.leaf, np.where(state.alive, height, 0.0)
        trace.absorbed_mj[day], trace.alone_mj[day] = light, shared.alone
        trace.growth_g[day], trace.organ_g[day] = growth, state.organ
        trace.taken_mj[day] = takers
        if water is not None:
            trace.water[day] = stress[:, :p]  # type: ignore[index]
    return _closed(trace, given.par, harvest.attained)


def _light_left(shared: Light) -> Floats:
    """Light used over that which leaves would use without the neighbours, (Y, 3P); 0 where there is no mixture."""
    p = shared.free_use.shape[1]
    left = np.zeros_like(shared.used)
    if p > 1:
        left[:, :p] = safe(shared.used[:, :p], shared.free_use)
    return left


def set_share(dark: Floats, whole: Floats) -> Floats:
    """Share of an organ that sets in shade: all from a share `whole` of the open light on, none in a fifth, evenly between."""
    none, light = constant("sets_none"), np.exp(-dark)
    below = np.clip(safe(light - none, np.full_like(light, np.maximum(whole - none, 0.0))), 0.0, 1.0)
    return np.asarray(np.where(light >= whole, 1.0, below))


def _grain_share(day: int, growth: Floats, state: State, given: _Given, traits: Traits) -> Floats:
    """Share of the usual harvest index that the grains allow which have set until today, (Y, C): kernels of a maize plant over
    those of a plant that fills them all, a hyperbola of its mean growth in the month about its flower (Andrade and others 2002).
    """
    none, full, most = traits.grains
    about = int(constant("about_flower"))
    first, last = np.maximum(given.organ - about, given.emergence), given.organ + about
    state.about_flower = state.about_flower + np.where((first <= day) & (day <= last) & state.alive, growth, 0.0)
    days = np.minimum(day, last) - first + 1
    counted = (full > 0.0) & (days >= 1) & state.alive
    mean = np.where(counted, state.about_flower / np.maximum(days, 1) / traits.plants, 0.0)
    kernels = safe(most * np.maximum(mean - none, 0.0), most * full - full + mean - most * none)
    return np.asarray(np.where(counted, np.minimum(safe(kernels * full, mean), 1.0), 1.0))


def _closed(trace: Trace, par: Floats, attained: Floats) -> Trace:
    """The trace with light in megajoules and what was lost to whom; raises `BalanceError` where growth is no number."""
    p = trace.alone_mj.shape[2]
    trace.absorbed_mj *= par
    trace.picked_kg *= attained
    trace.alone_mj *= par[:, :, :p]
    kept = np.minimum(1.0, safe(trace.absorbed_mj[:, :, :p], trace.alone_mj, 1.0))
    trace.taken_mj *= (np.median(1.0 - kept, axis=1) * np.median(trace.alone_mj, axis=1))[:, :, None]
    if not np.isfinite(trace.growth_g).all() or (trace.growth_g < -1e-9).any():
        raise BalanceError("growth is negative or not a number")
    return trace


class _Given:
    """What every day brings to every column, whatever has grown so far: the setting's arrays repeated for the twins."""

    def __init__(self, setting: Setting, traits: Traits) -> None:
        def three(name: str) -> Floats:
            """A driver of all plantings, (D, Y, 3P)."""
            one = np.stack([course.daily[name] for course in setting.courses], axis=-1).transpose(1, 0, 2)
            return np.concatenate([one, one, one], axis=-1)

        self.par: Floats = three("par")
        self.potential: Floats = three("potential")
        self.leaf_rate: Floats = three("leaf_rate")
        self.height: Floats = three("height")
        self.organ_share: Floats = three("organ_share")
        self.ages: Floats = three("ageing")
        self.leaf_area: Floats = three("leaf_area")
        self.dieback: Floats = three("dies_back")
        self.emergence = np.tile(setting.by_planting("emergence"), 3)
        self.organ = np.tile(np.stack([course.clock.organ for course in setting.courses], axis=1), 3)
        end = np.stack([course.end for course in setting.courses], axis=1)
        self.last = np.tile(np.minimum(setting.by_planting("death"), end), 3)
        self.died_back = (self.dieback > 0.0).any(axis=(1, 2))
        self.starts = set(np.unique(self.emergence).tolist())
        self.most_death = constant("shade_death_rate")
        self.shade: Floats = three("shade")

    def death_rate(self, lai: Floats, lai_max: Floats, day: int) -> Floats:
        """Share of the leaf that dies today [1/d]: of crowding above `lai_max` and of age."""
        crowded = self.most_death * np.minimum(np.maximum(lai / lai_max - 1.0, 0.0), 1.0)
        return np.asarray(crowded + self.ages[day])


class _Crowd:
    """Leaf area over the ground of each column: its own, and with its neighbours' that shade its lowest leaf.

    A neighbour's leaf counts by its overlap, by its extinction coefficient and, where it is lower, by the share of the column's
    height that it reaches.
    """

    def __init__(self, traits: Traits, overlap: Floats | None) -> None:
        self.area = traits.area
        self.p = len(traits.area) // 3
        self.weight: Floats | None = None
        self.overlap = overlap
        if overlap is not None and self.p > 1:
            k = traits.k[: self.p]
            weight = np.where(np.eye(self.p, dtype=bool), 0.0, overlap) * k / k[:, None]
            self.weight = weight if weight.any() else None

    def __call__(self, leaf_m2: Floats, height_m: Floats) -> Floats:
        """Leaf area index with the leaf that shades a column's lowest."""
        return self._with(leaf_m2, height_m, lambda reach: np.minimum(1.0, reach))

    def beside(self, leaf_m2: Floats, height_m: Floats, lai_max: Floats) -> Floats:
        """Leaf area index with the leaf that shades a column's lowest, of which as much counts as fills the room of one of its
        own."""
        if self.weight is None or self.overlap is None:
            return np.asarray(leaf_m2 / self.area)
        most = lai_max[: self.p]
        weight = np.where(np.eye(self.p, dtype=bool), 0.0, self.overlap) * most[:, None] / most
        return self._with(leaf_m2, height_m, lambda reach: np.minimum(1.0, reach), weight)

    def _with(self, leaf_m2: Floats, height_m: Floats, count: Callable[[Floats], Floats], weight: Floats | None = None) -> Floats:
        lai = np.asarray(leaf_m2 / self.area)
        if self.weight is None:
            return lai
        p = self.p
        height = np.maximum(height_m[:, :p], 1e-6)
        others = (self.weight if weight is None else weight) * count(height[:, None, :] / height[:, :, None])
        crowding = lai.copy()
        crowding[:, :p] += (others @ lai[:, :p, None])[:, :, 0]
        return crowding


class _Climb:
    """How high climbers come that have no support of their own: as high as a sturdy neighbour holds them, else they sprawl, and
    carry no more leaf than there is room for."""

    def __init__(self, setting: Setting, overlap: Floats | None) -> None:
        plantings = setting.plan.plantings
        self.p = len(plantings)
        free = np.array([climbs_free(x) for x in plantings])
        poles = np.array([is_pole(x.planting.crop) for x in plantings])
        self.free = np.concatenate([free, free, np.zeros(self.p, dtype=bool)])
        none = np.zeros((self.p, self.p))
        self.hold = none if overlap is None else np.where((overlap > 0.0) & free[:, None] & poles, 1.0, 0.0)

    def __call__(self, height: Floats) -> Floats:
        held = np.full_like(height, constant("sprawl_height"))
        pole = (self.hold[None] * height[:, None, : self.p]).max(axis=2)
        held[:, : self.p] = np.maximum(held[:, : self.p], pole)
        return np.where(self.free, np.minimum(height, held), height)

    def most_leaf(self, height: Floats, lai_max: Floats) -> Floats:
        """Greatest leaf area index, (Y, C)."""
        room = np.where(self.free, constant("climber_leaf_density") * height, np.inf)
        return np.asarray(np.minimum(lai_max, np.maximum(room, constant("young_lai"))))


def _start(state: State, given: _Given, traits: Traits, day: int) -> None:
    if day not in given.starts:
        return
    due = (given.emergence == day) & ~state.done
    leaf = traits.leaf0 * traits.plants * traits.sown
    state.leaf = np.where(due, leaf, state.leaf)
    state.leaf_mass = np.where(due, leaf / traits.sla, state.leaf_mass)
    state.grown = np.where(due, leaf / traits.sla / traits.leaf_share, state.grown)
    state.alive = state.alive | due


def _stand_up(state: State, given: _Given, traits: Traits, day: int) -> None:
    """Height without cutting: what grows in shade grows longer."""
    open_m = given.height[day]
    longer = np.minimum(np.exp(traits.stretch * np.maximum(state.shade, 0.0)), constant("stretch_most"))
    risen = state.tall + np.maximum(open_m - state.before, 0.0) * longer
    state.tall = np.where(open_m < state.before, state.tall * safe(open_m, state.before), risen)
    state.before = open_m


def _cut_back(state: State, harvest: Harvest) -> Floats:
    """Height left after cutting or leaf picking, as a share: the square root of the leaf left over the greatest leaf."""
    state.leaf_peak = np.maximum(state.leaf_peak, state.leaf)
    share = np.sqrt(safe(state.leaf, state.leaf_peak))
    return np.asarray(np.where(harvest.trims, np.maximum(share, harvest.stubble), 1.0))


def _die_back(state: State, given: _Given, traits: Traits, day: int) -> None:
    """Leaf and fruit that frost takes; what sprouts again is held back by the cold."""
    share = np.where(state.alive, given.dieback[day], 0.0)
    due = share > 0.0
    sprouts = np.maximum(traits.leaf0 * traits.plants, constant("sprout_share") * state.leaf_peak)
    kept = np.where(due, np.minimum(1.0, np.maximum(safe(sprouts, state.leaf, 1.0), 1.0 - share)), 1.0)
    fruit = np.where(traits.buried, 0.0, share)
    lost = state.leaf_mass * (1.0 - kept) + fruit * state.organ
    state.leaf = state.leaf * kept
    state.leaf_mass = state.leaf_mass * kept
    state.organ = state.organ * (1.0 - fruit)
    state.grown = np.where(due, np.maximum(state.grown - lost, state.leaf_mass), state.grown)


def _finish(state: State, given: _Given, day: int, climb: _Climb) -> None:
    """What is cleared goes; what holds a climber that lives on stands, and its leaf dies of age."""
    state.alive = state.alive & (given.last > day) & ~state.done
    held = np.zeros_like(state.alive)
    held[:, : climb.p] = (state.alive[:, : climb.p, None] & (climb.hold > 0.0)).any(axis=1)
    left = np.where(held, state.leaf * (1.0 - constant("age_death_rate")), 0.0)
    state.leaf = np.where(state.alive, state.leaf, left)
    state.leaf_mass = np.where(state.alive, state.leaf_mass, 0.0)


def _empty_trace(days: int, years: int, columns: int, picks: int, p: int) -> Trace:
    def zeros(*shape: int) -> Floats:
        return np.zeros((days, years, *shape))

    return Trace(
        zeros(columns), zeros(columns), zeros(columns), zeros(p), zeros(columns), zeros(columns), zeros(picks),
        np.zeros((days, p, p)), np.ones((days, years, p)),
    )  # fmt: skip
