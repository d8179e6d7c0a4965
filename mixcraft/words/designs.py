"""Sentences of the design engine: why a planting is there, which demands clash, what a move does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from mixcraft.files import format_quantity
from mixcraft.recipe.calendar import day_words

from .amounts import grams_words, seeds_words
from .plain import two_figures

if TYPE_CHECKING:
    from mixcraft.design.choice import Demand
    from mixcraft.design.fit import Loss
    from mixcraft.design.practice import Objection
    from mixcraft.design.tin import Tin
    from mixcraft.design.why import Why
    from mixcraft.recipe.moves import Move

CAUSES = {
    "must": "the brief asks for it",
    "wish": "a wish of the brief",
    "trellis": "climbs at the end where its shadow falls off the bed",
    "among": "quick, picked before its neighbours need the room",
    "after": "follows {others} on its ground",
}


def why_sentence(why: Why) -> str:
    """Why a planting is there, in one line."""
    portions = f"{why.portions:.0f} portion{'' if round(why.portions) == 1 else 's'}"
    causes = [CAUSES[cause].format(others=listed(why.others)) for cause in why.causes]
    if why.first is None or why.last is None:
        given = "nothing is picked of it in most years"
    elif why.first == why.last:
        given = f"{portions} on {day_words(why.first)}"
    else:
        given = f"{portions} from {day_words(why.first)} to {day_words(why.last)}"
    return "; ".join([given, *causes])


def listed(names: Sequence[str]) -> str:
    """Names as a list in a sentence."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def demand_words(demand: Demand) -> str:
    """A demand of a brief."""
    number = f"{demand.number:g}"
    return {
        "must": f"{demand.crop} has to be in the bed",
        "sowing days": f"no more than {number} sowing days",
        "most crops": f"no more than {number} crops",
        "transplants": f"no more than {number} transplants",
        "height limit": f"nothing taller than {number} m",
        "nothing grows": "something is to be picked here in this window",
    }[demand.kind]


def clash_sentence(demands: Sequence[Demand], unsuited: Sequence[str] = ()) -> str:
    """The smallest set of demands that cannot all be met."""
    if len(demands) == 1:
        only = demands[0]
        if only.kind == "must":
            return f"{only.crop} cannot be met in this bed: it gives nothing in time here, from any start, within the window"
        return f"this cannot be met: {demand_words(only)}"
    return f"these demands cannot be met together: {'; '.join(demand_words(d) for d in demands)}. Drop or loosen one of them"


PICKED = {
    "once": "all at once", "cut": "by cutting", "leaf": "leaf by leaf", "pull": "by pulling the largest",
    "pick": "as it comes", "thin": "by thinning",
}  # fmt: skip


def move_words(move: Move) -> str:
    """What a move does, in a few words."""
    from mixcraft.recipe import moves as m
    from mixcraft.recipe.model import AtTrellis, Count, Density, OnDate, OnDay

    match move:
        case m.ShiftStart(planting, weeks):
            return f"start {planting} {abs(weeks):g} weeks {'later' if weeks > 0 else 'earlier'}"
        case m.SetStart(planting, OnDate(month_day)):
            return f"start {planting} on {month_day}"
        case m.SetAmount(planting, Count(plants)):
            return f"{planting}: {plants} plants"
        case m.SetAmount(planting, Density(per_m2)):
            return f"{planting}: {format_quantity(per_m2, 'density')}"
        case m.SwapCrop(planting, crop):
            return f"{crop.name} in the place of {planting}"
        case m.AddPlanting(planting):
            return f"add {planting.name} among what grows there"
        case m.DropPlanting(planting):
            return f"leave {planting} out"
        case m.AddCover(planting, cover):
            when = "through the winter" if isinstance(cover.on, OnDay) else "for its first weeks"
            return f"{cover.kind.replace('-', ' ')} over {planting} {when}"
        case m.RemoveCover(planting):
            return f"no cover over {planting}"
        case m.SetHarvest(planting, use):
            start = f"from {use.start.month_day} on" if isinstance(use.start, OnDay) else ""
            return " ".join(filter(None, (f"{planting}: pick {use.part}", PICKED.get(use.method or "", ""), start)))
        case m.SetPlace(planting, AtTrellis(edge)):
            return f"{planting} at the {edge} trellis"
        case m.SetPlace(planting):
            return f"{planting} in another place"
        case m.Exchange():
            return f"{listed(move.placed)} change places"
        case m.Resize():
            return f"another border between {listed(move.placed)}"
        case m.Share():
            return f"{move.added} on half of the ground of {listed(move.placed)}"
        case m.Moves(several) if len(several) > 1 and all(isinstance(one, m.SetPlace) for one in several):
            return "the bed turned end for end"
        case m.Moves(several):
            return ", then ".join(move_words(one) for one in several)
    return type(move).__name__


def tin_lines(tin: Tin) -> list[str]:
    """What goes into one tin, for mixing and sowing at once."""
    seeds = [f"{seed.name} {seeds_words(seed.seeds, seed.seed_g)}" for seed in tin.seeds]
    head = f"One tin for {two_figures(tin.area_m2)} m2, sown on {day_words(tin.day)}: {grams_words(tin.total_g)} of seed in all."
    return [head, *(f"  {line}" for line in seeds), "  Mix with dry sand, sow in two halves crosswise, rake in."]


def objection_sentence(objection: Objection) -> str:
    """What a grower would say against a design."""
    first, *rest = objection.plantings or ("",)
    return {
        "month": f"{first} is started at an unusual time",
        "distance": f"{first} stands at an unusual distance",
        "sunny side": f"{first} stands on the sunny side of {listed(rest)}",
        "support": f"{first} has nothing to climb on",
        "rotation": f"{first} follows its kin too soon",
        "lost": f"{first} is lost in too many years",
        "first picking": "the first picking comes more than four weeks after the first sowing",
        "kinds": "there are fewer than five different things to pick in high season",
    }[objection.kind]


def loss_sentence(loss: Loss) -> str:
    """What no longer works in another bed or place, and what takes its place."""
    said = {"nothing": "gives nothing in time here", "rotation": "grew here, or its family did, too lately"}[loss.cause]
    return f"{loss.planting} {said}; {f'{loss.substitute} takes its place' if loss.substitute else 'it is left out'}"
