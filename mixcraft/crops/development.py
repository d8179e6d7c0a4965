"""Temperature, day length and the clock of a crop: emergence, thermal time, bolting.  Pure array functions.

Shapes: time is the last axis, ``(..., D)``; crops are scalars here, so that a caller loops over plantings only.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .constants import constant
from .model import Crop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

NEVER = 10**6
"""Day index for an event that does not happen within the season."""

ROUNDING_D = 1e-9
"""Days of cold that sums of shares may lack for rounding."""
NURSERY_C = constant("nursery_warmth")
"""Temperature at which modules are raised; `nursery_thermal_time` uses it."""


def thermal_rate(temperature_c: Floats, t_base_c: float, t_optimum_c: float, t_ceiling_c: float) -> Floats:
    """Degree days per day: rising from the base to the optimum, then falling to nothing at the ceiling.

    A straight line up to the optimum To; beyond it the falling side of the beta function of Yan & Hunt 1999, eq. 4, which is
    flat at the optimum: (To - Tb) x (Tc - T)/(Tc - To) x ((T - Tb)/(To - Tb))^((To - Tb)/(Tc - To)).

    Parameters: temperatures [C], any shape.  Result: thermal time per day [C d/d], same shape.
    """
    t = np.asarray(temperature_c, dtype=float)
    rise, fall = t_optimum_c - t_base_c, t_ceiling_c - t_optimum_c
    rising = np.clip(t - t_base_c, 0.0, None)
    beyond = np.clip((t_ceiling_c - t) / fall, 0.0, 1.0) * np.maximum(rising / rise, 1.0) ** (rise / fall)
    return np.asarray(np.minimum(rising, rise) * beyond)


def crop_thermal_rate(crop: Crop, temperature_c: Floats) -> Floats:
    """`thermal_rate` with the cardinal temperatures of `crop` [C d/d]."""
    return thermal_rate(temperature_c, crop["development.t_base"], crop["development.t_optimum"], crop["development.t_ceiling"])


def development_rate(crop: Crop, temperature_c: Floats) -> Floats:
    """Degree days per day that count for development, told in those of the crop's usual season [C d/d], shape as given.

    As `crop_thermal_rate`, the straight line by which leaf grows, but that between `development.t_optimum_from` and `t_optimum`,
    the range of temperatures that suit the crop best, more warmth hastens it less and less: the slope of the line falls evenly
    to nothing, as the response is flat at the optimum (Yan & Hunt 1999). At the temperature for which its days are told,
    `development.reference_temperature`, the pace is that of the straight line, by which its thermal times are told.
    """
    straight = crop_thermal_rate(crop, temperature_c)
    if "development.t_optimum_from" not in crop.records:
        return straight
    bend, best = crop["development.t_optimum_from"], crop["development.t_optimum"]

    def share(at_c: Floats | float) -> Floats:
        """Pace over that of the straight line."""
        t = np.clip(at_c, bend, best)
        return np.asarray(1.0 - (t - bend) ** 2 / (2.0 * (best - bend) * (t - crop["development.t_base"])))

    return np.asarray(straight * share(temperature_c) / share(crop["development.reference_temperature"]))


def crop_degree_days(crop: Crop, temperature_c: Floats) -> Floats:
    """Degree days per day that count for growing old: as `crop_thermal_rate` up to the optimum, and no slower beyond it."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(np.clip(np.minimum(t, crop["development.t_optimum"]) - crop["development.t_base"], 0.0, None))


def daylength_factor(crop: Crop, daylength_h: Floats) -> Floats:
    """Pace of development towards the flower over that in the days in which the crop's thermal times are told; 1 for crops that
    do not mind.

    In days of P hours the pace is 1 + slope x (P - critical) of the greatest, within 0 and 1, as in CROPGRO (Boote et al. 1998):
    long-day plants have a slope above zero and are the slower below the critical length, short-day plants one below zero.
    """
    if "development.photoperiod.critical" not in crop.records:
        return np.ones_like(daylength_h)

    def pace(hours: Floats) -> Floats:
        return np.clip(1.0 + crop["development.photoperiod.slope"] * (hours - crop["development.photoperiod.critical"]), 0.0, 1.0)

    return np.asarray(pace(np.asarray(daylength_h)) / pace(np.array(crop["development.photoperiod.reference"])))


