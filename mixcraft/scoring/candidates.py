"""Candidates for repairs: for every cause with a known remedy one or a few changed recipes, with the facts of the change."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.library import index
from mixcraft.files import format_quantity
from mixcraft.files.facts import Facts, Names
from mixcraft.place import cover
from mixcraft.recipe.calendar import YEAR
from mixcraft.recipe.model import (
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Count,
    CoverUse,
    Density,
    HarvestUse,
    Moment,
    OnDate,
    OnDay,
    Planting,
    SpringFrost,
    Start,
    WarmSoil,
    WholeBed,
)
from mixcraft.recipe.moves import AddCover, AddPlanting, SetAmount, SetCover, SetHarvest, SetPlace, SetStart
from mixcraft.season.result import Season

from .constants import constants
from .model import Reason
from .openings import follow_on, in_turns, share_ground
from .remedies import (
    Candidate,
    changed,
    in_goes,
    left_out,
    month_day,
    off_the_spot,
    other_crop,
    other_end,
    thin_itself,
    water_or_feed,
    written,
)

EARLIER, LATER, EITHER_WAY, OUT_OF_WINTER = (-1, -2), (1, 2, 3), (-2, 2), (-4, -2, 3, 6)
"""Steps of `shift_step_weeks` by which a start is moved."""
BRIDGE_CROPS = ("radish", "lettuce-baby-leaf", "rocket", "spinach", "corn-salad", "mizuna", "turnip")
"""Quick crops that are tried as an extra sowing for a gap, first come first tried.  Common practice, no source."""


GENTLER = {"once": ("leaf", "pull", "cut"), "cut": ("leaf",)}
"""Ways of picking that last longer than another, first come first tried.  Common practice, no source."""


Maker = Callable[[Reason, Season], Iterator[Candidate]]


def candidates(reason: Reason, season: Season) -> Iterator[Candidate]:
    """What may help against a reason, first come first tried."""
    for make in MAKERS.get(reason.part, ()):
        yield from make(reason, season)


def _thin_taker(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Fewer plants of whoever takes the light."""
    taker = written(season, reason.edge[0]) if reason.edge else None
    if taker is not None:
        yield from _thinned(taker, season)


