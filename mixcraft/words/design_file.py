"""The text of a designed recipe: the recipe with the reason for each planting as a comment before it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from mixcraft.design.tin import tin_of
from mixcraft.design.why import reasons_of
from mixcraft.recipe.edits import recipe_text

from .designs import objection_sentence, tin_lines, why_sentence

if TYPE_CHECKING:
    from mixcraft.design.brief import Brief
    from mixcraft.design.compose import Design

_ENTRY = re.compile(r"^( *)- ")
WIDTH = 110


def designed_text(made: Design, brief: Brief) -> str:
    """The recipe file of a design: its score, and before each planting why it is there."""
    lines = recipe_text(made.recipe).splitlines()
    reasons = iter(why_sentence(why) for why in reasons_of(made.score, brief))
    result, inside, depth = _head(made), False, None
    for line in lines:
        found = _ENTRY.match(line) if inside else None
        if found and depth in (None, len(found[1])):
            depth = len(found[1])
            result += [f"{found[1]}# {part}" for part in _wrapped(next(reasons, ""))]
        elif line and not line[0].isspace():
            inside, depth = line.startswith("plantings:"), None
        result.append(line)
    return "\n".join(result) + "\n"


def _head(made: Design) -> list[str]:
    parts = ", ".join(f"{p.name} {p.score:.0f}" for p in made.score.parts)
    bed = made.score.season.plan.bed.name
    head = [f"# Designed for {bed!r}: overall {made.score.overall:.1f} ({parts})."]
    if abs(made.plain - made.score.overall) >= 0.05:
        head[0] = head[0][:-1] + " for the plate of the brief;"
        head.append(f"# {made.plain:.1f} for the garden's own plate, as `mixcraft score` says.")
    tin = tin_of(made.score.season.plan)
    head += [f"# {line}" for line in tin_lines(tin)] if tin is not None else []
    head += [f"# A grower would object: {objection_sentence(o)}." for o in made.objections]
    if made.choice is not None:
        head.append(f"# The constraint model stopped {100.0 * made.choice.gap:.0f} % below its bound.")
    return head


def _wrapped(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, WIDTH) or [""]
