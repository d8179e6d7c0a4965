"""Repairs: changes to the recipe that the engine has tried and re-scored before it offers them.

Every reason with a known kind of remedy is turned into one or a few candidate recipes; each is grown again over a few of the
same weather years, and the best one that gains is attached to its reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.library import index
from mixcraft.files import FileFaults, format_quantity
from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.place import weather_years
from mixcraft.place.series import Weather
from mixcraft.recipe.model import (
    After,
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
    Recipe,
    SpringFrost,
    Start,
    WarmSoil,
    WholeBed,
)
from mixcraft.recipe.plan import Plan, plan
from mixcraft.season.grow import grow
from mixcraft.season.result import Season
from mixcraft.season.setting import BEFORE_DAYS

from .build import overall_of
from .constants import constants
from .model import Changes, Reason, Repair, Score

TRIAL_YEARS = 8
"""Weather years in which candidates are compared; the same years for all of them."""
TRIAL_SEED = 20260401
TRIAL_DAYS = 260
"""Days of weather beyond the plan's that a changed recipe may need."""
MONTH_DAY = slice(5, 10)
"""Where the month and day stand in an ISO date."""
MOST_REASONS = 3
EARLIER_WEEKS, LATER_WEEKS = (-2, -4), (2, 4, 6)
"""Weeks by which a start is moved.  Common practice, no source."""
BRIDGE_CROPS = ("radish", "lettuce-baby-leaf", "rocket", "spinach", "corn-salad", "mizuna", "turnip")
"""Quick crops that are tried as an extra sowing for a gap, first come first tried.  Common practice, no source."""


@dataclass(frozen=True)
class Candidate:
    """A changed recipe, the facts of the change and its file edits; `moves` when it matters where on the bed plants stand."""

    recipe: Recipe
    kind: str
    plantings: tuple[str, ...]
    numbers: Numbers
    names: Names
    changes: Changes
    moves: bool = False


def with_repairs(result: Score, most: int = MOST_REASONS) -> Score:
    """The score with tried repairs at the first `most` reasons for which the engine knows any; the scores are unchanged."""
    season = result.season
    trial = _Trial(season)
    reasons = []
    tried = 0
    for reason in result.reasons:
        candidates = list(_candidates(reason, season)) if tried < most else []
        tried += bool(candidates)
        repair = _best(candidates, season, trial, result.overall)
        reasons.append(replace(reason, repair=repair) if repair else reason)
    repaired = dict(zip(result.reasons, reasons, strict=True))
    parts = tuple(replace(p, reasons=tuple(repaired.get(r, r) for r in p.reasons)) for p in result.parts)
    return replace(result, reasons=tuple(reasons), parts=parts)


class _Trial:
    """Grows changed recipes over the same few weather years and remembers what came out.

    Recipe and change are grown with the same light model: in three dimensions where something is moved, else in layers.
    """

    def __init__(self, season: Season) -> None:
        self.plan = season.plan
        self.known: dict[str, float | None] = {}
        start = season.plan.start - np.timedelta64(90, "D")
        self.weather = weather_years(season.plan.place, start, season.plan.days + TRIAL_DAYS, TRIAL_YEARS, TRIAL_SEED)

    def overall(self, recipe: Recipe, changes: Changes = (), *, voxels: bool) -> float | None:
        """Overall score of a recipe in the same bed; None if it does not fit."""
        key = f"{voxels} {changes!r}"
        if key not in self.known:
            try:
                settled = plan(recipe, self.plan.garden, self.plan.bed.name)
                self.known[key] = overall_of(grow(settled, weather=self._slice(settled), voxels=voxels))
            except FileFaults:
                self.known[key] = None
        return self.known[key]

    def _slice(self, settled: Plan) -> Weather:
        first = settled.start - np.timedelta64(BEFORE_DAYS, "D")
        offset, length = int((first - self.weather.dates[0]).astype(int)), settled.days + BEFORE_DAYS
        days = slice(offset, offset + length)
        if offset < 0 or offset + length > len(self.weather.dates):
            return weather_years(settled.place, first, length, TRIAL_YEARS, TRIAL_SEED)
        w = self.weather
        fields = ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")
        cut = {name: getattr(w, name)[:, days] for name in fields}
        return replace(w, dates=w.dates[days], daylength_h=w.daylength_h[days], **cut)


def _best(candidates: Sequence[Candidate], season: Season, trial: _Trial, reference: float) -> Repair | None:
    found: Repair | None = None
    for candidate in candidates:
        before = trial.overall(season.plan.recipe, voxels=candidate.moves)
        after = trial.overall(candidate.recipe, candidate.changes, voxels=candidate.moves)
        if before is None or after is None:
            continue
        gain = found.overall_after - found.overall_before if found else constants()["repair_least"]
        if after - before > gain:
            after = min(100.0, reference + after - before)
            found = Repair(
                candidate.kind, candidate.plantings, candidate.numbers, candidate.names, candidate.changes, reference, after
            )
    return found


