"""Cold: hardening, frost, snow, chill and frozen ground.  Pure array functions.

Plants harden in cool weather and lose it again in warm; frost finds the crown in the ground, where soil and snow shield it,
later than the leaf above; crops from warm climates are ended by chill long before frost.  Time is the last axis, (Y, D).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .model import Crop
from .remembered import remembered

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def running_mean(values: Floats, days: int, before: float | None = None) -> Floats:
    """Mean of the last `days` days, today among them, (Y, D); before the series, `before` or else its first value."""
    pad = np.repeat(values[..., :1] if before is None else np.full_like(values[..., :1], before), days, axis=-1)
    total = np.cumsum(np.concatenate([pad, values], axis=-1), axis=-1)
    return np.asarray((total[..., days:] - total[..., :-days]) / days)


@remembered
def recent_mean(values: Floats, days: int) -> Floats:
    """`running_mean` of an air in which several crops stand."""
    return running_mean(values, days)


@remembered
def hardened_share(min_c: Floats) -> Floats:
    """Share 0..1 of full hardening by the nights of the last days, (Y, D): none after mild ones, all after cold ones.

    Leaves of spinach and cabbage harden within days at 5 by day and 2 C by night, and lose it within days at 20 and 17 C.
    """
    recent = running_mean(min_c, int(constant("hardening_days")))
    span = constant("hardens_below") - constant("hardens_fully")
    return np.asarray(np.clip((constant("hardens_below") - recent) / span, 0.0, 1.0))


def leaf_limit(crop: Crop, min_c: Floats) -> Floats:
    """Air temperature [C] that kills the grown plant's leaves after the weather it has had, (Y, D)."""
    full = crop["frost.grown"]
    soft = max(full, constant("soft_limit"))
    return np.asarray(soft + (full - soft) * hardened_share(min_c))


def leaf_killed(felt_c: Floats, limit_c: Floats) -> Floats:
    """Share of the leaf that a night of `felt_c` kills whose killing temperature is `limit_c` [C], 0..1, any shape.

    It rises from none to all over `frost_span` about the limit; leaf that dies when its tissue freezes dies at once.
    """
    half = np.where(limit_c > constant("tissue_limits"), 0.0, 0.5 * constant("frost_span"))
    part = np.clip((limit_c + half - felt_c) / np.where(half > 0.0, 2.0 * half, 1.0), 0.0, 1.0)
    return np.asarray(np.where(half > 0.0, np.where(np.isfinite(limit_c), part, 0.0), (felt_c <= limit_c) * 1.0))


def newly_killed(share: Floats) -> Floats:
    """Share of the leaf that stands which each night kills, (Y, D), from the share that it would kill of fresh leaf: what has
    outlived as cold a night within the last days outlives this one."""
    worst = np.zeros_like(share)
    for back in range(1, int(constant("frost_memory")) + 1):
        worst[..., back:] = np.maximum(worst[..., back:], share[..., :-back])
    return np.asarray(np.where(worst < 1.0, np.clip((share - worst) / np.maximum(1.0 - worst, 1e-9), 0.0, 1.0), share))


def snow_depth(mean_c: Floats, rain_mm: Floats) -> Floats:
    """Snow on the ground [cm], (Y, D): what falls below freezing lies, and melts by degree days."""
    falls = np.where(mean_c < 0.0, rain_mm, 0.0)
    melts = constant("snow_melt") * np.clip(mean_c, 0.0, None)
    total = np.cumsum(falls - melts, axis=-1)
    never_below = total - np.minimum(
        np.minimum.accumulate(total, axis=-1), 0.0
    )  # what would melt beyond the last snow is not there
    return np.asarray(never_below * constant("snow_cm_per_mm"))


