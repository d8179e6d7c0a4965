"""Candidates for repairs that use ground: a crop in the place and time that are free, or on half of the ground of another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.library import index
from mixcraft.crops.model import Crop
from mixcraft.files.facts import Facts, Names
from mixcraft.recipe.layout import usual_density
from mixcraft.recipe.model import Count, Density, OnDate, Planting, Span, Strip, WholeBed, Zone
from mixcraft.recipe.moves import AddPlanting, MoveError, SetAmount, SetPlace, SplitIntoSuccessions, free_name
from mixcraft.season.result import Season

from .constants import constants
from .model import Reason
from .remedies import SWAPS, Candidate, month_day, written

Bools = NDArray[np.bool_]
FOLLOWERS = (
    "lettuce-loose-leaf", "radish", "spinach", "rocket", "corn-salad", "mizuna", "bean-bush", "turnip", "chard", "kale",
    "beetroot",
)  # fmt: skip
"""Crops that are tried on ground that is free, those of the recipe last.  Common practice, no source."""


@dataclass(frozen=True)
class Opening:
    """Ground that is free: a strip from `low` to `high` (shares of the bed's length) from day `first` to day `last`."""

    low: float
    high: float
    first: int
    last: int


def openings(season: Season) -> list[Opening]:
    """Free ground of a season, the longest and widest first: quarters of the bed, neighbours that are free together joined."""
    free = _free_parts(season)
    parts, found = free.shape[1], []
    for low in range(parts):
        for high in range(low + 1, parts + 1):
            found += [Opening(low / parts, high / parts, a, b) for a, b in _runs(np.asarray(free[:, low:high].all(axis=1)))]
    return sorted(found, key=lambda o: -(o.high - o.low) * (o.last - o.first))


def _free_parts(season: Season) -> Bools:
    """Whether each of `opening_parts` of the bed's length is free on each day, (D, N), by the ground and the days of all
    plantings."""
    plan, parts = season.plan, int(constants()["opening_parts"])
    taken, alive = np.zeros((season.days, parts)), season.leaf_m2.mean(axis=1) > 0.0
    died = np.where(alive.any(axis=0), season.days - alive[::-1].argmax(axis=0), 0)
    for i, planned in enumerate(plan.plantings):
        ground = [part.mean() for part in np.array_split(planned.stand.cells, parts, axis=0)]
        taken[planned.start : max(int(died[i]), planned.start + 1)] += ground
    return np.asarray(taken < constants()["opening_taken"])


def _runs(free: Bools) -> list[tuple[int, int]]:
    """First and last days of the runs of free days that are long enough for a quick crop."""
    turns = np.nonzero(np.diff(np.concatenate([[False], free, [False]]).astype(np.int8)))[0]
    runs = [(int(a), int(b) - 1) for a, b in zip(turns[::2], turns[1::2], strict=True)]
    return [(a, b) for a, b in runs if b - a >= constants()["opening_least"]]


def follow_on(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A crop sown or planted where ground is free, as it becomes free or in time for a gap."""
    if reason.cause not in ("gap", "short weeks", "few kinds", "open ground", "ground half used"):
        return
    there = openings(season)[:2]
    for opening in there:
        for crop in _followers(season):
            day = _start_in(opening, crop, reason, season)
            if day is not None:
                yield from _added(season, crop, opening, day)


def _followers(season: Season) -> list[Crop]:
    """Crops that may follow, those of kinds and families that the recipe does not have first."""
    here = [p.crop for p in season.plan.recipe.plantings]
    ids, families = {crop.id for crop in here}, {crop.family for crop in here}
    crops = [load_crop(key) for key in FOLLOWERS if key in index()]
    return sorted(crops, key=lambda crop: (crop.id in ids, crop.family in families))[: int(constants()["followers_most"])]


def _start_in(opening: Opening, crop: Crop, reason: Reason, season: Season) -> int | None:
    """The day on which a crop is started in an opening: with the lead that a gap asks for, else as the ground becomes free."""
    lead = int(crop["development.days_to_harvest"])
    if opening.first + lead > opening.last:
        return None
    wanted = opening.first
    if reason.weeks is not None:
        wanted = season.plan.day(reason.weeks[0]) - lead
    return min(max(wanted, opening.first), opening.last - lead)


def _added(season: Season, crop: Crop, opening: Opening, day: int) -> Iterator[Candidate]:
    """The candidate of a crop in an opening."""
    recipe, way = season.plan.recipe, crop.establish[0]
    name = free_name(crop.name, [p.name for p in recipe.plantings])
    date = season.plan.date(day)
    where = Strip(x=(Span(opening.low, True), Span(opening.high, True)))
    density = float(f"{usual_density(crop, way):.3g}")
    planting = Planting(
        name, crop, way, where, OnDate(month_day(date)), amount=Density(density), path=("plantings", len(recipe.plantings))
    )
    facts = Facts(low=opening.low, high=opening.high)
    words: Names = Facts(crop=(crop.name,), date=(str(date),))
    yield Candidate(AddPlanting(planting).changed(recipe), "follow", (name,), facts, words)


def in_turns(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A crop that is picked in one go sown in several, where weeks stay empty or give too little."""
    if reason.cause not in ("gap", "short weeks"):
        return
    kg = season.planting_kg().mean(axis=0)
    for i in np.argsort(-kg, kind="stable"):
        planting = written(season, season.plan.plantings[int(i)].name)
        if planting is None or planting.again or season.plan.plantings[int(i)].harvests[0].method in ("leaf", "cut", "pick"):
            continue
        apart = constants()["turn_days"]
        try:
            recipe = SplitIntoSuccessions(planting.name, 2, apart).changed(season.plan.recipe)
        except MoveError:
            continue
        yield Candidate(recipe, "split", (planting.name,), Facts(sowings=2.0, days=apart))
        return


def share_ground(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Half of the ground of the planting that has most of it for another crop, where too few kinds or families are grown, where
    one gives a glut, or where two that grow together share the soil or their pests."""
    if reason.cause not in ("few kinds", "few families", "glut", "surplus", "shared soil", "shared pests", "ground half used"):
        return
    planting = _widest(season, reason.plantings)
    halves = _halves(planting) if planting else None
    if planting is None or halves is None:
        return
    here = {p.crop.id for p in season.plan.recipe.plantings}
    families = {p.crop.family for p in season.plan.recipe.plantings}
    crops = [load_crop(key) for key in SWAPS if key in index() and key not in here]
    for crop in sorted(crops, key=lambda crop: crop.family in families)[: int(constants()["followers_most"])]:
        yield from _halved(season, planting, halves, crop)


def _widest(season: Season, names: Sequence[str]) -> Planting | None:
    """The planting with most ground among those of a reason, or of all where it names none."""
    plan = season.plan
    some = [p for p in plan.plantings if not names or p.name in names]
    for planned in sorted(some, key=lambda p: -p.stand.area_m2):
        found = written(season, planned.name)
        if found is not None and not found.again:
            return found
    return None


def _halves(planting: Planting) -> tuple[Strip | Zone, Strip | Zone] | None:
    """The halves of a place along the bed, None for one that cannot be halved."""
    where = planting.where
    a, b = where.x if isinstance(where, Strip | Zone) else (Span(0.0, True), Span(1.0, True))
    if not isinstance(where, Strip | Zone | WholeBed) or a.share != b.share:
        return None
    middle = Span(float(f"{(a.value + b.value) / 2.0:.3g}"), a.share)
    if isinstance(where, Zone):
        return replace(where, x=(a, middle)), replace(where, x=(middle, b))
    return Strip(x=(a, middle)), Strip(x=(middle, b))


def _halved(season: Season, planting: Planting, halves: tuple[Strip | Zone, Strip | Zone], crop: Crop) -> Iterator[Candidate]:
    """The candidate of a crop on half of a planting's ground, started with it."""
    recipe = season.plan.recipe
    name, way = free_name(crop.name, [p.name for p in recipe.plantings]), crop.establish[0]
    if isinstance(planting.amount, Count):
        recipe = SetAmount(planting.name, Count(max(1, planting.amount.plants // 2))).changed(recipe)
    start = next(p.start for p in season.plan.plantings if p.name == planting.name)
    other = Planting(
        name, crop, way, halves[1], OnDate(month_day(season.plan.date(start))),
        amount=Density(float(f"{usual_density(crop, way):.3g}")), path=("plantings", len(recipe.plantings)),
    )  # fmt: skip
    try:
        changed = AddPlanting(other).changed(SetPlace(planting.name, halves[0]).changed(recipe))
    except MoveError:
        return
    yield Candidate(changed, "share", (planting.name, name), Facts(), Facts(crop=(crop.name,)))
