"""Rules of one planting: crop and its values, way of establishing, amount, place, times, covers, support, harvest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import cast, get_args

from mixcraft.crops.checking import CARDINALS, RISING, RISING_TABLES, allowed_after, falls
from mixcraft.crops.clock import DORMANT, SOWN
from mixcraft.crops.keys import CropKey
from mixcraft.crops.library import index, load_crop
from mixcraft.crops.model import Crop
from mixcraft.files import format_quantity
from mixcraft.files.faults import PathTuple
from mixcraft.files.near import did_you_mean

from .constants import constant
from .limits import Limits, crop_limits, limits
from .model import (
    EDGES,
    After,
    AtAge,
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Border,
    Count,
    CoverUse,
    Density,
    End,
    HarvestUse,
    Moment,
    OnDate,
    OnDay,
    Planting,
    Points,
    Rows,
    SeedRate,
    Span,
    SpringFrost,
    Start,
    Strip,
    Times,
    WarmSoil,
    Where,
    Zone,
)
from .moments import EVENTS, FARTHEST_DAYS, MomentError, check_month_day, moment_text
from .rules import Breach, PlantingRule, text_breach

ABSURD = constant("absurd_times")
"""A stand of so many times the crop's densest usual one is a slip of the pen.  Common practice, no source."""


# Small rules that several others use ---------------------------------------------------------------


def number(value: object, path: PathTuple, bounds: Limits, *, whole: bool = False) -> Iterator[Breach]:
    """A finite number within its bounds."""
    label, unit = str(path[-1]), bounds.dimension

    def shown(bound: float) -> str:
        return format_quantity(bound, unit) if unit else f"{bound:g}"

    kind = int if whole else int | float
    if isinstance(value, bool) or not isinstance(value, kind) or not math.isfinite(value):
        said = "a whole number" if whole else "a number"
        yield Breach(path, "number.kind", f"{label} is not {said}", repr(value), _span_words(bounds, shown), f"write {said}")
    elif (bounds.low is not None and value < bounds.low) or (bounds.high is not None and value > bounds.high):
        side = "small" if bounds.low is not None and value < bounds.low else "large"
        found = shown(value) if value >= 0.0 or unit in ("", "temperature") else f"{value:g}"
        yield Breach(
            path, "number.bounds", f"{label} is too {side}", found, _span_words(bounds, shown), "check the unit and the number"
        )  # fmt: skip


def _span_words(bounds: Limits, shown: object) -> str:
    words = cast("type[str]", shown)
    if bounds.low is not None and bounds.high is not None:
        return f"from {words(bounds.low)} to {words(bounds.high)}"
    return f"{words(bounds.low)} or more" if bounds.low is not None else f"up to {words(bounds.high)}" if bounds.high else ""


def word(value: str, path: PathTuple, allowed: tuple[str, ...]) -> Iterator[Breach]:
    """One of the words that are known."""
    if value not in allowed:
        near = did_you_mean(str(value), allowed)
        yield Breach(
            path, "word.unknown", f"`{path[-1]}` is not one of the words that are known here", str(value), ", ".join(allowed),
            f"did you mean {near[0]}?" if near else "write one of the allowed words",
        )  # fmt: skip


def month_day(text: str, path: PathTuple) -> Iterator[Breach]:
    """A month-day that every year has."""
    try:
        check_month_day(text)
    except MomentError as error:
        yield Breach(path, "date.unreadable", str(error), str(text), repair='for example "04-15"')


def moment(value: Moment, path: PathTuple) -> Iterator[Breach]:
    """An event that there is, not too far off, or a month-day."""
    if isinstance(value, OnDay):
        yield from month_day(value.month_day, path)
    elif isinstance(value, AtEvent):
        if value.event not in EVENTS:
            yield Breach(
                path, "moment.unreadable", f"{value.event!r} is no event in the life of a planting", str(value.event),
                ", ".join(EVENTS), 'for example "emergence + 3 weeks"',
            )  # fmt: skip
        yield from number(value.days, path, Limits(-FARTHEST_DAYS, FARTHEST_DAYS))
    else:
        yield _no_kind(path, value, "a moment")


