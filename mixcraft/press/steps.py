"""The work of sowing and planting as dated steps, in the order in which it is done."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from mixcraft.crops.clock import PLANTED, SOWN
from mixcraft.crops.development import NEVER
from mixcraft.recipe.model import Harvested, Moment, OnDay, Rows
from mixcraft.recipe.plan import CoverSpan, Plan, Planned, moment_day
from mixcraft.scoring.words import cover_words

from .places import drills_words, in_row_m, spacing_words, where_words
from .words import NBSP, Units, area_density, depth_words, grams_words, length_words, listed, seeds_words

PIECES = {
    "set": ("set", "sets"), "tuber": ("tuber", "tubers"), "clove": ("clove", "cloves"), "crown": ("crown", "crowns"),
    "division": ("division", "divisions"), "plant": ("young plant", "young plants"),
}  # fmt: skip
SUPPORT_WORDS = {"canes": "canes", "netting": "netting", "stake": "stakes", "cage": "cages", "string": "strings"}


@dataclass(frozen=True)
class Step:
    """One thing to do on day index `day` (of the plan; negative before the first sowing) for the plantings `numbers`.

    `what` is the sentence, `amount` the seed or plants to have ready, `kind` sorts steps of a day.
    """

    day: int
    kind: str
    numbers: tuple[int, ...]
    what: str
    amount: str = ""
    note: str = ""


ORDER = ("support", "indoors", "sow", "plant", "cover", "thin", "uncover", "clear")


def plan_day(plan: Plan, planned: Planned, moment: Moment) -> int:
    """Day index of the plan of a moment in the life of a planting; `NEVER` if it does not come."""
    if isinstance(moment, OnDay):
        first = int((plan.start - plan.almanac.start).astype("timedelta64[D]").astype(int))
        return plan.almanac.month_day(moment.month_day, not_before=planned.start + first) - first
    return moment_day(moment, planned.clock, plan.almanac, planned.last_harvest)


def indoor_day(planned: Planned) -> int | None:
    """Day index on which modules are sown indoors, None for what is not raised so."""
    if planned.planting.establish != "module":
        return None
    return planned.start - round(7 * planned.planting.crop.number("seed.module_age", 5.0))


def sowing_steps(plan: Plan, units: Units = "metric") -> tuple[Step, ...]:
    """All steps of `plan`, by day."""
    steps: list[Step] = []
    for planned in plan.plantings:
        steps += _start_steps(plan, planned, units)
        steps += _later_steps(plan, planned, units)
    steps += _cover_steps(plan)
    return tuple(sorted(_merged(steps), key=lambda s: (s.day, ORDER.index(s.kind), s.numbers)))


def _start_steps(plan: Plan, planned: Planned, units: Units) -> list[Step]:
    number = (planned.index + 1,)
    steps = []
    planting = planned.planting
    if planting.support and planned.support_m:
        what = SUPPORT_WORDS.get(planting.support, planting.support)
        text = f"Put up {what} {length_words(planned.support_m, units)} high for {planned.name}, well anchored"
        steps.append(Step(planned.start, "support", number, text))
    day = indoor_day(planned)
    if day is not None:
        steps.append(_indoors(planned, day, units))
    steps.append(_sow(plan, planned, units) if _is_sown(planned) else _set_out(plan, planned, units))
    return steps


def _is_sown(planned: Planned) -> bool:
    return planned.planting.establish in SOWN


def seeds_each(planned: Planned) -> str:
    """Seeds to each place, such as ``2 seeds`` or ``1 or 2 seeds``, so that the counted seed goes round."""
    each = planned.seeds / max(round(planned.stand.plants), 1)
    if each < 1.15:
        return "a seed"
    near = round(each)
    if abs(each - near) <= 0.15:
        return f"{near} seeds"
    return f"{math.floor(each)} or {math.ceil(each)} seeds"


def _indoors(planned: Planned, day: int, units: Units) -> Step:
    """Modules, a seed in each, as many as germination asks for."""
    count, modules = round(planned.stand.plants), math.ceil(planned.seeds - 1e-9)
    what = f"Sow {planned.name} indoors, a seed in each of {modules} module{'' if modules == 1 else 's'}"
    what += f" for {count} plant{'' if count == 1 else 's'}, {depth_words(planned.depth_m, units)} deep"
    return Step(day, "indoors", (planned.index + 1,), what, seeds_words(planned.seeds, planned.seed_g))


def _sow(plan: Plan, planned: Planned, units: Units) -> Step:
    planting, stand = planned.planting, planned.stand
    depth = f"{depth_words(planned.depth_m, units)} deep"
    where = where_words(plan, planned, units)
    if planting.establish == "broadcast":
        rate = grams_words(planned.seed_g / stand.area_m2) if planned.seed_g / stand.area_m2 >= 0.05 else ""
        what = f"Broadcast {planned.name} {where} and rake in {depth}"
        if units == "metric" and rate and planning_area(plan, planned):
            what += f" ({rate} per{NBSP}m²)"
        what += f"; {_stands(planned, units)} will stand"
    elif planting.establish == "drills":
        row = isinstance(planting.where, Rows)
        what = f"Sow {planned.name} {where if row else drills_words(planned, units) + ', ' + where}, {depth}"
        distance = in_row_m(planned)
        if distance is not None and planting.thin is None:
            what += f"; a plant every {length_words(distance, units)}"
    else:
        each = seeds_each(planned)
        apart = spacing_words(planned, units) if round(stand.plants) > 1 else ""
        what = ", ".join(part for part in (f"Sow {planned.name} {where}", apart, depth) if part)
        what += f", {each} to each place" + ("" if each == "a seed" else "; leave one")
    return Step(
        planned.start, "sow", (planned.index + 1,), what, seeds_words(planned.seeds, planned.seed_g), planting.note
    )  # fmt: skip


def planning_area(plan: Plan, planned: Planned) -> bool:
    """Whether the rate to the square metre helps: on places from a square metre upwards."""
    return planned.stand.area_m2 >= 1.0


def _stands(planned: Planned, units: Units) -> str:
    thin = planned.planting.thin
    return area_density(planned.density_per_m2 if thin is None else thin.sown_per_m2, units)


def _set_out(plan: Plan, planned: Planned, units: Units) -> Step:
    planting, count = planned.planting, round(planned.stand.plants)
    where, apart = where_words(plan, planned, units), spacing_words(planned, units)
    if planting.establish in PLANTED:
        what = f"Plant out {planned.name} {where}" + (f", {apart}" if apart and count > 1 else "") + "; water in"
        amount = f"{count} plant{'' if count == 1 else 's'}"
    else:
        one, many = PIECES[planting.establish]
        what = f"Plant {planned.name} {where}" + (f", {apart}" if apart and count > 1 else "")
        what += f", {depth_words(planned.depth_m, units)} deep"
        amount = f"{count} {one if count == 1 else many}"
        if planned.seed_g >= 0.5:
            amount += f", {grams_words(planned.seed_g) if planned.seed_g < 950 else _kilograms(planned.seed_g)}"
    return Step(planned.start, "plant", (planned.index + 1,), what, amount, planting.note)


def _kilograms(grams: float) -> str:
    return f"{grams / 1000:.1f}{NBSP}kg"


def _later_steps(plan: Plan, planned: Planned, units: Units) -> list[Step]:
    steps, number, thin = [], (planned.index + 1,), planned.planting.thin
    if thin is not None:
        day = plan_day(plan, planned, thin.at)
        if day < NEVER:
            row = in_row_m(planned) if planned.planting.establish != "broadcast" else None
            to = f"a plant every {length_words(row, units)}" if row else area_density(planned.density_per_m2, units)
            steps.append(Step(day, "thin", number, f"Thin {planned.name} to {to}"))
    if not isinstance(planned.planting.end, Harvested) and planned.end < NEVER:
        steps.append(Step(planned.end, "clear", number, f"Clear {planned.name}"))
    return steps


def _cover_steps(plan: Plan) -> list[Step]:
    """Covers on and off; one cover over several plantings is one step.  It comes off at the latest with the plants."""
    over: dict[CoverSpan, list[Planned]] = {}
    for planned in plan.plantings:
        for span in planned.covers:
            over.setdefault(span, []).append(planned)
    together: dict[tuple[str, int, str], dict[int, str]] = {}
    for span, under in over.items():
        off = min(span.off, max(p.end for p in under) + 1)
        if span.on >= NEVER or off <= span.on or not any(p.start < off for p in under):
            continue
        standing = [p for p in under if p.start < off and p.end >= span.on]
        first = [p for p in standing if p.start <= span.on] or standing
        together.setdefault(("cover", span.on, span.kind), {}).update({p.index + 1: p.name for p in first})
        together.setdefault(("uncover", off, span.kind), {}).update({p.index + 1: p.name for p in standing})
    steps = []
    for (kind, day, cover), names in together.items():
        all_of_them = len(names) == len(plan.plantings) > 1
        what = "the whole bed" if all_of_them else listed([names[n] for n in sorted(names)])
        words = cover_words(cover)
        text = f"Put {words} over {what}" if kind == "cover" else f"Take the {words} off {what}"
        steps.append(Step(day, kind, tuple(sorted(names)), text))
    return steps


def _merged(steps: list[Step]) -> list[Step]:
    """Steps with a cover that goes on as soon as its only planting is in the ground made part of that step."""
    first = {(s.day, s.numbers): i for i, s in enumerate(steps) if s.kind in ("sow", "plant")}
    result: list[Step | None] = list(steps)
    for i, step in enumerate(steps):
        at = first.get((step.day, step.numbers))
        if step.kind == "cover" and at is not None and result[at] is not None:
            main = steps[at]
            words = step.what.split(" over ")[0].removeprefix("Put ")
            result[at] = replace(main, what=f"{main.what}; cover with {words}")
            result[i] = None
    return [s for s in result if s is not None]


__all__ = ["Step", "cover_words", "indoor_day", "plan_day", "seeds_each", "sowing_steps"]
