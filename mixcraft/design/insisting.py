"""The grower's rules that the constraint model keeps: a picking soon after the first sowing, several kinds in high season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from .constants import constant
from .curves import Option
from .practice import high_weeks

AMPLE = 1.8
"""Times the portions from which something counts as one kind: among others a crop gives less than alone."""
SPARE_DAYS = 2.0
"""Days sooner than they have to be that first pickings of the model are: years differ.  Common practice, no source."""


def picked_soon(model: Any, found: Sequence[Option], used: Sequence[Any], most_days: float) -> None:
    """Whatever is started first, something is picked within so many days of it.

    Every option asks for one that is picked in time after its own start; for later ones the first one has asked already.
    """
    soonest = min(o.wait_days for o in found)
    most = max(most_days - SPARE_DAYS, soonest)
    for o, option in enumerate(found):
        in_time = [used[q] for q, other in enumerate(found) if 7 * other.week + other.wait_days <= 7 * option.week + most]
        model.add(used[o] <= sum(in_time))


def several_kinds(model: Any, on_plate: Mapping[int, Mapping[Any, Any]], weeks: range, least: int, scale: int, span: int) -> None:
    """In the weeks of high season at least so many kinds are on the plate within `span` weeks; `on_plate` by wanted week and kind
    how much of it, in units of a portion over `scale`, up to one."""
    enough, high = round(AMPLE * constant("kind_portions") * scale), []
    for week in weeks[: len(weeks) - span + 1]:
        good, within = model.new_bool_var(""), [on_plate.get(w, {}) for w in range(week, week + span)]
        shown = []
        for kind in dict.fromkeys(kind for ones in within for kind in ones):
            there = model.new_bool_var("")
            model.add(sum(ones[kind] for ones in within if kind in ones) >= enough * there)
            shown.append(there)
        model.add(sum(shown) >= least * good)
        high.append(good)
    model.add(sum(high) >= high_weeks(len(weeks)))
