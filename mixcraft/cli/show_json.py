"""The score as JSON data."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from mixcraft import __version__
from mixcraft.files import REMOVE
from mixcraft.recipe.edits import changes_between
from mixcraft.recipe.model import Recipe
from mixcraft.scoring.model import Reason, Repair, Score
from mixcraft.scoring.repairs import text_edits
from mixcraft.words import part_summary, reason_sentence, repair_sentence
from mixcraft.words.notes import note_sentence


def _number(value: float) -> float | None:
    return None if value is None or math.isnan(value) else round(float(value), 4)


def _facts_json(facts: Reason | Repair) -> dict[str, Any]:
    """Numbers and names of a reason or a repair."""
    return {
        "numbers": {name: _number(value) for name, value in facts.numbers.items()},
        "names": {name: list(values) for name, values in facts.names.items()},
    }


def _reason_json(reason: Reason, recipe: Recipe) -> dict[str, Any]:
    repair = reason.repair
    return {
        "part": reason.part, "cause": reason.cause, "points": round(reason.points, 2), "sentence": reason_sentence(reason),
        "plantings": list(reason.plantings), **_facts_json(reason),
        "weeks": None if reason.weeks is None else [str(d) for d in reason.weeks],
        "edge": None if reason.edge is None else dict(zip(("from", "to", "kind"), reason.edge, strict=True)),
        "repair": None if repair is None else {
            "kind": repair.kind, "sentence": repair_sentence(repair), "plantings": list(repair.plantings),
            **_facts_json(repair), "overall_before": round(repair.overall_before, 1),
            "overall_after": round(repair.overall_after, 1),
            "changes": [
                {"path": list(path), "value": None if value is REMOVE else value}
                for path, value in changes_between(recipe, repair.recipe)
            ],
            "lines": [
                {"line": e.line, "removed": list(e.removed), "added": list(e.added)} for e in text_edits(recipe, repair.recipe)
            ],
        },
    }  # fmt: skip


def _dates(middle: np.datetime64 | None, band: tuple[np.datetime64, np.datetime64] | None) -> dict[str, str] | None:
    if middle is None or band is None:
        return None
    return {"low": str(band[0]), "middle": str(middle), "high": str(band[1])}


def score_json(score: Score) -> dict[str, Any]:
    """The score as JSON data; `schemas/score.schema.json` documents it."""
    plan = score.season.plan

    def band(b: Any) -> dict[str, float | None]:
        return {"low": _number(b.low), "middle": _number(b.middle), "high": _number(b.high)}

    return {
        "format": "mixcraft-score/1", "engine": __version__, "recipe": plan.recipe.name, "garden": plan.garden.name,
        "bed": plan.bed.name, "place": plan.place.name, "years": score.season.years, "light": score.season.light_model,
        "start": str(plan.start), "overall": round(score.overall, 2),
        "overall_band": band(score.overall_band),
        "parts": [
            {"name": p.name, "score": round(p.score, 2), "weight": p.weight, "summary": part_summary(p)} for p in score.parts
        ],
        "reasons": [_reason_json(r, plan.recipe) for r in score.reasons],
        "weeks": [
            {"start": str(w.start), "kg": band(w.kg), "chance": round(w.chance, 3), "plantings": list(w.plantings),
             "wanted": bool(w.wanted)}
            for w in score.strip
        ],
        "gaps": [{"start": str(g.start), "end": str(g.end), "weeks": g.weeks} for g in score.gaps],
        "harvest": [
            {"planting": y.planting, "part": y.part, "method": y.method, "kg": band(y.kg),
             "first": _dates(y.first, y.first_band), "last": _dates(y.last, y.last_band)}
            for y in score.yields
        ],
        "land_equivalent_ratio": band(score.ler), "area_time_equivalence_ratio": band(score.ater),
        "partial_land_equivalent_ratio": {k: _number(v) for k, v in score.partial_ler.items()},
        "growth_kept": {k: _number(v) for k, v in score.kept.items()},
        "chances": [
            {"planting": c.planting, "frost": round(c.frost, 3), "cold_soil": round(c.cold_soil, 3)} for c in score.chances
        ],
        "cautions": list(score.cautions), "notes": [note_sentence(note) for note in score.notes],
    }  # fmt: skip