def crown_temperature(air_c: Floats, snow_cm: Floats) -> Floats:
    """Temperature [C] of a plant's crown just below the ground when the air is below freezing (Ritchie 1991, CERES-Wheat).

    T_crown = 2 + T (0.4 + 0.0018 (min(snow, 15) - 15)^2); the air's where it does not freeze.
    """
    snow = np.minimum(snow_cm, constant("crown_snow_most"))
    shield = constant("crown_share") + constant("crown_snow_slope") * (snow - constant("crown_snow_most")) ** 2
    return np.asarray(np.where(air_c < 0.0, constant("crown_offset") + air_c * shield, air_c))


def felt_by_crown(air_c: Floats, snow_cm: Floats) -> Floats:
    """Air temperature over bare ground [C] at which a crown would be as cold as it is under its snow, (Y, D)."""
    bare = constant("crown_share") + constant("crown_snow_slope") * constant("crown_snow_most") ** 2
    felt = (crown_temperature(air_c, snow_cm) - constant("crown_offset")) / bare
    return np.asarray(np.where(air_c < 0.0, felt, air_c))


def leaf_minimum(crop: Crop, min_c: Floats, sky: Floats | None = None) -> Floats:
    """Lowest temperature [C] of leaves in still nights, for crops whose limits are those of the leaf, (Y, D).

    They are where they lie near freezing, or where the crop says by how much its leaf is the colder, `frost.leaf_below_air`;
    other limits are told as air temperatures.  `sky` (D,) is the share of what a leaf loses to a clear sky that it loses, all
    without covers.
    """
    near_freezing = crop["frost.grown"] > constant("tissue_limits")
    below = crop.number("frost.leaf_below_air", constant("leaf_below_air") if near_freezing else 0.0)
    return min_c - below * (1.0 if sky is None else sky)


HOURS = np.sin(2.0 * np.pi * (np.arange(8) + 0.5) / 8.0)
"""The course of a day at eight hours of it, over half of its span."""


def chill_dose(crop: Crop, mean_c: Floats, green: Bools, min_c: Floats | None = None) -> Floats:
    """Chill [C d] that a crop from a warm climate has had within `chill_days`, (Y, D); 0 for crops that bear cold.

    Degrees below `frost.chill_below` over the hours of the days, which are as warm all day without their minima `min_c`: the
    limits are those of steady temperatures, and cool nights count for the hours that they last.
    """
    below = crop.number("frost.chill_below", -np.inf)
    if not np.isfinite(below):
        return np.zeros_like(mean_c)
    half = np.zeros_like(mean_c) if min_c is None else mean_c - min_c
    missing = np.zeros_like(mean_c)
    for hour in HOURS:
        missing += np.clip(below - (mean_c + hour * half), 0.0, None) / len(HOURS)
    days = int(constant("chill_days"))
    return running_mean(missing * green, days, before=0.0) * days


def chilled(crop: Crop, mean_c: Floats, green: Bools, min_c: Floats | None = None) -> Bools:
    """Days on which chill has ended the crop, (Y, D)."""
    return chill_dose(crop, mean_c, green, min_c) >= constant("chill_dose")


@remembered
def ground_frozen(mean_c: Floats, snow_cm: Floats) -> Bools:
    """Days on which the ground is too hard to dig: its crown layer below `frozen_below` over some days, (Y, D)."""
    ground = crown_temperature(mean_c, snow_cm) - constant("crown_offset") * (mean_c < 0.0)
    return np.asarray(running_mean(ground, int(constant("frozen_days"))) < constant("frozen_below"))


def rests(rate: Floats) -> Bools:
    """Days on which growth rests in the cold, (Y, D), by thermal time a day [C d/d] over some weeks."""
    return running_mean(rate, int(constant("rest_days"))) < constant("rest_rate")


def grows_again(rate: Floats) -> Bools:
    """Days on which growth goes on for good after a rest in the cold, (Y, D): a mild week in winter is not the end of it."""
    backwards = rests(rate)[..., ::-1].astype(np.float64)
    ahead = running_mean(backwards, int(constant("mild_spell")))[..., ::-1]
    over = ahead == 0.0
    return np.asarray(over & np.diff(over, axis=-1, prepend=over[..., :1]))
