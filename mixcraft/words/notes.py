"""What is to be known of a plan besides its dates and amounts: a sentence each."""

from __future__ import annotations

from mixcraft.recipe.layout import CELL_M
from mixcraft.recipe.model import AutumnFrost, OnDate, SpringFrost
from mixcraft.recipe.plan import COARSE_M2, Plan

from .amounts import Units, length_words
from .catalogue import ENGLISH, Catalogue
from .dates import day_words

SAME_M = 0.01
"""Beds whose sides differ by less are of one size [m]."""


def plan_notes(plan: Plan, units: Units = "metric", t: Catalogue = ENGLISH) -> tuple[str, ...]:
    """The notes of a plan, as `Plan.notes` has them, in units and language of a card."""
    return tuple(s for s in (*_ground(plan, units, t), *_plantings(plan, t)) if s)


def _ground(plan: Plan, units: Units, t: Catalogue) -> list[str]:
    recipe, bed, grid, found = plan.recipe, plan.bed, plan.grid, []
    if grid.cell_m2 > COARSE_M2:
        found.append(
            t.gettext(
                "For a bed of this size and its plantings, light is followed in cells of {cell} instead of {usual}, so that the "
                "edges of plantings are blurred by as much."
            ).format(cell=length_words(max(grid.dx_m, grid.dy_m), units), usual=length_words(CELL_M, units))
        )
    if abs(recipe.length_m - bed.length_m) > SAME_M or abs(recipe.width_m - bed.width_m) > SAME_M:
        sides = [length_words(m, units) for m in (recipe.length_m, recipe.width_m, bed.length_m, bed.width_m)]
        found.append(
            t.gettext("Drawn for a bed of {a} × {b}; places and numbers are fitted to {c} × {d}.").format(
                a=sides[0], b=sides[1], c=sides[2], d=sides[3]
            )
        )
    return found


def _plantings(plan: Plan, t: Catalogue) -> list[str]:
    found, sky = [], plan.almanac
    for planned in plan.plantings:
        start = planned.planting.start
        if isinstance(start, OnDate) and start.hemisphere not in ("", sky.hemisphere):
            said = t.gettext("{planting}: the date is moved by six months to this hemisphere, {day}.")
            found.append(said.format(planting=planned.name, day=day_words(plan.date(planned.start), t)))
    for planned in plan.plantings:
        years, age = int(planned.planting.crop.number("harvest.establishing", 0.0)), planned.planting.years
        if age is not None and age < years:
            said = t.gettext("{planting}: not picked this year; years since planting: {age}, first picked at {years}.")
            found.append(said.format(planting=planned.name, age=age, years=years))
        elif years and age is None:
            said = t.ngettext(
                "{planting}: pick little or nothing in the year it is planted; the amounts are those of an established plant.",
                "{planting}: pick little or nothing in its first {years} years; the amounts are those of an established plant.",
                years,
            )
            found.append(said.format(planting=planned.name, years=years))
    starts = [p.planting.start for p in plan.plantings]
    if sky.last_spring_frost is None and any(isinstance(s, SpringFrost | AutumnFrost) for s in starts):
        found.append(t.gettext("No frost is expected here: weeks from a frost are counted from the middle of the coldest month."))
    return found
