"""Stochastic weather years after Richardson 1981.

Wet and dry days follow a two-state Markov chain, rain amounts a gamma distribution; tmax, tmin and radiation
share an autoregressive noise of lag one (matrices A and B of Richardson & Wright 1984) around means that
depend on wet or dry. Chain and gamma parameters come from monthly totals by Geng et al. 1986.

The means are kept without bias: the wet and dry means of a day average to the day's climate, and where a
value is cut off (radiation between an overcast and a clear day, tmax above tmin) the distribution is shifted
so that its mean after the cut is the one asked for.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.climate import DailyClimate, climate_et0, daily_climate, wet_dry_contrast, within_states
from mixcraft.place.minima import normal_cdf
from mixcraft.place.model import FloatArray, Place
from mixcraft.place.monthly import curve_for_dates
from mixcraft.place.series import Day, Weather
from mixcraft.place.spread import temperature_spread
from mixcraft.place.sun import clear_sky_radiation

BoolArray = npt.NDArray[np.bool_]

_NEWTON_STEPS = 12
_STATIONARY_STEPS = 64
_SD_LEAST = 0.1  # C; keeps the cut distributions from collapsing
_RANGE_LEAST = 1.5  # a mean asked for lies at least this far above the lower cut, as a multiple of it
_CLEAR_MARGIN = 1.05  # the clearest day over the clearest mean, where normals exceed the clear sky


def _normal_pdf(x: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi))


def latent_mean(target: FloatArray, sd: FloatArray, low: FloatArray, high: FloatArray | None = None) -> FloatArray:
    """Mean of the normal distribution that has mean ``target`` after being cut off to [low, high].

    All (D,); ``high`` None means no upper cut. Newton's method; targets must lie between the cuts.
    """
    mu = target.copy()
    for _ in range(_NEWTON_STEPS):
        a = (low - mu) / sd
        cdf_a, pdf_a = normal_cdf(a), _normal_pdf(a)
        if high is None:
            now, slope = low * cdf_a + mu * (1 - cdf_a) + sd * pdf_a, 1 - cdf_a
        else:
            b = (high - mu) / sd
            cdf_b = normal_cdf(b)
            slope = cdf_b - cdf_a
            now = low * cdf_a + high * (1 - cdf_b) + mu * slope + sd * (pdf_a - _normal_pdf(b))
        step = np.clip((target - now) / np.maximum(slope, 1e-3), -2 * sd, 2 * sd)
        mu = mu + step
        if np.all(np.abs(step) < 1e-9 * sd):
            break
    return mu


@lru_cache(maxsize=1)
def noise_matrices() -> tuple[FloatArray, FloatArray]:
    """Matrices A and B (3, 3) for tmax, tmin, radiation: A = M1 inv(M0), B B' = M0 - A M1'."""
    m0 = np.eye(3)
    names = ("tmax", "tmin", "rad")
    for i, j in ((0, 1), (0, 2), (1, 2)):
        m0[i, j] = m0[j, i] = constant(f"m0_{names[i]}_{names[j]}")
    m1 = np.array([[constant(f"m1_{row}_{column}") for column in names] for row in names])
    a = m1 @ np.linalg.inv(m0)
    return a, np.linalg.cholesky(m0 - a @ m1.T)


def wet_states(uniform: FloatArray, wet_share: FloatArray) -> BoolArray:
    """Wet days (D, Y) of the Markov chain, from uniform numbers (D, Y) and the share of wet days (D,)."""
    after_dry = constant("geng_wet_after_dry") * wet_share
    after_wet = after_dry + 1 - constant("geng_wet_after_dry")
    if_wet, if_dry = uniform < after_wet[:, np.newaxis], uniform < after_dry[:, np.newaxis]
    if_wet[0] = if_dry[0] = uniform[0] < wet_share[0]
    told = if_dry == if_wet  # a day that is wet after both or dry after both; others are as the day before
    last = np.maximum.accumulate(np.where(told, np.arange(len(wet_share))[:, np.newaxis], 0), axis=0)
    return np.take_along_axis(if_dry, last, axis=0) & (wet_share > 0)[:, np.newaxis]


def rain_amounts(rng: np.random.Generator, wet: BoolArray, rain_mm: FloatArray, wet_share: FloatArray) -> FloatArray:
    """Rain (D, Y) [mm/d]: gamma amounts above the wet-day threshold, ``rain_mm`` (D,) in the mean."""
    mean = np.divide(rain_mm, wet_share, out=np.zeros_like(rain_mm), where=wet_share > 0)
    threshold = np.minimum(constant("wet_day_threshold"), mean / 2)
    shape = constant("gamma_shape")
    draws = rng.standard_gamma(shape, size=wet.shape)
    amounts = threshold[:, np.newaxis] + draws * ((mean - threshold) / shape)[:, np.newaxis]
    return np.where(wet, amounts, 0.0)


def correlated_noise(normal: FloatArray) -> FloatArray:
    """Noise (D, Y, 3) of unit variance, correlated between variables and days, from white noise (D, Y, 3)."""
    a, b = noise_matrices()
    shocks = normal @ b.T
    noise = np.empty_like(normal)
    m0 = b @ b.T
    for _ in range(_STATIONARY_STEPS):  # stationary covariance, so that the first day is like any other
        m0 = a @ m0 @ a.T + b @ b.T
    noise[0] = normal[0] @ np.linalg.cholesky(m0).T
    for day in range(1, len(noise)):
        np.matmul(noise[day - 1], a.T, out=noise[day])
        noise[day] += shocks[day]
    return noise


def _temperature_sd(climate: DailyClimate, place: Place) -> tuple[FloatArray, FloatArray]:
    """Standard deviations (D,) [C] of daily tmax and tmin about the course of the season."""
    spread = temperature_spread(place)
    return (
        np.maximum(curve_for_dates(spread.tmax_c, climate.dates), _SD_LEAST),
        np.maximum(curve_for_dates(spread.tmin_c, climate.dates), _SD_LEAST),
    )


def _temperatures(climate: DailyClimate, place: Place, wet: BoolArray, noise: FloatArray) -> tuple[FloatArray, FloatArray]:
    """tmax and tmin (D, Y) [C]."""
    f = climate.wet_share
    sd_max, sd_min = _temperature_sd(climate, place)
    drop_max, drop_min = wet_dry_contrast(climate.ra_mj)
    drop_max, sd_max = within_states(sd_max, drop_max, f)
    drop_min, sd_min = within_states(sd_min, drop_min, f)
    correlation = constant("m0_tmax_tmin")
    sd_range = np.sqrt(sd_max**2 + sd_min**2 - 2 * correlation * sd_max * sd_min)
    span = climate.tmax_c - climate.tmin_c
    floor = np.minimum(constant("range_min"), span / 4)
    middles, ranges = [], []
    for share in (f, f - 1):  # dry days, wet days
        middles.append((climate.tmax_c + climate.tmin_c + share * (drop_max + drop_min)) / 2)
        wanted = np.maximum(span + share * (drop_max - drop_min), _RANGE_LEAST * floor)
        ranges.append(latent_mean(wanted, np.maximum(sd_range, _SD_LEAST), floor))
    spread_max, spread_min = sd_max[:, np.newaxis] * noise[..., 0], sd_min[:, np.newaxis] * noise[..., 1]
    middle = _by_state(wet, *middles) + (spread_max + spread_min) / 2
    half = np.maximum(_by_state(wet, *ranges) + spread_max - spread_min, floor[:, np.newaxis]) / 2
    return middle + half, middle - half


def _by_state(wet: BoolArray, dry_values: FloatArray, wet_values: FloatArray) -> FloatArray:
    """Values (D, Y) picked from those of dry and of wet days (D,)."""
    return np.where(wet, wet_values[:, np.newaxis], dry_values[:, np.newaxis])


def _clearness_means(climate: DailyClimate, clear: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean Rs/Rso (D,) of dry and of wet days, averaging to the climate's."""
    f, least = climate.wet_share, _RANGE_LEAST * constant("clearness_low")
    mean = np.divide(climate.radiation_mj, clear, out=np.zeros_like(clear), where=clear > 0)
    mean = np.maximum(mean, least)
    most = np.maximum(constant("clearness_mean_max"), mean)
    dry = np.minimum(mean / (f * constant("clearness_wet_ratio") + 1 - f), most)
    wet = np.divide(mean - (1 - f) * dry, f, out=dry.copy(), where=f > 0)
    wet = np.maximum(wet, least)
    return (mean - f * wet) / (1 - f), wet


