"""Where a planting stands, in words, and how far apart its plants are."""

from __future__ import annotations

import math

import numpy as np

from mixcraft.recipe.layout import edge_of_side
from mixcraft.recipe.model import Bed, Border, Points, Rows, Span, Strip, WholeBed, Zone
from mixcraft.recipe.plan import Plan, Planned

from .words import NBSP, Units, area_density, length_words, listed

OPPOSITE = {"north": "south", "south": "north", "east": "west", "west": "east"}


def end_names(bed: Bed) -> tuple[str, str]:
    """Compass names of the foot (x = 0) and of the side on the right (y = 0)."""
    return edge_of_side("foot", bed.heading_deg), edge_of_side("right", bed.heading_deg)


def _fitted(span: Span, reference_m: float, actual_m: float) -> float:
    return span.metres(reference_m) * actual_m / reference_m


def _from_to(low: float, high: float, units: Units) -> str:
    first, second = length_words(low, units), length_words(high, units)
    if low < 1e-9:
        first = "0"
    elif first.split(NBSP)[-1] == second.split(NBSP)[-1] and first.count(NBSP) == second.count(NBSP) == 1:
        first = first.split(NBSP)[0]
    return f"{first} to {second}"


def where_words(plan: Plan, planned: Planned, units: Units) -> str:
    """Where the planting stands, such as ``0.5 to 1.2 m from the west end``."""
    where, recipe, bed = planned.planting.where, plan.recipe, plan.bed
    foot, right = end_names(bed)
    if isinstance(where, WholeBed):
        return "over the whole bed"
    if isinstance(where, Strip | Zone):
        x0, x1 = (_fitted(s, recipe.length_m, bed.length_m) for s in where.x)
        text = f"{_from_to(x0, x1, units)} from the {foot} end"
        if isinstance(where, Zone):
            y0, y1 = (_fitted(s, recipe.width_m, bed.width_m) for s in where.y)
            text += f", {_from_to(y0, y1, units)} from the {right} side"
        return text
    if isinstance(where, Rows):
        return _row_words(plan, planned, where, units)
    if isinstance(where, Points):
        count = len(where.at)
        return "at the drawn place" if count == 1 else f"at the {count} drawn places"
    if isinstance(where, Border):
        return f"in a border {length_words(where.depth_m, units)} wide along the {where.edge} edge"
    return f"along the {planned.stand.edge or 'drawn'} trellis"


def _row_words(plan: Plan, planned: Planned, where: Rows, units: Units) -> str:
    rows = planned.stand.rows
    foot, right = end_names(plan.bed)
    along = where.along == "length"
    offsets = sorted(row[0][1] if along else row[0][0] for row in rows)
    side = f"from the {right} side" if along else f"from the {foot} end"
    run = "along" if along else "across"
    if len(offsets) > 4:
        gaps = np.diff(offsets)
        return (
            f"in {len(offsets)} rows {run} the bed, {length_words(float(np.median(gaps)), units)} apart, "
            f"the first {length_words(offsets[0], units)} {side}"
        )
    what = "in a row" if len(offsets) == 1 else f"in {len(offsets)} rows"
    return f"{what} {run} the bed, {_lengths(offsets, units)} {side}"


def _lengths(values: list[float], units: Units) -> str:
    words = [length_words(v, units) for v in values]
    unit = words[-1].split(NBSP)[-1]
    if all(w.count(NBSP) == 1 and w.split(NBSP)[-1] == unit for w in words):
        words = [*(w.split(NBSP)[0] for w in words[:-1]), words[-1]]
    return listed(words)


def row_length_m(planned: Planned) -> float:
    """Length of all rows of a planting [m]."""
    return sum(math.dist(a, b) for a, b in planned.stand.rows)


def in_row_m(planned: Planned) -> float | None:
    """Distance of the plants in their rows [m]; None without rows."""
    total = row_length_m(planned)
    return total / planned.stand.plants if total > 0 and planned.stand.plants > 0 else None


def apart_m(planned: Planned) -> float | None:
    """Distance from a plant to the next of its kind [m]: in the row, else between the drawn places (their middle)."""
    row = in_row_m(planned)
    if row is not None:
        return row
    positions = planned.stand.positions
    if positions is None or len(positions) < 2:
        return None
    delta = positions[:, None, :] - positions[None, :, :]
    distance = np.hypot(delta[..., 0], delta[..., 1])
    np.fill_diagonal(distance, np.inf)
    return float(np.median(distance.min(axis=1)))


def drills_words(planned: Planned, units: Units) -> str:
    """The drills of a planting: how many and how far apart."""
    rows = planned.stand.rows
    if len(rows) < 2:
        return "in one drill"
    along = abs(rows[0][0][1] - rows[0][1][1]) < 1e-9
    offsets = sorted(row[0][1] if along else row[0][0] for row in rows)
    return f"in {len(rows)} drills {length_words(float(np.median(np.diff(offsets))), units)} apart"


def spacing_words(planned: Planned, units: Units) -> str:
    """How far apart or how dense the plants stand in the end."""
    if isinstance(planned.planting.where, Points):
        return ""
    if planned.planting.establish == "broadcast" or (planned.stand.positions is None and not planned.stand.rows):
        return area_density(planned.density_per_m2, units)
    apart = apart_m(planned)
    return f"{length_words(apart, units)} apart" if apart is not None else ""
