"""What can go here now: crops ranked for a piece of ground and a day, alone or into the gap of a recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.files.facts import Facts, Numbers
from mixcraft.recipe.calendar import YEAR, almanac
from mixcraft.recipe.model import Bed, Garden, OnDate, Recipe, Span, Where, WholeBed, Zone
from mixcraft.recipe.moves import AddPlanting
from mixcraft.recipe.plan import Plan, plan
from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.model import Reason
from mixcraft.scoring.portions import wanted_of
from mixcraft.scoring.strip import wanted_windows

from .apart import Grown, grown_apart
from .constants import constant, usual_crops
from .curves import Option, ways_of, window_of
from .drawing import planting_of
from .search import Trial

Bools = NDArray[np.bool_]
TRACE = 1e-6
"""A share of a cell that is nothing but rounding."""


@dataclass(frozen=True, slots=True)
class Against:
    """What speaks against a crop here: light, loss (with its cause and share of years), neighbour (with what they share), taller
    or lower (than whom), support, or the score's own reason of rotation."""

    kind: str
    numbers: Numbers = field(default_factory=Facts)
    names: tuple[str, ...] = ()
    reason: Reason | None = None


@dataclass(frozen=True)
class Filler:
    """A crop that can go in: as grown alone, `portions` of the ground (middle and band), `useful` ones that a household
    eats in the weeks it wants, what speaks against it, and `gain` of the overall score where it was tried in a recipe."""

    grown: Grown
    portions: float
    band: tuple[float, float]
    useful: float
    against: tuple[Against, ...]
    gain: float | None = None

    @property
    def worth(self) -> tuple[bool, float]:
        """What they are ranked by: rotation kept, then what is gained in the recipe, or what is useful and how surely."""
        kept = self.grown.rotation is None
        sure = 1.0 - max((share for _, share in self.grown.lost), default=0.0)
        return kept, self.gain if self.gain is not None else self.useful * sure


@dataclass(frozen=True)
class Gap:
    """Ground: where, how much of it, from which day until which (None = to the end of the season); `free`, or among what grows
    there."""

    where: Where
    area_m2: float
    start: np.datetime64
    until: np.datetime64 | None
    free: bool = True


@dataclass(frozen=True)
class Fill:
    """The answer: the ground, the fillers by rank, and the crops of which nothing would come."""

    gap: Gap
    found: tuple[Filler, ...]
    nothing: tuple[str, ...]
    light: float = 1.0


def fill(
    garden: Garden,
    bed: str,
    month_day: str,
    *,
    until: str = "",
    area_m2: float = 0.0,
    light: float = 1.0,
    beside: Sequence[Crop] = (),
    history: Sequence[Crop] = (),
    crops: Sequence[Crop] = (),
) -> Fill:
    """What can be sown or planted in the bed called `bed` on `month_day`, ranked.

    `until` the month-day by which it is to be cleared; `area_m2` of ground (0 = the whole bed); `light` share of the open sky's;
    `beside` crops that grow there; `history` crops that grew there last year, besides the bed's own history.
    """
    here = garden.bed(bed)
    known = (*here.history, *(((1, tuple(c.id for c in history)),) if history else ()))
    tried = [(crop, way) for crop in crops or tuple(load_crop(key) for key in usual_crops()) for way in ways_of(crop)]
    grown = grown_apart(tried, garden, month_day, until=until, light=light, history=known, under=here.under)
    area = area_m2 or here.area_m2
    found = [_filler(g, garden, here, area, light, beside) for g in grown if g.first is not None and g.kg_m2 > 0.0]
    ranked = _better_way(sorted((f for f in found if f.useful >= 1.0), key=lambda f: f.worth, reverse=True))
    sky = almanac(garden.place)
    start = sky.month_day(month_day)
    end = sky.date(sky.month_day(until, not_before=start)) if until else None
    names = {f.grown.crop.id for f in ranked}
    nothing = tuple(dict.fromkeys(c.name for c, _ in tried if c.id not in names))
    return Fill(Gap(WholeBed(), area, sky.date(start), end), ranked, nothing, light)


def _better_way(ranked: Sequence[Filler]) -> tuple[Filler, ...]:
    """Each crop once, in the way that ranks higher."""
    found: dict[str, Filler] = {}
    for filler in ranked:
        found.setdefault(filler.grown.crop.id, filler)
    return tuple(found.values())


