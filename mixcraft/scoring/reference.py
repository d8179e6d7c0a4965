"""What good practice gives of a crop on open, watered ground in the climate of a place: the yardstick of the yield.

The crop is grown alone, watered and fed, in the open, at its usual density, picked in its usual way, from starts all round
the year; the best of them is what a grower who knows the place gets.  So a mistake of the recipe (a wrong start, a dry bed,
a dark corner, one cut where four are usual) does not lower what it is measured by.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from hashlib import sha256

import numpy as np

from mixcraft.crops.clock import PLANTED
from mixcraft.crops.model import Crop
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import Place
from mixcraft.recipe.calendar import YEAR
from mixcraft.season.trial import sole_crops, trial_way

from .constants import constants
from .found import KEY_LETTERS, MOST_KEPT, Best, found_before


@dataclass(frozen=True, slots=True)
class Reference:
    """A crop grown well: fresh mass of its main part [kg m-2] and the days that it holds its ground; `by_start` (12,) is that
    mass from a start in each month, on its eighth."""

    kg_m2: float
    days: float
    by_start: tuple[float, ...] = ()

    def share_from(self, day_of_year: float) -> float:
        """Share of the best start's mass that a start on a day of the year gives, 0..1, between the months by straight lines."""
        if not self.by_start or max(self.by_start) <= 0.0:
            return 1.0
        months = (day_of_year - FIRST_START) / YEAR * len(self.by_start)
        low, rest = math.floor(months), months - math.floor(months)
        a, b = (self.by_start[n % len(self.by_start)] for n in (low, low + 1))
        return (a + (b - a) * rest) / max(self.by_start)


FIRST_START = 8.0
"""Day of the year of the first of the starts that are tried."""

_known, _raised = Shelf(MOST_KEPT), Shelf(MOST_KEPT)
_names = Shelf(400)
"""Digests of crops and places."""


def references(crops: Iterable[Crop], place: Place) -> Mapping[str, Reference]:
    """`Reference` of each crop at a place by its id; kept for the process, and on disk (`found_before`)."""
    crops, here = tuple(dict.fromkeys(crops)), place_key(place)
    keys = {crop: (here, crop_key(crop)) for crop in crops}
    known = {crop.id: _known.get(key) for crop, key in keys.items()}
    if not all(known.values()):
        best = found_before([f"{at} {crop}" for at, crop in keys.values()], lambda new: _grown([crops[n] for n in new], place))
        for (crop, key), (kg_m2, days, *by_start) in zip(keys.items(), best, strict=True):
            known[crop.id] = _reference(crop, kg_m2, days, tuple(by_start))
            _known.put(key, known[crop.id])
    return known


def best_start(crop: Crop, establish: str, place: Place) -> float:
    """What a crop gives alone at a place from its best start [kg m-2], raised in its usual way or as `establish` says, whichever
    gives more: young plants out of a nursery give more than seed where the season is short."""
    usual = max(references([crop], place)[crop.id].by_start, default=0.0)
    if establish not in PLANTED or trial_way(crop) in PLANTED:
        return usual
    key = (place_key(place), crop_key(crop), establish)
    raised: float | None = _raised.get(key)
    if raised is None:
        ((raised, *_),) = found_before([" ".join(key)], lambda _: _grown([crop], place, establish))
        _raised.put(key, raised)
    return max(usual, raised)


def _grown(crops: list[Crop], place: Place, establish: str | None = None) -> list[Best]:
    """The best starts of crops grown alone at a place, in their usual ways or in one."""
    found = []
    for alone in sole_crops(crops, place, establish=establish):
        best = int(np.argmax(alone.kg_m2))
        found.append((float(alone.kg_m2[best]), float(alone.days[best]), *alone.kg_m2.tolist()))
    return found


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:KEY_LETTERS]


def crop_key(crop: Crop) -> str:
    """A crop by all that is known of it."""
    found: str = _names(("crop", Same(crop)), lambda: _digest(repr(crop)))
    return found


def place_key(place: Place) -> str:
    """A place by all that weather and dates depend on."""
    found: str = _names(("place", Same(place)), lambda: _place_key(place))
    return found


def _place_key(place: Place) -> str:
    normals = [getattr(place.normals, item.name) for item in fields(place.normals)]
    known = [None if values is None else np.asarray(values).tolist() for values in normals]
    where = (place.latitude_deg, place.longitude_deg, place.elevation_m, place.coastal)
    return _digest(repr((where, place.last_spring_frost, place.first_autumn_frost, known)))


def _reference(crop: Crop, kg_m2: float, days: float, by_start: tuple[float, ...]) -> Reference:
    """The best start's; at least a share of the published yield, so that a crop that hardly grows there earns little."""
    published = crop.records["harvest.yield_sole"]
    low = published.low if published.low is not None else published.value
    least = constants()["reference_least_share"] * low
    days = days if kg_m2 > 0.0 else crop["development.days_to_harvest"]
    return Reference(max(kg_m2, least), max(days, 1.0), by_start)
