"""What each crop gives alone at the place, week by week, by the day on which it starts: the coefficients of the design."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import DORMANT, PLANTED, SOWN
from mixcraft.crops.development import NEVER
from mixcraft.crops.model import Crop, Part
from mixcraft.crops.windows import part_window
from mixcraft.files.shelf import Shelf
from mixcraft.place import cover
from mixcraft.recipe.calendar import YEAR, Almanac, almanac
from mixcraft.recipe.model import After, Bed, CoverUse, Density, Garden, OnDate, OnDay, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.fates import fate, main_harvests
from mixcraft.season.result import weekly
from mixcraft.season.setting import Setting, season_weather, settle
from mixcraft.season.trial import SIDE_M, trial_way
from mixcraft.season.twins import sole_picked
from mixcraft.tasks import Scheduler

from .constants import constant
from .usual import usual_start

Floats = NDArray[np.float64]
WEEKS = 104
YEARS, SEED = 12, 7
DAYS = 520
"""Days for which a crop is followed from the first start."""


class NothingGrows(ValueError):  # noqa: N818 -- reads as what happened
    """A crop gives nothing at a place in the wanted weeks, from any start; its name is the message."""


@dataclass(frozen=True)
class Option:
    """A crop started on one day: whole weeks of the almanac count from its day 0.

    `month_day` of the start, `week` of it, `last` the week in which it is cleared; `kg_m2` (`WEEKS`,) marketable fresh mass of a
    square metre by week, mean of the years; `support` a kind of support or nothing; `first_day` of picking after the start, the
    middle of the years (as the weeks say where it is not given); `covers` that lie over it.
    """

    crop: Crop
    establish: str
    month_day: str
    week: int
    last: int
    kg_m2: Floats
    support: str = ""
    first_day: float = -1.0
    covers: tuple[CoverUse, ...] = ()

    @property
    def key(self) -> tuple[str, str, str]:
        """Crop, way and start."""
        return self.crop.id, self.establish, self.month_day

    @property
    def wait_days(self) -> float:
        """Days from the start to the first picking."""
        return self.first_day if self.first_day >= 0.0 else 7.0 * (self.first - self.week + 1)

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

    @cached_property
    def first(self) -> int:
        """Week of the first picking."""
        return int(np.nonzero(self.kg_m2 > 1e-4)[0].min())

    def fills(self, week: int) -> float:
        """Share of its ground that it fills in a week: more and more, all of it a good while before its first picking."""
        if not self.week <= week <= self.last:
            return 0.0
        full = max(constant("filled_by") * (self.first - self.week), 1.0)
        return min(1.0, max(constant("seedling_fills"), (week - self.week) / full))

    def date(self, week: int) -> np.datetime64:
        """A day of a week of the almanac, in some year."""
        return np.datetime64(f"2001-{self.month_day}", "D") + np.timedelta64(7 * (week - self.week), "D")

    @cached_property
    def tall_weeks(self) -> range:
        """Weeks in which it stands at its height: from half way to its first picking."""
        return range(self.week + int(scoring_constants()["shadow_height_share"] * (self.first - self.week)), self.last + 1)


def density_range(crop: Crop) -> tuple[float, float]:
    """Thinnest and densest usual stand of a crop in its first way of picking [plants/m2]."""
    return crop.records["spacing.cutting_density" if _cut_young(crop) else "spacing.density"].span


def _cut_young(crop: Crop) -> bool:
    return crop.main_part.methods[0] == "cut" and "spacing.cutting_density" in crop.records


def alone_density(crop: Crop, way: str = "drills") -> float:
    """Plants of a square metre at which a crop is grown alone: its usual density, that for cutting where it is sown to be cut
    young."""
    return crop["spacing.cutting_density" if _cut_young(crop) and way in SOWN else "spacing.density"]


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
    crop: Crop, garden: Garden, window: tuple[int, int], *, trellis: bool, every: bool = False, way: str = "",
    covers: Sequence[str] = (), under: str = "",
) -> tuple[Option, ...]:  # fmt: skip
    """Starts of `crop` that suit the place and the window, the earliest first; none if it gives nothing in time.

    The good ones, some `starts_kept` of them, or `every` one of which something comes; established in `way`, or as usual; under
    the `covers` that the household owns through the winter where that is worth it; in a bed `under` some structure, if any.
    """
    sky = almanac(garden.place)
    sooner = int(7 * constant("sooner_under")) if under and cover(under).closed else 0
    starts = [day for day in start_days(window) if in_season(crop, day + sooner, sky) and usual_start(crop, day + sooner, sky)]
    if not starts:
        return ()
    way = way or trial_way(crop)

    def grown(covers: tuple[CoverUse, ...]) -> list[Option]:
        kg, thinned = _alone(crop, garden, sky, starts, way, covers, under)
        suited = _suited(crop, sky, starts, kg, window, trellis, way)
        return [replace(o, first_day=min(o.first_day, thinned.get(o.week, NEVER)), covers=covers) for o in suited]

    found, sheets = grown(()), winter_sheets(crop, covers, window, sky)
    if sheets:
        found = worth_covering(found, grown(sheets), window)
    if not found:
        return ()
    best = max(o.total_kg_m2 for o in found)
    published = crop.records["harvest.yield_sole"]
    if best < constant("suits_share") * (published.value if published.low is None else published.low):
        return ()
    if every:
        return tuple(found)
    return spread(good_starts(found), int(constant("starts_kept")))


def winter_sheets(crop: Crop, owned: Sequence[str], window: tuple[int, int], sky: Almanac) -> tuple[CoverUse, ...]:
    """Of the covers that a household owns, those that lie over a crop from the first frost of autumn to the last of spring, where
    something is to be picked by then: the closed one that keeps most frost off, and a sheet within, both with room for it."""
    if sky.winter is None or window[1] <= sky.winter[0]:
        return ()
    known = {kind: c for kind, c in ((kind, cover(kind)) for kind in owned) if c.height_m >= crop["canopy.height"]}
    closed = [k for k, c in known.items() if c.closed]
    if not closed:
        return ()
    outer = max(closed, key=lambda k: known[k].frost_gain)
    within = [k for k, c in known.items() if not c.closed and c.frost_gain_inside > 0.0]
    on, off = (OnDay(sky.dated(day)) for day in sky.winter)
    inner = max(within, key=lambda k: known[k].frost_gain_inside, default="")
    return tuple(CoverUse(kind, on, off) for kind in (outer, inner) if kind)


def worth_covering(found: Sequence[Option], covered: Sequence[Option], window: tuple[int, int]) -> list[Option]:
    """The starts of a crop, those that are grown under covers where these give so much more of what is wanted."""
    weeks = slice(window[0] // 7, window[1] // 7 + 1)
    best = {o.week: o for o in found}
    for option in covered:
        given = float(best[option.week].kg_m2[weeks].sum()) if option.week in best else 0.0
        if float(option.kg_m2[weeks].sum()) >= constant("cover_worth") * given:
            best[option.week] = option
    return [best[week] for week in sorted(best)]


def good_starts(found: Sequence[Option], first_week: int = 0) -> tuple[Option, ...]:
    """The starts of a crop in one way that give a good share of the best one, counted from a week of the almanac on."""
    given = [float(o.kg_m2[first_week:].sum()) for o in found]
    best = max(given, default=0.0)
    return tuple(o for o, kg_m2 in zip(found, given, strict=True) if kg_m2 >= constant("start_best") * best)


def wanted_starts(found: Sequence[Option], window: tuple[int, int]) -> tuple[Option, ...]:
    """The starts of a crop, of each way those that give a good share of the best one in the wanted weeks: a late start may be
    as good as an early one for them."""
    ways = dict.fromkeys(o.establish for o in found)
    good = [good_starts([o for o in found if o.establish == way], window[0] // 7) for way in ways]
    return tuple(o for starts in good for o in starts)


def spread(found: Sequence[Option], kept: int) -> tuple[Option, ...]:
    """So many of the starts, evenly from the first to the last."""
    if len(found) <= kept:
        return tuple(found)
    return tuple(found[round(i * (len(found) - 1) / (kept - 1))] for i in range(kept))


@dataclass(frozen=True)
class Asked:
    """A crop whose starts at a place are asked for: beside a trellis or without, or `once`, thrown from one tin on any day;
    `every` good start, sown and planted, or some of the usual way, or of the other if that gives nothing; with `covers` that the
    household owns, in a bed that stands `under` some structure."""

    crop: Crop
    garden: Garden
    window: tuple[int, int]
    trellis: bool
    once: bool = False
    every: bool = False
    covers: tuple[str, ...] = ()
    under: str = ""


def alone(asked: Asked) -> tuple[Option, ...]:
    """The starts of one crop: a task."""
    crop, garden, window, under = asked.crop, asked.garden, asked.window, asked.under
    if asked.once:
        return options(crop, garden, window, trellis=False, every=True, way="broadcast", under=under)
    if asked.every:
        return starts_of(crop, garden, window, trellis=asked.trellis, covers=asked.covers, under=under)
    ways = (options(crop, garden, window, trellis=asked.trellis, way=way, under=under) for way in _ways(crop))
    return next((found for found in ways if found), ())


def starts_of(
    crop: Crop, garden: Garden, window: tuple[int, int], *, trellis: bool, covers: Sequence[str] = (), under: str = ""
) -> tuple[Option, ...]:
    """Good starts of a crop, sown and planted, those of the usual way first: by all that they give, or by what they give in the
    wanted weeks."""
    found: list[Option] = []
    for way in _ways(crop):
        every = options(crop, garden, window, trellis=trellis, every=True, way=way, covers=covers, under=under)
        good = {o.key for o in (*good_starts(every), *wanted_starts(every, window))}
        found += [o for o in every if o.key in good]
    return tuple(found)


def ways_of(crop: Crop) -> tuple[str, ...]:
    """A way of sowing and a way of planting of a crop, those that it has, the usual one first."""
    found = [next((w for w in crop.establish if w in ways), "") for ways in (SOWN, PLANTED)]
    usual = crop.establish[0]
    return tuple(sorted({w for w in (*found, usual) if w}, key=lambda w: (w != usual, w)))


def _ways(crop: Crop) -> tuple[str, ...]:
    """Ways of sowing and of planting a crop; nobody raises plants of one that stands thick, unless it is never sown."""
    found = ways_of(crop)
    sown = [way for way in found if way != "module"]
    return tuple(sown) if sown and alone_density(crop) > constant("raised_per_m2") else found


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


def _alone(
    crop: Crop, garden: Garden, sky: Almanac, starts: Sequence[int], way: str, covers: tuple[CoverUse, ...], under: str
) -> tuple[Floats, dict[int, float]]:
    """Fresh mass by day of the almanac, year and start (D, Y, S) [kg/m2]; by week of the start, days to its first thinnings that
    are worth eating."""
    waits = [day - before for before, day in zip((starts[0], *starts), starts, strict=False)]
    first_date = sky.dated(starts[0])
    plantings = tuple(replace(_planting(crop, way, i, wait, first_date), covers=covers) for i, wait in enumerate(waits))
    bed, keep = Bed("alone", SIDE_M, SIDE_M, under=under), Shelf()
    alone = Garden("alone", garden.place, (bed,))
    settled = plan(Recipe("alone", SIDE_M, SIDE_M, plantings), alone, "alone", most_days=DAYS, draw=False)
    setting = settle(settled, season_weather(settled, YEARS, SEED), keep)
    picked = sole_picked(setting, keep)
    first = settled.offset
    count = min(WEEKS * 7 - first, len(picked))
    kg = np.zeros((WEEKS * 7, YEARS, len(starts)))
    kg[first : first + count] = picked[:count] / bed.area_m2
    kg[:, :, _often_lost(setting)] = 0.0
    part = eaten_thinnings(crop, way)
    if part is None:
        return kg, {}
    opens = [int(part_window(crop, part, p.clock, "thin")[0][0]) - p.start for p in settled.plantings]
    return kg, {day // 7: float(days) for day, days in zip(starts, opens, strict=True)}


def _often_lost(setting: Setting) -> NDArray[np.bool_]:
    """Plantings that are killed, never up, run to seed or not ready in more years than a grower bears, (P,)."""
    plan, mains = setting.plan, main_harvests(setting.plan)
    opens, closes = setting.by_harvest("opens")[:, mains], setting.by_harvest("closes")[:, mains]
    found = []
    for i, planned in enumerate(plan.plantings):
        window = opens[:, i], closes[:, i]
        known = fate(planned, setting.clocks[i], window, plan.days, setting.weather, setting.offset)
        found.append((known.killed | known.lost | known.bolted | known.unready).mean())
    return np.asarray(np.array(found) > constant("poor_years"))


def eaten_thinnings(crop: Crop, way: str) -> Part | None:
    """The thinnings of a crop that is sown so thick that they make a handful; None of others."""
    if way not in SOWN or alone_density(crop) < constant("thick_per_m2"):
        return None
    return next((p for p in crop.parts if p.role == "thinnings" and p.opens == "emergence"), None)


def _planting(crop: Crop, way: str, index: int, wait_days: int, first: str) -> Planting:
    """A start of a crop; all but the first wait for the one before, so that they stay in the year that they are meant for."""
    climber = crop.form == "climber"
    start = After(f"start {index - 1}", "start", float(wait_days)) if index else OnDate(first)
    return Planting(
        name=f"start {index}", crop=crop, establish=way, where=WholeBed(), start=start, amount=Density(alone_density(crop, way)),
        support="trellis" if climber else "", support_height_m=1.8 if climber else None,
    )  # fmt: skip


def _suited(
    crop: Crop, sky: Almanac, starts: Sequence[int], kg: Floats, window: tuple[int, int], trellis: bool, way: str
) -> Iterator[Option]:
    """The starts that give something in nearly every year within the window, and are cleared in time."""
    latest = window[1] // 7 + int(constant("after_window_weeks"))
    for i, day in enumerate(starts):
        by_year = kg[window[0] : window[1] + 1, :, i].sum(axis=0)
        poor = by_year <= max(constant("reliable") * float(np.median(by_year)), 1e-6)
        if poor.mean() > constant("poor_years"):
            continue
        weeks = weekly(kg[:, :, i].mean(axis=1))
        weeks[latest + 1 :] = 0.0
        last = int(np.nonzero(weeks > 1e-4)[0].max())
        support = "" if crop.form != "climber" else "trellis" if trellis else "canes"
        firsts = np.where(kg[:, :, i].any(axis=0), (kg[:, :, i] > 0.0).argmax(axis=0), len(kg))
        yield Option(crop, way, sky.dated(day), day // 7, last, weeks, support, float(np.median(firsts)) - day)
