"""The plan: a recipe in a bed of a garden, with every date, number and place settled, before the season is grown.

Dates come from the place's normal year: they are what a card can print.  Weather years then meet the plan as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import ROOTED, SOWN, STANDING, Clock, head_start, run_clock
from mixcraft.crops.development import NEVER
from mixcraft.crops.resting import Stood, sprouted, stood
from mixcraft.crops.windows import part_window
from mixcraft.files import Fault, FileFaults
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import Place, Weather
from mixcraft.place.series import days_between

from .bed_year import shared_ground, years_later
from .calendar import SEARCH_DAYS, YEAR, Almanac, almanac
from .constants import constant
from .covering import shelter
from .density import check_density
from .drills import drill_notes
from .harvests import HarvestPlan as HarvestPlan
from .harvests import cut_at, usual_harvest, with_toppings
from .layout import (
    Grid,
    Stand,
    grid_of,
    trellis_of,
)
from .model import (
    After,
    AtAge,
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Bed,
    Garden,
    Moment,
    OnDate,
    OnDay,
    Planting,
    Recipe,
)
from .notes import Note, notes_of
from .rules import Breach, check, fault_at
from .rules_bed import check_bed
from .stands import stands_of
from .starts import StartError, start_day
from .successions import with_sowings

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SEASON_DAYS_MAX = 600
"""A season is followed for at most so many days from the first sowing."""
AFTER_LAST_DAYS = int(constant("after_last"))
"""Days followed after the normal year's last harvest, so that late years can finish theirs."""


@dataclass(frozen=True, slots=True)
class CoverSpan:
    """A cover over a planting from day index `on` up to but not including `off`; `owner` is the planting for which it is laid, ""
    of a structure in which the bed stands."""

    kind: str
    on: int
    off: int
    owner: str


@dataclass(frozen=True)
class Planned:
    """One planting with its place, numbers and dates (day indices of the plan; `NEVER` for what does not happen).

    `sown_factor` seedlings are sown for each plant that stays; they are thinned on `thin_day`, or when the thinnings are big
    enough to eat if the recipe gives no day.
    """

    index: int
    planting: Planting
    stand: Stand
    start: int
    end: int
    clock: Clock
    covers: tuple[CoverSpan, ...]
    harvests: tuple[HarvestPlan, ...]
    support_m: float | None
    depth_m: float
    sown_factor: float
    thin_day: int | None
    seeds: float
    seed_g: float
    first_harvest: int
    last_harvest: int

    @property
    def name(self) -> str:
        """Name of the planting within its recipe."""
        return self.planting.name

    @property
    def laid(self) -> tuple[CoverSpan, ...]:
        """Covers that are laid over it and taken off again, without the structure in which the bed stands."""
        return tuple(span for span in self.covers if span.owner)

    @property
    def density_per_m2(self) -> float:
        """Plants per square metre of the planting's own area."""
        return self.stand.plants / self.stand.area_m2

    @property
    def thins_in_rounds(self) -> bool:
        """Whether the surplus goes little by little, as it comes to be eaten: no day is given, and thinnings are picked."""
        return self.thin_day is None and any(x.method == "thin" for x in self.harvests)


@dataclass(frozen=True)
class Plan:
    """A recipe in a bed with everything settled.  Day 0 is `start`; `days` days are followed.

    `plantings` are those of the recipe in its order, then the later sowings of its successions.
    """

    recipe: Recipe
    garden: Garden
    bed: Bed
    start: np.datetime64
    days: int
    grid: Grid
    plantings: tuple[Planned, ...]
    almanac: Almanac
    notes: tuple[Note, ...] = field(default=())

    @property
    def place(self) -> Place:
        """The place of the garden."""
        return self.garden.place

    @property
    def harvests(self) -> tuple[HarvestPlan, ...]:
        """All harvests, planting after planting."""
        return tuple(harvest for planned in self.plantings for harvest in planned.harvests)

    @property
    def offset(self) -> int:
        """Day 0 as a day of the almanac."""
        return self.almanac.day(self.start)

    def date(self, day: int) -> np.datetime64:
        """Calendar day of day index `day`."""
        return self.start + np.timedelta64(int(day), "D")

    def day(self, date: np.datetime64) -> int:
        """Day index of a calendar day."""
        return days_between(self.start, date)


