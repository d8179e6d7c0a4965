"""A crop grown alone: the trial that shows whether its numbers make sense.

One year's starts are tried four weeks apart, side by side, each alone in the bed at the crop's best density; the trial keeps
the start with the best yield, as a grower who knows the place would.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import yaml
from numpy.typing import NDArray

from mixcraft.crops.clock import DORMANT, PLANTED, SOWN
from mixcraft.crops.model import Crop, Record
from mixcraft.files.shelf import Shelf
from mixcraft.place import Place, Weather, reference_place, weather_years
from mixcraft.recipe.calendar import YEAR
from mixcraft.recipe.model import Bed, Density, Garden, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import Plan, plan

from .grow import grow
from .result import Season
from .setting import BEFORE_DAYS, settle
from .twins import sole_main

Floats = NDArray[np.float64]

TRIAL_DAYS = 800
STARTS = tuple(f"{month:02d}-{day:02d}" for month in range(1, 13) for day in (8, 22))
SIDE_M = 2.0


@dataclass(frozen=True)
class SoleTrial:
    """A crop grown alone at a place.

    `start` is the month-day that serves best: of those whose yields of the main part a trial cannot tell from the greatest
    (`ALIKE`), the one that waits the fewest days for its first picking; `yield_kg_m2` is the greatest of a year [kg fresh m-2].
    `days` is the shortest time from sowing or planting to the first picking [d] among the starts that give at least half of the
    greatest yield, and `days_start` that start.  None where the main part never came.
    """

    crop: str
    place: str
    start: str | None
    yield_kg_m2: float
    days_start: str | None
    days: float | None


@dataclass(frozen=True)
class Verdict:
    """A trial beside the published ranges: yield and days with their ranges and whether they lie inside."""

    trial: SoleTrial
    yield_range: tuple[float, float]
    days_range: tuple[float, float]

    @property
    def grows(self) -> bool:
        """Whether the crop gives anything at the place."""
        return self.trial.days is not None

    @property
    def yield_fits(self) -> bool:
        """Whether the yield lies inside its published range."""
        return self.yield_range[0] <= self.trial.yield_kg_m2 <= self.yield_range[1]

    @property
    def days_fit(self) -> bool:
        """Whether the days to the first picking lie inside their published range."""
        return self.trial.days is not None and self.days_range[0] <= self.trial.days <= self.days_range[1]


PLACES_FILE = Path(__file__).with_name("trial_places.yaml")


@lru_cache(maxsize=1)
def _places() -> Mapping[str, tuple[str, ...]]:
    data = yaml.safe_load(PLACES_FILE.read_text("utf-8"))
    return {key: tuple(names) for key, names in data.items()}


def trial_places(crop: Crop) -> tuple[str, ...]:
    """Reference places at which a crop is tried: those that suit it if it needs special ones, else the usual five."""
    return _places().get(crop.id, _places()["usual"])


RANGE_WIDTH = 0.3
"""A record without a range is taken to be known to this share either way.  Common practice, no source."""
DAYS_SLACK = (0.8, 1.35)
"""Published days are counted in the season of their own region; a place may be that much faster or slower."""


ALIKE = 0.9
"""Share of the greatest yield from which on a trial cannot tell starts apart, and a grower takes the quicker.  Common practice,
no source."""


def sole_trial(crop: Crop, place: Place, years: int = 5, seed: int = 7, starts: tuple[str, ...] = STARTS) -> SoleTrial:
    """Grow `crop` alone at `place` from these starts of the year and keep the best and the quickest."""
    settled = _side_by_side(crop, place, starts)
    return _trial(crop, settled, starts, sole_main(settle(settled, _weather(place, settled.start, years, seed)), Shelf()))


@lru_cache(maxsize=8)
def _weather(place: Place, start: np.datetime64, years: int, seed: int) -> Weather:
    """Weather of a place from before a first day on, for all the crops that are tried there in turn."""
    return weather_years(place, start - np.timedelta64(BEFORE_DAYS, "D"), TRIAL_DAYS + BEFORE_DAYS, years, seed)


def sole_season(crop: Crop, place: Place, years: int = 5, seed: int = 7) -> Season:
    """`crop` alone at `place` from all `STARTS`, a planting each that does not see the others."""
    return grow(_side_by_side(crop, place, STARTS), years, seed, apart=True)


def _side_by_side(crop: Crop, place: Place, starts: Sequence[str], establish: str | None = None) -> Plan:
    """A crop alone at a place from some days of the year, a planting each that does not see the others."""
    way = establish or trial_way(crop)
    recipe = Recipe("trial", SIDE_M, SIDE_M, tuple(_planting(crop, i, start, way) for i, start in enumerate(starts)))
    garden = Garden("trial", place, (Bed("trial", SIDE_M, SIDE_M),))
    return plan(recipe, garden, "trial", most_days=TRIAL_DAYS, draw=False, apart=True)


def trial_of(crop: Crop, season: Season) -> SoleTrial:
    """The best and the quickest start of a `sole_season`."""
    return _trial(crop, season.plan, STARTS, season.sole_kg)


def _trial(crop: Crop, settled: Plan, starts: Sequence[str], sole_kg: Floats) -> SoleTrial:
    """The best and the quickest of the starts, from what each gave alone (D, Y, S) [kg]."""
    place = settled.garden.place
    kg = np.median(best_year(sole_kg), axis=0) / settled.bed.area_m2
    most = float(kg.max())
    if most <= 1e-6:
        return SoleTrial(crop.id, place.name, None, 0.0, None, None)
    picked = sole_kg > 0.0
    nursery = 7.0 * crop.number("seed.module_age", 0.0)
    nursery = nursery if crop.counted_from == "sowing" and trial_way(crop) in PLANTED else 0.0
    waits = np.array([nursery + _wait(picked[:, :, i], settled.plantings[i].start) for i in range(len(kg))])
    best = int(np.argmin(np.where(kg >= ALIKE * most, waits, np.inf)))
    quick = int(np.argmin(np.where(kg >= 0.5 * most, waits, np.inf)))
    return SoleTrial(crop.id, place.name, starts[best], most, starts[quick], float(waits[quick]))


@dataclass(frozen=True)
class Alone:
    """A crop grown alone in the open from starts all round the year: marketable kilograms per square metre of its main part in
    the best year after each start, and days that it holds its ground, from its start to its last picking, middle of the
    years, (S,) each."""

    crop: str
    kg_m2: Floats
    days: Floats


def sole_crops(
    crops: Sequence[Crop], place: Place, years: int = 3, seed: int = 7, *, establish: str | None = None
) -> tuple[Alone, ...]:
    """Grow each of `crops` alone at `place`, watered, in the open, from every month of the year; in its usual way, or in that of
    `establish`."""
    keep: dict[np.datetime64, tuple[Weather, Shelf]] = {}
    return tuple(_alone(crop, place, years, seed, keep, establish or trial_way(crop)) for crop in crops)


def _alone(
    crop: Crop, place: Place, years: int, seed: int, keep: dict[np.datetime64, tuple[Weather, Shelf]], establish: str
) -> Alone:
    """A crop's `Alone`; `keep` holds by first day the weather and what was made in it for the crops before."""
    starts = STARTS[::2]
    settled = _side_by_side(crop, place, starts, establish)
    if settled.start not in keep:
        first = settled.date(-BEFORE_DAYS)
        keep[settled.start] = weather_years(place, first, TRIAL_DAYS + BEFORE_DAYS, years, seed), Shelf()
    daily = sole_main(settle(settled, *keep[settled.start]), keep[settled.start][1])
    kg = np.median(best_year(daily), axis=0) / settled.bed.area_m2
    picked = daily > 0.0
    last = np.where(picked.any(axis=0), len(picked) - picked[::-1].argmax(axis=0), 0)
    held = np.median(last, axis=0) - np.array([p.start for p in settled.plantings])
    return Alone(crop.id, kg, np.asarray(np.minimum(held, YEAR)))


