"""Eighteen briefs in six climates, and what a grower asks of a design before looking at its score.

The gardens are invented; places are reference places.  The list was written before the briefs were designed (common practice,
no source): usual months, spacing in range, few sowing days, the tall away from the sun, climbers on supports, rotation kept,
something to pick within four weeks of the first sowing where radish or cress may grow, five kinds in high season.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.development import NEVER
from mixcraft.design.brief import Brief
from mixcraft.design.choice import Placed
from mixcraft.design.compose import Design
from mixcraft.design.constants import usual_crops
from mixcraft.design.curves import Option
from mixcraft.design.drawing import mixed, planting_of, start_dates
from mixcraft.design.ground import Ground
from mixcraft.design.rotation import rested
from mixcraft.design.task import task_of
from mixcraft.place import reference_place
from mixcraft.recipe.density import usual_range
from mixcraft.recipe.model import AtTrellis, Bed, Garden, Recipe, Trellis
from mixcraft.recipe.moves import free_name
from mixcraft.scoring.evidence import Evidence

CLIMATES = ("Oxford", "Chicago", "Rome", "New Orleans", "Melbourne", "Nairobi")
"""Cool oceanic, cold continental, Mediterranean, humid subtropical, southern, tropical highland."""
BOTH = (Trellis("north", 1.8), Trellis("south", 1.8))
HISTORY = ((1, ("cabbage-summer",)), (2, ("tomato-cordon", "onion")))


@dataclass(frozen=True)
class Case:
    """A brief by its place, bed and number of candidate crops."""

    name: str
    place: str
    length_m: float
    width_m: float
    heading_deg: float = 0.0
    trellis: bool = False
    candidates: int = 40
    style: str = "mixed"
    history: bool = False

    def brief(self) -> Brief:
        """The brief itself."""
        bed = Bed("bed", self.length_m, self.width_m, self.heading_deg, BOTH if self.trellis else (),
                  history=HISTORY if self.history else ())  # fmt: skip
        garden = Garden(self.name, reference_place(self.place), (bed,))
        keys = usual_crops()
        step = len(keys) / min(self.candidates, len(keys))
        at_hand = tuple(load_crop(keys[int(i * step)]) for i in range(min(self.candidates, len(keys))))
        return Brief(garden, "bed", at_hand=at_hand, style=self.style)


CASES = tuple(
    case for place in CLIMATES for case in (
        Case(f"{place}, small", place, 1.2, 1.0, 90.0, candidates=12),
        Case(f"{place}, long", place, 4.0, 1.2, 0.0, trellis=True, candidates=40, history=True),
        Case(f"{place}, sown once", place, 2.4, 1.2, 90.0, candidates=51, style="sown once")
        if place in ("Oxford", "Chicago", "Melbourne") else Case(f"{place}, large", place, 6.0, 1.2, 90.0, candidates=51),
    )
)  # fmt: skip


def by_lot(task_options: tuple[Option, ...], ground: Ground, rng: np.random.Generator, style: str) -> Recipe:
    """A valid recipe by lot: crops at their own starts and densities on pieces of ground; mixed and of one day if sown once."""
    if style == "sown once":
        day = rng.choice(sorted({o.month_day for o in task_options}))
        mine = [o for o in task_options if o.month_day == day]
        chosen = rng.choice(len(mine), min(len(mine), int(rng.integers(3, 9))), replace=False)
        return mixed([Placed(mine[n], tuple(range(int(rng.integers(1, 5))))) for n in chosen], ground, "by lot")
    plantings = []
    for cell, n in enumerate(rng.choice(len(task_options), ground.count)):
        option = task_options[n]
        name = free_name(option.crop.name, [p.name for p in plantings])
        plantings.append(planting_of(option, ground.where((cell,)), ground.area_m2(cell), name))
    return Recipe("by lot", ground.bed.length_m, ground.bed.width_m, tuple(plantings))


def complaints(made: Design, brief: Brief) -> list[str]:
    """What a grower would say against a design; nothing if all is well."""
    season, said = made.score.season, []
    plan, evidence = season.plan, Evidence(season)
    mixed_, days = brief.style == "sown once", start_dates(made.recipe)
    if len(days) > brief.sowing_days:
        said.append(f"{len(days)} sowing days")
    for i, p in enumerate(plan.plantings):
        low, high = usual_range(p)
        density = float(evidence.density[i])
        if density > 1.1 * high or (not mixed_ and density < 0.5 * low):
            said.append(f"{p.name}: {density:.3g} to the square metre, {low:.3g} to {high:.3g} are usual")
        if not rested(p.planting.crop, plan.bed):
            said.append(f"{p.name} breaks the rotation")
        if p.planting.crop.form == "climber" and not (p.planting.support or isinstance(p.planting.where, AtTrellis)):
            said.append(f"{p.name} has nothing to climb on")
        if not _usual_month(p.planting.crop.id, p.start, made):
            said.append(f"{p.name} is started on {plan.date(p.start)}")
    lost = evidence.fates
    share = (lost.killed | lost.lost | lost.bolted | lost.unready).mean(axis=0)
    said += [f"{plan.plantings[i].name} is lost in {share[i]:.0%} of years" for i in np.nonzero(share > 0.2)[0]]
    tall = {p.name: min(p.planting.crop["canopy.height"], p.support_m or np.inf) for p in plan.plantings}
    said += [f"{r.plantings[1]} stands on the sunny side of {r.plantings[0]}" for r in made.score.reasons
             if r.cause == "sunny side" and r.points >= 2.0 and tall[r.plantings[1]] > tall[r.plantings[0]] + 0.2]  # fmt: skip
    said += _picking(made, brief) + _kinds(made, brief)
    return said


def _usual_month(crop: str, start: int, made: Design) -> bool:
    """Tender crops after the last frost of a middle year less a week; none later than its first autumn frost."""
    plan = made.score.season.plan
    sky = plan.almanac
    if sky.last_spring_frost is None or sky.first_autumn_frost is None:
        return True
    day = (start + int((plan.start - sky.start).astype(int))) % 365
    tender = load_crop(crop)["frost.seedling"] >= -2.0
    first = sky.last_spring_frost - (7 if tender else 12 * 7)
    return first <= day <= sky.first_autumn_frost + (0 if tender else 28)


def _picking(made: Design, brief: Brief) -> list[str]:
    """Something within four weeks of the first sowing where radish or cress may grow."""
    plan = made.score.season.plan
    quick = [c for c in brief.at_hand if c.id in ("radish", "garden-cress")]
    if not any(rested(crop, plan.bed) for crop in quick):
        return []
    firsts = [y.first for y in made.score.yields if y.first is not None]
    sown = plan.date(min(p.start for p in plan.plantings))
    days = float((min(firsts) - sown).astype(int)) if firsts else float(NEVER)
    return [f"the first picking comes {days:.0f} days after the first sowing"] if days > 28.0 else []


def _kinds(made: Design, brief: Brief) -> list[str]:
    """Five kinds a week in high season; within a month where the bed is small or sown once."""
    evidence = Evidence(made.score.season)
    eaten = evidence.eaten.portions[evidence.weeks.wanted].mean(axis=1)
    span = 4 if brief.style == "sown once" or brief.garden.bed(brief.bed).area_m2 < 2.0 else 1
    on = [(eaten[w : w + span].sum(axis=0) >= 0.25).sum() for w in range(len(eaten) - span + 1)]
    best = float(np.sort(on)[-max(1, len(eaten) // 3) :].mean()) if on else 0.0
    return [f"{best:.1f} kinds in high season"] if best < 5.0 else []


def task_for(brief: Brief):  # type: ignore[no-untyped-def]
    """The task of a brief."""
    garden, bed = brief.asked()
    return task_of(brief, garden, bed)[0]
