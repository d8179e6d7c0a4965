"""Two recipes side by side as sentences."""

from __future__ import annotations

from mixcraft.scoring.compare import Comparison

from .amounts import Units, weight_words
from .catalogue import ENGLISH, Catalogue
from .plain import listed

EVEN = 0.5
"""Points of lead below which two recipes are called even.  Common practice, no source."""
TOLD = 0.3
"""Points of lead from which a part is told.  Common practice, no source."""


def verdict(found: Comparison, t: Catalogue = ENGLISH) -> str:
    """Which recipe is ahead, by how much, and through which parts; two of one name are called A and B."""
    names = [score.season.plan.recipe.name for score in found.scores]
    if names[0] == names[1]:
        names = ["A", "B"]
    if abs(found.lead) < EVEN:
        said = t.gettext("{a} and {b} are even")
        return said.format(a=names[0], b=names[1]) + _through(found, t) + "."
    a, b = names if found.lead < 0.0 else names[::-1]
    said = t.gettext("{better} is ahead of {other} by {points} points").format(better=a, other=b, points=f"{abs(found.lead):.1f}")
    return said + _through(found, t) + "."


def _through(found: Comparison, t: Catalogue) -> str:
    """The parts that make the lead, those of the one ahead first."""
    sign = 1.0 if found.lead >= 0.0 else -1.0
    parts = sorted(((sign * p.lead, p.name) for p in found.parts), reverse=True)
    gains = [f"{name} {lead:+.1f}" for lead, name in parts if lead >= TOLD]
    losses = [f"{name} {lead:+.1f}" for lead, name in parts[::-1] if lead <= -TOLD]
    said = t.gettext(": through {parts}").format(parts=listed(gains, t)) if gains else ""
    return said + (t.gettext(", against {parts}").format(parts=listed(losses, t)) if losses else "")


def food_rows(found: Comparison, units: Units = "metric", t: Catalogue = ENGLISH) -> list[tuple[str, str, str]]:
    """What both put on the plate: what is counted, and its number for each."""
    a, b = found.food
    first, second = (score.ler.middle for score in found.scores)
    return [
        (t.gettext("food"), weight_words(a.kg, units), weight_words(b.kg, units)),
        (t.gettext("portions eaten"), f"{a.portions:.0f}", f"{b.portions:.0f}"),
        (t.gettext("wanted weeks served"), f"{a.served} of {a.wanted}", f"{b.served} of {b.wanted}"),
        (t.gettext("different things eaten"), f"{a.kinds:.0f}", f"{b.kinds:.0f}"),
        (t.gettext("land equivalent ratio"), f"{first:.2f}", f"{second:.2f}"),
    ]
