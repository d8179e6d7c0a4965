"""Twins: every planting without the others (lone), and its crop alone on the whole bed at its best density (sole).

A twin knows nothing of the mixture but the corrections of its own light, so what has been grown for one recipe serves the next.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from mixcraft.files.shelf import Shelf

from .columns import LONE, SOLE, Column, climbs_free, columns_of
from .setting import Setting
from .sharing import Corrections
from .stand import ground_of, run, stand_of
from .tables import Bools, Floats

KINDS = (LONE, SOLE)


@dataclass(frozen=True)
class Twin:
    """What grew: dry matter [g] (D, Y), picked fresh mass [kg] (D, Y, H) of the planting's own harvests, days (D,) on which
    anything lived, and what held growth back (Y, 3), as `tables.Trace.held_back`."""

    growth_g: Floats
    picked_kg: Floats
    anything: Bools
    held_back: Floats


def _key(setting: Setting, column: Column, factor: Floats | None) -> Hashable:
    planned, bed = setting.plan.plantings[column.planting], setting.plan.bed
    place = 1.0 if column.kind == SOLE else float(planned.stand.cells.mean())
    where = (bed.soil, bed.watering, bed.feeding, bed.under, bed.area_m2, place)
    own = (
        planned.sown_factor, planned.planting.comes, column.kind, column.area_m2, column.plants, climbs_free(planned)
    )  # fmt: skip
    return "twin", setting.courses[column.planting].key, where, own, None if factor is None else factor.tobytes()


def twins(setting: Setting, corrections: Corrections | None, keep: Shelf) -> dict[tuple[str, int], Twin]:
    """Twins by kind and planting; those that the shelf does not have are grown, all in one go."""
    plan = setting.plan
    p = len(plan.plantings)
    columns = [c for kind in KINDS for c in columns_of(plan.plantings, kind, plan.bed.area_m2)]
    factors = None if corrections is None else corrections.factor[:, p : 3 * p]
    keys = [_key(setting, c, None if factors is None else factors[:, n]) for n, c in enumerate(columns)]
    found = [keep.get(key) for key in keys]
    missing = [n for n, twin in enumerate(found) if twin is None]
    if missing:
        some = None if factors is None else factors[:, missing]
        for n, twin in zip(missing, _grown(setting, [columns[n] for n in missing], some, keep), strict=True):
            keep.put(keys[n], twin)
            found[n] = twin
    return {(c.kind, c.planting): twin for c, twin in zip(columns, found, strict=True)}


def sole_picked(setting: Setting, keep: Shelf) -> Floats:
    """Fresh mass of every planting's crop alone on the whole bed in open light, all its harvests, (D, Y, P) [kg]."""
    columns = columns_of(setting.plan.plantings, SOLE, setting.plan.bed.area_m2)
    return np.stack([twin.picked_kg.sum(axis=2) for twin in _grown(setting, columns, None, keep)], axis=-1)


def sole_main(setting: Setting, keep: Shelf) -> Floats:
    """Fresh mass of the first harvest of every planting's crop alone on the whole bed in open light, (D, Y, P) [kg]."""
    columns = columns_of(setting.plan.plantings, SOLE, setting.plan.bed.area_m2)
    return np.stack([twin.picked_kg[:, :, 0] for twin in _grown(setting, columns, None, keep)], axis=-1)


def _grown(setting: Setting, columns: Sequence[Column], factor: Floats | None, keep: Shelf) -> list[Twin]:
    """Twins, side by side in one run of the day loop."""
    ground = ground_of(setting, columns, np.ones((setting.plan.days, len(columns))) if factor is None else factor, keep)
    stand = stand_of(setting, columns, ground, keep)
    trace = run(stand)
    result = []
    for c, column in enumerate(columns):
        rows = setting.courses[column.planting].rows
        mine = np.nonzero(stand.picks.column == c)[0]
        picked = np.zeros((*trace.picked_kg.shape[:2], len(rows)))
        picked[:, :, [row.harvest for row in rows]] = trace.picked_kg[:, :, mine]
        growth = trace.growth_g[:, :, c].copy()
        anything = np.asarray(trace.leaf_m2[:, :, c].any(axis=1) | growth.any(axis=1))
        result.append(Twin(growth, picked, anything, trace.held_back[:, c].copy()))
    return result


__all__ = ["Twin", "sole_main", "sole_picked", "twins"]
