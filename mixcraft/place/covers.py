"""Covers over a bed, from fleece to glass, and what they do to the weather below."""

from __future__ import annotations

import dataclasses
import difflib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mixcraft.place._data import read_data
from mixcraft.place.series import Weather

Floats = npt.NDArray[np.float64]
_FILE = "covers.yaml"


class UnknownCover(ValueError):  # noqa: N818 -- reads as what happened
    """There is no cover of that kind; the message names the nearest."""


@dataclass(frozen=True)
class Cover:
    """What a cover does to the bed beneath it.

    ``min_gain_c``, ``mean_gain_c``: gain of the night minimum and of the daily mean [C]; ``frost_gain``: share of the degrees
    of frost outside that the ground makes good over and above them, and ``frost_gain_inside`` the same within another cover
    that has one [-]; ``sky``: share of what leaves lose to a clear sky by night that they lose under it [-].
    ``light``, ``rain``: share of light and of rain passed [-].
    ``pests_out``, ``pollinators_out``: whether flying pests and pollinators are kept out while it is closed.
    ``height_m``: room for plants [m]. ``sources``: one line per number, ``quantity: source, where, quality``.
    """

    kind: str
    min_gain_c: float
    mean_gain_c: float
    light: float
    pests_out: bool
    pollinators_out: bool
    height_m: float
    sources: tuple[str, ...]
    rain: float = 1.0
    frost_gain: float = 0.0
    frost_gain_inside: float = 0.0
    sky: float = 1.0

    @property
    def closed(self) -> bool:
        """Whether it shuts in ground that then makes good a share of the frost."""
        return self.frost_gain > 0.0


def warmed(air_c: Floats, gain_c: Floats | float, frost_gain: Floats | float) -> Floats:
    """Air under a cover [C], any shape: warmer by its gain, and in frost by its share of the degrees of frost as well.

    Ground that is shut in does not freeze with the air, and gives the more heat the colder the night is.
    """
    return np.asarray(air_c + gain_c + frost_gain * np.clip(-air_c, 0.0, None))


def cover_kinds() -> tuple[str, ...]:
    """Kinds of cover that are known, in the order of the data file."""
    return tuple(read_data(_FILE))


def cover(kind: str) -> Cover:
    """The cover of a kind, by its name or one of its everyday names. Raises :class:`UnknownCover`."""
    wanted = kind.strip().lower().replace("_", "-")
    table = read_data(_FILE)
    by_name = {name: key for key, record in table.items() for name in (key, *record["names"])}
    key = by_name.get(wanted) or by_name.get(wanted.replace("-", " "))
    if key is None:
        near = difflib.get_close_matches(wanted, by_name, n=1)
        hint = f"did you mean {by_name[near[0]]!r}? " if near else ""
        raise UnknownCover(f"no cover is called {kind!r}; {hint}known are {', '.join(table)}")
    record = table[key]
    numbers = {name: entry for name, entry in record.items() if isinstance(entry, dict)}
    return Cover(
        kind=key,
        min_gain_c=float(record["min_gain"]["value"]),
        mean_gain_c=float(record["mean_gain"]["value"]),
        light=float(record["light"]["value"]),
        pests_out=bool(record["pests_out"]),
        pollinators_out=bool(record["pollinators_out"]),
        height_m=float(record["height"]["value"]),
        sources=tuple(f"{n}: {e['source']}, {e['at']}, {e['quality']}" for n, e in numbers.items()),
        rain=float(record["rain"]["value"]),
        frost_gain=float(record["frost_gain"]["value"]),
        frost_gain_inside=float(record.get("frost_gain_inside", record["frost_gain"])["value"]),
        sky=float(record["sky"]["value"]),
    )


def combined(covers: Sequence[Cover]) -> Cover:
    """One cover that does what several do, one inside the other, such as fleece within a polytunnel.

    Gains of temperature add, light and rain pass through all, each keeps out what it keeps out, and the lowest leaves the
    room: two sheets of film were measured to gain twice what one gains (source in ``covers.yaml``); of the degrees of frost
    that one leaves, the next makes good its share. Two layers are so never colder than one, nor brighter. Raises ``ValueError``
    where there is none.
    """
    if not covers:
        raise ValueError("no cover to combine; leave the bed open instead")
    if len(covers) == 1:
        return covers[0]
    closed = sum(c.closed for c in covers)
    shares = [c.frost_gain_inside if closed > c.closed else c.frost_gain for c in covers]
    left = math.prod(1.0 - share for share in shares)
    return Cover(
        kind=" under ".join(c.kind for c in sorted(covers, key=lambda c: c.height_m)),
        min_gain_c=sum(c.min_gain_c for c in covers),
        mean_gain_c=sum(c.mean_gain_c for c in covers),
        light=math.prod(c.light for c in covers),
        pests_out=any(c.pests_out for c in covers),
        pollinators_out=any(c.pollinators_out for c in covers),
        height_m=min(c.height_m for c in covers),
        sources=tuple(dict.fromkeys(line for c in covers for line in c.sources)),
        rain=math.prod(c.rain for c in covers),
        frost_gain=1.0 - left,
        frost_gain_inside=1.0 - left,
        sky=math.prod(c.sky for c in covers),
    )


@lru_cache(maxsize=256)
def covers_together(kinds: frozenset[str]) -> Cover:
    """The cover that those of these ``kinds`` make together; see :func:`combined`. Raises :class:`UnknownCover`."""
    return combined([cover(kind) for kind in sorted(kinds)])


def apply_covers(weather: Weather, cover: Cover, days: npt.NDArray[np.bool_]) -> Weather:
    """Weather as the bed has it while ``cover`` lies on it on the ``days`` (D,) that are True.

    The minimum and the mean rise by the cover's gains (:func:`warmed`; the maximum by what then follows), radiation and
    reference evapotranspiration fall with the light, rain with what the cover lets through.
    Raises ``ValueError`` when ``days`` does not have one entry per day.
    """
    on = np.asarray(days, dtype=np.bool_)
    if on.shape != weather.dates.shape:
        raise ValueError(f"days under cover need shape {weather.dates.shape}, found {on.shape}")
    light, rain = np.where(on, cover.light, 1.0), np.where(on, cover.rain, 1.0)
    tmin = np.where(on, warmed(weather.tmin_c, cover.min_gain_c, cover.frost_gain), weather.tmin_c)
    tmean = np.where(on, warmed(weather.tmean_c, cover.mean_gain_c, cover.frost_gain), weather.tmean_c)
    tmax = np.where(on, 2 * tmean - tmin, weather.tmax_c)
    return dataclasses.replace(
        weather,
        tmean_c=tmean,
        tmin_c=tmin,
        tmax_c=np.maximum(tmax, tmin),
        radiation_mj=weather.radiation_mj * light,
        rain_mm=weather.rain_mm * rain,
        et0_mm=weather.et0_mm * light,
    )
