"""More candidates for repairs, each a move: places mirrored, stands thinned, sowings in goes, crops swapped or left out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.library import index
from mixcraft.crops.model import Crop
from mixcraft.files import format_quantity
from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.place.series import days_between
from mixcraft.recipe.density import densest
from mixcraft.recipe.model import (
    AtTrellis,
    Bed,
    Border,
    Count,
    Density,
    Feeding,
    HarvestUse,
    Planting,
    Points,
    Recipe,
    Rows,
    Span,
    Strip,
    Watering,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.moves import (
    DropPlanting,
    Move,
    MoveError,
    SetAmount,
    SetHarvest,
    SetPlace,
    ShiftStart,
    SplitIntoSuccessions,
    SwapCrop,
)
from mixcraft.season.nitrogen import given_g_m2
from mixcraft.season.result import Season

from .constants import constants
from .model import Reason


@dataclass(frozen=True)
class Candidate:
    """A changed recipe, or the same one in a `bed` that is watered or fed otherwise, with the facts of the change; `moves` when
    it matters where on the bed plants stand."""

    recipe: Recipe
    kind: str
    plantings: tuple[str, ...]
    numbers: Numbers = field(default_factory=Facts)
    names: Names = field(default_factory=Facts)
    moves: bool = False
    bed: Bed | None = None


MONTH_DAY = slice(5, 10)
"""Where the month and day stand in an ISO date."""
SWAPS = ("lettuce-loose-leaf", "beetroot", "bean-bush", "chard", "carrot-maincrop", "onion-salad", "kale", "spinach")
"""Easy crops of different families that are tried in the place of another.  Common practice, no source."""
OPPOSITE = {"north": "south", "south": "north", "east": "west", "west": "east"}
SPLIT = {2: "split_twice_days", 3: "split_thrice_days"}
"""Sowings that are tried against a glut, and the constant that says how many days lie between them."""


def changed(
    season: Season, move: Move, kind: str, name: str, numbers: Numbers | None = None, names: Names | None = None, *,
    moves: bool = False,
) -> Iterator[Candidate]:  # fmt: skip
    """The candidate of a move that is told of the planting `name`, if any; none where the move does not fit."""
    try:
        recipe = move.changed(season.plan.recipe)
    except MoveError:
        return
    yield Candidate(recipe, kind, (name,) if name else (), numbers or Facts(), names or Facts(), moves)


def written(season: Season, name: str) -> Planting | None:
    """The planting of the recipe called `name`; the later sowings of a succession are those of their first."""
    plantings = season.plan.recipe.plantings
    found = next((p for p in plantings if p.name == name), None)
    return found or next((p for p in plantings if p.again and name.startswith(f"{p.name} ")), None)


def thin_itself(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A stand that is too thick at the densest usual density, or at the usual one."""
    planting = written(season, reason.plantings[0])
    if reason.cause != "too thick" or planting is None:
        return
    planned = next(p for p in season.plan.plantings if p.name == reason.plantings[0])
    for most in (densest(planned), planting.crop["spacing.density"]):
        share = most / reason.numbers["density"]
        if share >= 1.0:
            continue
        if isinstance(planting.amount, Count):
            count = max(1, math.floor(planting.amount.plants * share))
            facts = Facts(count=float(count), was=float(planting.amount.plants))
            yield from changed(season, SetAmount(planting.name, Count(count)), "fewer", planting.name, facts)
        else:
            value = float(f"{planned.density_per_m2 * share:.2g}")
            text: Names = Facts(text=(format_quantity(value, "density"),))
            move = SetAmount(planting.name, Density(value))
            yield from changed(season, move, "thin", planting.name, Facts(per_m2=value), text)


def mirrored(where: Where, length_m: float, width_m: float, *, along: bool) -> Where:
    """A place mirrored along the length of the bed or across it; the same where there is nothing to mirror."""
    whole = {True: length_m, False: width_m}

    def span(one: Span, axis: bool) -> Span:
        return replace(one, value=(1.0 if one.share else whole[axis]) - one.value) if axis is along else one

    def pair(two: tuple[Span, Span], axis: bool) -> tuple[Span, Span]:
        a, b = (span(one, axis) for one in two)
        return (b, a) if axis is along else (a, b)

    match where:
        case Strip(x=x):
            return replace(where, x=pair(x, True))
        case Zone(x=x, y=y):
            return replace(where, x=pair(x, True), y=pair(y, False))
        case Rows(along=run, at=at, ends=ends):
            across = run == "width"  # rows across the bed stand at distances along it
            moved = None if ends is None else pair(ends, not across)
            return replace(where, at=tuple(span(one, across) for one in at), ends=moved)
        case Points(at=at):
            return replace(where, at=tuple((span(x, True), span(y, False)) for x, y in at))
        case Border(edge=edge) | AtTrellis(edge=edge) if edge in OPPOSITE:
            return replace(where, edge=OPPOSITE[edge])
    return where


def other_end(reason: Reason, season: Season) -> Iterator[Candidate]:
    """The tall one at the other end or side of the bed; or the low one there, or the two in each other's place."""
    if reason.cause != "sunny side":
        return
    recipe = season.plan.recipe
    low, tall = (written(season, name) for name in reason.plantings[:2])
    if low is None or tall is None or low is tall:
        return
    for along in (True, False):
        both = recipe
        for planting in (tall, low):
            where = mirrored(planting.where, recipe.length_m, recipe.width_m, along=along)
            if where != planting.where:
                yield from changed(season, SetPlace(planting.name, where), "mirror", planting.name, moves=True)
                both = SetPlace(planting.name, where).changed(both)
        if both != recipe:
            yield Candidate(both, "exchange", (tall.name, low.name), moves=True)


