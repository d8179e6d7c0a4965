"""Sowing steps as sentences, and the amounts to have ready for them."""

from __future__ import annotations

import math
from collections.abc import Callable

from mixcraft.crops.clock import PLANTED
from mixcraft.recipe.model import Rows
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.steps import Step, in_row_m

from .amounts import Units, area_density, depth_words, grams_words, is_weighed, length_words, litres_words, seeds_words
from .care import CARE, whom
from .catalogue import ENGLISH, Catalogue
from .places import drills_words, spacing_words, where_words
from .plain import N_, capital, cover_words, listed

PIECES: dict[str, Callable[[Catalogue, int], str]] = {
    "set": lambda t, n: t.ngettext("{number} set", "{number} sets", n),
    "tuber": lambda t, n: t.ngettext("{number} tuber", "{number} tubers", n),
    "clove": lambda t, n: t.ngettext("{number} clove", "{number} cloves", n),
    "crown": lambda t, n: t.ngettext("{number} crown", "{number} crowns", n),
    "division": lambda t, n: t.ngettext("{number} division", "{number} divisions", n),
    "plant": lambda t, n: t.ngettext("{number} young plant", "{number} young plants", n),
}
SUPPORTS = {
    "canes": N_("canes"), "netting": N_("netting"), "stake": N_("stakes"), "cage": N_("cages"), "string": N_("strings"),
}  # fmt: skip
RATE_FROM_M2 = 1.0
"""The rate to the square metre helps on places from this size."""
LEAST_GRAMS = 0.05
"""Seed lighter than this is not given by weight."""

Sayer = Callable[[Step, Plan, Units, Catalogue], str]


def step_sentence(step: Step, plan: Plan, units: Units = "metric", t: Catalogue = ENGLISH, *, dated: bool = False) -> str:
    """What is to be done, without the full stop; the first step of a new calendar year says so, unless its year is given
    elsewhere (`dated`)."""
    said = SENTENCES[step.kind](step, plan, units, t)
    return t.gettext("Next year: {step}").format(step=said) if step.next_year and not dated else capital(said)


def step_amount(step: Step, plan: Plan, t: Catalogue = ENGLISH, units: Units = "metric") -> str:
    """Seed or plants to have ready; nothing for steps that need none."""
    if step.kind in ("sow", "indoors"):
        return seeds_words(step.amounts["seeds"], step.amounts["seed_g"], t, units)
    if step.kind == "mix":
        return t.gettext("{amount} in the tin").format(amount=grams_words(step.amounts["seed_g"], t, units))
    if step.kind == "water":
        return t.gettext("{amount} a week").format(amount=litres_words(step.amounts["litres"], units, t))
    if step.kind != "plant":
        return ""
    count, way = int(step.amounts["plants"]), _planted(step, plan).planting.establish
    if way in PLANTED:
        return t.ngettext("{number} plant", "{number} plants", count).format(number=count)
    amount = PIECES[way](t, count).format(number=count)
    grams = step.amounts["seed_g"]
    if grams < 0.5:
        return amount
    return f"{amount}, {grams_words(grams, t, units)}"


def _planted(step: Step, plan: Plan) -> Planned:
    """The planting of a step that has one."""
    return plan.plantings[step.numbers[0] - 1]


def _depth(step: Step, units: Units, t: Catalogue) -> str:
    return t.gettext("{depth} deep").format(depth=depth_words(step.amounts["depth_m"], units))