def _candidates(reason: Reason, season: Season) -> Iterator[Candidate]:
    makers: dict[str, tuple[Callable[[Reason, Season], Iterator[Candidate]], ...]] = {
        "canopy": (_thin_taker, _move_trellis),
        "timing": (_later, _uncover, _warmer_cover),
        "continuity": (_bridge, _spread_harvest),
        "yield": (_drop,),
        "roots": (),
        "families": (),
    }
    for make in makers[reason.part]:
        yield from make(reason, season)


def _find(recipe: Recipe, name: str) -> tuple[int, Planting] | None:
    return next(((i, p) for i, p in enumerate(recipe.plantings) if p.name == name), None)


def _changed(recipe: Recipe, i: int, planting: Planting) -> Recipe:
    plantings = list(recipe.plantings)
    plantings[i] = planting
    return replace(recipe, plantings=tuple(plantings))


def _thin_taker(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Fewer plants of whoever takes the light."""
    if reason.edge is None:
        return
    recipe = season.plan.recipe
    found = _find(recipe, reason.edge[0])
    if found is None:
        return
    i, taker = found
    for share in (constants()["thin_first"], constants()["thin_second"]):
        amount = taker.amount
        if isinstance(amount, Density):
            value = float(f"{amount.per_m2 * share:.2g}")
            text = format_quantity(value, "density")
            yield Candidate(
                _changed(recipe, i, replace(taker, amount=Density(value))), "thin", (taker.name,), Facts(per_m2=value),
                Facts(text=(text,)), ((("plantings", i, "density"), text),),
            )  # fmt: skip
        elif isinstance(amount, Count) and amount.plants > 1:
            count = max(1, round(amount.plants * share))
            yield Candidate(
                _changed(recipe, i, replace(taker, amount=Count(count))), "fewer", (taker.name,),
                Facts(count=float(count), was=float(amount.plants)), Facts(), ((("plantings", i, "count"), count),),
            )  # fmt: skip


def _move_trellis(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A climber on another trellis of the bed."""
    recipe, bed = season.plan.recipe, season.plan.bed
    if reason.edge is None or len(bed.trellises) < 2:
        return
    found = _find(recipe, reason.edge[0])
    if found is None or not isinstance(found[1].where, AtTrellis):
        return
    i, climber = found
    for trellis in bed.trellises:
        if trellis.edge == season.plan.plantings[i].stand.edge:
            continue
        moved = replace(climber, where=AtTrellis(trellis.edge))
        yield Candidate(
            _changed(recipe, i, moved), "trellis", (climber.name,), Facts(), Facts(edge=(trellis.edge,)),
            ((("plantings", i, "place", "edge"), trellis.edge),), moves=True,
        )  # fmt: skip


def _later(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A start some weeks later, or earlier when the season is too short; no help where that is not the matter."""
    if reason.cause in ("pollinators out", "cut off"):
        return
    recipe = season.plan.recipe
    found = _find(recipe, reason.plantings[0]) if reason.plantings else None
    if found is None:
        return
    i, planting = found
    early = reason.cause in ("short season", "late frost")
    for weeks in EARLIER_WEEKS if early else LATER_WEEKS:
        moved = _moved(planting, weeks, season, i)
        if moved is None:
            return
        rule, change = moved
        day = str(season.plan.date(season.plan.plantings[i].start + 7 * weeks))
        yield Candidate(
            _changed(recipe, i, replace(planting, start=rule)), "shift", (planting.name,), Facts(weeks=float(weeks)),
            Facts(date=(day,)), ((("plantings", i, "start"), change),),
        )  # fmt: skip


def _moved(planting: Planting, weeks: int, season: Season, i: int) -> tuple[Start, dict[str, object]] | None:
    rule = planting.start
    if isinstance(rule, SpringFrost | AutumnFrost):
        number = rule.weeks + weeks
        return replace(rule, weeks=number), {"kind": rule.kind, "weeks": int(number) if number == int(number) else number}
    if isinstance(rule, OnDate | WarmSoil):
        date = str(season.plan.date(season.plan.plantings[i].start + 7 * weeks))[MONTH_DAY]
        date = "02-28" if date == "02-29" else date
        return OnDate(date), {"kind": "date", "on": date}
    if rule.wait_days + 7 * weeks >= 0:
        days = rule.wait_days + 7 * weeks
        text = f"{days:g} days"
        return replace(rule, wait_days=days), {
            "kind": "after", "planting": rule.planting, "event": rule.event, "wait": text,
        }  # fmt: skip
    return None


def _uncover(reason: Reason, season: Season) -> Iterator[Candidate]:
    """The cover off before flowering or before the crop outgrows it."""
    recipe = season.plan.recipe
    for planned in season.plan.plantings[: len(recipe.plantings)]:  # the later sowings of a succession are not written
        for n, use in enumerate(planned.planting.covers):
            if planned.name not in reason.plantings and not any(
                c.owner == planned.name for p in season.plan.plantings if p.name in reason.plantings for c in p.covers
            ):
                continue  # fmt: skip
            i = planned.index
            off: Moment = AtEvent("flower")
            if reason.cause == "pollinators out":
                when, text = {}, "flower"
            elif reason.cause == "low cover" and reason.weeks is not None:
                date = str(reason.weeks[0])[MONTH_DAY]
                off, when, text = OnDay(date), {"date": (str(reason.weeks[0]),)}, date
            else:
                continue
            if planned.name != reason.plantings[0] and reason.weeks is not None:
                text = str(reason.weeks[0])[MONTH_DAY]
                off = OnDay(text)
            covers = list(planned.planting.covers)
            covers[n] = replace(use, off=off)
            yield Candidate(
                _changed(recipe, i, replace(planned.planting, covers=tuple(covers))), "uncover", (planned.name,), Facts(),
                Facts(when, cover=(use.kind,), off=(text,)), ((("plantings", i, "cover", n, "off"), text),),
            )  # fmt: skip


def _warmer_cover(reason: Reason, season: Season) -> Iterator[Candidate]:
    """A fleece or a cloche for the first weeks of a planting that frost or cold soil threatens."""
    if reason.cause not in ("frost", "late frost", "cold soil"):
        return
    recipe = season.plan.recipe
    found = _find(recipe, reason.plantings[0])
    if found is None or found[1].covers:
        return
    i, planting = found
    weeks = constants()["cover_weeks"]
    for kind in ("fleece", "cloche"):
        use = CoverUse(kind, AtEvent("start"), AtEvent("start", 7.0 * weeks))
        change = [{"kind": kind, "on": "start", "off": f"start + {weeks:g} weeks"}]
        yield Candidate(
            _changed(recipe, i, replace(planting, covers=(use,))), "cover", (planting.name,), Facts(weeks=weeks),
            Facts(cover=(kind,)), ((("plantings", i, "cover"), change),),
        )  # fmt: skip


def _bridge(reason: Reason, season: Season) -> Iterator[Candidate]:
    """One more sowing of a quick crop, timed for the gap."""
    if reason.weeks is None or reason.cause != "gap":
        return
    recipe, place = season.plan.recipe, WholeBed()
    present = [p.crop.id for p in recipe.plantings]
    for key in (*[k for k in BRIDGE_CROPS if k in present], *[k for k in BRIDGE_CROPS if k not in present])[:2]:
        if key not in index():
            continue
        crop = load_crop(key)
        lead = int(crop["development.days_to_harvest"] + constants()["bridge_lead_days"])
        date = reason.weeks[0] - np.timedelta64(lead, "D")
        on = str(date)[MONTH_DAY]
        if date < season.plan.start or on == "02-29":
            continue
        method = crop.main_part.methods[0]
        density = max(1.0, float(f"{constants()['bridge_share'] * crop['spacing.density']:.2g}"))
        name = f"{crop.name} again" if crop.name in [p.name for p in recipe.plantings] else crop.name
        planting = Planting(
            name=name, crop=crop, establish="broadcast", where=place, start=OnDate(on),
            amount=Density(density), harvest=(HarvestUse(crop.main_part.name, method),),
            path=("plantings", len(recipe.plantings)),
        )  # fmt: skip
        text = format_quantity(density, "density")
        entry = {
            "name": name, "crop": crop.name, "establish": "broadcast", "density": text, "place": {"kind": "whole"},
            "start": {"kind": "date", "on": on}, "harvest": [{"part": crop.main_part.name, "method": method}],
        }  # fmt: skip
        yield Candidate(
            replace(recipe, plantings=(*recipe.plantings, planting)), "sow", (), Facts(per_m2=density),
            Facts(crop=(crop.name,), text=(text,), date=(str(date),)), ((("plantings", len(recipe.plantings)), entry),),
        )  # fmt: skip


def _spread_harvest(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Pull a crop over time instead of lifting it all at once."""
    recipe = season.plan.recipe
    if reason.cause == "gap":
        return
    for i, planting in enumerate(recipe.plantings):
        for n, use in enumerate(planting.harvest):
            part = planting.crop.part(use.part)
            method = use.method or (part.methods[0] if part else "")
            if part is None or method != "once" or "pull" not in part.methods:
                continue
            uses = list(planting.harvest)
            uses[n] = replace(use, method="pull")
            yield Candidate(
                _changed(recipe, i, replace(planting, harvest=tuple(uses))), "pull", (planting.name,), Facts(), Facts(),
                ((("plantings", i, "harvest", n, "method"), "pull"),),
            )  # fmt: skip


def _drop(reason: Reason, season: Season) -> Iterator[Candidate]:
    """Leave out a planting that hardly earns its place."""
    recipe = season.plan.recipe
    if not reason.plantings or len(recipe.plantings) < 2:
        return
    name = reason.plantings[0]
    if any(isinstance(p.start, After) and p.start.planting == name for p in recipe.plantings):
        return
    found = _find(recipe, name)
    if found is not None:
        rest = tuple(p for p in recipe.plantings if p.name != name)
        yield Candidate(
            replace(recipe, plantings=rest), "drop", (name,), Facts(), Facts(), ((("plantings", found[0]), None),)
        )  # fmt: skip
