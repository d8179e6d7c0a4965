"""What the design commands print."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from mixcraft.design.tin import tin_of
from mixcraft.words.designs import listed, loss_sentence, move_words, objection_sentence, tin_lines
from mixcraft.words.plain import counted
from mixcraft.words.reasons import reason_sentence

if TYPE_CHECKING:
    from mixcraft.design.brief import Brief
    from mixcraft.design.compose import Design
    from mixcraft.design.fit import Fitted
    from mixcraft.design.mend import Mended
    from mixcraft.scoring.model import Score

STOPPED = {
    "time": "The clock ended the search: another run may end elsewhere; give more with --time.",
    "user": "Stopped by hand: this is the best so far.",
}


def design_text(designs: Sequence[Design], targets: Sequence[str], brief: Brief) -> str:
    """The designs, best first, with their trade-offs in a table."""
    lines = []
    for target, made in zip(targets, designs, strict=False):
        crops = list(dict.fromkeys(p.crop.name for p in made.recipe.plantings))
        number = counted(len(made.recipe.plantings), "planting")
        lines.append(f"{target}: overall {made.score.overall:.1f}, {number}: {listed(crops)}")
    lines += ["", *_table(designs)]
    best = designs[0]
    if best.choice is not None:
        lines.append(
            f"Constraint model: {best.choice.points:.1f} points, bound {best.choice.bound:.1f}, "
            f"gap {100.0 * best.choice.gap:.0f} %; "
            f"{counted(best.considered, 'crop')} considered, {counted(len(best.steps), 'step')} of improvement."
        )
    lines += [f"A grower would object: {objection_sentence(o)}." for o in best.objections]
    if best.unsuited:
        lines.append(f"Nothing in time here from {listed(best.unsuited)}.")
    lines += _left_out(best, brief)
    if abs(best.plain - best.score.overall) >= 0.05:
        lines.append(f"For the plate of the brief; for the garden's own plate, as `mixcraft score` says, {best.plain:.1f}.")
    tin = tin_of(best.score.season.plan)
    lines += tin_lines(tin) if tin is not None else []
    if best.stopped:
        lines.append(STOPPED[best.stopped])
    if len(designs) < len(targets):
        lines.append(f"Only {counted(len(designs), 'design')} with different crops.")
    return "\n".join(lines)


def _left_out(design: Design, brief: Brief) -> list[str]:
    """What was wished for and is not in a design, but for what gives nothing here."""
    there = {p.crop.id for p in design.recipe.plantings}
    names = [c.name for c in brief.wishes if c.id not in there and c.name not in design.unsuited]
    return [f"Wished for and not in the best: {listed(names)}. What has to be in it goes under `musts`."] if names else []


def _table(designs: Sequence[Design]) -> list[str]:
    names = [p.name for p in designs[0].score.parts]
    lines = ["     overall  " + "  ".join(f"{name:>10s}" for name in names) + "  weeks served  sowing days"]
    for n, made in enumerate(designs, 1):
        points = "  ".join(f"{p.score:10.0f}" for p in made.score.parts)
        days = len({str(p.start) for p in made.score.season.plan.plantings})
        lines.append(f"{n:3d}  {made.score.overall:7.1f}  {points}  {_weeks(made.score):>12s}  {days:11d}")
    return lines


def _weeks(score: Score) -> str:
    wanted = [week for week in score.strip if week.wanted]
    return f"{sum(week.picked for week in wanted)} of {len(wanted)}"


def mend_text(mended: Mended) -> str:
    """Moves by gain, and the best sequence."""
    lines = [f"Overall {mended.before.overall:.1f}; {counted(mended.tried, 'recipe')} tried."]
    lines += [f"{n:3d}  {step.gain:+5.1f}  {move_words(step.move)}" for n, step in enumerate(mended.moves, 1)]
    if not mended.moves:
        lines.append("No single move was found that helps.")
    if mended.sequence:
        lines.append(f"Best sequence, {mended.before.overall:.1f} to {mended.after.overall:.1f}:")
        lines += [f"     {move_words(step.move)}" for step in mended.sequence]
    if mended.held_back:
        lines.append(f"What still holds it back at {mended.after.overall:.1f}:")
        lines += [f"     {reason_sentence(reason)}" for reason in mended.held_back]
    if mended.moves:
        lines.append("Gains are those over a few weather years. --apply N (or all, for the sequence) -o FILE writes the recipe.")
    if mended.stopped:
        lines.append(STOPPED[mended.stopped])
    return "\n".join(lines)


def fit_text(fitted: Fitted, target: str, bed: str) -> str:
    """The score in the new bed, and what was lost on the way."""
    number = counted(len(fitted.recipe.plantings), "planting")
    lines = [f"{target}: fitted to {bed!r}, overall {fitted.score.overall:.1f}, {number}"]
    lines += [f"  {loss_sentence(loss)}." for loss in fitted.losses]
    lines += [f"  {move_words(step.move)}" for step in fitted.steps]
    if fitted.held_back:
        lines.append("What holds it back:")
        lines += [f"  {reason_sentence(reason)}" for reason in fitted.held_back]
    if fitted.stopped:
        lines.append(STOPPED[fitted.stopped])
    return "\n".join(lines)
