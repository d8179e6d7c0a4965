"""Which cautions a plan calls for, and whom they concern."""

from __future__ import annotations

from collections.abc import Mapping

from .constants import constant
from .plan import Plan

SUPPORT_FROM_M = constant("support_cautioned")
"""Supports from this height carry a caution [m].  Common practice, no source."""
WALKED_INTO = ("polytunnel", "glasshouse")
"""Kinds of cover that people walk into."""


def caution_codes(plan: Plan) -> Mapping[str, tuple[str, ...]]:
    """Codes of the cautions that apply, in the order met, with the names of the plantings each concerns.

    Cautions of crops, of the parts picked, of tall supports, of trellises where something climbs, of tunnels and glass that one
    walks into, and of the soil; no names when one concerns the whole bed.
    """
    concerned: dict[str, list[str]] = {}
    for planned in plan.plantings:
        codes = list(planned.planting.crop.cautions)
        for harvest in planned.harvests:
            codes += harvest.part.cautions
        if planned.support_m is not None and planned.support_m >= SUPPORT_FROM_M:
            codes.append("trellis-load")
        if any(span.kind in WALKED_INTO for span in planned.laid):
            codes.append("glass-film")
        for code in codes:
            if planned.name not in concerned.setdefault(code, []):
                concerned[code].append(planned.name)
    climbing = any(planned.planting.crop.form == "climber" for planned in plan.plantings)
    if plan.bed.trellises and climbing:
        concerned.setdefault("trellis-load", [])
    if plan.bed.under in WALKED_INTO:
        concerned.setdefault("glass-film", [])
    concerned["soil-roots"] = []
    return {code: tuple(names) for code, names in concerned.items()}
