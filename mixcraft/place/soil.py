"""Soil temperature at sowing depth.

Heat moves down by conduction, so a wave at the surface arrives later and smaller: a wave of period P fades by
1/e over the damping depth ``sqrt(diffusivity * P / pi)`` and lags by one radian of its period (van Wijk &
de Vries 1963). :func:`soil_temperature` treats the annual wave by that formula, and what the days add to it
(warm and cold spells) by the response of the same soil to a step at its surface, ``erfc(z / (2 sqrt(a t)))``
(Carslaw & Jaeger 1959), which is the exact filter of which the often-used exponential one is a stand-in.

:func:`bare_surface_temperature` gives the daily mean of the surface, which sun warms above the air in summer and which
stays below the air in winter. With the air's own mean in its place, against the thermometers of Rothamsted (monthly
means at 10 and 20 cm, read at 09 h), the result is 1 C too warm from November to March, right in April, and 0.7 C too
cold in May and 1.7 C in June.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray, Place
from mixcraft.place.monthly import daily_curve
from mixcraft.place.series import DateArray

_FULL_YEAR = 350
_MEMORY_DAYS = 150
_EPOCH = np.datetime64("2001-01-01", "D")


def damping_depth(diffusivity: npt.ArrayLike, period_s: npt.ArrayLike) -> FloatArray:
    """Depth [m] at which a surface wave has fallen to 1/e, from diffusivity [m2/s] and period [s].

    >>> round(float(damping_depth(0.5e-6, 86400)), 3)
    0.117
    """
    return np.sqrt(np.asarray(diffusivity, np.float64) * np.asarray(period_s, np.float64) / np.pi)


def damped_wave(
    t: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    mean_c: float,
    amplitude_c: float,
    period_d: float,
    diffusivity: float | None = None,
) -> FloatArray:
    """Temperature [C] at a depth under a sinusoidal surface wave (van Wijk & de Vries 1963).

    ``t`` [d] since the rising zero crossing of the surface wave, ``depth_m`` [m], ``mean_c`` and
    ``amplitude_c`` of the surface [C], ``period_d`` [d], ``diffusivity`` [m2/s] (default 0.5e-6); ``t`` and
    ``depth_m`` broadcast.
    """
    kappa = constant("soil_diffusivity") if diffusivity is None else diffusivity
    z = np.asarray(depth_m, np.float64) / damping_depth(kappa, period_d * constant("seconds_per_day"))
    phase = 2 * np.pi / period_d * np.asarray(t, np.float64)
    return np.asarray(mean_c + amplitude_c * np.exp(-z) * np.sin(phase - z))


@dataclass(frozen=True)
class AnnualWave:
    """First harmonic of the year: mean [C], amplitude [C], day of the year of the maximum (1 = 1 January)."""

    mean_c: float
    amplitude_c: float
    day_of_maximum: float

    def at(self, days: npt.ArrayLike, depth_m: float, diffusivity: float) -> FloatArray:
        """Temperature [C] at a depth [m] on days counted like days of the year."""
        period = constant("days_per_year")
        since_rise = np.asarray(days, np.float64) - self.day_of_maximum + period / 4
        return damped_wave(since_rise, depth_m, self.mean_c, self.amplitude_c, period, diffusivity)


def fit_annual_wave(tmean_c: FloatArray, days: npt.ArrayLike) -> AnnualWave:
    """Least-squares annual wave of daily means (D,) on days counted like days of the year."""
    angle = 2 * np.pi * np.asarray(days, np.float64) / constant("days_per_year")
    design = np.column_stack([np.ones_like(angle), np.cos(angle), np.sin(angle)])
    mean, cosine, sine = np.linalg.lstsq(design, tmean_c, rcond=None)[0]
    top = math.atan2(sine, cosine) / (2 * math.pi) * constant("days_per_year")
    return AnnualWave(float(mean), float(math.hypot(cosine, sine)), float(top % constant("days_per_year")))


def bare_surface_temperature(tmean_c: FloatArray, tmin_c: FloatArray, tmax_c: FloatArray, radiation_mj: FloatArray) -> FloatArray:
    """Daily mean temperature of bare soil's surface [C], any shape: the air's, moved towards its maximum by strong sun and
    towards its minimum by weak sun (Neitsch et al. 2011, Eqs 1:1.3.9 and 1:1.3.10 of the SWAT theory).

    Temperatures [C], ``radiation_mj`` global radiation [MJ/(m2 d)].  Not for soil under plants, snow or mulch.
    """
    absorbed = (1.0 - constant("soil_albedo")) * np.asarray(radiation_mj)
    excess = (absorbed - constant("soil_radiation_neutral")) / constant("soil_radiation_scale")
    warmer, cooler = tmax_c - tmean_c, tmean_c - tmin_c
    return np.asarray(tmean_c + np.where(excess >= 0.0, excess * warmer, excess * cooler))


def annual_wave(place: Place) -> AnnualWave:
    """Annual wave of a place's mean air temperature, from its normals."""
    curve = daily_curve(place.normals.tmean_c)
    return fit_annual_wave(curve, np.arange(1, curve.size + 1))


