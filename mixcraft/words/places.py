"""Where a planting stands, in words, and how far apart its plants are."""

from __future__ import annotations

import numpy as np

from mixcraft.recipe.layout import edge_of_side
from mixcraft.recipe.model import Bed, Border, Points, Rows, Span, Strip, WholeBed, Zone
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.steps import apart_m

from .amounts import Units, area_density, length_amount, length_words, short_list
from .catalogue import ENGLISH, Catalogue
from .plain import edge_words, listed


def end_names(bed: Bed) -> tuple[str, str]:
    """Compass names of the foot (x = 0) and of the side on the right (y = 0)."""
    return edge_of_side("foot", bed.heading_deg), edge_of_side("right", bed.heading_deg)


def _fitted(span: Span, reference_m: float, actual_m: float) -> float:
    return span.metres(reference_m) * actual_m / reference_m


def from_to(low: float, high: float, units: Units, t: Catalogue = ENGLISH) -> str:
    """A span of lengths, such as ``0.5 to 1.2 m``."""
    last = length_amount(high, units)
    first = "0" if low < 1e-9 else short_list((length_amount(low, units), last))[0]
    return t.gettext("{first} to {last}").format(first=first, last=last.words)


def where_words(plan: Plan, planned: Planned, units: Units, t: Catalogue = ENGLISH) -> str:
    """Where the planting stands, such as ``0.5 to 1.2 m from the west end``."""
    where = planned.planting.where
    if isinstance(where, WholeBed):
        return t.gettext("over the whole bed")
    if isinstance(where, Strip | Zone):
        return _zone_words(plan, where, units, t)
    if isinstance(where, Rows):
        return _row_words(plan, planned, where, units, t)
    if isinstance(where, Points):
        count = len(where.at)
        return t.ngettext("at the drawn place", "at the {number} drawn places", count).format(number=count)
    if isinstance(where, Border):
        return t.gettext("in a border {width} wide along the {edge} edge").format(
            width=length_words(where.depth_m, units), edge=edge_words(where.edge, t)
        )
    if planned.stand.edge:
        return t.gettext("along the {edge} trellis").format(edge=edge_words(planned.stand.edge, t))
    return t.gettext("along the drawn trellis")


def _zone_words(plan: Plan, where: Strip | Zone, units: Units, t: Catalogue) -> str:
    recipe, bed = plan.recipe, plan.bed
    foot, right = end_names(bed)
    x0, x1 = (_fitted(s, recipe.length_m, bed.length_m) for s in where.x)
    text = t.gettext("{span} from the {edge} end").format(span=from_to(x0, x1, units, t), edge=edge_words(foot, t))
    if isinstance(where, Zone):
        y0, y1 = (_fitted(s, recipe.width_m, bed.width_m) for s in where.y)
        side = t.gettext("{span} from the {edge} side").format(span=from_to(y0, y1, units, t), edge=edge_words(right, t))
        text = f"{text}, {side}"
    return text


MANY_ROWS = 4
"""More rows than this are given by their distance, not one by one."""


def _row_words(plan: Plan, planned: Planned, where: Rows, units: Units, t: Catalogue) -> str:
    foot, right = end_names(plan.bed)
    along = where.along == "length"
    offsets = sorted(row[0][1] if along else row[0][0] for row in planned.stand.rows)
    first = length_words(offsets[0], units) if len(offsets) > MANY_ROWS else listed(
        short_list([length_amount(v, units) for v in offsets]), t
    )  # fmt: skip
    side = (t.gettext("{span} from the {edge} side") if along else t.gettext("{span} from the {edge} end")).format(
        span=first, edge=edge_words(right if along else foot, t)
    )
    count = len(offsets)
    rows = (
        t.ngettext("in a row along the bed", "in {number} rows along the bed", count) if along
        else t.ngettext("in a row across the bed", "in {number} rows across the bed", count)
    ).format(number=count)  # fmt: skip
    if where.ends is not None:
        begin, end = sorted(planned.stand.rows[0][i][0 if along else 1] for i in (0, 1))
        rows = t.gettext("{rows} from {span}").format(rows=rows, span=from_to(begin, end, units, t))
    if count > MANY_ROWS:
        apart = length_words(float(np.median(np.diff(offsets))), units)
        return t.gettext("{rows}, {distance} apart, the first {side}").format(rows=rows, distance=apart, side=side)
    return f"{rows}, {side}"


def drills_words(planned: Planned, units: Units, t: Catalogue = ENGLISH) -> str:
    """The drills of a planting: how many and how far apart."""
    rows = planned.stand.rows
    if len(rows) < 2:
        return t.gettext("in one drill")
    along = abs(rows[0][0][1] - rows[0][1][1]) < 1e-9
    offsets = sorted(row[0][1] if along else row[0][0] for row in rows)
    return t.gettext("in {number} drills {distance} apart").format(
        number=len(rows), distance=length_words(float(np.median(np.diff(offsets))), units)
    )


def spacing_words(planned: Planned, units: Units, t: Catalogue = ENGLISH) -> str:
    """How far apart or how dense the plants stand in the end; nothing for drawn places."""
    if isinstance(planned.planting.where, Points):
        return ""
    if planned.planting.establish == "broadcast" or (planned.stand.positions is None and not planned.stand.rows):
        return area_density(planned.density_per_m2, units, t)
    apart = apart_m(planned)
    return t.gettext("{distance} apart").format(distance=length_words(apart, units)) if apart is not None else ""
