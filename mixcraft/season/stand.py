"""From a setting to what the day loop reads, and through the loop."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.plan import Plan

from .columns import MIXTURE, Column, traits_of
from .harvest import picks_of
from .kernel import DONE, run_days
from .light_layers import overlaps
from .setting import Setting
from .shelf import Shelf
from .tables import Floats, Given, Ground, Stand, Trace, loop_constants, new_day, new_state, new_trace, not_asking
from .water import closes, soil_of

__all__ = ["DONE", "BalanceError", "bed_overlaps", "ground_of", "run", "run_days", "stand_of"]

Ints = NDArray[np.int64]


class BalanceError(RuntimeError):
    """A light, water or mass balance does not close: a fault of the engine, not of the recipe."""


def bed_overlaps(plan: Plan) -> Floats:
    """`overlaps` of the plantings of a plan, (P, P)."""
    stands = [p.stand for p in plan.plantings]
    return overlaps(np.stack([s.cells for s in stands]), np.array([s.taken for s in stands]))


def given_of(setting: Setting, of: Sequence[int]) -> Given:
    """What the days bring to columns that grow the plantings `of`; plantings that no column grows are left out."""
    grown = sorted(set(of))
    courses = [setting.courses[i] for i in grown]
    death = np.array([c.clock.death for c in courses])
    last = np.minimum(death, np.array([c.end for c in courses]))
    emergence = np.array([c.clock.emergence for c in courses])
    return Given(np.stack([c.daily for c in courses]), emergence, last, death, np.array([grown.index(i) for i in of]))


def ground_of(setting: Setting, columns: Sequence[Column], factor: Floats | None, *, apart: bool = False) -> Ground:
    """How columns share light, room and soil; `factor` corrects their light, None where it is the layered canopy's own."""
    together = sum(column.kind == MIXTURE for column in columns)
    mixed = 0 if apart else together
    attribute = int(factor is None)
    if factor is None:
        factor = np.ones((setting.plan.days, len(columns) + mixed))
    overlap = crowds = np.zeros((mixed, mixed))
    if mixed:
        overlap = bed_overlaps(setting.plan)
        k = np.array([p.planting.crop["canopy.k"] for p in setting.plan.plantings])
        crowds = np.where(np.eye(mixed, dtype=bool), 0.0, overlap) * k / k[:, None]
    return Ground(mixed, together, overlap, crowds, np.ascontiguousarray(factor), attribute)


def stand_of(setting: Setting, columns: Sequence[Column], ground: Ground, keep: Shelf) -> Stand:
    """All that the day loop is given for these columns, the mixture's first."""
    plantings, of = setting.plan.plantings, [column.planting for column in columns]
    picks = picks_of(of, [c.rows for c in setting.courses], [c.windows for c in setting.courses])
    return Stand(
        traits_of(columns, plantings), given_of(setting, of), picks, ground, soil_of(setting, columns, keep), loop_constants()
    )


def run(stand: Stand) -> Trace:
    """Grow all years.  Raises `BalanceError` where growth is no number or soil water does not balance."""
    trace = new_trace(stand)
    years, soils = stand.given.daily.shape[2], len(stand.soil.water)
    sums = np.zeros((years, soils, 5))
    run_days(0, 0, stand, new_state(stand), new_day(stand), trace, not_asking(stand), sums)
    if not np.isfinite(trace.growth_g.sum()) or trace.growth_g.min(initial=0.0) < 0.0:
        raise BalanceError("growth is negative or not a number")
    if not closes(stand, sums):
        raise BalanceError("soil water does not balance")
    return trace
