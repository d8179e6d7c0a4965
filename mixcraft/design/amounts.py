"""From portions a week to sowings, plants, ground and seed of a crop, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PLANTED, SOWN
from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import Bed, Garden, Plate
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.season.trial import SIDE_M, trial_way

from .constants import constant
from .curves import NothingGrows, Option, alone_density, options, window_of
from .solving import solve

Floats = NDArray[np.float64]
AREA = 100
"""Ground is counted in hundredths of a square metre."""
SCALE = 100
"""Portions are counted in hundredths."""


@dataclass(frozen=True)
class Sowing:
    """One start of a crop: month-day, way, ground [m2], plants, seeds (or pieces) and their weight [g], first and last
    picking day (begin and end of weeks) and portions."""

    month_day: str
    establish: str
    area_m2: float
    plants: int
    seeds: float
    seed_g: float
    first: np.datetime64
    last: np.datetime64
    portions: float


@dataclass(frozen=True)
class Amounts:
    """What a crop asks for at a place: its sowings, the weeks that are wanted (first days) and those of them that no sowing
    serves; `portions_a_week` asked for, `portion_g` the weight of one."""

    crop: Crop
    sowings: tuple[Sowing, ...]
    portions_a_week: float
    portion_g: float
    weeks: tuple[np.datetime64, ...]
    unserved: tuple[np.datetime64, ...]

    @property
    def area_m2(self) -> float:
        """Ground of all sowings, one after the other on ground of their own [m2]."""
        return sum(s.area_m2 for s in self.sowings)


def amounts(crop: Crop, garden: Garden, portions: float, *, start: str = "", until: str = "") -> Amounts:
    """The sowings that give `portions` a week of a crop, from the month-day `start` to `until` (else the household's weeks).

    Fewest square metres first, then fewest sowings; weeks in which nothing of it can be had are told.  Raises `NothingGrows`.
    """
    found, weeks, garden = _options(crop, garden, start, until)
    needs, reached = _sowings(found, weeks, portions, crop)
    sky = almanac(garden.place)
    sowings = tuple(_sowing(o, area, garden) for o, area in needs)
    days = tuple(sky.date(7 * week) for week in weeks)
    unserved = tuple(day for day, week in zip(days, weeks, strict=True) if week not in reached)
    return Amounts(crop, sowings, portions, portion_of(crop), days, unserved)


def from_ground(crop: Crop, garden: Garden, area_m2: float, *, month_day: str = "") -> Amounts:
    """What so much ground of a crop gives: from the start nearest to `month_day`, else from the best one."""
    found, weeks, garden = _options(crop, garden, "", "")
    sky = almanac(garden.place)
    if month_day:
        day = sky.month_day(month_day) // 7
        chosen = min(found, key=lambda o: abs(o.week - day))
    else:
        chosen = max(found, key=lambda o: o.total_kg_m2)
    days = tuple(sky.date(7 * week) for week in weeks)
    return Amounts(crop, (_sowing(chosen, area_m2, garden),), 0.0, portion_of(crop), days, ())


def area_of_plants(crop: Crop, plants: float) -> float:
    """Ground of so many plants at the usual density [m2]."""
    return plants / alone_density(crop)


def area_of_seed(crop: Crop, grams: float) -> float:
    """Ground that so much seed (or so many pieces) sows or plants at the usual density [m2]."""
    if trial_way(crop) not in (*SOWN, *PLANTED):
        return grams / crop["seed.propagule_mass"] / alone_density(crop)
    return grams * crop["seed.per_gram"] * crop["seed.germination"] / 100.0 * crop["seed.field_factor"] / alone_density(crop)


def portion_of(crop: Crop) -> float:
    """Weight of a portion of the main part [g]."""
    return crop.main_part.number("portion", scoring_constants()["portion_usual_g"])


def _options(crop: Crop, garden: Garden, start: str, until: str) -> tuple[tuple[Option, ...], range, Garden]:
    """Starts of a crop, the wanted weeks of the almanac, and the garden with the window that is asked for."""
    bed = Bed("amounts", SIDE_M, SIDE_M)
    plate = Plate(start, until) if start and until else garden.plate
    here = Garden("amounts", garden.place, (bed,), plate)
    window = window_of(here, bed, almanac(garden.place), scoring_constants()["window_after_weeks"])
    found = options(crop, here, window, trellis=False, every=True)
    if not found:
        raise NothingGrows(crop.name)
    return found, range(-(-window[0] // 7), window[1] // 7 + 1), here


def _sowings(found: Sequence[Option], weeks: range, portions: float, crop: Crop) -> tuple[list[tuple[Option, float]], set[int]]:
    """Ground by start such that every week that can be served is, and those weeks."""
    from ortools.sat.python import cp_model

    grams, keeps = portion_of(crop), int(crop.main_part.number("keeps", scoring_constants()["keeps_usual_days"]) // 7)
    rates = [np.round(o.kg_m2 * 1000.0 / grams * SCALE * SCALE / AREA).astype(int) for o in found]
    floor = max(int(r.max()) for r in rates) * constant("amounts_least")
    reached = {w for w in weeks if any(r[max(0, w - keeps) : w + 1].max(initial=0) >= floor for r in rates)}
    model: Any = cp_model.CpModel()
    most = 500 * AREA
    area = [model.new_int_var(0, most, "") for _ in found]
    used = [model.new_bool_var("") for _ in found]
    for a, u in zip(area, used, strict=True):
        model.add(a <= most * u)
    target, taken, store = round(SCALE * portions), [], 0
    for w in range(min(o.week for o in found), weeks.stop):
        fresh = sum(int(r[w]) * a for r, a in zip(rates, area, strict=True) if r[w])
        eaten = model.new_int_var(0, target, "") if w in reached else 0
        if w in reached:
            taken.append(target - eaten)
            model.add(SCALE * eaten <= store + fresh)
        left = 0
        if (keeps and not isinstance(fresh, int)) or not isinstance(store, int):
            left = model.new_int_var(0, 10**9, "")
            model.add(left <= store + fresh - SCALE * eaten)
            kept = range(max(0, w - keeps + 1), w + 1)
            model.add(left <= sum(int(r[v]) * a for r, a in zip(rates, area, strict=True) for v in kept if r[v]))
        store = left
    short = round(constant("amounts_short") * AREA)
    model.minimize(sum(area) + round(constant("amounts_sowing") * AREA) * sum(used) + short * sum(taken))
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed, solver.parameters.max_deterministic_time = 1, 1, 6.0
    solve(solver, model)
    chosen = [(o, solver.value(a) / AREA) for o, a in zip(found, area, strict=True) if solver.value(a)]
    return chosen, reached


def _sowing(option: Option, area_m2: float, garden: Garden) -> Sowing:
    """A start in whole plants and round ground, with its seed."""
    crop, sky = option.crop, almanac(garden.place)
    plants = max(1, math.ceil(option.density * area_m2 - 1e-6))
    seeds, grams = float(plants), plants * crop.number("seed.propagule_mass", 0.0)
    if option.establish in (*SOWN, *PLANTED):
        rate = crop["seed.germination"] / 100.0 * (crop["seed.field_factor"] if option.establish in SOWN else 1.0)
        seeds = plants / rate
        grams = seeds / crop["seed.per_gram"]
    weeks = np.nonzero(option.kg_m2 > 1e-4)[0]
    return Sowing(
        option.month_day, option.establish, area_m2, plants, seeds, grams, sky.date(7 * int(weeks.min())),
        sky.date(7 * int(weeks.max()) + 6), option.total_kg_m2 * area_m2 * 1000.0 / portion_of(crop),
    )  # fmt: skip
