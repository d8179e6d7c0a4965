"""Covers over a bed, from fleece to glass, and what they do to the weather below."""

from __future__ import annotations

import dataclasses
import difflib
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mixcraft.place._data import read_data
from mixcraft.place.series import Weather

_FILE = "covers.yaml"


class UnknownCover(ValueError):  # noqa: N818 -- reads as what happened
    """There is no cover of that kind; the message names the nearest."""


@dataclass(frozen=True)
class Cover:
    """What a cover does to the bed beneath it.

    ``min_gain_c``, ``mean_gain_c``: gain of the night minimum and of the daily mean [C].
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
    )


def apply_covers(weather: Weather, cover: Cover, days: npt.NDArray[np.bool_]) -> Weather:
    """Weather as the bed has it while ``cover`` lies on it on the ``days`` (D,) that are True.

    The minimum and the mean rise by the cover's gains (the maximum by what then follows), radiation and
    reference evapotranspiration fall with the light, rain with what the cover lets through.
    Raises ``ValueError`` when ``days`` does not have one entry per day.
    """
    on = np.asarray(days, dtype=np.bool_)
    if on.shape != weather.dates.shape:
        raise ValueError(f"days under cover need shape {weather.dates.shape}, found {on.shape}")
    light, rain = np.where(on, cover.light, 1.0), np.where(on, cover.rain, 1.0)
    tmin = weather.tmin_c + on * cover.min_gain_c
    tmean = weather.tmean_c + on * cover.mean_gain_c
    tmax = weather.tmax_c + on * (2 * cover.mean_gain_c - cover.min_gain_c)
    return dataclasses.replace(
        weather,
        tmean_c=tmean,
        tmin_c=tmin,
        tmax_c=np.maximum(tmax, tmin),
        radiation_mj=weather.radiation_mj * light,
        rain_mm=weather.rain_mm * rain,
        et0_mm=weather.et0_mm * light,
    )