def _support(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    what = step.names["support"][0]
    return t.gettext("put up {support} {height} high for {planting}, well anchored").format(
        support=t.gettext(SUPPORTS.get(what, what)), height=length_words(step.amounts["height_m"], units),
        planting=_planted(step, plan).name,
    )  # fmt: skip


def _indoors(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    """Modules, a seed in each, as many as germination asks for."""
    count, modules = int(step.amounts["plants"]), int(step.amounts["modules"])
    return t.gettext("sow {planting} indoors, a seed in each of {modules} for {plants}, {depth}").format(
        planting=_planted(step, plan).name, depth=_depth(step, units, t),
        modules=t.ngettext("{number} module", "{number} modules", modules).format(number=modules),
        plants=t.ngettext("{number} plant", "{number} plants", count).format(number=count),
    )  # fmt: skip


def _sow(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    ways = {"broadcast": _broadcast, "drills": _drills}
    planned = _planted(step, plan)
    said = ways.get(planned.planting.establish, _stations)(step, planned, plan, units, t)
    return said + _covered(step, t)


def _covered(step: Step, t: Catalogue) -> str:
    """A cover that goes on with the sowing."""
    covers = [t.gettext("; cover with {cover}").format(cover=cover_words(kind, t)) for kind in step.names.get("cover", ())]
    return "".join(covers)


def _broadcast(step: Step, planned: Planned, plan: Plan, units: Units, t: Catalogue) -> str:
    said = t.gettext("broadcast {planting} {where} and rake in {depth}").format(
        planting=planned.name, where=where_words(plan, planned, units, t), depth=_depth(step, units, t)
    )
    rate = step.amounts["seed_g_per_m2"]
    if units == "metric" and rate >= LEAST_GRAMS and is_weighed(planned.seed_g) and planned.stand.area_m2 >= RATE_FROM_M2:
        said += t.gettext(" ({amount} per\u00a0m²)").format(amount=grams_words(rate, t))
    stands = area_density(step.amounts["sown_per_m2"], units, t)
    return said + t.gettext("; {density} will stand").format(density=stands)


def _mix(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    """One tin with the seed of several plantings, each with its weight or number."""
    mixed = [plan.plantings[n - 1] for n in step.numbers]
    tin = listed([f"{p.name} {_tin_amount(p, units, t)}" for p in mixed], t)
    return t.gettext(
        "mix and sow: {tin}, stirred into a few handfuls of dry sand; broadcast {where} in two passes and rake in {depth}"
    ).format(tin=tin, where=where_words(plan, mixed[0], units, t), depth=_depth(step, units, t))


def _tin_amount(planned: Planned, units: Units, t: Catalogue) -> str:
    if is_weighed(planned.seed_g, units):
        return grams_words(planned.seed_g, t, units)
    return seeds_words(planned.seeds, 0.0, t, units)


def _drills(step: Step, planned: Planned, plan: Plan, units: Units, t: Catalogue) -> str:
    where = where_words(plan, planned, units, t)
    where = where if isinstance(planned.planting.where, Rows) else f"{drills_words(planned, units, t)}, {where}"
    said = t.gettext("sow {planting} {where}, {depth}").format(planting=planned.name, where=where, depth=_depth(step, units, t))
    distance = in_row_m(planned)
    if distance is None or planned.planting.thin is not None:
        return said
    return said + t.gettext("; a plant every {distance}").format(distance=length_words(distance, units))


def _stations(step: Step, planned: Planned, plan: Plan, units: Units, t: Catalogue) -> str:
    one = step.amounts["plants"] <= 1
    apart = "" if one else spacing_words(planned, units, t)
    first = t.gettext("sow {planting} {where}").format(planting=planned.name, where=where_words(plan, planned, units, t))
    said = ", ".join(part for part in (first, apart, _depth(step, units, t)) if part)
    return f"{said}, {_to_each(step, t)}"


def seeds_each(step: Step) -> tuple[int, int]:
    """Fewest and most seeds to each place, so that the counted seed goes round."""
    each = step.amounts["seeds"] / max(step.amounts["plants"], 1.0)
    near = round(each)
    if each < 1.15:
        return 1, 1
    return (near, near) if abs(each - near) <= 0.15 else (math.floor(each), math.ceil(each))


def _to_each(step: Step, t: Catalogue) -> str:
    few, many = seeds_each(step)
    if many == 1:
        return t.gettext("a seed to each place")
    if few == many:
        return t.gettext("{number} seeds to each place; leave one").format(number=many)
    return t.gettext("{few} or {many} seeds to each place; leave one").format(few=few, many=many)


def _plant(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    planned = _planted(step, plan)
    apart = spacing_words(planned, units, t) if step.amounts["plants"] > 1 else ""
    where = ", ".join(part for part in (where_words(plan, planned, units, t), apart) if part)
    if planned.planting.establish in PLANTED:
        said = t.gettext("plant out {planting} {where}; water in").format(planting=planned.name, where=where)
    else:
        said = t.gettext("plant {planting} {where}, {depth}").format(
            planting=planned.name, where=where, depth=_depth(step, units, t)
        )
    return said + _covered(step, t)


def _thin(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    name = _planted(step, plan).name
    if "apart_m" in step.amounts:
        every = length_words(step.amounts["apart_m"], units)
        said = t.gettext("thin {planting} to a plant every {distance}").format(planting=name, distance=every)
    else:
        density = area_density(step.amounts["per_m2"], units, t)
        said = t.gettext("thin {planting} to {density}").format(planting=name, density=density)
    return said + t.gettext("; in weekly rounds, for the kitchen") if "rounds" in step.amounts else said


def _cover(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return t.gettext("put {cover} over {plantings}").format(
        cover=cover_words(step.names["cover"][0], t), plantings=whom(step, plan, t)
    )


def _uncover(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return t.gettext("take the {cover} off {plantings}").format(
        cover=cover_words(step.names["cover"][0], t), plantings=whom(step, plan, t)
    )


SENTENCES: dict[str, Sayer] = {
    "support": _support, "indoors": _indoors, "sow": _sow, "plant": _plant, "cover": _cover, "thin": _thin,
    "uncover": _uncover, "mix": _mix, **CARE,
}  # fmt: skip