def plan(
    recipe: Recipe, garden: Garden, bed_name: str, *, most_days: int = SEASON_DAYS_MAX, draw: bool = True, spread: bool = True,
    keep: Shelf | None = None, apart: bool = False,
) -> Plan:  # fmt: skip
    """Settle `recipe` in the bed `bed_name` of `garden`; at most `most_days` days are followed; without `draw`, plants get no
    positions but where the recipe says where they stand, without `spread` those that are put where there is room get none unless
    they may stand too thick, which is enough for a score by layers.  `keep` holds clocks and soil temperatures of the normal year
    from one plan to the next.  `apart`, the plantings are trials beside one another: their dates are not brought
    into the order of one bed's year.

    Raises `FileFaults` with every planting that does not fit, climbs nothing, or whose start never comes; KeyError for an
    unknown bed.
    """
    sky = almanac(garden.place)
    keep = sky.keep if keep is None else keep
    check(recipe, keep)
    bed = garden.bed(bed_name)
    check_bed(bed)
    faults: list[Fault] = []
    over = structure(bed)
    sown = with_sowings(recipe, sky, lambda tried: _starts_and_clocks(tried, sky, faults, keep, over)[0])
    grid = grid_of(bed.length_m, bed.width_m, plantings=len(sown.plantings))
    stands = stands_of(sown, bed, grid, faults, draw=draw, spread=spread, keep=keep)
    starts, clocks = _starts_and_clocks(sown, sky, faults, keep, over)
    if faults:
        raise FileFaults(faults)
    if not apart:
        spans = [_span(p, c, keep) for p, c in zip(sown.plantings, clocks, strict=True)]
        later = years_later(sown, starts, [a for a, _ in spans], [b for _, b in spans], shared_ground(stands))
        if any(later):
            starts, clocks = _starts_and_clocks(sown, sky, faults, keep, over, later)
    covers = _cover_spans(sown, over, stands, clocks, sky, keep)
    clocks = [
        _clock(p, starts[i], sky, covers[i], keep) if covers[i] else clocks[i] for i, p in enumerate(sown.plantings)
    ]  # fmt: skip
    planned = [_planned(i, sown, bed, stands[i], starts[i], clocks[i], covers[i], sky, keep) for i in range(len(starts))]
    _check_ends(sown, planned, sky)
    check_density(sown, planned, grid)
    first = min(starts)
    last = max(p.end for p in planned)
    days = int(min(last - first + 1 + AFTER_LAST_DAYS, most_days))
    shifted = tuple(_shift(p, first, keep) for p in planned)
    notes = (*notes_of(sown, bed, grid, sky, starts), *drill_notes(planned))
    return Plan(recipe, garden, bed, sky.date(first), days, grid, shifted, sky, notes)


def _check_ends(recipe: Recipe, planned: Sequence[Planned], sky: Almanac) -> None:
    """Refuse a planting that is cleared, by its own rule, before it starts."""
    faults = []
    for i, item in enumerate(planned):
        rule = item.planting.end
        ruled = isinstance(rule, OnDate | AtAge) or (isinstance(rule, AutumnFrost) and sky.first_autumn_frost is not None)
        if ruled and item.end <= item.start:
            said = f"{item.name} is cleared on {sky.words(item.end)}, but starts on {sky.words(item.start)}"
            breach = Breach(("plantings", i, "end"), "end.before_start", said, repair="give a later end, or an earlier start")
            faults.append(fault_at(recipe, breach))
    if faults:
        raise FileFaults(faults)


def _span(planting: Planting, clock: Clock, keep: Shelf) -> tuple[int, int]:
    """First picking of a planting and the day on which it leaves its ground in the normal year, near enough to order dates by."""
    first, last = harvest_span(planting, clock, keep)
    end = int(min(clock.end[0], clock.start + YEAR))
    return (first, last) if last >= 0 else (end, end)


