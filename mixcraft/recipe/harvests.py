"""How one part of a planting is picked: what the crop says, and what a recipe says of the height of a cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixcraft.crops.model import Part

from .constants import constant


@dataclass(frozen=True)
class HarvestPlan:
    """How one part of planting `planting` (an index) is picked; `start` and `until` are day indices or None,
    `stub_m` the height of a cut where the recipe says one.  `cuts` are those of the warm months, after which leaf runs up or is
    tough, or just so many where they are `counted`."""

    planting: int
    part: Part
    method: str
    interval_days: float
    take: float
    cuts: int
    start: int | None = None
    until: int | None = None
    stub_m: float | None = None
    counted: bool = False


UNCOUNTED = 99
"""Pickings of a method that has no number of its own: more than any season holds."""


def usual_harvest(index: int, part: Part, method: str) -> HarvestPlan:
    """How a part of planting `index` is picked by a method if nothing more is said."""
    interval = part.number("interval", constant("interval"))
    cuts = int(part.number("cuts", constant("cuts"))) if method == "cut" else UNCOUNTED
    take = part.number("take", constant({"leaf": "take_leaf", "cut": "take_cut"}.get(method, "take_other")))
    if method == "leaf" and part.methods[0] != "leaf":
        take = min(take, constant("take_leaf"))
    return HarvestPlan(index, part, method, interval, take, cuts)


def with_toppings(harvests: Sequence[HarvestPlan]) -> tuple[HarvestPlan, ...]:
    """Harvests of a planting as they are done: leaf that is taken once from plants whose main part is picked again and again, as
    the tops of sprouts are, is a cut that spares the plants."""
    if not any(x.part.role == "main" and x.method == "pick" for x in harvests):
        return tuple(harvests)

    def done(x: HarvestPlan) -> HarvestPlan:
        topping = x.method == "once" and x.part.pool == "leaf" and x.part.role != "main"
        return replace(x, method="cut", cuts=1, interval_days=1.0, counted=True) if topping else x

    return tuple(done(x) for x in harvests)


LEAST_TAKE, MOST_TAKE = constant("cut_least"), constant("cut_most")
"""Bounds of the share of the leaf that a cut at another height takes."""


def cut_at(harvest: HarvestPlan, height_m: float | None) -> HarvestPlan:
    """A harvest that is cut at a height [m]: leaf is left in proportion to the stub, so that a high cut takes less and grows
    again the sooner; unchanged where nothing is said, or the part is not cut or has no usual height."""
    usual = harvest.part.number("cut_height", 0.0) / 100.0
    if height_m is None or harvest.method != "cut" or usual <= 0.0:
        return harvest
    take = 1.0 - (1.0 - harvest.take) * height_m / usual
    return replace(harvest, take=min(max(take, LEAST_TAKE), MOST_TAKE), stub_m=height_m)
