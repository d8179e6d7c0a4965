"""Fitting a recipe to another bed and place: sizes, numbers, places, starts; what no longer works is named, with a substitute."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.files import FileFaults
from mixcraft.files.frozen import FrozenMap
from mixcraft.place.series import day_of_year
from mixcraft.recipe.calendar import YEAR, almanac
from mixcraft.recipe.layout import side_of_edge
from mixcraft.recipe.model import (
    After,
    Amount,
    AtTrellis,
    Bed,
    Count,
    Garden,
    OnDate,
    Planting,
    Points,
    Recipe,
    Rows,
    Span,
    Strip,
    WarmSoil,
    Where,
    Zone,
)
from mixcraft.recipe.moves import DropPlanting, MoveError, SetPlace, SwapCrop
from mixcraft.recipe.plan import plan
from mixcraft.recipe.starts import StartError, start_day
from mixcraft.scoring import Score, score
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.model import Reason
from mixcraft.season.grow import SEED, grow

from .completing import completing
from .compose import PATIENCE
from .constants import constant, usual_crops
from .curves import Option, starts_of, window_of
from .ground import trellis_edge
from .mend import turned_end_for_end, weightiest
from .practice import Practice
from .rotation import rested
from .search import Budget, Climb, Step, Told, Trial, silent

NEAR_DAYS = 21
"""A start that lies no further than this from one that suits the place is kept.  Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Loss:
    """A planting that no longer works, why (nothing, no trellis, rotation) and the crop that takes its place, if one does."""

    planting: str
    cause: str
    substitute: str = ""


@dataclass(frozen=True)
class Fitted:
    """A recipe fitted to a bed, its score there, what was lost on the way, and the steps that improved it."""

    recipe: Recipe
    score: Score
    losses: tuple[Loss, ...]
    steps: tuple[Step, ...]
    stopped: str = ""

    @property
    def held_back(self) -> tuple[Reason, ...]:
        """What keeps the fitted recipe from being good: the weightiest reasons of its score; nothing if it is."""
        return weightiest(self.score)


def fit(
    recipe: Recipe,
    garden: Garden,
    bed: str,
    *,
    seconds: float = 30.0,
    seed: int = 1,
    years: int = 30,
    told: Told = silent,
    patience: float = PATIENCE,
) -> Fitted:
    """`recipe` for the bed called `bed`: as many plants to the square metre, round places, starts that suit the place.  Crops
    that give something there stay in it.

    Same arguments: same recipe, unless the clock ended the search (`stopped`).  Raises `mixcraft.files.FileFaults` for what
    cannot be settled there at all, KeyError for an unknown bed.
    """
    here = garden.bed(bed)
    fitted = freed(resized(recipe, here, garden.place.latitude_deg), garden)
    fitted, losses, known = _suited(fitted, garden, here)
    starts: dict[str, list[int]] = {}
    for option in known:
        starts.setdefault(option.crop.id, []).append(almanac(garden.place).month_day(option.month_day))
    practice = Practice(FrozenMap({crop: tuple(days) for crop, days in starts.items()}))
    trial, trials = Trial(garden, bed, practice=practice), max(8, round(seconds * constant("moves_a_second")))
    budget = Budget(trials, time.monotonic() + patience * seconds)
    turned = turned_round(fitted)
    if trial.standing(turned) > trial.standing(fitted):
        fitted = turned
    own = {p.crop.id for p in fitted.plantings}
    climb = Climb(fitted, trial, known, (), lambda r: own <= {p.crop.id for p in r.plantings}, np.random.default_rng(seed))
    for changed, step in completing(climb.recipe, known, trial, lambda _: True):
        climb.recipe = changed
        climb.steps.append(step)
    climb.run(budget, told)
    scored = score(grow(plan(climb.recipe, garden, bed), years, SEED))
    return Fitted(climb.recipe, scored, losses, tuple(climb.steps), "time" if budget.out_of_time else "")


