"""What becomes of a sowing: the share that comes up normal at the soil's temperature, and what is lost while it waits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import yaml
from numpy.typing import NDArray

from .constants import constant
from .development import NEVER, emergence_rate
from .model import Crop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FILE = Path(__file__).with_name("normal_seedlings.yaml")
TENDER_C = constant("hardy_piece")
"""Pieces of crops that die only below this temperature do not rot in cold soil."""
NONE_SEEN = 0.005
"""What a table of whole per cent gives as none is less than this."""


@dataclass(frozen=True, slots=True)
class NormalSeedlings:
    """Share of normal seedlings (T,) at constant soil temperatures (T,) [C], days for which seed was watched there at the least
    (T,), with the source of the table."""

    temperatures_c: tuple[float, ...]
    share: tuple[float, ...]
    watched_days: tuple[float, ...]
    source: str
    at: str
    quality: str


@lru_cache(maxsize=1)
def normal_seedlings() -> Mapping[str, NormalSeedlings]:
    """The table of each crop that has one, by id."""
    data = yaml.load(FILE.read_bytes(), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    found: dict[str, NormalSeedlings] = {}
    for entry in data["seedlings"]:
        shares = tuple(float(p) / 100.0 for p in entry["percent"])
        temperatures = tuple(float(t) for t in data["temperatures"])
        watched = tuple(float(d) for d in data["watched"])
        table = NormalSeedlings(temperatures, shares, watched, data["source"], entry["at"], entry.get("quality", data["quality"]))
        found.update({str(crop): table for crop in entry["crops"]})
    return found


def seed_lost(crop: Crop, table: NormalSeedlings, soil_c: Floats) -> Floats:
    """Loss of seed a day [1/d] in soil of a temperature [C], shape as given: minus the logarithm of what comes up normal, over
    the best of the table, a day of the way to emergence; where nothing came up, of less than one in 200 a day of those for
    which seed was watched.

    Between two temperatures of the table the share lies between theirs; below the coldest at which seed came up, where it
    waits and rots, the loss does.
    """
    at, share = np.array(table.temperatures_c), np.array(table.share) / max(table.share)

    def lost(share: Floats, at_c: Floats) -> Floats:
        pace = np.maximum(emergence_rate(crop, at_c), 1.0 / np.interp(at_c, at, table.watched_days))
        return np.asarray(-np.log(np.maximum(share, NONE_SEEN)) * pace)

    coldest = at[np.argmax((emergence_rate(crop, at) > 0.0) & (share > 0.0))]
    waits = np.interp(soil_c, at, lost(share, at))
    return np.where(soil_c < coldest, waits, lost(np.interp(soil_c, at, share), soil_c))


def come_up(crop: Crop, soil_c: Floats, start: int, emergence: Ints) -> Floats:
    """Share of the seed that can come up which does, (Y,): every day between sowing and emergence takes its part of what is lost
    in soil as warm as it is, so that seed that waits in the cold rots though it comes up in warmer weeks."""
    table = normal_seedlings().get(crop.id)
    if table is None:
        return np.ones(len(emergence))
    days = np.arange(start + 1, min(int(emergence.max()) + 1, soil_c.shape[-1]))
    waiting = days <= emergence[:, None]
    return np.asarray(np.exp(-(seed_lost(crop, table, soil_c[..., days]) * waiting).sum(axis=-1)))


def daily_losses(crop: Crop, sown: bool, piece: bool) -> tuple[float, float]:
    """Share lost a day [1/d] while seed, piece or young plant does not get away: before it is up, and afterwards."""
    if sown:
        waiting = crop.number("emergence.daily_loss", constant("seed_loss"))
        return waiting, crop.number("emergence.seedling_loss", waiting)
    if piece and crop["frost.grown"] <= TENDER_C:
        return 0.0, 0.0
    return constant("piece_loss"), constant("piece_loss")


def stand(crop: Crop, sown: bool, piece: bool, soil_c: Floats, start: int, emergence: Ints, established: Ints) -> Floats:
    """Share of a sowing or planting that gets away, (Y,): the less of what comes up normal and what outlives the days until it
    is `established`; the first was counted in cold soil too, and is made good by sowing thicker as far as that goes.

    Only cold soil takes its toll: all of the daily loss `cold_soil_span` below `cold_soil`, none above it; nothing rots a
    sown plant that is up while the ground is frozen.
    """
    days = np.arange(soil_c.shape[-1])
    at_risk = (days >= start) & (days < np.minimum(established, NEVER)[:, None])
    cold = np.clip((constant("cold_soil") - soil_c) / constant("cold_soil_span"), 0.0, 1.0) * at_risk
    up = days >= emergence[:, None]
    thawed = soil_c > (0.0 if sown else -np.inf)
    waiting, seedling = daily_losses(crop, sown, piece)
    lives = (1.0 - waiting) ** (cold * ~up).sum(axis=-1) * (1.0 - seedling) ** (cold * (up & thawed)).sum(axis=-1)
    if not sown:
        return np.asarray(lives)
    return np.asarray(np.minimum(lives, constant("sown_thicker") * come_up(crop, soil_c, start, emergence)))
