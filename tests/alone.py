"""Crops grown alone from many starts of a year, side by side: what gardeners' facts and planting guides are checked against."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.clock import PIECES, PLANTED, SOWN, Clock
from mixcraft.crops.model import Crop
from mixcraft.crops.windows import part_window
from mixcraft.files.shelf import Shelf
from mixcraft.place import Place, Weather, weather_years
from mixcraft.place.places import place_from_normals
from mixcraft.recipe.model import AtEvent, Bed, CoverUse, Density, Garden, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.season.setting import BEFORE_DAYS, Setting, settle
from mixcraft.season.trial import best_year
from mixcraft.season.twins import sole_main

Floats = NDArray[np.float64]

SIDE_M = 2.0
DAYS = 800
LEAST_KG_M2 = 0.02
"""What is picked on a day counts as a picking from so much on."""
FLOWERS_KG_M2 = 0.002
"""The same of flowers and spears, of which a tenth is one: they are picked every other day."""


@dataclass(frozen=True)
class Alone:
    """A crop grown alone from S starts: `kg_m2` (D, Y, S) of the main part, `starts` (S,) day indices, and the setting."""

    crop: Crop
    setting: Setting
    starts: NDArray[np.int64]
    kg_m2: Floats

    @property
    def clocks(self) -> tuple[Clock, ...]:
        """Clocks by start."""
        return self.setting.clocks

    @property
    def yields(self) -> Floats:
        """Yield of the best 365 days [kg/m2], (Y, S)."""
        return best_year(self.kg_m2)

    @property
    def least(self) -> float:
        """What counts as a picking of the main part [kg/m2]."""
        part = self.crop.main_part
        few = part.pool == "side" and (part.opens == "flower" or "stored" in part.records)
        return FLOWERS_KG_M2 if few else LEAST_KG_M2

    def first(self) -> Floats:
        """Days from the start to the first picking, (Y, S); nan where nothing is picked."""
        picked = self.kg_m2 >= self.least
        return np.where(picked.any(axis=0), picked.argmax(axis=0) - self.starts, np.nan)

    def last(self) -> Floats:
        """Days from the start to the last picking, (Y, S), or where all is picked at once to the last day on which it could be;
        nan where nothing is picked."""
        picked = self.kg_m2 >= self.least
        last = len(picked) - 1 - picked[::-1].argmax(axis=0)
        if self.setting.plan.harvests[0].method == "once":
            last = np.maximum(last, [self._closes(i) for i in range(len(self.starts))])
        return np.where(picked.any(axis=0), last - self.starts, np.nan)

    def _closes(self, i: int) -> int:
        """Last day of the normal year on which the main part of start i can be picked; plans of crops picked at once end
        before."""
        planned = self.setting.plan.plantings[i]
        return int(part_window(self.crop, self.crop.main_part, planned.clock)[1][0])


def month_days(count: int) -> tuple[str, ...]:
    """`count` starts spread over the year as month-days."""
    days = np.datetime64("2001-01-05") + (np.arange(count) * 365 / count).astype(int)
    return tuple(str(day)[5:] for day in days)


def way(crop: Crop, how: str) -> str:
    """The crop's way of establishing that comes nearest to a guide's seed, transplant or set."""
    wanted = {"seed": SOWN, "transplant": PLANTED, "set": PIECES}.get(how)
    if wanted is None:
        return how
    return next((w for w in crop.establish if w in wanted), wanted[0] if how == "seed" else crop.establish[0])


def grow_alone(
    crop: Crop, place: Place, how: str, starts: Sequence[str], years: int = 4, seed: int = 7, cover: str = ""
) -> Alone:
    """Grow `crop` alone, established `how`, from month-days `starts` under a cover of some kind, several joined by +, or none."""
    covers = tuple(CoverUse(kind, AtEvent("start"), AtEvent("start", 600.0)) for kind in cover.split("+") if kind)
    plantings = tuple(planting(crop, way(crop, how), start, f"start {i}", covers) for i, start in enumerate(starts))
    return alone_of(crop, place, plantings, years, seed)


def alone_of(crop: Crop, place: Place, plantings: tuple[Planting, ...], years: int, seed: int) -> Alone:
    """Plantings of a crop that do not see one another, at the crop's best density."""
    garden = Garden("trial", place, (Bed("trial", SIDE_M, SIDE_M),))
    settled = plan(Recipe("trial", SIDE_M, SIDE_M, plantings), garden, "trial", most_days=DAYS, draw=False, apart=True)
    setting = settle(settled, _weather(place, settled.start, years, seed))
    starts = np.array([p.start for p in settled.plantings])
    return Alone(crop, setting, starts, sole_main(setting, Shelf()) / SIDE_M**2)


@lru_cache(maxsize=4)
def _weather(place: Place, start: np.datetime64, years: int, seed: int) -> Weather:
    """Stochastic years of a place from before a plan's first day."""
    return weather_years(place, start - np.timedelta64(BEFORE_DAYS, "D"), DAYS + BEFORE_DAYS, years, seed)


def planting(crop: Crop, establish: str, start: str, name: str, covers: tuple[CoverUse, ...] = ()) -> Planting:
    """One planting of the whole bed at the usual density; of a perennial that stands, so many years after a *."""
    establish, _, years = establish.partition("*")
    cutting = crop.main_part.methods[0] == "cut" and "spacing.cutting_density" in crop.records
    climbs = crop.form == "climber"
    return Planting(
        name=name, crop=crop, establish=establish, where=WholeBed(), start=OnDate(start),
        amount=Density(crop["spacing.cutting_density" if cutting else "spacing.density"]), covers=covers,
        support="trellis" if climbs else "", support_height_m=2.0 if climbs else None, years=int(years) if years else None,
    )  # fmt: skip


def rows(path: Path) -> list[dict[str, str]]:
    """Rows of a CSV file, lines that begin with # left out."""
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def place_of(row: Mapping[str, str]) -> Place:
    """A place from a row of monthly normals."""
    name = row.get("place", "")

    def months(key: str) -> list[float]:
        return [float(x) for x in row[key].split()]

    return place_from_normals(
        name, float(row.get("latitude_deg") or row["lat"]), float(row.get("longitude_deg") or row["lon"]),
        float(row["elevation_m"]), tmax_c=months("tmax_c"), tmin_c=months("tmin_c"), rain_mm=months("rain_mm"),
        coastal=row.get("coastal", "") == "yes",
    )  # fmt: skip


__all__ = ["Alone", "Floats", "grow_alone", "load_crop", "month_days", "place_of", "rows", "way"]