def _radiation(climate: DailyClimate, elevation_m: float, wet: BoolArray, noise: FloatArray) -> FloatArray:
    """Global radiation (D, Y) [MJ/(m2 d)]."""
    clear = clear_sky_radiation(climate.ra_mj, elevation_m)
    means = _clearness_means(climate, clear)
    low = np.full_like(clear, constant("clearness_low"))
    high = np.maximum(1.0, _CLEAR_MARGIN * np.maximum(*means))
    sd = np.full_like(clear, constant("clearness_sd"))
    latent = _by_state(wet, *(latent_mean(mean, sd, low, high) for mean in means))
    clearness = np.clip(latent + sd[:, np.newaxis] * noise, low[:, np.newaxis], high[:, np.newaxis])
    return np.asarray(clearness * clear[:, np.newaxis])


def weather_years(place: Place, start: Day, n_days: int, years: int = 30, seed: int = 1) -> Weather:
    """Stochastic weather on ``n_days`` from ``start``, as many independent ``years`` (Y) as wanted.

    Means, share of wet days and spread follow the place's normals; the same seed gives the same weather, and
    a longer run begins with the shorter one. The generator is known to vary too little from year to year
    (monthly means), as all of its family. Raises ``ValueError`` for a bad day or fewer than 1 year.
    """
    if years < 1:
        raise ValueError(f"weather needs at least 1 year, found {years}")
    climate = daily_climate(place, start, n_days)
    chain, amounts, residuals = np.random.default_rng(seed).spawn(3)
    wet = wet_states(chain.random((n_days, years)), climate.wet_share)
    rain = rain_amounts(amounts, wet, climate.rain_mm, climate.wet_share)
    noise = correlated_noise(residuals.standard_normal((n_days, years, 3)))
    tmax, tmin = _temperatures(climate, place, wet, noise)
    radiation = _radiation(climate, place.elevation_m, wet, noise[..., 2])
    return Weather(
        dates=climate.dates,
        tmean_c=((tmax + tmin) / 2).T,
        tmin_c=tmin.T,
        tmax_c=tmax.T,
        radiation_mj=radiation.T,
        rain_mm=rain.T,
        et0_mm=climate_et0(climate, place.elevation_m, tmax.T, tmin.T, radiation.T),
        daylength_h=climate.daylength_h,
        source=f"{years} stochastic years of {place.name} (Richardson 1981), seed {seed}",
        notes=(f"radiation: {climate.radiation_from}",),
        drawn=True,
    )