def _no_kind(path: PathTuple, value: object, what: str) -> Breach:
    return Breach(path, "kind.unknown", f"{type(value).__name__} is not {what}", repr(value)[:60], repair=f"give {what}")


def moments_in_order(first: Moment | None, then: Moment | None, path: PathTuple, key: str) -> Iterator[Breach]:
    """The second moment comes after the first, as far as that can be said without knowing the place."""
    if not (isinstance(first, AtEvent) and isinstance(then, AtEvent)):
        return
    if first.event != then.event or then.days > first.days:
        return
    from_, until = moment_text(first), moment_text(then)
    later = f"{first.event} + {first.days / 7 + 3:.0f} weeks" if first.days > -21.0 else first.event
    yield Breach(
        (*path, key), "moment.order", f"{until!r} does not come after {from_!r}", until, f"later than {from_!r}",
        f'for example "{later}"',
    )  # fmt: skip


# The rules -----------------------------------------------------------------------------------------


def texts(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Name, cultivar and note."""
    yield from text_breach(planting.name, (*path, "name"), limits("plantings", "name").most, needed=True)
    yield from text_breach(planting.cultivar, (*path, "cultivar"), limits("plantings", "cultivar").most)
    yield from text_breach(planting.note, (*path, "note"), limits("plantings", "note").most, lines=True)


def crop_values(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Values that are not the library's lie within the bounds of their fields and in their order."""
    crop = planting.crop
    if is_of_library(crop):
        return
    usual = load_crop(crop.id).records if crop.id in index() else {}
    for key, record in crop.records.items():
        old = usual.get(key)
        if old is record:
            continue
        bounds = crop_limits(key)
        value = record.value
        low, high = bounds.low, bounds.high
        if not math.isfinite(value) or (low is not None and value < low) or (high is not None and value > high):
            library = f"; the library has {old.value:g}" if old is not None else ""
            yield Breach(
                (*path, "overrides", key), "override.bounds", f"{key} of {crop.name} cannot be {value:g} {record.unit}",
                f"{value:g} {record.unit}", f"{low:g} to {high:g} {record.unit}{library}",
                "mend the number or leave it out",
            )  # fmt: skip
    yield from _stages(crop, path)


def _stages(crop: Crop, path: PathTuple) -> Iterator[Breach]:
    for keys in (*RISING, CARDINALS, *RISING_TABLES):
        for a, b in pairwise(key for key in keys if key in crop.records):
            if falls(b, crop[b], crop[a]):
                given = b if crop.records[b].source == "recipe" else a
                yield Breach(
                    (*path, "overrides", given), "override.order", f"{crop.name}: {b} must come after {a}", f"{crop[b]:g}",
                    allowed_after(b, crop[a]), f"mend {given}",
                )  # fmt: skip


def is_of_library(crop: Crop) -> bool:
    """Whether a crop is one of the library's, unchanged."""
    return crop.id in index() and (load_crop(crop.id) is crop or load_crop(crop.id) == crop)


def establishing(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A way that there is, and by which this crop can be raised."""
    crop, way, where = planting.crop, planting.establish, (*path, "establish")
    unknown = list(word(way, where, limits("plantings", "establish").words))
    yield from unknown
    if unknown:
        return
    missing = way not in DORMANT and _seedless(crop, way)
    if missing or (way in DORMANT and way != "plant" and way not in crop.establish):
        yield Breach(
            where, "establish.way", f"{crop.name} is not established as {way}", way, ", ".join(crop.establish),
            f"write `establish: {crop.establish[0]}`",
        )  # fmt: skip


SEED_VALUES: tuple[CropKey, ...] = ("seed.per_gram", "seed.germination", "seed.field_factor")
"""What must be known of a seed to say how many plants come of a weight of it."""


def _seedless(crop: Crop, way: str) -> bool:
    needed = SEED_VALUES if way in SOWN else SEED_VALUES[:2]
    return any(key not in crop.records for key in needed)


def amount(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A number that can stand there; nothing said where plants are drawn one by one."""
    given = planting.amount
    if isinstance(planting.where, Points) and isinstance(given, Count) and given.plants == len(planting.where.at):
        return
    if isinstance(planting.where, Points) and isinstance(given, Count | Density | SeedRate):
        key = {Count: "count", Density: "density", SeedRate: "seed_rate"}[type(given)]
        yield Breach(
            (*path, key), "amount.points", f"{planting.name}: drawn points already say how many", key, repair=f"delete {key}"
        )  # fmt: skip
    elif isinstance(given, Count):
        yield from number(given.plants, (*path, "count"), limits("plantings", "count"), whole=True)
    elif isinstance(given, Density):
        yield from number(given.per_m2, (*path, "density"), limits("plantings", "density"))
        yield from _absurd(planting, given.per_m2, (*path, "density"), "density")
    elif isinstance(given, SeedRate):
        yield from number(given.g_per_m2, (*path, "seed_rate"), limits("plantings", "seed_rate"))
        if any(key not in planting.crop.records for key in SEED_VALUES):
            yield Breach(
                (*path, "seed_rate"), "amount.seedless", f"{planting.crop.name} is not raised from seed", "seed_rate",
                repair="give a count or a density",
            )  # fmt: skip
    elif type(given).__name__ != "Usual":
        yield _no_kind((*path, "density"), given, "an amount: Count, Density, SeedRate or Usual")


def _absurd(planting: Planting, density: float, path: PathTuple, key: str) -> Iterator[Breach]:
    record = planting.crop.records["spacing.density"]
    limit = max(record.high or 0.0, planting.crop.number("spacing.cutting_density", 0.0), record.value)
    if isinstance(density, int | float) and math.isfinite(density) and density > ABSURD * limit:
        yield Breach(
            path, "amount.absurd", f"{density:g} plants of {planting.crop.name} do not fit on a square metre",
            format_quantity(density, "density"), f"at most {ABSURD * limit:g} plants/m2; {record.value:g} is usual",
            f"write `{key}: {record.value:g} plants/m2`",
        )  # fmt: skip


def thinning(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Sown thicker, but not thicker than seedlings can stand, and thinned at a moment."""
    thin = planting.thin
    if thin is None:
        return
    where = (*path, "thin", "sown")
    bad = list(number(thin.sown_per_m2, where, limits("plantings", "thin", "sown")))
    yield from bad or _absurd(planting, thin.sown_per_m2, where, "sown")
    if thin.at is not None:
        yield from moment(thin.at, (*path, "thin", "at"))


def place(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A place whose measures are numbers and whose words are known."""
    where, at = planting.where, (*path, "place")
    if isinstance(where, Strip):
        yield from _spans(where.x, at)
    elif isinstance(where, Zone):
        yield from _spans(where.x, (*at, "x"))
        yield from _spans(where.y, (*at, "y"))
    elif isinstance(where, Rows):
        yield from word(where.along, (*at, "along"), limits("plantings", "place:row", "along").words)
        yield from _some(where.at, (*at, "at"), limits("plantings", "place:row", "at").most)
        yield from _spans(where.at, (*at, "at"))
        yield from _spans(where.ends or (), at)
    elif isinstance(where, Points):
        yield from _some(where.at, (*at, "at"), limits("plantings", "place:points", "at").most)
        for i, point in enumerate(where.at):
            yield from _spans(point, (*at, "at", i))
    elif isinstance(where, Border):
        yield from word(where.edge, (*at, "edge"), EDGES)
        yield from number(where.depth_m, (*at, "depth"), limits("plantings", "place:edge", "depth"))
    elif isinstance(where, AtTrellis):
        yield from word(where.edge, (*at, "edge"), (*EDGES, "any"))
    elif not isinstance(where, get_args(Where)):
        yield _no_kind(at, where, "a place")


def _some(items: tuple[object, ...], path: PathTuple, most: int | None) -> Iterator[Breach]:
    if not items or (most is not None and len(items) > most):
        yield Breach(path, "place.some", "a place has at least one of these", str(len(items)), f"1 to {most}", "draw some")


def _spans(spans: tuple[Span, ...], path: PathTuple) -> Iterator[Breach]:
    for i, span in enumerate(spans):
        bounds = Limits(0.0, 1.0, dimension="fraction") if span.share else Limits(0.0, dimension="length")
        for breach in number(span.value, (*path, i), bounds):
            yield Breach(path, breach.rule, breach.message, breach.found, breach.allowed, breach.repair)


def start(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A start rule whose numbers, dates and words are known."""
    rule, at = planting.start, (*path, "start")
    if isinstance(rule, OnDate):
        yield from _date(rule, at, "start:date")
    elif isinstance(rule, WarmSoil):
        yield from number(rule.at_least_c, (*at, "at_least"), limits("plantings", "start:soil", "at_least"))
        if rule.not_before:
            yield from month_day(rule.not_before, (*at, "not_before"))
    elif isinstance(rule, SpringFrost | AutumnFrost):
        yield from number(rule.weeks, (*at, "weeks"), limits("plantings", f"start:{rule.kind}", "weeks"))
    elif isinstance(rule, After):
        yield from word(rule.event, (*at, "event"), limits("plantings", "start:after", "event").words)
        yield from number(rule.wait_days, (*at, "wait"), limits("plantings", "start:after", "wait"))
    elif not isinstance(rule, get_args(Start)):
        yield _no_kind(at, rule, "a start rule")


def _date(rule: OnDate, path: PathTuple, kind: str) -> Iterator[Breach]:
    yield from month_day(rule.month_day, (*path, "on"))
    if rule.hemisphere:
        yield from word(rule.hemisphere, (*path, "hemisphere"), limits("plantings", kind, "hemisphere").words)


def end(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """An end rule whose numbers, dates and words are known."""
    rule, at = planting.end, (*path, "end")
    if isinstance(rule, OnDate):
        yield from _date(rule, at, "end:date")
    elif isinstance(rule, AtAge):
        yield from number(rule.days, (*at, "time"), limits("plantings", "end:age", "time"))
    elif isinstance(rule, AutumnFrost):
        yield from number(rule.weeks, (*at, "weeks"), limits("plantings", "end:autumn-frost", "weeks"))
    elif not isinstance(rule, get_args(End)):
        yield _no_kind(at, rule, "an end rule")


def end_after_start(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """What ends before it starts whatever the place; the plan looks at the dates of a place."""
    first, last = planting.start, planting.end
    same_day = isinstance(first, OnDate) and first == last
    same_frost = isinstance(first, AutumnFrost) and isinstance(last, AutumnFrost) and last.weeks <= first.weeks <= 0.0
    if same_day or same_frost:
        yield Breach(
            (*path, "end"), "end.order", f"{planting.name} is cleared before it starts", repair="give a later end, or none"
        )


def again(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Sown again after a time that makes sense, until a date or a number of times."""
    rule, at = planting.again, (*path, "again")
    if rule is None:
        return
    yield from number(rule.every_days, (*at, "every"), limits("plantings", "again", "every"))
    until = rule.until
    if isinstance(until, Times):
        yield from number(
            until.sowings, (*at, "until", "times"), limits("plantings", "again", "until:times", "times"), whole=True
        )  # fmt: skip
    elif isinstance(until, OnDate):
        yield from month_day(until.month_day, (*at, "until", "on"))
        if until.hemisphere:
            allowed = limits("plantings", "again", "until:date", "hemisphere").words
            yield from word(until.hemisphere, (*at, "until", "hemisphere"), allowed)
    elif isinstance(until, AutumnFrost):
        yield from number(until.weeks, (*at, "until", "weeks"), limits("plantings", "again", "until:autumn-frost", "weeks"))
    else:
        yield _no_kind((*at, "until"), until, "an end of a succession")


def covers(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Covers that there are, each put on before it comes off."""
    most = limits("plantings", "cover").most
    if most is None:
        most = len(planting.covers)
    for i, use in enumerate(planting.covers):
        where = (*path, "cover", i)
        yield from _cover(use, where)
        if i >= most:
            yield Breach(where, "cover.many", "too many covers", str(i + 1), f"up to {most}", "leave some out")


def _cover(use: CoverUse, path: PathTuple) -> Iterator[Breach]:
    yield from word(use.kind, (*path, "kind"), limits("plantings", "cover", "kind").words)
    yield from moment(use.on, (*path, "on"))
    yield from moment(use.off, (*path, "off"))
    yield from moments_in_order(use.on, use.off, path, "off")


def support(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A kind of support that there is, of a height that stands."""
    if planting.support:
        yield from word(planting.support, (*path, "support", "kind"), limits("plantings", "support", "kind").words)
    if planting.support_height_m is not None:
        yield from number(planting.support_height_m, (*path, "support", "height"), limits("plantings", "support", "height"))


def depth(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """A depth at which seed is sown."""
    if planting.depth_m is not None:
        yield from number(planting.depth_m, (*path, "depth"), limits("plantings", "depth"))


def years(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Years since planting, of a crop that stands for years."""
    if planting.years is None:
        return
    yield from number(planting.years, (*path, "years"), limits("plantings", "years"))
    if planting.crop.life != "perennial":
        said = f"{planting.crop.name} does not stand for years"
        yield Breach((*path, "years"), "years.perennial", said, str(planting.years), "perennials", "leave `years` out")


def harvest(planting: Planting, path: PathTuple) -> Iterator[Breach]:
    """Parts that the crop has, picked by methods that suit them, from a moment to a later one."""
    for i, use in enumerate(planting.harvest):
        where = (*path, "harvest", i)
        yield from _picking(planting.crop, use, where)
        if use.method is not None:
            yield from word(use.method, (*where, "method"), limits("plantings", "harvest", "method").words)
        if use.every_days is not None:
            yield from number(use.every_days, (*where, "every"), limits("plantings", "harvest", "every"))
        if use.cuts is not None:
            yield from number(use.cuts, (*where, "cuts"), limits("plantings", "harvest", "cuts"), whole=True)
        if use.cut_height_m is not None:
            yield from number(use.cut_height_m, (*where, "cut_height"), limits("plantings", "harvest", "cut_height"))
        for key, value in (("from", use.start), ("until", use.until)):
            if value is not None:
                yield from moment(value, (*where, key))
        yield from moments_in_order(use.start, use.until, where, "until")


def _picking(crop: Crop, use: HarvestUse, path: PathTuple) -> Iterator[Breach]:
    part = crop.part(use.part)
    if part is None:
        names = [p.name for p in crop.parts]
        near = did_you_mean(use.part, names)
        yield Breach(
            (*path, "part"), "harvest.part", f"{crop.name} has no edible part called {use.part!r}", use.part,
            ", ".join(names), f"did you mean {near[0]}?" if near else "take one of these",
        )  # fmt: skip
    elif part.pool == "organ" and use.method in ("leaf", "cut"):
        yield Breach(
            (*path, "method"), "harvest.method", f"{crop.name}: {part.name} cannot be picked by the method {use.method}",
            use.method, ", ".join(part.methods), f"write `method: {part.methods[0]}`",
        )  # fmt: skip


PLANTING_RULES: tuple[PlantingRule, ...] = (
    texts, crop_values, establishing, amount, thinning, place, start, end, end_after_start, again, covers, support, depth, years,
    harvest,
)  # fmt: skip
