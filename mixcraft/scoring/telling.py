"""What is worth telling of a score beside its parts: which weeks, which harvests and which chances of a loss."""

from __future__ import annotations

from collections.abc import Sequence

from mixcraft.season.result import LEAST_PICKING_KG

from .constants import constants
from .model import Chance, CropYield, Score, StripWeek


def is_idle(kg: float) -> bool:
    """Whether so little is not worth a line."""
    return kg < constants()["idle_week_kg"]


def picked_weeks(score: Score) -> tuple[int, ...]:
    """Weeks of the strip with a picking in the middle of the years."""
    least = LEAST_PICKING_KG * constants()["told_week_share"]
    return tuple(i for i, week in enumerate(score.strip) if week.kg.middle >= least)


def told_weeks(score: Score) -> tuple[tuple[StripWeek, ...], ...]:
    """The weeks from the first that is picked or wanted to the last, one by one, but those that nobody waits for and that give
    nothing, two or more in a row, together; none if nothing is picked."""
    picked, wanted = picked_weeks(score), [i for i, week in enumerate(score.strip) if week.wanted]
    if not picked:
        return ()
    first, last = min([picked[0], *wanted[:1]]), max([picked[-1], *wanted[-1:]])
    runs: list[list[StripWeek]] = []
    for week in score.strip[first : last + 1]:
        if runs and all(not w.wanted and is_idle(w.kg.middle) for w in (week, runs[-1][-1])):
            runs[-1].append(week)
        else:
            runs.append([week])
    return tuple(tuple(run) for run in runs)


def wandering(score: Score) -> tuple[CropYield, ...]:
    """Harvests that most years give, but in no week of their own, since they move from year to year."""
    named = {name for i in picked_weeks(score) for name in score.strip[i].plantings}
    return tuple(
        item for item in score.yields
        if item.planting not in named and item.first_band and item.last_band and item.kg.middle >= LEAST_PICKING_KG
    )  # fmt: skip


def risky(chances: Sequence[Chance]) -> tuple[tuple[str, tuple[tuple[str, float], ...]], ...]:
    """Plantings with the chances, by cause, that frost or cold soil undoes them, if they are worth telling."""
    least = constants()["chance_told"]
    found = []
    for c in chances:
        causes = tuple((cause, share) for cause, share in (("frost", c.frost), ("cold soil", c.cold_soil)) if share >= least)
        if causes:
            found.append((c.planting, causes))
    return tuple(found)