def off_the_spot(reason: Reason, season: Season) -> Iterator[Candidate]:
    """The later of two that collide where there is room, or once the earlier has gone."""
    second = written(season, reason.plantings[0]) if reason.cause == "one spot" else None
    if second is None or reason.weeks is None:
        return
    yield from changed(season, SetPlace(second.name, WholeBed()), "spread", second.name, moves=True)
    weeks = math.ceil(days_between(*reason.weeks) / 7) + 1
    day = str(reason.weeks[0] + 7 * weeks)
    yield from changed(
        season, ShiftStart(second.name, float(weeks)), "shift", second.name, Facts(weeks=float(weeks)), Facts(date=(day,))
    )


def in_goes(reason: Reason, season: Season) -> Iterator[Candidate]:
    """What comes at once, sown in several goes or picked by the leaf or as wanted."""
    if reason.cause not in ("glut", "surplus"):
        return
    for name in reason.plantings:
        planting = written(season, name)
        if planting is None:
            continue
        for sowings, days in ((n, constants()[name]) for n, name in SPLIT.items()):
            numbers = Facts(sowings=float(sowings), days=days)
            yield from changed(season, SplitIntoSuccessions(planting.name, sowings, days), "split", planting.name, numbers)
        uses = planting.harvest or (HarvestUse(planting.crop.main_part.name),)
        for use in uses:
            part = planting.crop.part(use.part)
            for method in ("leaf", "pull", "cut"):
                if part is not None and method in part.methods and method != (use.method or part.methods[0]):
                    names: Names = Facts(part=(part.name,), method=(method,))
                    move = SetHarvest(planting.name, replace(use, method=method, every_days=None))
                    yield from changed(season, move, "method", planting.name, names=names)


def other_crop(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Another crop in the place of one that gives little, that follows its like, or of which there is too much."""
    name = _replaced(reason, season)
    planting = written(season, name) if name else None
    if planting is None or isinstance(planting.where, AtTrellis):
        return
    before = (load_crop(key).family for _, keys in season.plan.bed.history for key in keys)
    grows = {p.crop.family for p in season.plan.recipe.plantings} | set(before)
    crops = [load_crop(key) for key in SWAPS if key in index() and key != planting.crop.id]
    for crop in sorted(crops, key=lambda c: c.family in grows)[: int(constants()["swaps_most"])]:
        yield from _swapped(season, planting, crop)


def _swapped(season: Season, planting: Planting, crop: Crop) -> Iterator[Candidate]:
    move = SwapCrop(planting.name, crop)
    yield from changed(season, move, "swap", planting.name, names=Facts(crop=(crop.name,)))


SWAPPED_FOR = (
    "little", "nothing", "no food", "rotation", "family again", "bolting", "drought", "light", "crowding", "lifting",
    "out of season", "no support", "too thin", "bitter",
)  # fmt: skip
"""Causes for which another crop may stand in the place of the planting that suffers."""


def _replaced(reason: Reason, season: Season) -> str:
    """Name of the planting in whose place another crop may help."""
    if reason.cause in SWAPPED_FOR:
        return reason.plantings[0]
    if reason.cause in ("shared soil", "shared pests"):
        return reason.plantings[-1]
    if reason.cause == "few families" and len(reason.plantings) > 1:
        return reason.plantings[-1]
    if reason.cause == "few kinds":
        crops = [p.crop.id for p in season.plan.recipe.plantings]
        twice = [p.name for p in season.plan.recipe.plantings if crops.count(p.crop.id) > 1]
        return twice[-1] if twice else ""
    return ""


DROPPED_FOR = (
    "little", "nothing", "no food", "rotation", "family again", "one spot", "light", "crowding", "shared soil", "shared pests",
    "cut off", "short season", "bolting", "drought", "lifting", "too thin", "out of season", "no support", "bitter",
)  # fmt: skip
"""Causes for which the planting that suffers may be left out."""


def left_out(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Without a planting that hardly earns its place."""
    if reason.plantings and reason.cause in DROPPED_FOR:
        yield from changed(season, DropPlanting(reason.plantings[0]), "drop", reason.plantings[0])


THIRSTY = ("drought", "gap", "short weeks")
"""Causes for which water is tried on any bed that is not always watered."""


def water_or_feed(reason: Reason, season: Season) -> Iterator[Candidate]:
    """The bed kept moist, or fed as vegetable beds usually are, where that is what is lacking."""
    bed, recipe, least = season.plan.bed, season.plan.recipe, constants()["lacking_least"]
    if bed.watering.kind != "watered" and (reason.cause in THIRSTY or reason.numbers.get("water", 0.0) >= least):
        yield Candidate(recipe, "water", (), names=Facts(bed=(bed.name,)), bed=replace(bed, watering=Watering()))
    if given_g_m2(bed.feeding) < given_g_m2(Feeding()) and reason.numbers.get("nutrients", 0.0) >= least:
        yield Candidate(recipe, "feed", (), names=Facts(bed=(bed.name,)), bed=replace(bed, feeding=Feeding()))


def month_day(day: np.datetime64) -> str:
    """Month and day of a date; the last of February is the 28th, since a recipe is for every year."""
    text = str(day)[MONTH_DAY]
    return "02-28" if text == "02-29" else text
