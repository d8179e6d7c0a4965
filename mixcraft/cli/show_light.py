"""Light and interactions as text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from mixcraft.graph.telling import strongest, told_once
from mixcraft.recipe.calendar import MONTHS
from mixcraft.season.daylight import MonthLight
from mixcraft.season.result import Season
from mixcraft.words.graph import HEADINGS, interaction_sentence

from .screen import width, wrap

if TYPE_CHECKING:
    import networkx as nx


def light_text(season: Season, months: tuple[MonthLight, ...]) -> str:
    """Light by month and planting as a table: hours of direct sun, share of the open sky, and beside what the crop wants."""
    plan = season.plan
    lines = [f"{plan.recipe.name}  in  {plan.bed.name}", ""]
    most = max(1, (width() - LABEL) // COLUMN)
    for first in range(0, len(months), most):
        lines += [*_tables(season, months[first : first + most]), ""]
    return "\n".join([*lines, *_short_of_light(season, months)])


def _tables(season: Season, months: tuple[MonthLight, ...]) -> list[str]:
    names = [p.name for p in season.plan.plantings]
    shown = [i for i in range(len(names)) if any(not math.isnan(m.share[i]) for m in months)]
    head = " " * LABEL + "".join(f"{_month(m):>{COLUMN}s}" for m in months)
    where = "behind walls" if season.plan.bed.obstacles else "in the open"
    lines = ["Direct sun on a clear day, hours; on a planting by its share of the light", head]
    lines.append(_row(f"bare bed, {where}", [f"{m.sun_hours:.1f}" for m in months]))
    for i in shown:
        lines.append(_row(names[i], ["" if math.isnan(m.share[i]) else f"{m.share[i] * m.sun_hours:.1f}" for m in months]))
    lines += ["", "Light on the leaves, share of the open sky (%)", head]
    for i in shown:
        lines.append(_row(names[i], ["" if math.isnan(m.share[i]) else f"{100 * m.share[i]:.0f}" for m in months]))
    lines.append(_row("soil of the bed", ["" if m.ground is None else f"{100 * m.ground.mean():.0f}" for m in months]))
    return lines


def _row(label: str, cells: list[str]) -> str:
    return (f"  {label[: LABEL - 3]:{LABEL - 2}s}" + "".join(f"{cell:>{COLUMN}s}" for cell in cells)).rstrip()


LABEL, COLUMN = 26, 5


def _month(light: MonthLight) -> str:
    return MONTHS[int(str(light.month)[5:7]) - 1][:3]


def _short_of_light(season: Season, months: tuple[MonthLight, ...]) -> list[str]:
    """Plantings that get less light than their crop wants, with the months."""
    found = []
    for i, planned in enumerate(season.plan.plantings):
        need = planned.planting.crop["canopy.light_need"]
        dim = [m for m in months if not math.isnan(m.share[i]) and m.mol[i] < need]
        if dim:
            least = min(float(m.mol[i]) for m in dim)
            found.append(f"{planned.name} in {_listed_months(dim)}, {100.0 * least / need:.0f} % of it at the least")
    if not found:
        return ["Every planting gets the light that it wants (daily light integral)."]
    return [wrap(f"Less light than it wants (daily light integral): {'; '.join(found)}.", "  ", "")]


def _listed_months(dim: Iterable[MonthLight]) -> str:
    names = [_month(m) for m in dim]
    return names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"


def graph_text(made: nx.MultiDiGraph[str], *, every: bool = False) -> str:
    """The strongest interactions as sentences, under a heading each; all of them if asked for."""
    edges = told_once(made)
    shown = edges if every else strongest(edges)
    if not shown:
        return "Nothing in this bed touches anything else."
    rest = len(edges) - len(shown)
    return "\n".join([*_under_headings(shown), *([f"and {rest} weaker; --all prints them"] if rest else [])])


def _under_headings(edges: list[tuple[str, str, dict[str, Any]]]) -> Iterator[str]:
    for kind, heading in HEADINGS.items():
        members = [(a, b, data) for a, b, data in edges if data["kind"] == kind]
        if members:
            yield heading
            for a, b, data in members:
                yield wrap(f"{_strength(data)}  {interaction_sentence(a, b, data)}", "         ", "  ")


def _strength(data: dict[str, Any]) -> str:
    """Strength as one to five signs."""
    return f"{'*' * int(np.clip(round(5.0 * float(data['strength'])), 1, 5)):5s}"