def _starts_and_clocks(
    recipe: Recipe, sky: Almanac, faults: list[Fault], keep: Shelf, over: tuple[CoverSpan, ...], later: Sequence[int] = ()
) -> tuple[list[int], list[Clock]]:
    """Start days and clocks, under the bed's structure, in an order in which each planting comes after the one it waits for;
    those that have a date of their own so many days `later`."""
    names = [p.name for p in recipe.plantings]
    starts: dict[str, int] = {}
    clocks: dict[str, Clock] = {}
    windows: dict[str, tuple[int, int]] = {}
    todo = list(recipe.plantings)
    while todo:
        ready = [p for p in todo if not isinstance(p.start, After) or p.start.planting in starts]
        if not ready:
            raise ValueError(f"{todo[0].name} waits for a planting that never starts")
        for planting in ready:
            todo.remove(planting)
            try:
                day = start_day(planting, sky, starts, clocks, windows, keep, over)
                day += later[names.index(planting.name)] if later and not isinstance(planting.start, After) else 0
            except StartError as error:
                path = ("plantings", names.index(planting.name), "start", *error.where)
                faults.append(fault_at(recipe, Breach(path, "start.never", str(error), repair=error.repair)))
                day = 100
            starts[planting.name] = day
            clocks[planting.name] = clock = _clock(planting, day, sky, over, keep)
            windows[planting.name] = harvest_span(planting, clock, keep)
    return [starts[n] for n in names], [clocks[n] for n in names]


def _clock(planting: Planting, start: int, sky: Almanac, covers: Sequence[CoverSpan], keep: Shelf) -> Clock:
    depth = planting.set_m
    over = tuple((span.kind, span.on, span.off) for span in covers)

    def made() -> Clock:
        mean, low = keep(("air", over), lambda: covered_air(sky.weather, covers))
        soil = sky.soil_c(depth, covers, keep)
        return run_clock(
            planting.crop, planting.comes, start, mean, low, soil, sky.daylength_h, sky.snow_cm, sky.weather.tmean_c,
            shelter(covers, sky.weather.days).sky, standing_from(planting, start, sky),
        )  # fmt: skip

    found: Clock = keep(("clock", Same(planting.crop), planting.comes, start, depth, over), made)
    return found


def standing_from(planting: Planting, day: int, sky: Almanac) -> Stood | None:
    """What a planting that stands brings into the season on an almanac's day of the normal year; nothing in others."""
    air = sky.weather.tmean_c[0, :YEAR]
    if planting.comes == ROOTED:
        return sprouted(planting.crop, air, sky.soil_c(planting.set_m)[0, :YEAR], day % YEAR)
    if planting.comes != STANDING:
        return None
    return stood(planting.crop, head_start(planting.crop, STANDING), air, day % YEAR)


def covered_air(weather: Weather, covers: Sequence[CoverSpan]) -> tuple[Floats, Floats]:
    """Daily mean and minimum air temperature under the covers of a planting [C], (Y, D)."""
    over = shelter(covers, weather.days)
    return over.mean_c(weather.tmean_c), over.min_c(weather.tmin_c)


def moment_day(moment: Moment, clock: Clock, sky: Almanac, last: int | None = None) -> int:
    """Day index of a moment in the life of the planting with this clock, in the normal year."""
    if isinstance(moment, OnDay):
        return sky.month_day(moment.month_day, not_before=clock.start)
    if moment.event == "last harvest":
        day = last if last is not None else int(clock.end[0])
    else:
        day = int(clock.event(moment.event)[0])
    return day if day >= NEVER else int(day + moment.days)


def structure(bed: Bed) -> tuple[CoverSpan, ...]:
    """The structure in which a bed stands, as a cover of every planting before and after all days that are reckoned."""
    return (CoverSpan(bed.under, -SEARCH_DAYS, 2 * SEARCH_DAYS, ""),) if bed.under else ()