def best_year(kg: Floats) -> Floats:
    """Greatest sum of 365 neighbouring days, (Y, H), of daily yields (D, Y, H): published yields are those of a year."""
    total = np.concatenate([np.zeros_like(kg[:1]), np.cumsum(kg, axis=0)])
    if len(kg) <= YEAR:
        return np.asarray(total[-1])
    return np.asarray((total[YEAR:] - total[:-YEAR]).max(axis=0))


def _wait(picked: NDArray[np.bool_], start: int) -> float:
    years = picked.any(axis=0)
    return float(np.median(picked.argmax(axis=0)[years])) - start if years.any() else np.inf


def trials(crop: Crop, most: int = 9) -> Iterator[Verdict]:
    """The crop tried alone at up to `most` of its places, one after the other, each beside its published ranges."""
    for name in trial_places(crop)[:most]:
        yield judge(crop, sole_trial(crop, reference_place(name)))


def judge(crop: Crop, trial: SoleTrial) -> Verdict:
    """Set a trial beside the published ranges of the crop's yield and days to harvest."""
    amount, days = crop.records["harvest.yield_sole"], crop.records["development.days_to_harvest"]

    def limits(record: Record) -> tuple[float, float]:
        low = record.low if record.low is not None else record.value * (1.0 - RANGE_WIDTH)
        high = record.high if record.high is not None else record.value * (1.0 + RANGE_WIDTH)
        return low, high

    low, high = limits(days)
    return Verdict(trial, limits(amount), (low * DAYS_SLACK[0], high * DAYS_SLACK[1]))


def trial_way(crop: Crop) -> str:
    """Way of establishing from which the crop's published days are counted, the usual one first."""
    wanted = SOWN if crop.counted_from == "sowing" else (*DORMANT, "module")
    return next((way for way in crop.establish if way in wanted), crop.establish[0])


def _planting(crop: Crop, index: int, start: str, establish: str) -> Planting:
    part = crop.main_part
    cutting = part.methods[0] == "cut" and establish in SOWN and "spacing.cutting_density" in crop.records
    density = crop["spacing.cutting_density"] if cutting else crop["spacing.density"]
    return Planting(
        name=f"start {index}", crop=crop, establish=establish, where=WholeBed(),
        start=OnDate(start), amount=Density(density),
        support="trellis" if crop.form == "climber" else "", support_height_m=2.0 if crop.form == "climber" else None,
    )  # fmt: skip