def _integrated_response(days: float, depth_m: float, diffusivity: float) -> float:
    """Integral over ``days`` of the step response erfc(z / (2 sqrt(a t))) [d]."""
    if days <= 0:
        return 0.0
    x = depth_m / (2 * math.sqrt(diffusivity * days * constant("seconds_per_day")))
    first = math.exp(-x * x) / math.sqrt(math.pi) - x * math.erfc(x)
    return days * (math.erfc(x) - 2 * x * first)


@lru_cache(maxsize=64)
def response_weights(depth_m: float, diffusivity: float, days: int = _MEMORY_DAYS) -> FloatArray:
    """How much each day's surface mean counts for the soil's mean of a day, today first, shape (days,).

    Second differences of the integrated step response; they sum to just under 1, the rest being older than
    ``days``.
    """
    total = np.array([_integrated_response(k, depth_m, diffusivity) for k in range(-1, days + 1)])
    weights = np.diff(total, 2)
    weights.setflags(write=False)
    return np.asarray(weights)


def _filtered(residual: FloatArray, weights: FloatArray) -> FloatArray:
    days = residual.shape[-1]
    return np.stack([np.convolve(year, weights[:days])[:days] for year in residual])


def soil_temperature(
    tmean_c: FloatArray,
    depth_m: float,
    *,
    dates: DateArray | None = None,
    annual: AnnualWave | None = None,
    diffusivity: float | None = None,
) -> FloatArray:
    """Daily mean soil temperature (Y, D) [C] at a depth, from that of the air or the surface (Y, D) [C].

    ``depth_m`` [m]; ``diffusivity`` [m2/s], default 0.5e-6 of a moist garden soil. ``annual`` with
    ``dates`` (D,) tells the soil's past; without them the annual wave is fitted to the series when it spans
    a year, and a shorter series is taken to follow a long time at its first week's mean.
    Not for frozen ground, snow or the first hours after watering. Raises ``ValueError`` for a negative depth,
    a diffusivity not above 0, or ``annual`` without ``dates``.
    """
    kappa = constant("soil_diffusivity") if diffusivity is None else diffusivity
    if depth_m < 0 or kappa <= 0:
        raise ValueError(f"soil needs a depth of 0 m or more and a diffusivity above 0, found {depth_m} and {kappa}")
    air = np.atleast_2d(np.asarray(tmean_c, dtype=np.float64))
    if depth_m == 0:
        return air.copy()
    if annual is not None and dates is None:
        raise ValueError("an annual wave needs the dates of the series: pass dates=weather.dates")
    days = np.arange(1.0, air.shape[1] + 1)
    if dates is not None:
        first = dates[0].astype("datetime64[Y]").astype("datetime64[D]")
        days = days + float((dates[0] - first).astype(np.int64))
    if annual is None:
        if air.shape[1] >= _FULL_YEAR:
            annual = fit_annual_wave(air.mean(axis=0), days)
        else:
            annual = AnnualWave(float(air[:, :7].mean()), 0.0, 1.0)
    surface, deep = annual.at(days, 0.0, kappa), annual.at(days, depth_m, kappa)
    return deep + _filtered(air - surface, response_weights(depth_m, kappa))