def _cover_spans(
    recipe: Recipe, over: tuple[CoverSpan, ...], stands: Sequence[Stand], clocks: Sequence[Clock], sky: Almanac, keep: Shelf
) -> list[tuple[CoverSpan, ...]]:
    """Covers by planting: its own, those of others over at least half of its place, and the bed's structure, `over` all."""
    own: list[list[CoverSpan]] = []
    for planting, clock in zip(recipe.plantings, clocks, strict=True):
        spans = []
        for use in planting.covers:
            last = harvest_span(planting, clock, keep)[1]
            on, off = (moment_day(m, clock, sky, last if last >= 0 else None) for m in (use.on, use.off))
            if off > on:
                spans.append(CoverSpan(use.kind, on, min(off, SEARCH_DAYS), planting.name))
        own.append(spans)
    result = []
    for i, stand in enumerate(stands):
        spans = list(own[i])
        for j, other in enumerate(stands):
            if j == i or not own[j]:
                continue
            shared = float(np.minimum(stand.cells, other.cells).sum() / stand.cells.sum())
            if shared >= 0.5:
                spans += own[j]
        result.append((*spans, *over))
    return result


def harvest_plans(index: int, planting: Planting, clock: Clock, sky: Almanac) -> tuple[HarvestPlan, ...]:
    """How each part of a planting is picked: what the recipe says, else the main part in its usual way."""
    plans = []
    uses = planting.harvest
    if not uses:
        part = planting.crop.main_part
        plans.append(usual_harvest(index, part, part.methods[0]))
    for use in uses:
        chosen = planting.crop.part(use.part)
        if chosen is None:
            continue
        base = cut_at(usual_harvest(index, chosen, use.method or chosen.methods[0]), use.cut_height_m)
        plans.append(
            replace(
                base, interval_days=use.every_days or base.interval_days, cuts=use.cuts or base.cuts,
                counted=use.cuts is not None,
                start=moment_day(use.start, clock, sky) if use.start else None,
                until=moment_day(use.until, clock, sky) if use.until else None,
            )
        )  # fmt: skip
    return with_toppings(plans)


def harvest_span(planting: Planting, clock: Clock, keep: Shelf) -> tuple[int, int]:
    """First and last picking day of the main picked part in the normal year (`NEVER`, -1 if nothing is picked)."""
    key = "span", Same(clock), Same(planting.crop), planting.harvest, planting.years
    found: tuple[int, int] = keep(key, lambda: _harvest_span(planting, clock))
    return found


def _harvest_span(planting: Planting, clock: Clock) -> tuple[int, int]:
    uses = planting.harvest
    parts = [planting.crop.part(u.part) for u in uses] if uses else [planting.crop.main_part]
    begun = [bool(u.start) for u in uses] or [False]
    methods = [(u.method or (p.methods[0] if p else "once")) for u, p in zip(uses, parts, strict=False)] or [
        planting.crop.main_part.methods[0]
    ]
    first, last = NEVER, -1
    for part, method, late in zip(parts, methods, begun, strict=True):
        if part is None or planting.too_young(part):
            continue
        opens, closes = (int(a[0]) for a in part_window(planting.crop, part, clock, method, stands=planting.stands))
        if opens < NEVER:
            first = min(first, opens)
            last = max(last, opens if method == "once" and not late else closes)
    return first, last


def _planned(
    index: int, recipe: Recipe, bed: Bed, stand: Stand, start: int, clock: Clock, covers: tuple[CoverSpan, ...],
    sky: Almanac, keep: Shelf,
) -> Planned:  # fmt: skip
    planting = recipe.plantings[index]
    first, last = harvest_span(planting, clock, keep)
    harvests = harvest_plans(index, planting, clock, sky)
    end = _end_day(planting, clock, sky, start, last)
    seeds, grams = seed_amount(planting, stand)
    return Planned(
        index, planting, stand, start, end, clock, covers, harvests, _support(planting, bed), planting.set_m,
        thinning_factor(planting, stand), _thin_day(planting, clock, sky), seeds, grams,
        first, min(last, end),
    )  # fmt: skip