def _fewer_plants(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Fewer plants of what gives more than anybody eats."""
    if reason.cause in ("glut", "surplus"):
        for planting in dict.fromkeys(written(season, name) for name in reason.plantings):
            if planting is not None:
                yield from _thinned(planting, season)


def _thinned(planting: Planting, season: Season) -> Iterator[Candidate]:
    """Shares of the plants of a planting."""
    amount, name = planting.amount, planting.name
    for share in (constants()["thin_first"], constants()["thin_second"]):
        if isinstance(amount, Density):
            value = float(f"{amount.per_m2 * share:.2g}")
            text: Names = Facts(text=(format_quantity(value, "density"),))
            yield from changed(season, SetAmount(name, Density(value)), "thin", name, Facts(per_m2=value), text)
        elif isinstance(amount, Count) and amount.plants > 1:
            count = max(1, round(amount.plants * share))
            numbers = Facts(count=float(count), was=float(amount.plants))
            yield from changed(season, SetAmount(name, Count(count)), "fewer", name, numbers)


def _move_trellis(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A climber on another trellis of the bed."""
    climber = written(season, reason.edge[0]) if reason.edge else None
    if climber is None or not isinstance(climber.where, AtTrellis):
        return
    here = season.plan.plantings[season.plan.recipe.plantings.index(climber)].stand.edge
    yield from _at_trellises(climber, season, but=here)


def _to_trellis(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A climber that nothing holds on a trellis of the bed."""
    climber = written(season, reason.plantings[0]) if reason.cause == "no support" else None
    if climber is not None:
        yield from _at_trellises(climber, season)


def _at_trellises(climber: Planting, season: Season, but: str = "") -> Iterator[Candidate]:
    """A climber on each trellis of the bed, `but` for that of one edge."""
    for edge in (trellis.edge for trellis in season.plan.bed.trellises if trellis.edge != but):
        names: Names = Facts(edge=(edge,))
        yield from changed(season, SetPlace(climber.name, AtTrellis(edge)), "trellis", climber.name, names=names, moves=True)


def _later(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A start some weeks later, or earlier when the season is too short; no help where that is not the matter."""
    planting = written(season, reason.plantings[0]) if reason.plantings else None
    if planting is None or reason.cause in ("pollinators out", "cut off", "low cover", "no food"):
        return
    start = season.plan.plantings[season.plan.recipe.plantings.index(planting)].start
    earlier, later = reason.cause in ("short season", "late frost", "chill"), reason.part == "timing"
    winter = reason.cause in ("short days", "no roots", "out of season", "bitter")
    tried = OUT_OF_WINTER if winter else EARLIER if earlier else LATER if later else EITHER_WAY
    for weeks in (step * int(constants()["shift_step_weeks"]) for step in tried):
        day = season.plan.date(start + 7 * weeks)
        rule = _moved(planting.start, weeks, day)
        if rule is not None:
            names: Names = Facts(date=(str(day),))
            yield from changed(season, SetStart(planting.name, rule), "shift", planting.name, Facts(weeks=float(weeks)), names)


def _moved(rule: Start, weeks: int, day: np.datetime64) -> Start | None:
    """A start rule moved by weeks, to that day; None where it would come before what it waits for."""
    if isinstance(rule, SpringFrost | AutumnFrost):
        return replace(rule, weeks=rule.weeks + weeks)
    if isinstance(rule, OnDate | WarmSoil):
        return OnDate(month_day(day))
    wait = rule.wait_days + 7.0 * weeks
    return replace(rule, wait_days=wait) if wait >= 0.0 else None


def _uncover(reason: Reason, season: Season) -> Iterator[Candidate]:
    """The cover off before flowering or before the crop outgrows it."""
    if reason.cause not in ("pollinators out", "low cover") or reason.weeks is None:
        return
    over = {c.owner for p in season.plan.plantings if p.name in reason.plantings for c in p.covers} | set(reason.plantings)
    first = season.plan.plantings[: len(season.plan.recipe.plantings)]  # the later sowings of a succession are not written
    for planned in first:
        for n, use in enumerate(planned.planting.covers):
            if planned.name not in over:
                continue
            off, when = _uncovered(reason, planned.name)
            move = SetCover(planned.name, n, replace(use, off=off))
            yield from changed(season, move, "uncover", planned.name, names=Facts(when, cover=(use.kind,)))


def _uncovered(reason: Reason, owner: str) -> tuple[Moment, dict[str, tuple[str, ...]]]:
    """When a cover must be off: as the crop under it flowers if it is its own, else by the day on which it does harm."""
    assert reason.weeks is not None
    if reason.cause == "pollinators out" and owner == reason.plantings[0]:
        return AtEvent("flower"), {"off": ("flower",)}
    text = month_day(reason.weeks[0])
    return OnDay(text), {"off": (text,), "date": (str(reason.weeks[0]),)}


def _warmer_cover(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A fleece or a cloche for the first weeks of a planting that frost or cold soil threatens."""
    if reason.cause not in ("frost", "late frost", "chill", "cold soil"):
        return
    planting, weeks = written(season, reason.plantings[0]), constants()["cover_weeks"]
    if planting is None or planting.covers:
        return
    for kind in ("fleece", "cloche"):
        move = AddCover(planting.name, CoverUse(kind, AtEvent("start"), AtEvent("start", 7.0 * weeks)))
        yield from changed(season, move, "cover", planting.name, Facts(weeks=weeks), Facts(cover=(kind,)))


def _through_winter(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Hoops with film through the winter over low greens that have none, where nothing can be picked in it."""
    sky, hoops = season.plan.almanac, "low-tunnel"
    if reason.cause != "gap" or reason.weeks is None or sky.winter is None:
        return
    first, last = (sky.day(day) for day in (reason.weeks[0], reason.weeks[-1]))
    if last < sky.winter[0] or first > sky.winter[1] + YEAR:
        return
    on, off = map(sky.dated, sky.winter)
    low = [p for p in season.plan.recipe.plantings if p.crop["canopy.height"] <= cover(hoops).height_m and not p.covers]
    for planting in [p for p in low if p.crop.main_part.pool == "leaf"][: int(constants()["swaps_most"])]:
        move = AddCover(planting.name, CoverUse(hoops, OnDay(on), OnDay(off)))
        yield from changed(season, move, "winter", planting.name, names=Facts(cover=(hoops,), on=(on,), off=(off,)))


def _bridge(reason: Reason, season: Season) -> Iterator[Candidate]:
    """One more sowing of a quick crop, timed for the gap."""
    if reason.weeks is None or reason.cause != "gap":
        return
    recipe = season.plan.recipe
    present, known = {p.crop.id for p in recipe.plantings}, index()
    for key in sorted((k for k in BRIDGE_CROPS if k in known), key=lambda k: k not in present)[:2]:
        crop = load_crop(key)
        lead = int(crop["development.days_to_harvest"] + constants()["bridge_lead_days"])
        date = reason.weeks[0] - np.timedelta64(lead, "D")
        if date < season.plan.start:
            continue
        density = max(1.0, float(f"{constants()['bridge_share'] * crop['spacing.density']:.2g}"))
        name = f"{crop.name} again" if crop.name in [p.name for p in recipe.plantings] else crop.name
        planting = Planting(
            name=name, crop=crop, establish="broadcast", where=WholeBed(), start=OnDate(month_day(date)),
            amount=Density(density), harvest=(HarvestUse(crop.main_part.name, crop.main_part.methods[0]),),
        )  # fmt: skip
        names: Names = Facts(crop=(crop.name,), text=(format_quantity(density, "density"),), date=(str(date),))
        yield from changed(season, AddPlanting(planting), "sow", "", Facts(per_m2=density), names)


def _spread_harvest(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Pull a crop over time instead of lifting it all at once, or pick it by the leaf instead of cutting it; no help
    before it is ripe."""
    if reason.cause == "gap":
        return
    for planting in season.plan.recipe.plantings:
        for use in planting.harvest or (HarvestUse(planting.crop.main_part.name),):
            part = planting.crop.part(use.part)
            now = "" if part is None else use.method or part.methods[0]
            for method in GENTLER.get(now, ()):
                if part is not None and method in part.methods:
                    move = SetHarvest(planting.name, replace(use, method=method, every_days=None))
                    names: Names = Facts(part=(part.name,), method=(method,))
                    kind = "pull" if method == "pull" else "method"
                    yield from changed(season, move, kind, planting.name, names=names)
                    break


MAKERS: dict[str, tuple[Maker, ...]] = {
    "canopy": (
        water_or_feed, _thin_taker, _move_trellis, _to_trellis, thin_itself, other_end, off_the_spot, left_out, other_crop,
    ),
    "timing": (_later, _uncover, _warmer_cover, other_crop, left_out),
    "continuity": (
        water_or_feed, _through_winter, _bridge, _spread_harvest, in_goes, _fewer_plants, other_crop, follow_on, in_turns,
        share_ground,
    ),
    "roots": (water_or_feed, other_crop, left_out, share_ground, _later), "families": (other_crop, left_out, share_ground),
    "yield": (water_or_feed, left_out, other_crop, _later, follow_on, share_ground),
}  # fmt: skip
"""What is tried against the reasons of a part."""
