"""From a brief to what the constraint model is given: candidates, their starts, ground, wanted weeks, and the grower's rules."""

from __future__ import annotations

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import Almanac, almanac
from mixcraft.recipe.model import Bed, Garden
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.tasks import Here, Scheduler

from .brief import SOWN_ONCE, Brief
from .choice import Task
from .constants import constant, usual_crops
from .curves import Asked, Option, all_alone, spread, wanted_starts, window_of
from .ground import ground_of
from .practice import QUICK, practice_of
from .rotation import rested
from .search import Told, silent


def task_of(
    brief: Brief, garden: Garden, bed: Bed, told: Told = silent, runner: Scheduler | None = None
) -> tuple[Task, tuple[str, ...]]:
    """The task of a brief, and the names of crops that were considered and do not suit the place in this window."""
    sky = almanac(garden.place)
    window = window_of(garden, bed, sky, scoring_constants()["window_after_weeks"])
    ground, once = ground_of(bed, garden.place.latitude_deg), brief.style == SOWN_ONCE
    good: list[tuple[Option, ...]] = []
    suited: dict[str, tuple[int, ...]] = {}
    unsuited, crops = [], candidates(brief, bed)
    owned = brief.effort.covers
    wanted, high = [c for c in crops if not once or broadcast(c)], bool(ground.trellis)
    asked = [Asked(c, garden, window, high, once, not once, owned, bed.under) for c in wanted]
    alone = dict(zip((one.crop.id for one in asked), all_alone(asked, runner or Here(), told), strict=True))
    for crop in crops:
        starts = alone.get(crop.id, ())
        suited[crop.id] = days_of(starts, sky)
        good.append(starts if once else wanted_starts(starts, window))
        if not starts:
            unsuited.append(crop.name)
    found = _one_day([o for starts in good for o in starts]) if once else [o for starts in good for o in kept(starts)]
    weeks = range(-(-window[0] // 7), max(window[1] // 7, window[0] // 7 + 4))
    plate, c = bed.plate or garden.plate, scoring_constants()
    portions = plate.portions or plate.weekly_kg * 1000.0 / c["portion_usual_g"] or c["portions_usual_m2"] * bed.area_m2
    aimed = constant("kinds_aimed") if bed.area_m2 >= constant("kinds_from_m2") else c["kinds_usual"]
    practice = practice_of(brief, found, suited, bed.area_m2, weeks)
    few = found if once else _few(good, {c.id for c in (*brief.musts, *brief.wishes)}, weeks)
    task = Task(brief, tuple(few), ground, weeks, portions, plate.kinds or aimed, practice=practice, spare=tuple(found))
    return task, tuple(unsuited)


def kept(starts: tuple[Option, ...], fewer: int = 0) -> list[Option]:
    """The starts of a crop that are considered: some of the usual way, fewer of another, evenly spread."""
    found: list[Option] = []
    for n, way in enumerate(dict.fromkeys(o.establish for o in starts)):
        mine = [o for o in starts if o.establish == way]
        found += spread(mine, max(2, int(constant("starts_kept" if n == 0 else "other_starts_kept")) - fewer))
    return found


def _few(good: list[tuple[Option, ...]], asked: set[str], weeks: range) -> list[Option]:
    """Starts of as many crops as the constraint model can weigh up, the more weeks are wanted the fewer; first those that are
    asked for and those that are quick, then what does best here."""
    most = constant("options_most") * constant("weeks_usual") / max(len(weeks), constant("weeks_usual"))
    for fewer in (0, 1):
        found = [kept(starts, fewer) for starts in good if starts]
        if sum(len(starts) for starts in found) <= most:
            return [o for starts in found for o in starts]
    wanted = {*asked, *QUICK}
    ranked = sorted(found, key=lambda starts: (starts[0].crop.id not in wanted, -_worth(starts, weeks)))
    count = np.cumsum([len(starts) for starts in ranked])
    there = {starts[0].crop.id for starts, so_far in zip(ranked, count, strict=True) if so_far <= most}
    return [o for starts in found for o in starts if starts[0].crop.id in there]


def _worth(starts: list[Option], weeks: range) -> float:
    """What a crop is worth to a bed: its yield over the published one, and the share of the weeks in which it may be picked."""
    crop = starts[0].crop
    picked = np.mean([any(o.kg_m2[week] > 0.0 for o in starts) for week in weeks])
    return float(min(1.0, max(o.total_kg_m2 for o in starts) / crop["harvest.yield_sole"]) + picked)


def days_of(starts: tuple[Option, ...], sky: Almanac) -> tuple[int, ...]:
    """Days of the almanac on which a crop may be started."""
    return tuple(sorted({sky.month_day(o.month_day) for o in starts}))


def broadcast(crop: Crop) -> bool:
    """Whether a crop can be thrown with others from one tin: no climbers, nothing that is set seed by seed."""
    return crop.form != "climber" and bool({"broadcast", "drills"} & set(crop.establish))


def _one_day(found: list[Option]) -> list[Option]:
    """Starts on days from which something can be picked within some weeks; on the days from which it comes soonest, if there is
    no such day."""
    if not found:
        return found
    most = max(constant("soon_days"), min(o.wait_days for o in found))
    soon = {o.month_day for o in found if o.wait_days <= most}
    return [o for o in found if o.month_day in soon]


def candidates(brief: Brief, bed: Bed) -> tuple[Crop, ...]:
    """Crops that are considered: musts, wishes, and of the seed box or the usual crops what may follow the bed's history."""
    nevers = {crop.id for crop in brief.nevers}
    usual = brief.at_hand or tuple(load_crop(key) for key in usual_crops())
    limit = brief.height_limit_m
    free = [c for c in usual if rested(c, bed) and (limit is None or c["canopy.height"] <= limit)]
    found = dict.fromkeys([*brief.musts, *brief.wishes, *free])
    return tuple(crop for crop in found if crop.id not in nevers)
