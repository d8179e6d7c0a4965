"""When the voxel model is asked in a scouting season: as soon as a ground cover has changed, but not too often."""

from __future__ import annotations

from .compiled import compiled
from .kernel_light import cover
from .tables import Asking, Canopy, Table

SHORTEST_DAYS, LONGEST_DAYS = 7, 21
CHANGE = 0.2
"""The voxel model is asked again when some planting's ground cover has changed by this share, or after `LONGEST_DAYS`."""
LEAST_COVER = 0.2
"""Changes of ground covers below this count as those of this cover: small plants take little light."""
NO_DAY = -1


@compiled
def changed(cover_now: float, cover_then: float) -> bool:
    """Whether a ground cover is so far from that of the last asking that the voxel model would say something else."""
    return abs(cover_now - cover_then) > CHANGE * max(cover_then, LEAST_COVER)


@compiled
def ask_today(day: int, now: Table, state: Table, traits: Table, canopy: Canopy, asking: Asking) -> bool:
    """Whether one of the mixture's plantings or of the crops alone has changed enough, been left long enough, or come up since it
    was last asked for; which, in `due`.  The mixture is asked for as a whole."""
    if asking.day[0] != NO_DAY and day - asking.day[0] < SHORTEST_DAYS:
        return False
    anybody, mixture, mixed = False, False, len(canopy.alone)
    for a in range(len(asking.columns)):
        c = asking.columns[a]
        here = cover(traits[c].k, state[c].leaf, traits[c].area)
        long_ago = day - asking.asked[a] >= LONGEST_DAYS and here > 0.0
        asking.due[a] = changed(here, asking.cover[a]) or long_ago
        anybody |= asking.due[a]
        mixture |= asking.due[a] and a < mixed
    if not anybody:
        return False
    for a in range(len(asking.columns)):
        asking.due[a] |= mixture and a < mixed
        if asking.due[a]:
            c = asking.columns[a]
            asking.cover[a] = cover(traits[c].k, state[c].leaf, traits[c].area)
            if asking.cover[a] > 0.0:
                asking.asked[a] = day
    for c in range(len(now)):
        asking.raw[c] = now[c].light
    for i in range(mixed):
        asking.raw[len(now) + i] = canopy.alone[i]
    asking.day[0] = day
    return True
