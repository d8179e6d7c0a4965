"""The work of sowing and planting as dated steps, in the order in which it is done: facts, no sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from mixcraft.crops.clock import SOWN, nursery_weeks
from mixcraft.crops.development import NEVER
from mixcraft.crops.windows import part_window
from mixcraft.files.facts import Facts, Names, Numbers

from .constants import constant
from .model import AtTrellis, Harvested
from .plan import CoverSpan, Plan, Planned


@dataclass(frozen=True)
class Step:
    """One thing to do on day index `day` (of the plan; negative before the first sowing) for the plantings `numbers` (from 1).

    `kind` is one of `ORDER`; `amounts` the seed, plants and measures of it, with units in their names; `names` the cover or
    support; `whole_bed` whether it concerns all plantings at once; `next_year` whether it is the first in a new calendar year.
    """

    day: int
    kind: str
    numbers: tuple[int, ...]
    amounts: Numbers = field(default_factory=Facts)
    names: Names = field(default_factory=Facts)
    note: str = ""
    whole_bed: bool = False
    next_year: bool = False


ORDER = (
    "feed", "support", "indoors", "harden", "mix", "sow", "plant", "cover", "net", "thin", "tie in", "earth up", "pinch out",
    "feed plants", "uncover", "water", "pick", "clear",
)  # fmt: skip
"""Kinds of steps, in the order in which those of one day are done; those from `net` on that a plan knows nothing of are made from
a season by `mixcraft.press.jobs`."""


def sowing_steps(plan: Plan) -> tuple[Step, ...]:
    """All steps of `plan`, by day; the first one of a new calendar year is marked, since the dates of a card have no year."""
    steps: list[Step] = []
    for planned in plan.plantings:
        steps += _start_steps(planned) if not planned.planting.stands else ()
        steps += _later_steps(plan, planned)
    return in_order(plan, _together(plan, _mixed(plan, _merged([*steps, *_cover_steps(plan)]))))


def in_order(plan: Plan, steps: Iterable[Step]) -> tuple[Step, ...]:
    """Steps by day and kind, the first one of each new calendar year marked."""
    ordered = sorted(steps, key=lambda s: (s.day, ORDER.index(s.kind), s.numbers))
    years = [plan.date(step.day).astype("datetime64[Y]") for step in ordered]
    return tuple(
        replace(step, next_year=bool(i and years[i] > years[i - 1])) for i, step in enumerate(ordered)
    )  # fmt: skip


def indoor_day(planned: Planned) -> int | None:
    """Day index on which modules are sown indoors, None for what is not raised so."""
    if planned.planting.establish != "module":
        return None
    return planned.start - round(7 * nursery_weeks(planned.planting.crop))


def _start_steps(planned: Planned) -> Iterable[Step]:
    number, planting = (planned.index + 1,), planned.planting
    amounts = {
        "plants": float(round(planned.stand.plants)), "depth_m": planned.depth_m,
        "seeds": planned.seeds, "seed_g": planned.seed_g,
    }  # fmt: skip
    if planting.support and planned.support_m and not isinstance(planting.where, AtTrellis):  # the bed's trellis stands already
        support: Names = Facts(support=(planting.support,))
        yield Step(planned.start, "support", number, Facts(height_m=planned.support_m), support)
    day = indoor_day(planned)
    if day is not None:
        modules = float(math.ceil(planned.seeds - 1e-9))
        yield Step(day, "indoors", number, Facts(amounts, modules=modules))
        hardened = planned.start - int(constant("hardening"))
        if hardened > day:
            yield Step(hardened, "harden", number, Facts(days=constant("hardening")))
    kind = "sow" if planting.establish in SOWN else "plant"
    if kind == "sow":
        amounts["sown_per_m2"] = planned.density_per_m2 if planting.thin is None else planting.thin.sown_per_m2
        amounts["seed_g_per_m2"] = planned.seed_g / planned.stand.area_m2
    yield Step(planned.start, kind, number, Facts(amounts), Facts(), planting.note)


def _later_steps(plan: Plan, planned: Planned) -> Iterable[Step]:
    number = (planned.index + 1,)
    if planned.sown_factor > 1.0:
        day = _thinned_from(planned)
        if day < NEVER:
            row = in_row_m(planned) if planned.planting.establish != "broadcast" else None
            to = {"apart_m": row} if row else {"per_m2": planned.density_per_m2}
            yield Step(day, "thin", number, Facts(to | (_rounds(day) if planned.thins_in_rounds else {})))
    if not isinstance(planned.planting.end, Harvested) and planned.end < NEVER:
        yield Step(planned.end, "clear", number)


def _rounds(day: int) -> dict[str, float]:
    """How often seedlings are thinned that are eaten, from day index `day` on, and the last of these days."""
    rounds, every = constant("thinning_rounds"), constant("thinning_every")
    return {"rounds": rounds, "every_days": every, "until": day + every * (rounds - 1.0)}


def _thinned_from(planned: Planned) -> int:
    """Day index on which thinning begins: that of the recipe, or the first on which thinnings can be eaten."""
    if planned.thin_day is not None:
        return planned.thin_day
    part = next(x.part for x in planned.harvests if x.method == "thin")
    return int(part_window(planned.planting.crop, part, planned.clock, "thin")[0][0])


def _cover_steps(plan: Plan) -> list[Step]:
    """Covers on and off; one cover over several plantings is one step.  It comes off at the latest with the plants."""
    over: dict[CoverSpan, list[Planned]] = {}
    for planned in plan.plantings:
        for span in planned.laid:
            over.setdefault(span, []).append(planned)
    together: dict[tuple[str, int, str], set[int]] = {}
    for span, under in over.items():
        off = min(span.off, max(p.end for p in under) + 1)
        if span.on >= NEVER or off <= span.on or not any(p.start < off for p in under):
            continue
        standing = [p for p in under if p.start < off and p.end >= span.on]
        first = [p for p in standing if p.start <= span.on] or standing
        together.setdefault(("cover", span.on, span.kind), set()).update(p.index + 1 for p in first)
        together.setdefault(("uncover", off, span.kind), set()).update(p.index + 1 for p in standing)
    whole = len(plan.plantings)
    return [
        Step(day, kind, tuple(sorted(numbers)), Facts(), Facts(cover=(cover,)), "", len(numbers) == whole > 1)
        for (kind, day, cover), numbers in together.items()
    ]


def _merged(steps: list[Step]) -> list[Step]:
    """Steps with a cover that goes on as soon as its only planting is in the ground made part of that step."""
    begun = {(s.day, s.numbers): i for i, s in enumerate(steps) if s.kind in ("sow", "plant")}
    result: list[Step | None] = list(steps)
    for i, step in enumerate(steps):
        at = begun.get((step.day, step.numbers))
        main = result[at] if at is not None else None
        if step.kind == "cover" and at is not None and main is not None:
            result[at] = replace(main, names=Facts(main.names, cover=(*main.names.get("cover", ()), *step.names["cover"])))
            result[i] = None
    return [s for s in result if s is not None]


def _mixed(plan: Plan, steps: list[Step]) -> list[Step]:
    """Broadcast sowings of one day and place as one step `mix`: the seed goes into one tin and is sown at once.

    Seeds that ask for very different depths, and sowings with a cover of their own, stay apart.
    """
    result: list[Step] = []
    tins: dict[tuple[int, bytes], list[Step]] = {}
    for step in steps:
        planned = plan.plantings[step.numbers[0] - 1]
        if step.kind == "sow" and planned.planting.establish == "broadcast" and not step.names:
            tins.setdefault((step.day, planned.stand.cells.tobytes()), []).append(step)
        else:
            result.append(step)
    for (day, _), tin in tins.items():
        deepest = max(s.amounts["depth_m"] for s in tin)
        shallow = [s for s in tin if len(tin) > 1 and deepest <= constant("mixed_depths") * s.amounts["depth_m"]]
        if len(shallow) < 2:
            result += tin
            continue
        result += [s for s in tin if s not in shallow]
        numbers = tuple(n for s in shallow for n in s.numbers)
        amounts = Facts(depth_m=min(s.amounts["depth_m"] for s in shallow), seed_g=sum(s.amounts["seed_g"] for s in shallow))
        result.append(Step(day, "mix", numbers, amounts, Facts(), " ".join(s.note for s in shallow if s.note)))
    return result


def _together(plan: Plan, steps: list[Step]) -> list[Step]:
    """Hardening of several plantings that begins on one day as one step."""
    same: dict[int, list[Step]] = {}
    for step in steps:
        if step.kind == "harden":
            same.setdefault(step.day, []).append(step)
    joined = [replace(found[0], numbers=tuple(n for s in found for n in s.numbers)) for found in same.values()]
    return [*(s for s in steps if s.kind != "harden"), *joined]


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
