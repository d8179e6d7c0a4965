"""Two recipes side by side as text and JSON."""

from __future__ import annotations

from typing import Any

from mixcraft.scoring.compare import Comparison, WeekPair
from mixcraft.scoring.model import Reason
from mixcraft.words import reason_sentence
from mixcraft.words.amounts import Units, weight_words
from mixcraft.words.comparisons import food_rows, verdict
from mixcraft.words.us import in_units

from .screen import wrap
from .show import day

COLUMN = 16
TOP = 5
"""Reasons that are printed of each."""


def compare_text(found: Comparison, units: Units = "metric") -> str:
    """Two recipes side by side for a terminal."""
    first, second = found.scores
    names = [score.season.plan.recipe.name for score in found.scores]
    plan = first.season.plan
    lines = [f"{plan.bed.name}, {plan.garden.name} ({plan.place.name}), {first.season.years} weather years"]
    lines += [f"  {letter}  {name}" for letter, name in zip("AB", names, strict=True)]
    lines += ["", f"{'':24s}{'A':>{COLUMN}s}{'B':>{COLUMN}s}{'B leads by':>{COLUMN}s}"]
    lines.append(f"{'Overall':24s}{first.overall:{COLUMN}.0f}{second.overall:{COLUMN}.0f}{found.lead:+{COLUMN}.1f}")
    for part in found.parts:
        lines.append(f"  {part.name:22s}{part.first.score:{COLUMN}.0f}{part.second.score:{COLUMN}.0f}{part.lead:+{COLUMN}.1f}")
    lines += ["", *(f"{what:24s}{a:>{COLUMN}s}{b:>{COLUMN}s}" for what, a, b in food_rows(found, units))]
    for letter, reasons in zip("AB", found.only, strict=True):
        lines += _reason_lines(letter, reasons, units)
    lines += ["", *_week_lines(found.weeks, units), "", wrap(verdict(found), "")]
    return "\n".join(lines)


def _reason_lines(letter: str, reasons: tuple[Reason, ...], units: Units) -> list[str]:
    if not reasons:
        return []
    told = []
    for number, r in enumerate(reasons[:TOP], 1):
        said = f"{in_units(reason_sentence(r), units)} [{r.part} -{r.points:.0f}]"
        told.append(wrap(said, "    ", f"{number:2d}. "))
    rest = [f"    and {len(reasons) - TOP} smaller"] if len(reasons) > TOP else []
    return ["", f"Conflicts of {letter} alone, worst first", *told, *rest]


def _week_lines(weeks: tuple[WeekPair, ...], units: Units) -> list[str]:
    """The weeks that are wanted or in which either gives something."""
    lines = [f"{'Week':24s}{'A':>{COLUMN}s}{'B':>{COLUMN}s}   harvest, and share of the plate in wanted weeks (! little)"]
    for week in weeks:
        if week.wanted or any(kg is not None and kg > 0.0 for kg in week.kg):
            cells = (_cell(kg, served, units, wanted=week.wanted) for kg, served in zip(week.kg, week.served, strict=True))
            lines.append(f"  {day(week.start):22s}" + "".join(f"{cell:>{COLUMN}s}" for cell in cells))
    return lines


def _cell(kg: float | None, served: float | None, units: Units, *, wanted: bool) -> str:
    if kg is None:
        return "-"
    mark = "!" if wanted and (served or 0.0) < 0.1 else " "
    said = weight_words(kg, units) if kg > 0.0 else "-"
    return f"{mark}{said} {100.0 * (served or 0.0):3.0f} %" if wanted else f"{said}      "


def compare_json(found: Comparison) -> dict[str, Any]:
    """Two recipes side by side as JSON."""
    return {
        "recipes": [score.season.plan.recipe.name for score in found.scores],
        "overall": [round(score.overall, 2) for score in found.scores], "lead": round(found.lead, 2), "verdict": verdict(found),
        "parts": [
            {"name": p.name, "scores": [round(p.first.score, 2), round(p.second.score, 2)], "lead": round(p.lead, 3)}
            for p in found.parts
        ],
        "food": [
            {"kg": round(f.kg, 3), "portions": round(f.portions, 2), "wanted_weeks": f.wanted, "served_weeks": f.served,
             "kinds": round(f.kinds, 2)}
            for f in found.food
        ],
        "only": [
            [{"part": r.part, "cause": r.cause, "points": round(r.points, 2), "sentence": reason_sentence(r)} for r in side]
            for side in found.only
        ],
        "weeks": [
            {"start": str(w.start), "wanted": w.wanted, "kg": [_rounded(x) for x in w.kg],
             "served": [_rounded(x) for x in w.served]}
            for w in found.weeks
        ],
    }  # fmt: skip


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
