"""What each crop gives alone at the place, week by week, by the day on which it starts: the coefficients of the design."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import DORMANT
from mixcraft.crops.model import Crop
from mixcraft.recipe.calendar import YEAR, Almanac, almanac
from mixcraft.recipe.model import After, Bed, Density, Garden, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.recipe.shelf import Shelf
from mixcraft.season.result import weekly
from mixcraft.season.setting import season_weather, settle
from mixcraft.season.trial import SIDE_M, trial_way
from mixcraft.season.twins import sole_picked
from mixcraft.tasks import Scheduler

from .constants import constant

Floats = NDArray[np.float64]
WEEKS = 104
YEARS, SEED = 3, 7
DAYS = 520
"""Days for which a crop is followed from the first start."""


class NothingGrows(ValueError):  # noqa: N818 -- reads as what happened
    """A crop gives nothing at a place in the wanted weeks, from any start; its name is the message."""


@dataclass(frozen=True)
class Option:
    """A crop started on one day: whole weeks of the almanac count from its day 0.

    `month_day` of the start, `week` of it, `last` the week in which it is cleared; `kg_m2` (`WEEKS`,) marketable fresh mass of a
    square metre by week, mean of the years; `support` a kind of support or nothing.
    """

    crop: Crop
    establish: str
    month_day: str
    week: int
    last: int
    kg_m2: Floats
    support: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """Crop and start."""
        return self.crop.id, self.month_day

    @property
    def kind(self) -> tuple[str, str]:
        """What counts as one thing to eat: species and what is eaten of it."""
        return self.crop.botanical, self.crop.main_part.pool

    @property
    def total_kg_m2(self) -> float:
        """Fresh mass of a square metre [kg]."""
        return float(self.kg_m2.sum())

    @property
    def density(self) -> float:
        """Plants of a square metre."""
        return alone_density(self.crop)

    @property
    def height_m(self) -> float:
        """Height of the grown plant, or of its support [m]."""
        return self.crop["canopy.height"]

    @property
    def weeks(self) -> range:
        """Weeks in which it holds its ground."""
        return range(self.week, self.last + 1)

    @property
    def first(self) -> int:
        """Week of the first picking."""
        return int(np.nonzero(self.kg_m2 > 1e-4)[0].min())

    def fills(self, week: int) -> float:
        """Share of its ground that it fills in a week: more and more, all of it a good while before its first picking."""
        if not self.week <= week <= self.last:
            return 0.0
        full = max(constant("filled_by") * (self.first - self.week), 1.0)
        return min(1.0, max(constant("seedling_fills"), (week - self.week) / full))

    @property
    def tall_weeks(self) -> range:
        """Weeks in which it stands at its height."""
        return range(self.week + int(constant("shadow_height_share") * (self.last - self.week)), self.last + 1)


def alone_density(crop: Crop) -> float:
    """Plants of a square metre at which a crop is grown alone: its usual density, that for cutting where it is cut young."""
    cutting = crop.main_part.methods[0] == "cut" and "spacing.cutting_density" in crop.records
    return crop["spacing.cutting_density" if cutting else "spacing.density"]


def window_of(garden: Garden, bed: Bed, sky: Almanac, default_after_weeks: float) -> tuple[int, int]:
    """First and last day index of the almanac in which the household wants to pick."""
    plate = bed.plate or garden.plate
    if plate.start and plate.until:
        first = sky.month_day(plate.start)
        return first, sky.month_day(plate.until, not_before=first)
    if sky.last_spring_frost is not None and sky.first_autumn_frost is not None:
        first = sky.last_spring_frost + int(7 * default_after_weeks)
        return first, max(sky.first_autumn_frost, first + 28)
    return 0, YEAR - 1


def start_days(window: tuple[int, int]) -> tuple[int, ...]:
    """Days on which something may be started: every second week, from a good half year before the window to its end."""
    return tuple(range(max(window[0] - 26 * 7, 0) // 14 * 14, window[1] - 14, 14))


def options(
    crop: Crop, garden: Garden, window: tuple[int, int], *, trellis: bool, every: bool = False, way: str = ""
) -> tuple[Option, ...]:
    """Starts of `crop` that suit the place and the window, the earliest first; none if it gives nothing in time.

    The good ones, some `starts_kept` of them, or `every` one of which something comes; established in `way`, or as usual.
    """
    sky = almanac(garden.place)
    starts = [day for day in start_days(window) if in_season(crop, day, sky)]
    if not starts:
        return ()
    way = way or trial_way(crop)
    kg = _alone(crop, garden, sky, starts, way)
    found = list(_suited(crop, sky, starts, kg, window, trellis, way))
    if not found:
        return ()
    best = max(o.total_kg_m2 for o in found)
    published = crop.records["harvest.yield_sole"]
    if best < constant("suits_share") * (published.value if published.low is None else published.low):
        return ()
    if every:
        return tuple(found)
    good = [o for o in found if o.total_kg_m2 >= constant("start_best") * best]
    kept = int(constant("starts_kept"))
    if len(good) > kept:
        good = [good[round(i * (len(good) - 1) / (kept - 1))] for i in range(kept)]
    return tuple(good)


@dataclass(frozen=True)
class Asked:
    """A crop whose starts at a place are asked for: beside a trellis or without, or `once`, thrown from one tin on any day."""

    crop: Crop
    garden: Garden
    window: tuple[int, int]
    trellis: bool
    once: bool = False


def alone(asked: Asked) -> tuple[Option, ...]:
    """The starts of one crop: a task."""
    if asked.once:
        return options(asked.crop, asked.garden, asked.window, trellis=False, every=True, way="broadcast")
    return options(asked.crop, asked.garden, asked.window, trellis=asked.trellis)


def all_alone(
    asked: Sequence[Asked], runner: Scheduler, told: Callable[[str, int, int, float], None]
) -> list[tuple[Option, ...]]:
    """The starts of each crop, in the order in which they are asked for; raises RuntimeError if one kills every worker."""
    found: dict[int, tuple[Option, ...]] = {}
    told("growing each crop alone", 0, len(asked), 0.0)
    for done in runner.run(alone, asked):
        if done.result is None:
            raise RuntimeError(f"{asked[done.number].crop.name} alone: {done.fault}")
        found[done.number] = done.result
        told("growing each crop alone", len(found), len(asked), 0.0)
    return [found[n] for n in range(len(asked))]


def in_season(crop: Crop, day: int, sky: Almanac) -> bool:
    """Whether a grower would start the crop on that day: hardy ones some weeks before the last frost, tender ones after it."""
    if sky.last_spring_frost is None:
        return True
    tender = crop["frost.seedling"] >= constant("tender_c")
    least = constant("tender_weeks") if tender else -constant("hardy_weeks")
    least -= constant("dormant_weeks") if trial_way(crop) in DORMANT else 0.0
    frost = sky.last_spring_frost_late if tender else sky.last_spring_frost
    return day >= (sky.last_spring_frost if frost is None else frost) + 7 * least


def _alone(crop: Crop, garden: Garden, sky: Almanac, starts: Sequence[int], way: str) -> Floats:
    """Fresh mass by day of the almanac, year and start (D, Y, S) [kg/m2]."""
    plantings = tuple(_planting(crop, way, i, day - starts[0], str(sky.date(day))[5:10]) for i, day in enumerate(starts))
    bed, keep = Bed("alone", SIDE_M, SIDE_M), Shelf()
    alone = Garden("alone", garden.place, (bed,))
    settled = plan(Recipe("alone", SIDE_M, SIDE_M, plantings), alone, "alone", most_days=DAYS, draw=False)
    picked = sole_picked(settle(settled, season_weather(settled, YEARS, SEED), keep), keep)
    first = int((settled.start - sky.start).astype(int))
    count = min(WEEKS * 7 - first, len(picked))
    kg = np.zeros((WEEKS * 7, YEARS, len(starts)))
    kg[first : first + count] = picked[:count] / bed.area_m2
    return kg


def _planting(crop: Crop, way: str, index: int, wait_days: int, first: str) -> Planting:
    """A start of a crop; all but the first wait for it, so that they stay in the year that they are meant for."""
    climber = crop.form == "climber"
    return Planting(
        name=f"start {index}", crop=crop, establish=way, where=WholeBed(),
        start=After("start 0", "start", float(wait_days)) if index else OnDate(first), amount=Density(alone_density(crop)),
        support="trellis" if climber else "", support_height_m=1.8 if climber else None,
    )  # fmt: skip


def _suited(
    crop: Crop, sky: Almanac, starts: Sequence[int], kg: Floats, window: tuple[int, int], trellis: bool, way: str
) -> Iterator[Option]:
    """The starts that give something in every year within the window, and are cleared in time."""
    latest = window[1] // 7 + int(constant("after_window_weeks"))
    for i, day in enumerate(starts):
        by_year = kg[window[0] : window[1] + 1, :, i].sum(axis=0)
        if by_year.min() <= max(constant("reliable") * float(np.median(by_year)), 1e-6):
            continue
        weeks = weekly(kg[:, :, i].mean(axis=1))
        weeks[latest + 1 :] = 0.0
        last = int(np.nonzero(weeks > 1e-4)[0].max())
        support = "" if crop.form != "climber" else "trellis" if trellis else "canes"
        yield Option(crop, way, str(sky.date(day))[5:10], day // 7, last, weeks, support)
