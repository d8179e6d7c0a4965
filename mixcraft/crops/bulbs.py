"""Bulbs: the days on which they swell, in the kinds that suit a place, and the heat that ripens them.  Pure array functions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .development import NEVER
from .model import Crop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def makes_bulbs(crop: Crop) -> bool:
    """Whether a crop's main part is a bulb that swells in long days."""
    return "development.bulbing.critical_daylength" in crop.records


def grows_from_cloves(crop: Crop) -> bool:
    """Whether a crop is garlic or its like: it asks for cold before its bulbs divide, and its scapes do not end it."""
    return makes_bulbs(crop) and "clove" in crop.establish


def spoilt_by_shooting(crop: Crop) -> bool:
    """Whether a bulb that shoots before it is ripe is no harvest: onions, whose bulbs stand alone and are vernalised from some
    size on (`development.bolting.juvenile`; Brewster 2008), not garlic, nor shallots, of whose many bulbs a few shoot."""
    return makes_bulbs(crop) and not grows_from_cloves(crop) and "development.bolting.juvenile" in crop.records


def _least_daylength(crop: Crop) -> float:
    """Day length [h] above which bulbs swell in the kinds of the shortest days."""
    record = crop.records["development.bulbing.critical_daylength"]
    return record.value if record.low is None else record.low


def swelling_daylength(crop: Crop, daylength_h: Floats) -> float:
    """Day length [h] above which bulbs swell, in the kind of the crop that is grown where the days are `daylength_h` (D,).

    Growers plant kinds that begin while the days are still `bulbing_lead` shorter than the longest of the place, within the range
    of what the crop has.
    """
    critical = crop["development.bulbing.critical_daylength"]
    return float(max(min(critical, float(np.max(daylength_h)) - constant("bulbing_lead")), _least_daylength(crop)))


def swells_by_age(crop: Crop, daylength_h: Floats) -> bool:
    """Whether days (D,) [h] give garlic no sign to swell: near the equator all are long enough for the kinds of short days.

    There it grows leaf for as long as elsewhere, and does not swell as soon as it has a few: kinds in Ethiopia are ripe 135 to
    176 days after planting (ayalew_2015), those of the Philippines swell from the 60th day on and are ripe on the 105th
    to 124th (Resource manual on integrated pest management in vegetables, World Education Philippines).
    """
    if not grows_from_cloves(crop):
        return False
    least = crop.records["development.bulbing.critical_daylength"].low
    return least is not None and least >= swelling_daylength(crop, daylength_h) and bool((daylength_h > least).all())


def in_leaf(thermal: Floats, able: Ints, dieback: Floats, least_c_d: float) -> Bools:
    """Days on which plants that are `able` from some days (Y,) on have leaf enough to swell a bulb, (Y, D).

    It is leaf that senses the length of the days: what a frost has left without (`dieback` (Y, D), the share that nights take)
    has to make new leaf for `least_c_d` of thermal time [C d] first, as a young plant has, before long days tell it anything.
    """
    lost = np.where(dieback >= constant("frost_fatal"), thermal, -np.inf)
    since = thermal - np.maximum.accumulate(lost, axis=1)
    return np.asarray((np.arange(thermal.shape[1]) >= able[:, None]) & (since >= least_c_d))


def ripened_by_heat(organ: Ints, ready: Ints, heat: Ints) -> tuple[Ints, Ints]:
    """Days of ripeness and of death by heat, (Y,) each: heat that would wear the plants out ends the growth of bulbs that have
    begun to swell, and they are ripe as small as they are."""
    begun = organ < heat
    return np.where(begun, np.minimum(ready, heat), ready), np.where(begun, NEVER, heat)


def bulb_cold(crop: Crop, mean_c: Floats, start: int, organ: Ints, daylength_h: Floats) -> Floats:
    """Share of a bulb's growth that the cold it has had since planting allows, (Y, 1): bulbs of kinds that ask for cold before
    they shoot stay small and undivided without it; kinds of short days ask for less (del Pozo & Gonzalez 2005)."""
    if not grows_from_cloves(crop) or crop.bolting != "chill":
        return np.ones((len(mean_c), 1))
    critical = crop["development.bulbing.critical_daylength"]
    span = critical - _least_daylength(crop)
    southern = (critical - swelling_daylength(crop, daylength_h)) / span if span > 0.0 else 0.0
    days = np.arange(mean_c.shape[1])
    cold = np.clip(1.0 + (crop["development.bolting.chill_below"] - mean_c) / constant("bulb_cold_span"), 0.0, 1.0)
    had = np.where((days >= start) & (days < organ[:, None]), cold, 0.0).sum(axis=1, keepdims=True)
    wanted, least = (1.0 - southern) * crop["development.bolting.chill_days"], constant("bulb_without_cold")
    if wanted < 1.0:
        return np.ones((len(mean_c), 1))
    return np.asarray(np.clip(least + (1.0 - least) * had / wanted, least, 1.0))


def leaf_goes_on(thermal: Floats, organ: Ints, ready: Ints) -> Floats:
    """Share of the leaf's growth that goes on, (Y, D): all until bulbs begin to swell, then less and less until rather more than
    half-way to ripeness, when the last leaves have come out (Brewster 2008)."""
    last = thermal.shape[1] - 1

    def at(event: Ints) -> Floats:
        return np.take_along_axis(thermal, np.minimum(event, last)[:, None], axis=1)

    begun = (np.arange(last + 1) >= organ[:, None]) & (organ < NEVER)[:, None]
    way = (thermal - at(organ)) / np.maximum(at(ready) - at(organ), 1.0)
    return np.where(begun, np.clip(1.0 - way / constant("bulb_leaf_until"), 0.0, 1.0), 1.0)
