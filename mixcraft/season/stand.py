"""From a setting to what the day loop reads, and through the loop."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.shelf import Same, Shelf
from mixcraft.recipe.plan import Plan

from .columns import MIXTURE, Column, Own, climbs_free, is_pole, own_traits, traits_of
from .compiled import hold
from .harvest import picks_of
from .kernel import DONE, run_days
from .nitrogen import supply_of
from .overlaps import bed_overlaps
from .setting import Setting
from .tables import (
    DATES,
    SUMS,
    Asking,
    Floats,
    Ground,
    Ints,
    Stand,
    Table,
    Trace,
    new_running,
    new_trace,
    not_asking,
    stacked,
    table,
)
from .water import closes, soil_of

__all__ = ["DONE", "BalanceError", "Loop", "bed_overlaps", "ground_of", "run", "stand_of"]

LEAST_G = 1e-9
STACKS = 2
"""Drivers of plantings that are kept stacked, some megabytes each: those of a mixture serve its neighbours with other amounts."""


class BalanceError(RuntimeError):
    """A light, water or mass balance does not close: a fault of the engine, not of the recipe."""


def dates_of(setting: Setting, of: Sequence[int]) -> Table:
    """Days of columns that grow the plantings `of`, a table of `tables.DATES`."""
    dates = table(DATES, len(of), setting.weather.years)
    for c, i in enumerate(of):
        course = setting.courses[i]
        dates.emergence[c], dates.death[c] = course.clock.emergence, course.clock.death
        dates.organ[c] = course.clock.organ
        dates.last[c] = np.minimum(course.clock.death, course.end)
        dates.thinned[c] = course.windows.thin_day
    return dates


def holding(plan: Plan, overlap: Floats) -> Ints:
    """1 where planting j, tall and sturdy, is a pole for i, which climbs and has no other; shape of `overlap`."""
    plantings = plan.plantings[: len(overlap)]
    poles = np.array([is_pole(p.planting.crop) for p in plantings], dtype=bool)
    climbs = np.array([climbs_free(p) for p in plantings], dtype=bool)
    return np.asarray(((overlap > 0.0) & climbs[:, None] & poles).astype(np.int64))


def unheld(plan: Plan, overlap: Floats) -> NDArray[np.bool_]:
    """Whether each planting climbs and has nothing to climb, (P,); `overlap` (P, P) is `bed_overlaps(plan)`."""
    climbs = np.array([climbs_free(p) for p in plan.plantings], dtype=bool)
    return np.asarray(climbs & ~holding(plan, overlap).any(axis=1))


def ground_of(setting: Setting, columns: Sequence[Column], factor: Floats | None, keep: Shelf, *, apart: bool = False) -> Ground:
    """How columns share light, room and soil; `factor` corrects their light, None where it is the layered canopy's own."""
    together = sum(column.kind == MIXTURE for column in columns)
    mixed = 0 if apart else together
    attribute = int(factor is None)
    if factor is None:
        factor = np.ones((setting.plan.days, len(columns) + mixed))
    overlap = crowds = fills = np.zeros((mixed, mixed))
    if mixed:
        overlap = bed_overlaps(setting.plan).copy()
        k = np.array([p.planting.crop["canopy.k"] for p in setting.plan.plantings])
        most = np.array([p.planting.crop["canopy.lai_max"] for p in setting.plan.plantings])
        others = np.where(np.eye(mixed, dtype=bool), 0.0, overlap)
        crowds, fills = others * k / k[:, None], others * most[:, None] / most
    bed = setting.plan.bed
    supply = keep(("nitrogen", bed.soil, bed.feeding, setting.offset, setting.plan.days), lambda: supply_of(setting))
    holds = holding(setting.plan, overlap)
    return Ground(mixed, together, overlap, crowds, fills, np.ascontiguousarray(factor), attribute, holds, supply)


def stand_of(setting: Setting, columns: Sequence[Column], ground: Ground, keep: Shelf) -> Stand:
    """All that the day loop is given for these columns, the mixture's first."""
    of = [column.planting for column in columns]
    picks, days = picks_of(of, [c.rows for c in setting.courses], [c.windows for c in setting.courses])
    given = [setting.courses[i].daily for i in sorted(set(of))]
    stacks: Shelf = keep("stacks", lambda: Shelf(STACKS))
    daily = stacks(tuple(map(Same, given)), lambda: stacked(given))
    own = {i: _own(setting, i, keep) for i in sorted(set(of))}
    traits = traits_of(columns, setting.plan.plantings, own)
    return Stand(daily, traits, dates_of(setting, of), picks, days, ground, soil_of(setting, columns, keep))


def _own(setting: Setting, index: int, keep: Shelf) -> Own:
    """Numbers of a planting, whatever stands beside it."""
    planned = setting.plan.plantings[index]
    key = "own", setting.courses[index].key, planned.sown_factor
    found: Own = keep(key, lambda: own_traits(planned))
    return found


class Loop:
    """The day loop over a stand, with what changes as it runs."""

    def __init__(self, stand: Stand, asking: Asking | None = None) -> None:
        self.stand, self.running, self.trace = stand, new_running(stand), new_trace(stand)
        self.asking = not_asking() if asking is None else asking
        self.depth_m, self.sums = np.zeros(len(stand.traits)), np.zeros((stand.daily.shape[1], len(stand.soil.water), SUMS))
        self.days = hold(run_days, stand, self.running, self.trace, self.asking, self.depth_m, self.sums)

    def until_asked(self, day: int) -> int:
        """Go on from a day, of the first year if it is not 0, to the day on which the voxel model is asked, or to the end
        (`DONE`)."""
        return int(self.days(0, day))

    def done(self) -> Trace:
        """The trace.  Raises `BalanceError` where growth is no number or soil water does not balance."""
        growth = self.trace.growth_g
        if not np.isfinite(growth.sum()) or growth.min(initial=0.0) < -LEAST_G:
            raise BalanceError("growth is negative or not a number")
        if not closes(self.stand, self.sums):
            raise BalanceError("soil water does not balance")
        return self.trace


def run(stand: Stand) -> Trace:
    """Grow all years.  Raises `BalanceError`."""
    loop = Loop(stand)
    loop.until_asked(0)
    return loop.done()
