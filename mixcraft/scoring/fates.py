"""What becomes of each planting in which years: killed by frost, lost in cold soil, run to seed, not ready in time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import SOWN
from mixcraft.crops.development import NEVER
from mixcraft.recipe.plan import Planned
from mixcraft.season.result import Season

from .constants import constants
from .model import Chance

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Fates:
    """What undoes each planting in which years, (Y, P): killed by frost before its main part can be picked or within its first
    days; never up, or so late that the seed is as good as lost; run to seed before there is anything to pick; alive and not ready
    when its ground is cleared or the season ends.  `mains` are the harvests of the main parts."""

    mains: tuple[int, ...]
    killed: Bools
    lost: Bools
    bolted: Bools
    unready: Bools


def fates(season: Season) -> Fates:
    """The fates of all plantings of a season."""
    plan, begun = season.plan, constants()["picking_begun_days"]
    mains = main_harvests(season)
    parts = [plan.harvests[h].part for h in mains]
    death, opens, came = season.death, season.opens[:, list(mains)], season.emergence
    due = np.stack([clock.event(part.opens) for clock, part in zip(season.clocks, parts, strict=True)], axis=1)
    bolt = np.stack([clock.bolt for clock in season.clocks], axis=1)
    last = np.minimum(due, season.days) + begun
    killed = (death < NEVER) & ((opens >= NEVER) | (death < opens + begun)) & (death <= last)
    lost = (came >= NEVER) | (came > [planned.start + usual_days(planned) for planned in plan.plantings])
    bolted = (bolt < NEVER) & (bolt <= due) & [part.closes == "bolt" for part in parts]
    unready = (opens >= NEVER) & (came < NEVER) & (death >= NEVER) & ~bolted
    return Fates(mains, killed, lost, bolted, unready)


def main_harvests(season: Season) -> tuple[int, ...]:
    """Index of the harvest of each planting's main part, else of its first."""
    found: dict[int, int] = {}
    for h, harvest in enumerate(season.plan.harvests):
        if harvest.planting not in found or (harvest.part.role == "main" and not _is_main(season, found[harvest.planting])):
            found[harvest.planting] = h
    return tuple(found[i] for i in range(len(season.plan.plantings)))


def _is_main(season: Season, h: int) -> bool:
    return season.plan.harvests[h].part.role == "main"


def usual_days(planned: Planned) -> float:
    """Days after its start from which a planting that is not up is as good as lost."""
    c = constants()
    if planned.planting.establish in SOWN:
        return c["late_emergence_days"]
    crop = planned.planting.crop
    rests = min(crop["frost.seedling"], crop.number("frost.crown", 0.0)) <= c["rests_from_c"]
    return c["late_sprouting_days" if rests else "late_sprouting_tender_days"]


def chances(season: Season, known: Fates) -> tuple[Chance, ...]:
    """The chance that frost or cold soil undoes each planting."""
    killed, lost = known.killed.mean(axis=0).tolist(), known.lost.mean(axis=0).tolist()
    return tuple(Chance(p.name, killed[i], lost[i]) for i, p in enumerate(season.plan.plantings))
