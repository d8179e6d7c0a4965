"""Jobs of the season as sentences: feed, water, net, tie in, earth up, pinch out, pick, clear."""

from __future__ import annotations

from collections.abc import Callable

from mixcraft.recipe.plan import Plan
from mixcraft.recipe.steps import Step

from .amounts import Units, days_words, litres_words
from .catalogue import ENGLISH, Catalogue
from .parts_of_crops import part_words
from .plain import listed

Sayer = Callable[[Step, Plan, Units, Catalogue], str]


def whom(step: Step, plan: Plan, t: Catalogue) -> str:
    """The plantings of a step, or the whole bed."""
    if step.whole_bed:
        return t.gettext("the whole bed")
    return listed([plan.plantings[n - 1].name for n in step.numbers], t)


def repeat_words(step: Step, t: Catalogue = ENGLISH) -> str:
    """How often a job is done again; nothing for one that is done once."""
    every = step.amounts.get("every_days", 0.0)
    return t.gettext("every {time}").format(time=days_words(every, t)) if every else ""


def _again(said: str, step: Step, t: Catalogue) -> str:
    again = repeat_words(step, t)
    return t.gettext("{job}, {again}").format(job=said, again=again) if again else said


def _feed(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    litres = step.amounts["litres"]
    if litres:
        return t.gettext("spread {amount} of compost over the bed").format(amount=litres_words(litres, units, t))
    return t.gettext("feed the bed as usual, with compost or a vegetable fertiliser as its label says")


def _harden(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return t.gettext("harden off {planting}: outdoors by day, in at night, for a week").format(planting=whom(step, plan, t))


def _net(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return t.gettext("net {planting} against birds and butterflies").format(planting=whom(step, plan, t))


def _tie(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return _again(t.gettext("tie in {planting}").format(planting=whom(step, plan, t)), step, t)


def _earth(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return _again(t.gettext("earth up {planting}").format(planting=whom(step, plan, t)), step, t)


def _pinch(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    once = not step.amounts.get("every_days")
    said = t.gettext("pinch out {planting}") if once else t.gettext("pinch out side shoots of {planting}")
    return _again(said.format(planting=whom(step, plan, t)), step, t)


def _feed_plants(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    return _again(t.gettext("feed {planting} with liquid tomato feed").format(planting=whom(step, plan, t)), step, t)


def _water(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    if "rain_litres" not in step.amounts:
        return t.gettext("water the bed")
    rain = litres_words(step.amounts["rain_litres"], units, t)
    return t.gettext("water the bed in dry weather; the usual rain brings {amount} a week").format(amount=rain)


def _pick(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    part = listed([part_words(part, t) for part in step.names["part"]], t)
    said = t.gettext("first picking of {planting}: {part}").format(planting=whom(step, plan, t), part=part)
    return _again(said, step, t)


def _clear(step: Step, plan: Plan, units: Units, t: Catalogue) -> str:
    said = t.gettext("clear {planting}").format(planting=whom(step, plan, t))
    if step.names.get("follows"):
        others = step.names["follows"]
        form = t.ngettext("{job}; {others} follows on its ground", "{job}; {others} follow on its ground", len(others))
        return form.format(job=said, others=listed(others, t))
    if step.names.get("free"):
        return t.gettext("{job}; the ground is free: sow a green manure or a quick salad").format(job=said)
    return said


CARE: dict[str, Sayer] = {
    "feed": _feed, "harden": _harden, "net": _net, "tie in": _tie, "earth up": _earth, "pinch out": _pinch,
    "feed plants": _feed_plants, "water": _water, "pick": _pick, "clear": _clear,
}  # fmt: skip
