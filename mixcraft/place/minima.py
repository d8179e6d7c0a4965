"""How daily minima run through a year, and the chance that none of them is a frost.

The minima are those of the generator (:mod:`mixcraft.place.generator`): wet and dry days follow a two-state Markov chain,
each with its mean; about the mean they spread by a normal distribution whose days follow one another by an
autoregression of lag one. Instead of drawing years the distribution itself is carried from day to day on a grid of
standard scores; what lies at or below the threshold is taken out. What is left is the share of years without frost so far.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.climate import days_in_month, monthly_wet_days, wet_dry_contrast, within_states
from mixcraft.place.model import DAYS, FloatArray, Place
from mixcraft.place.monthly import daily_curve
from mixcraft.place.sun import extraterrestrial_radiation

IntArray = npt.NDArray[np.int64]

_CELLS = 91
_REACH = 4.6  # standard deviations that the grid holds on either side
_SURE = 1e-5  # so small a share of years without frost counts as none
_SD_LEAST = 0.1  # C
_erf = np.frompyfunc(math.erf, 1, 1)


def normal_cdf(x: FloatArray) -> FloatArray:
    """Standard normal distribution function of ``x``, any shape."""
    return np.asarray(0.5 * (1.0 + np.asarray(_erf(x / math.sqrt(2.0)), dtype=np.float64)))


@dataclass(frozen=True)
class Minima:
    """Daily minima through a common year, all arrays (365,).

    ``dry_c``, ``wet_c`` mean minimum of dry and of wet days [C]; ``sd_c`` standard deviation within either [C];
    ``wet_share`` share of wet days. ``coldest`` and ``warmest`` day, 0-364, where spring and autumn meet.
    """

    dry_c: FloatArray
    wet_c: FloatArray
    sd_c: FloatArray
    wet_share: FloatArray
    coldest: int
    warmest: int

    @property
    def spring(self) -> IntArray:
        """Days 0-364 from the warmest back to the one after the coldest."""
        return (self.warmest - np.arange((self.warmest - self.coldest) % DAYS)) % DAYS

    @property
    def autumn(self) -> IntArray:
        """Days 0-364 from the warmest on to the coldest."""
        return (self.warmest + np.arange(DAYS - len(self.spring))) % DAYS


def daily_minima(place: Place, sd_c: FloatArray) -> Minima:
    """The minima of a place whose monthly standard deviation about the season is ``sd_c`` (12,) [C]."""
    normals = place.normals
    mean = daily_curve(normals.tmin_c)
    wet_share = daily_curve(monthly_wet_days(normals) / days_in_month(), lower=0.0)
    ra = extraterrestrial_radiation(place.latitude_deg, np.arange(1, DAYS + 1))
    contrast, within = within_states(np.maximum(daily_curve(sd_c), _SD_LEAST), wet_dry_contrast(ra)[1], wet_share)
    return Minima(
        dry_c=mean + wet_share * contrast,
        wet_c=mean + (wet_share - 1) * contrast,
        sd_c=within,
        wet_share=wet_share,
        coldest=int(np.argmin(mean)),
        warmest=int(np.argmax(mean)),
    )


@lru_cache(maxsize=1)
def _grid() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Edges of the cells (n + 1,), their shares (n,) and the shares (n, n) of tomorrow's cells by today's, transposed."""
    edges = np.linspace(-_REACH, _REACH, _CELLS + 1)
    middle = (edges[1:] + edges[:-1]) / 2
    follow = constant("m1_tmin_tmin")
    share = np.diff(normal_cdf(edges))
    step = np.diff(normal_cdf((edges - follow * middle[:, np.newaxis]) / math.sqrt(1 - follow**2)), axis=1)
    step /= step.sum(axis=1, keepdims=True)
    return edges, share / share.sum(), np.ascontiguousarray(step.T)


def chance_without_frost(minima: Minima, days: IntArray, threshold_c: float) -> FloatArray:
    """Share of years (n,) whose minima stay above ``threshold_c`` [C] from the first of ``days`` (n,) to each of them.

    ``days`` 0-364 follow one another, forwards or backwards: the chain is the same either way.
    """
    edges, start, step = _grid()
    cut = (threshold_c - np.stack([minima.dry_c, minima.wet_c])[:, days]) / minima.sd_c[days]
    kept = np.clip((edges[1:] - cut[..., np.newaxis]) * (_CELLS / (2 * _REACH)), 0.0, 1.0)
    after_dry = constant("geng_wet_after_dry") * minima.wet_share[days]
    after_wet = after_dry + 1 - constant("geng_wet_after_dry")
    left = np.ones(len(days))
    possible = np.flatnonzero(cut.max(axis=0) > -_REACH)
    if not possible.size:
        return left
    first = int(possible[0])
    wet = minima.wet_share[days[first]]
    now = np.stack([start * (1 - wet), start * wet], axis=1)
    for day in range(first, len(days)):
        if day > first:
            now = step @ now
            wets = now[:, 0] * after_dry[day] + now[:, 1] * after_wet[day]
            now[:, 0] += now[:, 1] - wets
            now[:, 1] = wets
        now[:, 0] *= kept[0, day]
        now[:, 1] *= kept[1, day]
        left[day] = now.sum()
        if left[day] < _SURE:
            left[day:] = 0.0
            break
    return left
