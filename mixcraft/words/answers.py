"""Sentences of answers: what can go here, whether two crops may share a bed, how much to sow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .amounts import area_density, seeds_words
from .catalogue import ENGLISH, Catalogue
from .dates import ends_next_year
from .parts import INTERACTIONS, edge_detail
from .plain import N_, capital, date_words, listed, percent, two_figures
from .reasons import reason_sentence

if TYPE_CHECKING:
    from mixcraft.design.amounts import Amounts, Sowing
    from mixcraft.design.fill import Against, Fill, Filler
    from mixcraft.design.pair import Pair, Published
    from mixcraft.graph import Edge

WAYS = {
    "broadcast": N_("sow broadcast"), "drills": N_("sow in drills"), "stations": N_("sow at stations"), "module": N_("plant out"),
    "plant": N_("plant"), "tuber": N_("plant tubers"), "set": N_("plant sets"), "clove": N_("plant cloves"),
    "crown": N_("plant crowns"), "division": N_("plant divisions"),
}  # fmt: skip
LOSSES = {
    "frost": N_("frost kills it first in {share} of years"), "heat": N_("heat ends it first in {share} of years"),
    "chill": N_("chill ends it first in {share} of years"),
    "seed": N_("the seed fails in cold or hot soil in {share} of years"),
    "ground": N_("the ground is frozen then in {share} of years"),
    "bolting": N_("it runs to seed in {share} of years"), "time": N_("it is not ready in time in {share} of years"),
}  # fmt: skip


def way_words(establish: str, t: Catalogue = ENGLISH) -> str:
    """How something is started."""
    return t.gettext(WAYS.get(establish, establish))


def against_words(against: Against, t: Catalogue = ENGLISH) -> str:
    """What speaks against a crop, in a few words."""
    n, names = against.numbers, against.names
    if against.reason is not None:
        return reason_sentence(against.reason, t).split(": ", 1)[-1].rstrip(".")
    match against.kind:
        case "loss":
            return t.gettext(LOSSES[names[0]]).format(share=percent(n["share"], t))
        case "light":
            return t.gettext("asks for more light ({need:.0f} mol a day) than {light} of the open sky").format(
                need=n["need"], light=percent(n["light"], t)
            )
        case "neighbour":
            return t.gettext("shares {what} with {name}").format(what=listed(names[1:4], t), name=names[0])
        case "taller":
            return t.gettext("taller than {names}: put it on the side away from the sun").format(names=listed(names, t))
        case "lower":
            return t.gettext("lower than {names}: put it on the sunny side").format(names=listed(names, t))
    return t.gettext("needs a trellis or canes")


def fill_lines(answer: Fill, most: int = 15, t: Catalogue = ENGLISH) -> list[str]:
    """The answer of what can go here, a line or two a crop."""
    gap = answer.gap
    until = t.gettext(", free until {day}").format(day=day_month(gap.until)) if gap.until is not None else ""
    light = "" if answer.light >= 1.0 else t.gettext(", {light} of the open sky's light").format(light=percent(answer.light, t))
    among = t.gettext("no ground that is free for four weeks: among what grows on {area} m2")
    place = t.gettext("{area} m2") if gap.free else among
    lines = [t.gettext("From {day} on {place}{until}{light}:").format(
        day=day_month(gap.start), place=place.format(area=two_figures(gap.area_m2)), until=until, light=light
    )]  # fmt: skip
    for n, filler in enumerate(answer.found[:most], 1):
        lines.append(f"{n:3d}  {_filler_words(filler, t)}")
        lines += [f"       - {against_words(a, t)}" for a in filler.against]
    if not answer.found:
        lines.append(t.gettext("Nothing that is usual in kitchen gardens would come to anything."))
    if answer.nothing:
        lines.append(t.gettext("Nothing in the wanted weeks from {crops}.").format(crops=listed(answer.nothing, t)))
    return lines


def _filler_words(filler: Filler, t: Catalogue) -> str:
    g = filler.grown
    first, last = day_month(g.first), day_month(g.last)
    when = t.gettext("pick on {first}") if first == last else t.gettext("pick from {first} to {last}")
    if g.first is not None and g.last is not None and ends_next_year(g.first, g.last):
        when = t.gettext("pick from {first} to {last} next year")
    told = t.gettext("{middle:.0f} portions ({low:.0f} to {high:.0f}), {useful:.0f} of them eaten in the wanted weeks")
    portions = told.format(
        middle=filler.portions, low=filler.band[0], high=filler.band[1], useful=min(filler.useful, filler.portions)
    )
    gain = "" if filler.gain is None else t.gettext("; overall {gain:+.1f}").format(gain=filler.gain)
    return f"{g.crop.name}, {way_words(g.establish, t)}: {when.format(first=first, last=last)}; {portions}{gain}"


def day_month(day: np.datetime64 | None) -> str:
    """A day with its month, such as 4 June; nothing for none."""
    from mixcraft.recipe.calendar import day_words

    return "" if day is None else day_words(day)


# Pairs ----------------------------------------------------------------------------------------------


def pair_lines(answer: Pair, t: Catalogue = ENGLISH) -> list[str]:
    """Whether two crops may share a bed: a verdict, how near, who gains, and on what evidence."""
    a, b = (c.name for c in answer.crops)
    lines = [_verdict(answer, t), _order(answer, t)]
    lines.append(t.gettext("Growth kept beside the other, rows so far apart (sunny side first named):"))
    for row in answer.rows:
        if _indifferent(answer) and row.first_sunny is not answer.best_order:
            continue
        one, other = (a, b) if row.first_sunny else (b, a)
        kept = row.kept if row.first_sunny else row.kept[::-1]
        lines.append(f"  {100.0 * row.distance_m:4.0f} cm  {one} {percent(kept[0], t)}, {other} {percent(kept[1], t)}")
    lines.append(_half(answer, t))
    lines += [f"  {line}" for line in _edges(answer, t)]
    lines.append(t.gettext("Evidence: computed, grown at {place}, started on {one} and {other}.").format(
        place=answer.place, one=_month_day(answer.starts[0]), other=_month_day(answer.starts[1])
    ))  # fmt: skip
    lines += [_published(p, answer, t) for p in answer.published]
    if not answer.published:
        lines.append(t.gettext("No published trial of this pair is known here."))
    return lines


def _verdict(answer: Pair, t: Catalogue) -> str:
    a, b = (c.name for c in answer.crops)
    near = answer.near_m
    if near is not None and near <= min(r.distance_m for r in answer.rows):
        said = t.gettext("Yes: {a} and {b} may share a bed, rows {near:.0f} cm apart or more.")
        return said.format(a=a, b=b, near=100.0 * near)
    if near is not None:
        said = t.gettext("Yes, with room: {a} and {b} do well from {near:.0f} cm apart on; nearer, one of them suffers.")
        return said.format(a=a, b=b, near=100.0 * near)
    worst = max(answer.rows, key=lambda r: min(r.kept))
    loser = a if worst.kept[0] < worst.kept[1] else b
    return t.gettext("Rather not: at {far:.0f} cm {loser} still keeps only {kept} of its growth.").format(
        far=100.0 * worst.distance_m, loser=loser, kept=percent(min(worst.kept), t)
    )


def _order(answer: Pair, t: Catalogue) -> str:
    """Which of the two on the sunny side, if it matters."""
    if _indifferent(answer):
        return t.gettext("Which of them stands on the sunny side makes no difference.")
    name = answer.crops[0 if answer.best_order else 1].name
    return t.gettext("{name} belongs on the sunny side.").format(name=capital(name))


def _indifferent(answer: Pair) -> bool:
    """Whether it makes next to no difference who stands on the sunny side."""
    by = {(r.distance_m, r.first_sunny): min(r.kept) for r in answer.rows}
    return all(abs(kept - by[distance, not sunny]) < 0.01 for (distance, sunny), kept in by.items())


def _half(answer: Pair, t: Catalogue) -> str:
    """Half a bed each, in one mixture: what comes of it beside the two alone, and who gains."""
    a, b = (c.name for c in answer.crops)
    told = t.gettext("Mixed at half of the usual density each, {a} gives {x} and {b} {y} of what it gives alone on the bed")
    shares = told.format(a=a, b=b, x=percent(answer.share[0], t), y=percent(answer.share[1], t))
    gains = [name for name, share in zip((a, b), answer.share, strict=True) if share > 0.55]
    loses = [name for name, share in zip((a, b), answer.share, strict=True) if share < 0.45]
    ratio = t.gettext("together {ratio:.2f} beds' worth").format(ratio=answer.ratio)
    who = _who(gains, t.gettext("; {name} gains"), t.gettext("; both gain"))
    who += _who(loses, t.gettext("; {name} loses"), t.gettext("; both lose"))
    return f"{shares}: {ratio}{who}."


def _who(names: Sequence[str], one: str, both: str) -> str:
    return "" if not names else one.format(name=names[0]) if len(names) == 1 else both


def _edges(answer: Pair, t: Catalogue) -> list[str]:
    """What passes between the two in the mixture."""
    names = [c.name for c in answer.crops]
    found: dict[str, None] = {}
    for edge in answer.edges:
        said = t.gettext(INTERACTIONS[edge.kind]).format(a=names[edge.source], b=names[edge.target])
        detail = edge_detail({"kind": edge.kind, **_plain(edge)}, t)
        found.setdefault(f"{said}{f' ({detail})' if detail else ''}: {edge.evidence}")
    return list(found)


def _plain(edge: Edge) -> dict[str, Any]:
    """What an edge knows, as the graph has it."""
    known: dict[str, Any] = {**edge.numbers, **edge.names}
    if "family" in known:
        known["family"] = known["family"][0]
    return known


def _published(trial: Published, answer: Pair, t: Catalogue) -> str:
    told = [t.gettext("{name} {kept} of its yield alone").format(name=c.name, kept=percent(kept, t))
            for c, kept in zip(answer.crops, trial.kept, strict=True) if not math.isnan(kept)]  # fmt: skip
    if not math.isnan(trial.ratio):
        told.append(t.gettext("land equivalent ratio {ratio:.2f}").format(ratio=trial.ratio))
    return t.gettext("Published: {told}{source}.").format(told=f"{listed(told, t)}; " if told else "", source=trial.source)


def _month_day(text: str) -> str:
    return day_month(np.datetime64(f"2001-{text}"))


# Amounts --------------------------------------------------------------------------------------------


def amounts_lines(answer: Amounts, t: Catalogue = ENGLISH) -> list[str]:
    """The sowings of a crop with plants, ground and seed, and the weeks in which it cannot be had."""
    name = answer.crop.name
    if answer.portions_a_week:
        head = t.ngettext(
            "{name}, {portions:g} portion of {grams:.0f} g a week: {area} m2 in {count}",
            "{name}, {portions:g} portions of {grams:.0f} g a week: {area} m2 in {count}",
            1 if answer.portions_a_week == 1.0 else 2,
        ).format(
            name=capital(name), portions=answer.portions_a_week, grams=answer.portion_g, area=two_figures(answer.area_m2),
            count=t.ngettext("{number} sowing", "{number} sowings", len(answer.sowings)).format(number=len(answer.sowings)),
        )  # fmt: skip
    else:
        head = t.gettext("{name}, a portion is {grams:.0f} g:").format(name=capital(name), grams=answer.portion_g)
    lines = [head, *(f"  {sowing_words(s, answer, t)}" for s in answer.sowings)]
    if answer.unserved:
        lines.append(t.gettext("  None or little to be had {when}.").format(when=_spans(answer, t)))
    return lines


def sowing_words(s: Sowing, answer: Amounts, t: Catalogue = ENGLISH) -> str:
    """One start with its plants, ground and seed."""
    said = t.gettext("{day}: {way} {plants} on {area} m2 ({density}), {seed}; about {portions:.0f} portions, {span}")
    return said.format(
        day=_month_day(s.month_day), way=way_words(s.establish, t),
        plants=t.ngettext("{number} plant", "{number} plants", s.plants).format(number=s.plants), area=two_figures(s.area_m2),
        density=area_density(s.plants / s.area_m2, "metric", t), seed=_seed(s, t), portions=s.portions,
        span=t.gettext("{first} to {last}").format(first=date_words(s.first, t), last=date_words(s.last, t)),
    )  # fmt: skip


def _seed(s: Sowing, t: Catalogue) -> str:
    if s.establish in ("broadcast", "drills", "stations", "module"):
        return seeds_words(s.seeds, s.seed_g, t)
    return t.ngettext("{number} piece", "{number} pieces", s.plants).format(number=s.plants)


def _spans(answer: Amounts, t: Catalogue) -> str:
    """Neighbouring weeks as spans."""
    runs: list[list[np.datetime64]] = []
    for day in answer.unserved:
        if runs and day - runs[-1][-1] == np.timedelta64(7, "D"):
            runs[-1].append(day)
        else:
            runs.append([day])
    return listed([_run(run, t) for run in runs], t)


def _run(run: Sequence[np.datetime64], t: Catalogue) -> str:
    a, b = date_words(run[0], t), date_words(run[-1], t)
    return t.gettext("in {when}").format(when=a) if a == b else t.gettext("from {first} to {last}").format(first=a, last=b)
