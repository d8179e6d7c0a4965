"""What a worker does with a task: grow and score each recipe at the place.  The garden of the last task is kept."""

from __future__ import annotations

import gc
import math
from typing import Any

from mixcraft.files import FileFaults, UsageError
from mixcraft.recipe.model import PARTS, Garden, Recipe
from mixcraft.scoring import score
from mixcraft.scoring.model import Score
from mixcraft.season.evaluator import Evaluator

from .model import Named, Setting, Task

Row = dict[str, Any]

_kept: list[tuple[tuple[Garden, str, int, int], Evaluator]] = []
"""The evaluator of the last garden: tasks come place by place."""


def rows_of(task: Task) -> list[Row]:
    """A row for each recipe of the task."""
    return [_row(named, task) for named in task.recipes]


def _row(named: Named, task: Task) -> Row:
    place = task.spot.place
    row: Row = {
        "file": named.file, "recipe": named.recipe.name, "recipe_key": named.key, "place": place.name, "place_key": task.spot.key,
        "latitude": place.latitude_deg, "longitude": _finite(place.longitude_deg), "height_m": place.elevation_m,
        "station": place.taken_from.name if place.taken_from else place.name,
        "status": "good", "said": "",
    }  # fmt: skip
    try:
        return row | _measures(_scored(named.recipe, task))
    except (FileFaults, UsageError) as refused:
        return row | {"status": "refused", "said": _first(refused)}
    except Exception as fault:  # a fault of the engine costs one row, not the sweep
        return row | {"status": "failed", "said": f"{type(fault).__name__}: {fault}"}


def _first(refused: FileFaults | UsageError) -> str:
    return refused.faults[0].message if isinstance(refused, FileFaults) else str(refused)


def _scored(recipe: Recipe, task: Task) -> Score:
    setting = task.setting
    garden, bed = setting.garden_at(task.spot, recipe)
    return score(_evaluator(garden, bed, setting).season(recipe, voxels=setting.voxels))


def _evaluator(garden: Garden, bed: str, setting: Setting) -> Evaluator:
    key = (garden, bed, setting.years, setting.seed)
    if not _kept or _kept[0][0] != key:
        _kept.clear()
        gc.collect()  # what the last evaluator kept goes in cycles, and is large
        _kept.append((key, Evaluator(garden, bed, setting.years, setting.seed)))
    return _kept[0][1]


def _measures(found: Score) -> Row:
    """The columns of a scored recipe."""
    wanted = [week for week in found.strip if week.wanted]
    picked = [week for week in found.strip if week.picked]
    season = found.season
    totals = season.picked_kg.sum(axis=(0, 2))
    low, middle, high = (float(value) for value in _band(totals))
    worst = found.reasons[0] if found.reasons else None
    return {
        "overall": found.overall, "overall_low": found.overall_band.low, "overall_high": found.overall_band.high,
        **{f"part_{name}": found.part(name).score for name in PARTS},
        "kg_low": low, "kg": middle, "kg_high": high, "kg_by_year": [float(total) for total in totals],
        "area_m2": season.plan.bed.area_m2,
        "weeks_wanted": len(wanted), "weeks_picked": sum(week.picked for week in wanted),
        "longest_gap_weeks": max((gap.weeks for gap in found.gaps), default=0),
        "first_sowing": season.plan.start.item(), "first_picking": picked[0].start.item() if picked else None,
        "last_picking": picked[-1].start.item() if picked else None,
        "land_equivalent_ratio": _finite(found.ler.middle),
        "worst_loss": max((max(c.frost, c.cold_soil) for c in found.chances), default=0.0),
        "worst_part": worst.part if worst else None, "worst_cause": worst.cause if worst else None,
        "worst_points": worst.points if worst else None,
        "worst_plantings": list(worst.plantings) if worst else [],
    }  # fmt: skip


def _band(totals: Any) -> Any:
    import numpy as np

    from mixcraft.season.result import BAND

    return np.quantile(totals, BAND)


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