def _end_day(planting: Planting, clock: Clock, sky: Almanac, start: int, last: int) -> int:
    limit = start + SEASON_DAYS_MAX
    match planting.end:
        case OnDate(month_day, hemisphere):
            return min(sky.month_day(month_day, not_before=start, hemisphere=hemisphere), limit)
        case AtAge(days):
            return min(start + int(days), limit)
        case AutumnFrost(weeks) if sky.first_autumn_frost is not None:
            return min(sky.first_autumn_frost_after(start) + int(7 * weeks), limit)
        case _:
            pass
    natural = min(int(clock.end[0]), int(clock.death[0]), _autumn_limit(planting, sky, start))
    last = min(last, natural)
    if planting.crop.life == "perennial":
        natural = min(natural, start + YEAR)
    elif last >= 0:
        natural = last
    return int(min(natural, limit))


THINNED_FROM = constant("thinned_from")
"""Plants sown for each that stays where thinnings are picked and the recipe says no number.  Common practice, no source."""


def thinning_factor(planting: Planting, stand: Stand) -> float:
    """Seedlings wanted for each plant that stays: 1 without thinning."""
    if planting.thin is not None:
        return max(1.0, planting.thin.sown_per_m2 * stand.area_m2 / stand.plants)
    return THINNED_FROM if eats_thinnings(planting) else 1.0


def eats_thinnings(planting: Planting) -> bool:
    """Whether a planting's thinnings are picked."""
    return any(
        (use.method or (part.methods[0] if (part := planting.crop.part(use.part)) else "")) == "thin" for use in planting.harvest
    )


def _thin_day(planting: Planting, clock: Clock, sky: Almanac) -> int | None:
    """Day on which the surplus goes in one go; None where nothing does, or in rounds as it comes to be eaten."""
    thin = planting.thin
    if thin is None or (thin.at is None and eats_thinnings(planting)):
        return None
    return moment_day(thin.at or AtEvent("emergence", float(constant("thinned_after"))), clock, sky)


TENDER_C = constant("outlasts_autumn")
"""Crops that die at this temperature or a higher one do not outlast the autumn."""


def _autumn_limit(planting: Planting, sky: Almanac, start: int) -> int:
    """Last day a tender crop is followed: some weeks after the first autumn frost, which the smooth normal year never shows."""
    if sky.first_autumn_frost is None or planting.crop["frost.grown"] < TENDER_C:
        return NEVER
    return sky.first_autumn_frost_after(start) + AFTER_LAST_DAYS


def seed_amount(planting: Planting, stand: Stand) -> tuple[float, float]:
    """Seeds (or pieces) to buy and their weight [g].

    Plants wanted, or seedlings before thinning, over germination and field factor; at stations three seeds each would be
    usual practice, but no more is counted than the plants asked for need.  Pieces that are planted count as one each.
    """
    crop = planting.crop
    plants = stand.plants * thinning_factor(planting, stand)
    if planting.establish in (*SOWN, "module"):
        rate = crop["seed.germination"] / 100.0
        if planting.establish != "module":
            rate *= crop["seed.field_factor"]
        seeds = plants / rate
        return seeds, seeds / crop["seed.per_gram"]
    return float(round(plants)), plants * crop.number("seed.propagule_mass", 0.0)


def _support(planting: Planting, bed: Bed) -> float | None:
    if isinstance(planting.where, AtTrellis):
        _, height = trellis_of(planting, bed)
        return planting.support_height_m or height
    if planting.support:
        return planting.support_height_m or constant("support_height")
    return None


def _shift(planned: Planned, first: int, keep: Shelf) -> Planned:
    """The planting on the plan's own day count, whose day 0 is the first start."""

    def move(day: int) -> int:
        return day if day >= NEVER or day < 0 else day - first

    covers = tuple(replace(c, on=c.on - first, off=c.off - first) for c in planned.covers)
    harvests = tuple(
        h if h.start is None and h.until is None
        else replace(h, start=None if h.start is None else move(h.start), until=None if h.until is None else move(h.until))
        for h in planned.harvests
    )  # fmt: skip
    return replace(
        planned, start=planned.start - first, end=planned.end - first, covers=covers, harvests=harvests,
        first_harvest=move(planned.first_harvest), last_harvest=move(planned.last_harvest),
        thin_day=None if planned.thin_day is None else move(planned.thin_day),
        clock=keep(("moved", Same(planned.clock), first), lambda: planned.clock.moved(first)),
    )  # fmt: skip