def freed(recipe: Recipe, garden: Garden) -> Recipe:
    """The recipe without days of other places before which warm soil is not to be used: one that falls after the spring here
    would hold a sowing back for most of a year."""
    sky = almanac(garden.place)

    def one(planting: Planting) -> Planting:
        if not isinstance(planting.start, WarmSoil) or not planting.start.not_before:
            return planting
        free = replace(planting, start=replace(planting.start, not_before=""))
        try:
            late = start_day(planting, sky, {}, {}, {}) - start_day(free, sky, {}, {}, {})
        except StartError:
            return planting
        return free if late > constant("held_back_days") else planting

    return replace(recipe, plantings=tuple(one(p) for p in recipe.plantings))


def turned_round(recipe: Recipe) -> Recipe:
    """The recipe with its strips and zones measured from the other end of the bed."""
    for planting in recipe.plantings:
        other = turned_end_for_end(planting, recipe)
        if other is not None:
            recipe = SetPlace(planting.name, other).changed(recipe)
    return recipe


def resized(recipe: Recipe, bed: Bed, latitude_deg: float) -> Recipe:
    """The recipe drawn for the size of a bed: places in round distances, counts by area, climbers at a trellis that there is."""
    sx, sy = bed.length_m / recipe.length_m, bed.width_m / recipe.width_m

    def one(planting: Planting) -> Planting:
        where, area = _place(planting.where, recipe, bed, latitude_deg), sx * sy
        if isinstance(planting.where, AtTrellis) and isinstance(where, AtTrellis) and where.edge != "any":
            old = recipe.width_m if side_of_edge(where.edge, bed.heading_deg) in ("head", "foot") else recipe.length_m
            new = bed.width_m if side_of_edge(where.edge, bed.heading_deg) in ("head", "foot") else bed.length_m
            area = new / old
        amount: Amount = planting.amount
        if isinstance(amount, Count):
            amount = Count(max(1, round(amount.plants * area)))
        canes = isinstance(planting.where, AtTrellis) and not isinstance(where, AtTrellis)
        return replace(
            planting, where=where, amount=amount, support="canes" if canes else planting.support,
            support_height_m=constant("stake_height") if canes else planting.support_height_m,
        )  # fmt: skip

    plantings = tuple(one(p) for p in recipe.plantings)
    return replace(recipe, length_m=bed.length_m, width_m=bed.width_m, plantings=plantings)


def _place(where: Where, recipe: Recipe, bed: Bed, latitude_deg: float) -> Where:
    """A place on a bed of another size."""

    def span(value: Span, old: float, new: float) -> Span:
        metres, unit = value.metres(old) * new / old, constant("round_m")
        return Span(min(round(round(metres / unit) * unit, 3), new))

    def pair(spans: tuple[Span, Span], old: float, new: float) -> tuple[Span, Span]:
        a, b = (span(s, old, new) for s in spans)
        return (a, b) if b.value > a.value else (a, Span(min(a.value + constant("round_m"), new)))

    match where:
        case Strip(x):
            return Strip(pair(x, recipe.length_m, bed.length_m))
        case Zone(x, y):
            return Zone(pair(x, recipe.length_m, bed.length_m), pair(y, recipe.width_m, bed.width_m))
        case Rows(along, at, ends):
            across, run = ((recipe.width_m, bed.width_m), (recipe.length_m, bed.length_m))[:: 1 if along == "length" else -1]
            return Rows(along, tuple(span(s, *across) for s in at), None if ends is None else pair(ends, *run))
        case Points(at):
            return Points(tuple((span(x, recipe.length_m, bed.length_m), span(y, recipe.width_m, bed.width_m)) for x, y in at))
        case AtTrellis():
            edge = trellis_edge(bed, latitude_deg) or (bed.trellises[0].edge if bed.trellises else "")
            return AtTrellis(edge) if edge else _far_strip(bed, latitude_deg)
    return where


def _far_strip(bed: Bed, latitude_deg: float) -> Where:
    """A strip of half a metre at the end of the bed that lies away from the noon sun."""
    away = "north" if latitude_deg >= 0.0 else "south"
    side, depth = side_of_edge(away, bed.heading_deg), min(0.5, 0.3 * bed.length_m, 0.5 * bed.width_m)
    whole = Span(0.0), Span(bed.length_m)
    if side in ("head", "foot"):
        return Strip((Span(bed.length_m - depth), whole[1]) if side == "head" else (whole[0], Span(depth)))
    y = (Span(0.0), Span(depth)) if side == "right" else (Span(bed.width_m - depth), Span(bed.width_m))
    return Zone(whole, y)


