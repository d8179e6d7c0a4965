"""What good practice gives of a crop on open, watered ground in the climate of a place: the yardstick of the yield.

The crop is grown alone, watered and fed, in the open, at its usual density, picked in its usual way, from starts all round
the year; the best of them is what a grower who knows the place gets.  So a mistake of the recipe (a wrong start, a dry bed,
a dark corner, one cut where four are usual) does not lower what it is measured by.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from mixcraft.crops.model import Crop
from mixcraft.place import Place
from mixcraft.season.trial import Alone, sole_crops

from .constants import constants


@dataclass(frozen=True, slots=True)
class Reference:
    """A crop grown well: fresh mass of its main part [kg m-2] and the days that it holds its ground."""

    kg_m2: float
    days: float


_known: dict[tuple[tuple[object, ...], Crop], Reference] = {}


def references(crops: Iterable[Crop], place: Place) -> Mapping[str, Reference]:
    """`Reference` of each crop at a place by its id; what was found once is kept for the process."""
    crops, here = tuple(dict.fromkeys(crops)), _key(place)
    new = [crop for crop in crops if (here, crop) not in _known]
    for crop, alone in zip(new, sole_crops(new, place), strict=True):
        _known[here, crop] = _reference(crop, alone)
    return {crop.id: _known[here, crop] for crop in crops}


def _key(place: Place) -> tuple[object, ...]:
    """A place by its position and its temperatures."""
    normals = place.normals
    return place.name, place.latitude_deg, place.elevation_m, normals.tmin_c.tobytes(), normals.tmax_c.tobytes()


def _reference(crop: Crop, alone: Alone) -> Reference:
    """The best start's; at least a share of the published yield, so that a crop that hardly grows there earns little."""
    published = crop.records["harvest.yield_sole"]
    low = published.low if published.low is not None else published.value
    best = int(np.argmax(alone.kg_m2))
    least = constants()["reference_least_share"] * low
    usual = crop["development.days_to_harvest"]
    days = float(alone.days[best]) if alone.kg_m2[best] > 0.0 else usual
    return Reference(max(float(alone.kg_m2[best]), least), max(days, 1.0))
