"""May two crops share a bed: grown beside one another at several distances, on either side of the noon sun, and half and half.

Only what the season computes and what was published of the very pair is told; lists of friends and foes without evidence are not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from mixcraft.crops.model import Crop
from mixcraft.graph import Edge
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import Bed, Count, Density, Garden, OnDate, Planting, Recipe, Rows, Span, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.season.grow import SEED, grow

from .constants import constant
from .curves import NothingGrows, Option, options, window_of
from .drawing import planting_of

PUBLISHED_FILE = Path(__file__).with_name("published_pairs.yaml")
LENGTH_M, WIDTH_M = 2.0, 2.4


@dataclass(frozen=True, slots=True)
class Beside:
    """A row of each at `distance_m` from one another, the first on the sunny side or not: the share of its growth that each
    keeps, middle of the years, beside the same row alone."""

    distance_m: float
    first_sunny: bool
    kept: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Published:
    """A trial of the pair: share of its yield alone that each kept (nan = not told), the land equivalent ratio, its source."""

    kept: tuple[float, float]
    ratio: float
    source: str


@dataclass(frozen=True)
class Pair:
    """Two crops in one bed: starts, rows beside one another, half of a bed each (`share` of the yield alone that each gives, and
    their sum), what else passes between them, and what was published.  `near_m` is the least distance at which both keep
    `keeps` of their growth, None if they do at none that was tried; `gains` who gains (growth beside the other over alone)."""

    crops: tuple[Crop, Crop]
    place: str
    starts: tuple[str, str]
    rows: tuple[Beside, ...]
    share: tuple[float, float]
    edges: tuple[Edge, ...]
    published: tuple[Published, ...]

    @property
    def best_order(self) -> bool:
        """Whether the first stands better on the sunny side, by what the worse of the two keeps over all distances."""
        worst = {side: min(min(r.kept) for r in self.rows if r.first_sunny is side) for side in (True, False)}
        return worst[True] >= worst[False]

    @property
    def near_m(self) -> float | None:
        """Least distance of those tried from which on both keep enough, in the better order."""
        mine = sorted((r for r in self.rows if r.first_sunny is self.best_order), key=lambda r: -r.distance_m)
        near = None
        for row in mine:
            if min(row.kept) < constant("pair_keeps"):
                break
            near = row.distance_m
        return near

    @property
    def ratio(self) -> float:
        """Land equivalent ratio of half a bed each."""
        return sum(self.share)


def pair(first: Crop, second: Crop, garden: Garden, *, years: int = 0) -> Pair:
    """Whether `first` and `second` may share a bed at the place of `garden`.  Raises `NothingGrows` with the name of a crop that
    gives nothing there."""
    count = years or int(constant("few_years"))
    bed = Bed("pair", LENGTH_M, WIDTH_M, heading_deg=90.0)
    here = Garden("pair", garden.place, (bed,))
    one, other = starts_together(_starts(first, here, bed), _starts(second, here, bed))
    rows = tuple(
        _rows(one, other, distance, sunny, here, count) for distance in distances(first, second) for sunny in (True, False)
    )
    share, found = _half_each(one, other, here, count)
    starts = one.month_day, other.month_day
    return Pair((first, second), garden.place.name, starts, rows, share, found, published(first, second))


def _starts(crop: Crop, garden: Garden, bed: Bed) -> tuple[Option, ...]:
    window = window_of(garden, bed, almanac(garden.place), scoring_constants()["window_after_weeks"])
    found = options(crop, garden, window, trellis=False)
    if not found:
        raise NothingGrows(crop.name)
    return found


def starts_together(first: tuple[Option, ...], second: tuple[Option, ...]) -> tuple[Option, Option]:
    """A start of each, good ones, such that they share the ground for as long as they can."""
    best = [max(o.total_kg_m2 for o in options_) for options_ in (first, second)]

    def worth(a: Option, b: Option) -> tuple[int, float]:
        weeks = min(a.last, b.last) - max(a.week, b.week)
        return weeks, a.total_kg_m2 / best[0] + b.total_kg_m2 / best[1]

    return max(((a, b) for a in first for b in second), key=lambda pair_: worth(*pair_))


def distances(first: Crop, second: Crop) -> tuple[float, ...]:
    """Distances that are tried [m]: half, once and one and a half times what is usual between rows of the wider, and the mean."""
    between = sorted(c["spacing.between_rows"] / 100.0 for c in (first, second))
    unit = constant("round_m")
    tried = (0.5 * between[1], sum(between) / 2.0, between[1], 1.5 * between[1])
    return tuple(sorted({max(unit, min(round(d / unit) * unit, WIDTH_M - 0.4)) for d in tried}))


def _rows(one: Option, other: Option, distance_m: float, first_sunny: bool, garden: Garden, years: int) -> Beside:
    """A row of each along a bed that runs east and west; the right side is south."""
    bed, south = garden.beds[0], garden.place.latitude_deg >= 0.0
    low, high = (WIDTH_M - distance_m) / 2.0, (WIDTH_M + distance_m) / 2.0
    sunny, shady = (low, high) if south else (high, low)
    at = (sunny, shady) if first_sunny else (shady, sunny)
    plantings = tuple(_row(option, y, name) for option, y, name in zip((one, other), at, ("first", "second"), strict=True))
    season = grow(plan(Recipe("pair", LENGTH_M, WIDTH_M, plantings), garden, bed.name), years, SEED)
    kept = np.median(Evidence(season).kept, axis=0)
    return Beside(distance_m, first_sunny, (float(kept[0]), float(kept[1])))


def _row(option: Option, at_m: float, name: str) -> Planting:
    crop = option.crop
    in_row = 1.0 / (option.density * crop["spacing.between_rows"] / 100.0)
    count = Count(max(1, round(LENGTH_M / in_row)))
    base = planting_of(option, Rows("length", (Span(round(at_m, 3)),)), 1.0, name)
    return Planting(
        name, crop, option.establish, base.where, OnDate(option.month_day), amount=count, support=base.support,
        support_height_m=base.support_height_m, harvest=base.harvest,
    )  # fmt: skip


def _half_each(one: Option, other: Option, garden: Garden, years: int) -> tuple[tuple[float, float], tuple[Edge, ...]]:
    """Half of a bed each, in one mixture over it: shares of what each gives alone, and what passes between them."""
    bed = garden.beds[0]
    plantings = tuple(
        replace(planting_of(o, WholeBed(), bed.area_m2, name), amount=Density(o.density / 2.0))
        for o, name in ((one, "first"), (other, "second"))
    )
    season = grow(plan(Recipe("pair", LENGTH_M, WIDTH_M, plantings), garden, bed.name), years, SEED)
    mixture, sole = season.planting_kg(), season.planting_kg("sole")
    share = np.median(np.divide(mixture, sole, out=np.zeros_like(mixture), where=sole > 1e-9), axis=0)
    return (float(share[0]), float(share[1])), Evidence(season).edges


@lru_cache(maxsize=1)
def _trials() -> list[Mapping[str, Any]]:
    return list(yaml.safe_load(PUBLISHED_FILE.read_text("utf-8"))["pairs"])


def published(first: Crop, second: Crop) -> tuple[Published, ...]:
    """Trials of these two crops that were published."""
    found = []
    for trial in _trials():
        mine = [next((name for name in trial["crops"] if c.botanical.startswith(name)), "") for c in (first, second)]
        if all(mine) and mine[0] != mine[1]:
            kept = [np.nan if trial["crops"][name] is None else float(trial["crops"][name]) for name in mine]
            found.append(Published((kept[0], kept[1]), float(trial.get("ratio") or np.nan), trial["source"]))
    return tuple(found)