def _suited(recipe: Recipe, garden: Garden, bed: Bed) -> tuple[Recipe, tuple[Loss, ...], tuple[Option, ...]]:
    """The recipe with starts that suit the place; crops that do not suit it or the bed's history are replaced or left out."""
    window = window_of(garden, bed, almanac(garden.place), scoring_constants()["window_after_weeks"])
    trellis = bool(trellis_edge(bed, garden.place.latitude_deg))
    kept: dict[str, tuple[Option, ...]] = {}

    def starts(crop: Crop) -> tuple[Option, ...]:
        if crop.id not in kept:
            kept[crop.id] = starts_of(crop, garden, window, trellis=trellis)
        return kept[crop.id]

    losses, days = [], _start_days(recipe, garden, bed)
    for planting in recipe.plantings:
        found = starts(planting.crop)
        cause = "" if found and rested(planting.crop, bed) else "nothing" if not found else "rotation"
        if not planting.crop.main_part.food or not cause:
            recipe = _timed(recipe, planting.name, found, days)
            continue
        taken = {p.crop.id for p in recipe.plantings}
        other = _substitute(planting.crop, bed, taken, starts)
        losses.append(Loss(planting.name, cause, other[0].crop.name if other else ""))
        recipe = _replaced(recipe, planting, other)
    return recipe, tuple(losses), tuple(o for found in kept.values() for o in found)


def _replaced(recipe: Recipe, planting: Planting, other: tuple[Option, ...]) -> Recipe:
    """Another crop in the place of a planting, or the planting left out if there is none (and others can do without it)."""
    try:
        if not other:
            return DropPlanting(planting.name).changed(recipe)
        swapped = SwapCrop(planting.name, other[0].crop, other[0].establish).changed(recipe)
    except MoveError:
        return recipe
    name = next(p.name for p in swapped.plantings if p.name not in {q.name for q in recipe.plantings})
    return _timed(swapped, name, other)


def _substitute(crop: Crop, bed: Bed, taken: set[str], starts: Callable[[Crop], tuple[Option, ...]]) -> tuple[Option, ...]:
    """Starts of the crop of the same use that gives most here; climbers only for climbers."""
    alike = [c for c in (load_crop(key) for key in usual_crops()) if c.kinds[0] == crop.kinds[0] and c.id not in taken]
    alike = [c for c in alike if (c.form == "climber") == (crop.form == "climber") and rested(c, bed)]
    found = [(o, c) for c in alike if (o := starts(c))]
    if not found:
        return ()
    return max(found, key=lambda pair: max(o.total_kg_m2 / o.crop["harvest.yield_sole"] for o in pair[0]))[0]


def _timed(recipe: Recipe, name: str, found: tuple[Option, ...], days: Mapping[str, str] = FrozenMap()) -> Recipe:
    """The recipe with a planting started when that suits the place: as it is if its day (`days` by name) lies near a start that
    does, else at the nearest such start (or the best one, where it has no day); what waits for another planting stays."""
    planting = recipe.planting(name)
    day = days.get(name, "")
    if not found or isinstance(planting.start, After):
        return recipe
    if not day:
        best = max(found, key=lambda o: o.total_kg_m2)
    else:
        best = min(found, key=lambda o: _days_apart(o.month_day, day))
        if _days_apart(best.month_day, day) <= NEAR_DAYS:
            return recipe
    timed = replace(planting, start=OnDate(best.month_day))
    return replace(recipe, plantings=tuple(timed if p.name == name else p for p in recipe.plantings))


def _start_days(recipe: Recipe, garden: Garden, bed: Bed) -> Mapping[str, str]:
    """Month-day of each planting's start here by its name; of those that can be settled alone."""
    found = {}
    for planting in recipe.plantings:
        if isinstance(planting.start, After):
            continue
        try:
            settled = plan(replace(recipe, plantings=(planting,), document=None), garden, bed.name, draw=False)
        except FileFaults:
            continue
        found[planting.name] = str(settled.start)[5:10]
    return found


def _days_apart(one: str, other: str) -> int:
    days = (_doy(one) - _doy(other)) % YEAR
    return min(days, YEAR - days)


def _doy(month_day: str) -> int:
    return int(day_of_year(np.datetime64(f"2001-{month_day}")))
