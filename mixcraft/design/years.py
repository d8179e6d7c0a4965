"""A plan of a whole garden: recipes for all beds over some years, rotation kept, one household's plate served by all beds
together, winter cover where nothing grows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import Bed, Garden, Plate, Recipe
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.plate import eat
from mixcraft.scoring.portions import Kind as EatenKind
from mixcraft.scoring.portions import wanted_of
from mixcraft.season.evaluator import Evaluator
from mixcraft.season.grow import SEED
from mixcraft.season.result import Season
from mixcraft.tasks import Here, Scheduler

from .brief import Brief
from .choice import Clash, Task, choose
from .constants import constant, usual_crops
from .covering import cover_for
from .curves import Asked, Option, all_alone, window_of
from .drawing import crops_of, drawn
from .greedy import greedy
from .ground import ground_of
from .rotation import rested, shared_out, years_apart
from .search import Told, silent

Floats = NDArray[np.float64]
Kind = tuple[str, str]


@dataclass(frozen=True)
class BedYear:
    """A bed in one year, counted from 1: its recipe, what grew there before, and its season; `cover` the green manure over the
    winter after it (or nothing).  A bed for which nothing was found has no recipe."""

    bed: Bed
    year: int
    recipe: Recipe | None
    season: Season | None = field(repr=False)
    cover: str = ""

    @property
    def crops(self) -> tuple[str, ...]:
        """Crops of the year by id."""
        return () if self.recipe is None else crops_of(self.recipe)


@dataclass(frozen=True)
class GardenYear:
    """A year of the garden: its beds, the portions that the household wants a week, and by wanted week (first days) the share of
    the plate that all beds together serve and the kinds on it, mean of the weather years."""

    year: int
    beds: tuple[BedYear, ...]
    portions: float
    kinds_wanted: float
    weeks: tuple[np.datetime64, ...]
    served: tuple[float, ...]
    kinds: tuple[float, ...]


def garden_years(
    garden: Garden,
    years: int = 3,
    *,
    crops: Sequence[Crop] = (),
    nevers: Sequence[Crop] = (),
    seconds: float = 120.0,
    seed: int = 1,
    told: Told = silent,
    runner: Scheduler | None = None,
) -> tuple[GardenYear, ...]:
    """Recipes for all beds of a garden over `years`, of the usual crops or of `crops`.

    No crop follows its own family or a host of the same soil-borne disease sooner than is advised, the beds' history counted.
    Same arguments: same recipes, whatever `runner` grows the crops alone (this process itself if it is None).  Raises `Clash` if
    none of the crops gives anything.
    """
    never = {c.id for c in nevers}
    usual = [c for c in crops or [load_crop(key) for key in usual_crops()] if c.id not in never]
    known = {
        under: _curves(usual, garden, told, runner or Here(), under) for under in dict.fromkeys(b.under for b in garden.beds)
    }
    usual = [c for c in usual if any(c.id in inside for inside in known.values())]
    if not usual:
        raise Clash(())
    allowed = _shared_out(usual, garden, years, known)
    beds = list(garden.beds)
    found: list[GardenYear] = []
    for year in range(years):
        made: list[tuple[int, BedYear]] = []
        given: dict[Kind, Floats] = {}
        for n in _order(beds):
            told("designing the beds", year * len(beds) + len(made), years * len(beds), 0.0)
            here = known[beds[n].under]
            free = [here[c.id] for c in usual if c.id in here and c.id in allowed[year][n] and rested(c, beds[n])]
            one = _bed_year(beds[n], year + 1, garden, free, given, seconds / (years * len(beds)), seed)
            _add(given, one, garden)
            made.append((n, one))
        these = [one for _, one in sorted(made, key=lambda pair: pair[0])]
        if year:
            found[-1] = _with_covers(found[-1], these, garden)
            beds = [_with_history(bed, one) for bed, one in zip(beds, found[-1].beds, strict=True)]
            these = [replace(one, bed=bed) for one, bed in zip(these, beds, strict=True)]
        found.append(_garden_year(year + 1, these, garden))
        beds = [_older(one) for one in these]
    found[-1] = _with_covers(found[-1], [], garden)
    return tuple(found)


def _curves(crops: Sequence[Crop], garden: Garden, told: Told, runner: Scheduler, under: str) -> dict[str, tuple[Option, ...]]:
    """Starts of each crop at the place, under a structure if any, in the household's window; those that give nothing are left
    out."""
    window = _window(garden)
    found = all_alone([Asked(crop, garden, window, trellis=True, under=under) for crop in crops], runner, told)
    return {crop.id: starts for crop, starts in zip(crops, found, strict=True) if starts}


def _window(garden: Garden) -> tuple[int, int]:
    """The household's weeks, all beds' own included."""
    sky, after = almanac(garden.place), scoring_constants()["window_after_weeks"]
    found = [window_of(garden, bed, sky, after) for bed in garden.beds]
    return min(w[0] for w in found), max(w[1] for w in found)


def _shared_out(
    crops: Sequence[Crop], garden: Garden, years: int, known: Mapping[str, Mapping[str, Sequence[Option]]]
) -> list[list[set[str]]]:
    """Crops that each bed may have in each year: the more a crop gives of its published yield, under the sky or a structure, the
    more it is worth, and it is at home where it gives most."""
    best = {under: {key: max(o.total_kg_m2 for o in starts) for key, starts in inside.items()} for under, inside in known.items()}
    most = {c.id: max(gives.get(c.id, 0.0) for gives in best.values()) for c in crops}
    worth = {c.id: min(1.0, most[c.id] / c["harvest.yield_sole"]) for c in crops}
    at_home = {under: {key: kg_m2 / most[key] for key, kg_m2 in gives.items()} for under, gives in best.items()}
    return shared_out(crops, garden.beds, years, worth, [at_home[bed.under] for bed in garden.beds])


def _order(beds: Sequence[Bed]) -> list[int]:
    """Small beds first: the large ones can fill what is left to fill."""
    return sorted(range(len(beds)), key=lambda n: beds[n].area_m2)


def _bed_year(
    bed: Bed, year: int, garden: Garden, starts: Sequence[tuple[Option, ...]], given: Mapping[Kind, Floats], seconds: float,
    seed: int,
) -> BedYear:  # fmt: skip
    """A bed in one year: what fills best what the other beds leave open."""
    ground = ground_of(bed, garden.place.latitude_deg)
    support = "trellis" if ground.trellis else "canes"
    free = tuple(replace(o, support=support) if o.support else o for found in starts for o in found)
    if not free:
        return BedYear(bed, year, None, None)
    here = replace(garden, beds=(bed,))
    brief = Brief(here, bed.name, most_crops=int(constant("plan_crops")))
    weeks, portions, kinds = _wanted(garden)
    task = Task(brief, free, ground, weeks, portions, kinds, given=given)
    try:
        chosen = choose(task, seed + year, max(0.3, seconds * constant("model_time"))).placed
    except (Clash, TimeoutError):
        chosen = greedy(task)
    if not chosen:
        return BedYear(bed, year, None, None)
    recipe = drawn(chosen, ground, f"{bed.name}, year {year}")
    return BedYear(bed, year, recipe, Evaluator(here, bed.name, int(constant("plan_years")), SEED).season(recipe, voxels=False))


def _wanted(garden: Garden) -> tuple[range, float, float]:
    """Wanted weeks of the almanac, portions and kinds a week that all beds together are to give."""
    window = _window(garden)
    area = sum(bed.area_m2 for bed in garden.beds)
    plates = [bed.plate for bed in garden.beds if bed.plate is not None]
    wanted = wanted_of(garden.plate if not plates else _greater(garden.plate, plates, area), area, ())
    return range(-(-window[0] // 7), max(window[1] // 7, window[0] // 7 + 4)), wanted.portions, wanted.kinds


def _greater(plate: Plate, plates: Sequence[Plate], area_m2: float) -> Plate:
    """The garden's plate; the greatest of the beds' own where the garden names none."""
    return plate if plate.portions or plate.weekly_kg else max(plates, key=lambda p: wanted_of(p, area_m2, ()).portions)


def _add(given: dict[Kind, Floats], one: BedYear, garden: Garden) -> None:
    """Add what a bed gives to what is given, by kind and wanted week, mean of the weather years."""
    if one.season is None:
        return
    weeks, _, _ = _wanted(garden)
    for kind, portions in _by_week(one.season, garden).items():
        given[kind] = given.get(kind, np.zeros(len(weeks))) + portions.mean(axis=1)


def _by_week(season: Season, garden: Garden) -> dict[Kind, Floats]:
    """Portions by kind, wanted week and weather year (W, Y)."""
    evidence, (weeks, _, _) = Evidence(season), _wanted(garden)
    found = {}
    for k, kind in enumerate(evidence.kinds):
        harvest = season.harvests[kind.harvests[0]]
        crop = season.plan.plantings[harvest.planting].planting.crop
        portions = np.zeros((len(weeks), season.years))
        for w in range(len(evidence.portions)):
            at = (season.plan.offset + 7 * w) // 7 - weeks[0]
            if 0 <= at < len(weeks):
                portions[at] += evidence.portions[w, :, k]
        found[crop.botanical, harvest.part.pool] = portions
    return found


def _garden_year(year: int, beds: Sequence[BedYear], garden: Garden) -> GardenYear:
    """What all beds together put on the plate."""
    weeks, portions, kinds = _wanted(garden)
    total: dict[Kind, Floats] = {}
    known: dict[Kind, EatenKind] = {}
    for one in beds:
        if one.season is None:
            continue
        for kind, given in _by_week(one.season, garden).items():
            total[kind] = total.get(kind, np.zeros_like(given)) + given
        for of in Evidence(one.season).kinds:
            harvest = one.season.harvests[of.harvests[0]]
            key = one.season.plan.plantings[harvest.planting].planting.crop.botanical, harvest.part.pool
            known[key] = of
    days = tuple(almanac(garden.place).date(7 * w) for w in weeks)
    if not total:
        return GardenYear(year, tuple(beds), portions, kinds, days, tuple(0.0 for _ in days), tuple(0.0 for _ in days))
    names = sorted(total)
    wanted = wanted_of(replace(garden.plate, portions=portions, kinds=round(kinds)), 1.0, [known[n] for n in names])
    keeps = np.array([known[n].keeps_weeks for n in names], dtype=np.int64)
    eaten = eat(np.stack([total[n] for n in names], axis=-1), keeps, wanted)
    served, variety = eaten.served.mean(axis=1).tolist(), eaten.kinds.mean(axis=1).tolist()
    return GardenYear(year, tuple(beds), portions, kinds, days, tuple(served), tuple(variety))


def _with_covers(year: GardenYear, following: Sequence[BedYear], garden: Garden) -> GardenYear:
    """The year with a green manure over the winter in each bed that is bare, cleared before the next year's first sowing."""
    found = []
    for n, one in enumerate(year.beds):
        after = following[n] if following else None
        first = after.season.plan.start if after is not None and after.season is not None else None
        next_crops = [load_crop(key) for key in after.crops] if after is not None else []
        recipe, cover = cover_for(one.recipe, one.season, one.bed, garden, first, next_crops)
        found.append(replace(one, recipe=recipe, cover=cover))
    return replace(year, beds=tuple(found))


def _older(one: BedYear) -> Bed:
    """The bed a year later."""
    history = tuple((ago + 1, names) for ago, names in one.bed.history)
    return replace(one.bed, history=((1, one.crops), *history) if one.crops else history)


def _with_history(bed: Bed, before: BedYear) -> Bed:
    """The bed with the green manure of the winter in its history."""
    return _older(before) if before.cover else bed


def broken_rotations(years: Sequence[GardenYear]) -> list[tuple[str, int, str, str]]:
    """Bed, year, earlier crop and crop wherever a crop follows another sooner than is advised."""
    found = []
    for garden_year in years:
        for one in garden_year.beds:
            for ago, names in one.bed.history:
                found += [
                    (one.bed.name, one.year, name, key) for name in names for key in one.crops
                    if years_apart(load_crop(name), load_crop(key)) >= ago
                ]  # fmt: skip
    return found