def podding_factor(crop: Crop, daylength_h: Floats) -> Floats:
    """Pace of development from the flower on over that in the days in which the crop's thermal times are told, shape of
    `daylength_h`; 1 for crops that do not mind.

    The thermal time that it takes is a straight line in day length between `development.podding.short_day` and `long_day`, as in
    APSIM's faba bean.
    """
    if "development.podding.longest" not in crop.records:
        return np.ones_like(daylength_h)
    hours = (crop["development.podding.short_day"], crop["development.podding.long_day"])
    takes = (crop["development.podding.longest"], crop["development.podding.shortest"])
    return np.asarray(1.0 / np.interp(daylength_h, hours, takes))


def emergence_rate(crop: Crop, soil_temperature_c: Floats) -> Floats:
    """Share of emergence completed per day [1/d] at the temperature of the soil at sowing depth.

    From the crop's days-to-emergence table, interpolated in rate (1/days) between its temperatures and zero where
    nothing emerged; without a table, (T - base) / thermal time up to the maximum.  Shape as given.
    """
    t = np.asarray(soil_temperature_c, dtype=float)
    table = crop.emergence_table
    if table is None:
        base, top = crop["emergence.t_base"], crop["emergence.t_max"]
        rate = np.clip(t - base, 0.0, None) / crop["emergence.thermal_time"]
        return np.asarray(np.where(t <= top, rate, 0.0))
    rates = np.array([0.0 if np.isnan(day) else 1.0 / day for day in table.days])
    temperatures = np.array(table.temperatures_c)
    first = int(np.argmax(rates > 0.0))
    anchor = min(crop["emergence.t_min"], temperatures[first] - 1.0)
    if first > 0:
        anchor = max(anchor, temperatures[first - 1])
    xs = np.concatenate([[anchor], temperatures[first:]])
    ys = np.concatenate([[0.0], rates[first:]])
    if ys[-1] > 0.0:
        xs = np.append(xs, max(crop["emergence.t_max"], xs[-1]) + constant("emergence_ends"))
        ys = np.append(ys, 0.0)
    return np.asarray(np.interp(t, xs, ys, left=0.0, right=0.0))


def first_day_reaching(progress: Floats | Bools, target: float, start: int | Ints = 0) -> Ints:
    """First index along the last axis at which `progress` (non-decreasing) is at least `target`, else `NEVER`."""
    reached = progress >= target
    days = np.where(reached.any(axis=-1), reached.argmax(axis=-1), NEVER)
    return np.asarray(np.where(days < NEVER, np.maximum(days, start), NEVER), dtype=np.int64)


def emergence_day(crop: Crop, soil_temperature_c: Floats, start: int) -> Ints:
    """Day index of emergence for seed sown on day `start`; shape ``soil_temperature_c.shape[:-1]``."""
    rate = emergence_rate(crop, soil_temperature_c)
    rate[..., : start + 1] = 0.0
    return first_day_reaching(np.cumsum(rate, axis=-1), 1.0 - 1e-9, start)


def nursery_thermal_time(crop: Crop, age_weeks: float) -> float:
    """Thermal time [C d] that a module of `age_weeks` has behind it when it is planted out.

    The share `nursery_green` of the weeks, at `NURSERY_C`: the rest goes into emergence.
    """
    rate = float(crop_thermal_rate(crop, np.array(NURSERY_C)))
    return nursery_days(age_weeks) * rate


def nursery_days(age_weeks: float) -> float:
    """Days [d] that a module of `age_weeks` has grown above ground."""
    return age_weeks * 7.0 * constant("nursery_green")


def vernalisation_rate(crop: Crop, mean_c: Floats) -> Floats:
    """What a day of such a mean temperature [C] counts for of a day of the best cold, 0..1, shape as given.

    With cardinal temperatures it rises from nothing at `development.bolting.chill_least` to all at `chill_from`, holds until
    `chill_until` and falls to nothing at `chill_below`, the trapezium of WOFOST (VERNRTB) and of Atherton et al. 1990; a crop
    without them takes each day below `chill_below` for a full one.
    """
    t, none_from = np.asarray(mean_c, dtype=float), crop["development.bolting.chill_below"]
    if "development.bolting.chill_until" not in crop.records:
        return np.where(t < none_from, 1.0, 0.0)
    corners = [crop["development.bolting.chill_least"], crop["development.bolting.chill_from"]]
    corners += [crop["development.bolting.chill_until"], none_from]
    return trapezium(t, corners)


def trapezium(t: Floats, corners: Sequence[float]) -> Floats:
    """0..1, shape of `t`: from nothing at the first of four rising corners to all at the second, until the third, and to nothing
    again at the last."""
    return np.asarray(np.interp(t, corners, (0.0, 1.0, 1.0, 0.0)))


