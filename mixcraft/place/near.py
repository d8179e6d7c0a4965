"""What lies near: distances, the nearest reference places, and what a spot takes from them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.place._constants import constant
from mixcraft.place.library import Entry, entries, positions, ratios
from mixcraft.place.model import MONTHS, FloatArray


def distance_km(latitude_deg: float, longitude_deg: float, to_latitude: FloatArray, to_longitude: FloatArray) -> FloatArray:
    """Great-circle distance [km] from one point to others (n,), all in degrees (haversine formula)."""
    here, there = np.deg2rad(latitude_deg), np.deg2rad(to_latitude)
    east = np.deg2rad(to_longitude - longitude_deg)
    half = np.sin((there - here) / 2) ** 2 + np.cos(here) * np.cos(there) * np.sin(east / 2) ** 2
    return np.asarray(2 * constant("earth_radius_km") * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0))))


@dataclass(frozen=True)
class NearPlace:
    """A reference place near a spot: how far off [km], and how much higher the spot lies than it [m]."""

    key: str
    name: str
    country: str
    distance_km: float
    rise_m: float


def nearest_places(
    latitude_deg: float, longitude_deg: float, elevation_m: float | None = None, count: int = 5
) -> tuple[NearPlace, ...]:
    """The ``count`` reference places nearest to a spot; height counts too where it is known.

    A metre of height counts as 0.3 km, since climate changes so much faster upwards than along.
    """
    keys, where = positions()
    km = distance_km(latitude_deg, longitude_deg, where[0], where[1])
    rise = np.zeros_like(km) if elevation_m is None else elevation_m - where[2]
    order = np.argsort(km + constant("near_km_per_m") * np.abs(rise), kind="stable")[:count]

    def near(at: int) -> NearPlace:
        entry: Entry = entries()[keys[at]]
        return NearPlace(entry.key, entry.names[0], entry.country, float(km[at]), float(rise[at]))

    return tuple(near(int(at)) for at in order)


def spread_ratio(latitude_deg: float, longitude_deg: float, elevation_m: float) -> FloatArray:
    """Spread of daily minima round a spot over the one that the annual range alone gives (12,) [-].

    The weighted geometric mean of the nearest reference places; 1 where the longitude is not known.
    """
    where, found = ratios()
    if np.isnan(longitude_deg) or not len(found):
        return np.ones(MONTHS)
    km = distance_km(latitude_deg, longitude_deg, where[0], where[1])
    off = km + constant("near_km_per_m") * np.abs(where[2] - elevation_m)
    nearest = np.argsort(off, kind="stable")[: int(constant("spread_neighbours"))]
    weight = 1 / (off[nearest] + constant("spread_offset_km")) ** 2
    return np.asarray(np.exp(weight @ np.log(found[nearest]) / weight.sum()))
