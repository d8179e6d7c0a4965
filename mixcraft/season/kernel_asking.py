"""When the voxel model is asked in a scouting season: on days of the calendar, so many days apart."""

from __future__ import annotations

from .compiled import compiled
from .tables import Asking, Canopy, Table

NO_DAY = -1


@compiled
def ask_today(day: int, now: Table, canopy: Canopy, asking: Asking) -> bool:
    """Whether the model is to be asked today; the layered canopy's light is then in `raw`.

    Which days these are depends on nothing that grows, so that a plant more does not move them.
    """
    if asking.day[0] == day or (day - asking.first) % asking.every != 0:
        return False
    for c in range(len(now)):
        asking.raw[c] = now[c].light
    for i in range(len(canopy.alone)):
        asking.raw[len(now) + i] = canopy.alone[i]
    asking.day[0] = day
    return True