def _filler(grown: Grown, garden: Garden, bed: Bed, area_m2: float, light: float, beside: Sequence[Crop]) -> Filler:
    gram = 1000.0 * area_m2 / grown.portion_g
    useful = _useful(grown, garden, bed, area_m2)
    band = grown.band[0] * gram, grown.band[1] * gram
    return Filler(grown, grown.kg_m2 * gram, band, useful, _against(grown, light, beside))


def _useful(grown: Grown, garden: Garden, bed: Bed, area_m2: float) -> float:
    """Portions that the household eats: of one kind no more than its share of the plate a week, in the weeks that are wanted."""
    c, sky = scoring_constants(), almanac(garden.place)
    wanted = wanted_of(bed.plate or garden.plate, bed.area_m2, ())
    most = c["most_of_herb" if grown.portion_g <= c["herb_portion_g"] else "most_of_one"] * wanted.portions
    portions = grown.weekly * 1000.0 * area_m2 / grown.portion_g
    first, last = window_of(garden, bed, sky, c["window_after_weeks"])
    days = (sky.day(grown.start) + 7 * np.arange(len(portions)) - first) % YEAR
    eaten = _kept(portions, most, int(grown.crop.main_part.number("keeps", c["keeps_usual_days"]) // 7))
    soon = np.arange(len(portions)) < constant("fill_weeks")
    return float(eaten[(days <= last - first) & soon].mean(axis=1).sum())


def _kept(portions: NDArray[np.float64], most: float, keeps: int) -> NDArray[np.float64]:
    """What is eaten by week of what is picked and keeps so many weeks, (W, Y), no more than `most` a week."""
    eaten, left = np.zeros_like(portions), portions.copy()
    for week in range(len(portions)):
        for old in range(max(0, week - keeps), week + 1):
            take = np.minimum(left[old], most - eaten[week])
            eaten[week] += take
            left[old] -= take
    return eaten


def _against(grown: Grown, light: float, beside: Sequence[Crop]) -> tuple[Against, ...]:
    """What speaks against a crop, the worst first."""
    found = [] if grown.rotation is None else [Against("rotation", reason=grown.rotation)]
    least = constant("loss_named")
    found += [Against("loss", Facts(share=share), (cause,)) for cause, share in grown.lost if share >= least]
    if light < constant("light_full") and grown.crop["canopy.light_need"] > light * constant("light_summer"):
        found.append(Against("light", Facts(need=grown.crop["canopy.light_need"], light=light)))
    for other in beside:
        shared = sorted(set(other.pests) & set(grown.crop.pests) | {d.name for d in other.diseases} & _ills(grown.crop))
        if shared and (other.family == grown.crop.family):
            found.append(Against("neighbour", names=(other.name, *shared)))
    height, step = grown.crop["canopy.height"], scoring_constants()["shadow_tolerated_m"]
    for kind, sign in (("taller", 1.0), ("lower", -1.0)):
        names = tuple(dict.fromkeys(o.name for o in beside if sign * (height - o["canopy.height"]) >= step))
        found += [Against(kind, names=names)] if names else []
    if grown.crop.form == "climber":
        found.append(Against("support"))
    return tuple(found)


def _ills(crop: Crop) -> set[str]:
    return {d.name for d in crop.diseases}


# A recipe with a gap ------------------------------------------------------------------------------------


def fill_recipe(
    recipe: Recipe, garden: Garden, bed: str, *, month_day: str = "", crops: Sequence[Crop] = (), most: int = 12
) -> Fill:
    """What can go into the gap of a recipe: the ground that is free on `month_day` (or the largest gap of its season), and the
    crops that raise its score most, each tried in the recipe.  Where no ground is free, among what grows there."""
    settled = plan(recipe, garden, bed, draw=False)
    gap = (gap_on(settled, month_day) if month_day else largest_gap(settled)) or _among(settled, month_day)
    start, until = str(gap.start)[5:10], str(gap.until)[5:10] if gap.until is not None else ""
    beside = tuple(dict.fromkeys(p.planting.crop for p in settled.plantings if p.start <= settled.day(gap.start) < p.end))
    area = gap.area_m2 * (1.0 if gap.free else constant("intercrop_share"))
    alone = fill(garden, bed, start, until=until, area_m2=area, beside=beside, crops=crops)
    trial = Trial(garden, bed)
    before = trial.score(recipe)
    tried = [replace(f, gain=_gain(f, recipe, gap, trial, before)) for f in alone.found[: 2 * most]]
    ranked = sorted([f for f in tried if f.gain is not None], key=lambda f: f.worth, reverse=True)
    return Fill(gap, tuple(ranked), alone.nothing)


def _gain(filler: Filler, recipe: Recipe, gap: Gap, trial: Trial, before: float) -> float | None:
    """Points that a recipe gains by a filler, over few years; None if it does not fit."""
    g = filler.grown
    support = "canes" if g.crop.form == "climber" else ""
    option = Option(g.crop, g.establish, str(g.start)[5:10], 0, 0, np.zeros(1), support)
    share = 1.0 if gap.free else constant("intercrop_share")
    planting = planting_of(option, gap.where, gap.area_m2, g.crop.name, share=share)
    if gap.until is not None:
        planting = replace(planting, end=OnDate(str(gap.until)[5:10]))
    after = trial.score(AddPlanting(planting).changed(recipe))
    return None if after < 0.0 else after - before


def gap_on(settled: Plan, month_day: str) -> Gap | None:
    """The largest free rectangle of a bed on a day, and how long it stays free; None if there is none."""
    day = settled.almanac.month_day(month_day) - settled.offset
    day += YEAR if day < 0 and day + YEAR < settled.days else 0
    return _gap(settled, day)


def _among(settled: Plan, month_day: str) -> Gap:
    """The whole bed, among what grows there, from a day (or from the first sowing)."""
    sky = settled.almanac
    start = sky.date(sky.month_day(month_day)) if month_day else settled.start
    return Gap(WholeBed(), settled.bed.area_m2, start, None, free=False)


def largest_gap(settled: Plan) -> Gap | None:
    """The gap with most ground times days among those that open when a planting is cleared (or with the first sowing), early
    enough for something to be picked in the household's weeks."""
    windows = [w for w in wanted_windows(settled) if w[1] > 0]
    late = (windows[0][1] if windows else settled.days) - int(7 * constant("gap_opens_weeks"))
    days = sorted({0, *(p.end + 1 for p in settled.plantings)})
    found = [gap for day in days if day <= late and (gap := _gap(settled, day)) is not None]
    end = settled.date(late + int(7 * constant("gap_opens_weeks")))

    def size(gap: Gap) -> float:
        return gap.area_m2 * (settled.day(gap.until or end) - settled.day(gap.start))

    return max((g for g in found if size(g) > 0.0), key=size, default=None)


def _gap(settled: Plan, day: int) -> Gap | None:
    """The largest rectangle that is free on a day for `gap_weeks` weeks, and until when."""
    least = int(7 * constant("gap_weeks"))
    busy: Bools = np.zeros((settled.grid.nx, settled.grid.ny), dtype=bool)
    for p in settled.plantings:
        if p.start < day + least and p.end >= day:
            busy |= p.stand.cells > TRACE
    a, b, c, d = _rectangle(~busy)
    area = (b - a) * (d - c) * settled.grid.cell_m2
    if area < constant("gap_m2"):
        return None
    later = [p.start for p in settled.plantings if p.start >= day + least and (p.stand.cells[a:b, c:d] > TRACE).any()]
    x, y = _spans(a, b, settled.grid.dx_m), _spans(c, d, settled.grid.dy_m)
    return Gap(Zone(x, y), area, settled.date(day), settled.date(min(later) - 1) if later else None)


def _spans(first: int, last: int, cell_m: float) -> tuple[Span, Span]:
    return Span(round(first * cell_m, 3)), Span(round(last * cell_m, 3))


def _rectangle(free: Bools) -> tuple[int, int, int, int]:
    """First and last (not included) column and row of the largest rectangle of true cells; zeros if there is none."""
    best, found = 0, (0, 0, 0, 0)
    for a in range(len(free)):
        column = np.ones(free.shape[1], dtype=bool)
        for b in range(a + 1, len(free) + 1):
            column &= free[b - 1]
            turns = np.diff(np.concatenate([[0], column.astype(np.int8), [0]]))
            for c, d in zip(np.nonzero(turns == 1)[0].tolist(), np.nonzero(turns == -1)[0].tolist(), strict=True):
                if (b - a) * (d - c) > best:
                    best, found = (b - a) * (d - c), (a, b, c, d)
    return found