def bolting_day(
    crop: Crop, mean_c: Floats, rate: Floats, daylength_h: Floats, green_from: Ints, head_start_c_d: float = 0.0,
    share: float = 1.0, cold_from: Ints | int | None = None, wintered: bool = False,
) -> Ints:  # fmt: skip
    """Day index on which the stem of a bolting plant shows, `NEVER` if it does not; shape ``mean_c.shape[:-1]``.

    A long-day crop collects thermal time only on days longer than its critical day length, or where it has a `slope`, more
    slowly the shorter they are, as in `daylength_factor` (quantitative long-day plants); a chilled one only after its cold
    days are complete; a chill-and-long-day crop needs both (after the usual two-step description of vernalisation and
    photoperiod). Cold days (`vernalisation_rate`) count from emergence, or in a crop that is vernalised as a plant only from
    the end of its juvenile phase, `development.bolting.juvenile` [C d] after emergence (Wiebe 1994); sets, cloves and other
    pieces of grown plants feel it before they sprout, as they do in store (Brewster 2008), `cold_from` a day on. `rate` is
    thermal time per day, `green_from` the day of emergence, `head_start_c_d` the thermal time [C d] that the plants have
    behind them on that day, infinite for pieces; of the induced thermal time a `share` is asked for.

    A crop with `development.bolting.winter_days` makes its buds in the cold of a winter whatever the days, and needs but warmth
    for its stem, `winter_time` [C d], once it has had so many (`winter_cold`), in days of `winter_daylength` or more if it has
    that.  What is `wintered` stands from the year before and has had its cold.
    """
    shape = mean_c.shape[:-1]
    if crop.bolting == "none":
        return np.full(shape, NEVER, dtype=np.int64)
    days = np.arange(mean_c.shape[-1])
    green = days >= np.asarray(green_from)[..., None]
    induced = green
    if crop.bolting.startswith("chill") and not wintered:
        age = np.cumsum(np.where(green, rate, 0.0), axis=-1) + head_start_c_d
        grown = age >= crop.number("development.bolting.juvenile", 0.0)
        feels = green if cold_from is None else days >= np.asarray(cold_from)[..., None]
        cold = np.cumsum(np.where(feels & grown, vernalisation_rate(crop, mean_c), 0.0), axis=-1)
        induced = induced & (cold >= crop["development.bolting.chill_days"] - ROUNDING_D)
    pace = np.asarray(rate)
    if crop.bolting.endswith("long_day"):
        pace = rate * _long_day_pace(crop, daylength_h)

    def reached(induced: Bools, pace: Floats, takes: float) -> Ints:
        return first_day_reaching(np.cumsum(np.where(induced, pace, 0.0), axis=-1), share * takes)

    stem = reached(induced, pace, crop["development.bolting.thermal_time"])
    if "development.bolting.winter_days" not in crop.records:
        return stem
    had = np.cumsum(np.where(green, winter_cold(mean_c), 0.0), axis=-1)
    long = np.asarray(daylength_h) >= crop.number("development.bolting.winter_daylength", 0.0)
    budded = green & long & (wintered | (had >= crop["development.bolting.winter_days"] - ROUNDING_D))
    return np.minimum(stem, reached(budded, rate, crop["development.bolting.winter_time"]))


def winter_cold(mean_c: Floats) -> Floats:
    """What a day of such a mean temperature [C] counts for of a day of winter, 0..1, shape as given: as for cabbage."""
    return trapezium(mean_c, [constant(f"winter_{name}") for name in ("least", "from", "until", "none_from")])


def _long_day_pace(crop: Crop, daylength_h: Floats) -> Floats:
    """Pace 0..1 of bolting in days of so many hours, of that in days longer than the critical length; shape as given."""
    over = np.asarray(daylength_h) - crop["development.bolting.critical_daylength"]
    slope = crop.number("development.bolting.slope", 0.0)
    return np.where(over > 0.0, 1.0, np.clip(1.0 + slope * over, 0.0, 1.0) if slope > 0.0 else 0.0)


def later(passed: Floats, event: Ints, takes: float) -> Ints:
    """Day on which so much of what has `passed` (Y, D), thermal time [C d] or days of standing, has done so since the days of an
    event, (Y,)."""
    begun = np.take_along_axis(passed, np.minimum(event, passed.shape[1] - 1)[:, None], axis=1)
    return np.asarray(np.where(event < NEVER, first_day_reaching(passed - begun, takes), NEVER), dtype=np.int64)


def first_from(true: Bools, day: Ints) -> Ints:
    """First day from `day` (Y,) on which it is true, by year (Y, D) or in all (D,); `NEVER` if none."""
    return first_day_reaching(true & (np.arange(true.shape[-1]) >= day[:, None]), True)
