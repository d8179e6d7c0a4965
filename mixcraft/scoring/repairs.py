"""Repairs: changes to the recipe that the engine has tried and re-scored before it offers them.

Every reason with a known kind of remedy is turned into a few candidate recipes (`candidates`).  They are compared over a few
weather years; the best is then grown and scored as the score itself was, with the same years and the same light, and is offered
if it gains by that and does not lose in what the reason complains of.  What it promises is what it gives.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

import numpy as np

from mixcraft.files import FileFaults
from mixcraft.place import weather_years
from mixcraft.place.series import Weather
from mixcraft.recipe.edits import document_of, recipe_text
from mixcraft.recipe.model import Recipe
from mixcraft.recipe.plan import Plan, plan
from mixcraft.season.grow import SEED, grow
from mixcraft.season.result import Season
from mixcraft.season.setting import BEFORE_DAYS

from .build import overall_of, score
from .candidates import candidates
from .constants import constants
from .model import Reason, Repair, Score
from .remedies import Candidate

TRIAL_YEARS = 8
"""Weather years in which candidates are compared; the same years for all of them."""
TRIAL_SEED = 20260401
TRIAL_DAYS = 260
"""Days of weather beyond the plan's that a changed recipe may need."""
MOST_REASONS = 3
MOST_TAKEN = 2
"""Candidates of a reason that are grown as the score was, the best first, until one keeps what it promises."""

Regrow = Callable[[Plan], Season]
"""Grows a changed plan as the season of the score was grown."""


def with_repairs(result: Score, regrow: Regrow | None = None, most: int = MOST_REASONS) -> Score:
    """The score with tried repairs at the first `most` reasons for which the engine knows any; the scores are unchanged.

    `regrow` grows a changed plan as the season was: with its seed or its own weather.  If it is not given, the season is taken
    to be grown with the usual seed.
    """
    season = result.season
    trial = _Trial(season, regrow or grown_as(season))
    reasons, tried = [], 0
    for reason in result.reasons:
        found = list(candidates(reason, season)) if tried < most else []
        tried += bool(found)
        repair = _best(found, reason, result, trial)
        reasons.append(replace(reason, repair=repair) if repair else reason)
    repaired = dict(zip(result.reasons, reasons, strict=True))
    parts = tuple(replace(p, reasons=tuple(repaired.get(r, r) for r in p.reasons)) for p in result.parts)
    return replace(result, reasons=tuple(reasons), parts=parts)


def grown_as(season: Season, seed: int | None = None) -> Regrow:
    """How a season over stochastic years was grown: with as many years, the seed (the usual one if not given) and its light."""

    def regrow(settled: Plan) -> Season:
        return grow(settled, season.years, SEED if seed is None else seed, voxels=season.light_model == "voxels")

    return regrow


class _Trial:
    """Grows changed recipes over the same few weather years, or as the season was grown, and remembers what came out.

    Over the few years recipe and change are grown with the same light model: in three dimensions where something is moved, else
    in layers.
    """

    def __init__(self, season: Season, regrow: Regrow) -> None:
        self.plan, self.regrow = season.plan, regrow
        self.known: dict[tuple[Recipe, bool], float | None] = {}
        self.scored: dict[Recipe, Score | None] = {}
        start = season.plan.start - np.timedelta64(90, "D")
        self.weather = weather_years(season.plan.place, start, season.plan.days + TRIAL_DAYS, TRIAL_YEARS, TRIAL_SEED)

    def _settled(self, recipe: Recipe) -> Plan | None:
        """The recipe in the same bed; None if it does not fit."""
        try:
            return plan(recipe, self.plan.garden, self.plan.bed.name)
        except FileFaults:
            return None

    def overall(self, recipe: Recipe, *, voxels: bool) -> float | None:
        """Overall score of a recipe over the few years; None if it does not fit."""
        key = recipe, voxels
        if key not in self.known:
            settled = self._settled(recipe)
            grown = grow(settled, weather=self._slice(settled), voxels=voxels) if settled else None
            self.known[key] = overall_of(grown) if grown else None
        return self.known[key]

    def score(self, recipe: Recipe) -> Score | None:
        """Score of a recipe grown as the season was; None if it does not fit."""
        if recipe not in self.scored:
            settled = self._settled(recipe)
            self.scored[recipe] = score(self.regrow(settled)) if settled else None
        return self.scored[recipe]

    def _slice(self, settled: Plan) -> Weather:
        first = settled.start - np.timedelta64(BEFORE_DAYS, "D")
        offset, length = int((first - self.weather.dates[0]).astype(int)), settled.days + BEFORE_DAYS
        days = slice(offset, offset + length)
        if offset < 0 or offset + length > len(self.weather.dates):
            return weather_years(settled.place, first, length, TRIAL_YEARS, TRIAL_SEED)
        w = self.weather
        fields = ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")
        cut = {name: getattr(w, name)[:, days] for name in fields}
        return replace(w, dates=w.dates[days], daylength_h=w.daylength_h[days], **cut)


def _best(found: Sequence[Candidate], reason: Reason, result: Score, trial: _Trial) -> Repair | None:
    """The candidate that gains most over the few years and keeps it when it is grown as the score was."""
    recipe, least = result.season.plan.recipe, constants()["repair_least"]
    gains = []
    for candidate in found:
        before, after = (trial.overall(r, voxels=candidate.moves) for r in (recipe, candidate.recipe))
        if before is not None and after is not None and after - before > least:
            gains.append((after - before, candidate))
    for _, candidate in sorted(gains, key=lambda pair: -pair[0])[:MOST_TAKEN]:
        mended = trial.score(candidate.recipe)
        if mended is not None and mended.overall - result.overall > least and _mends(reason, result, mended):
            c = candidate
            return Repair(c.kind, c.plantings, c.numbers, c.names, c.recipe, result.overall, mended.overall)
    return None


def _mends(reason: Reason, before: Score, after: Score) -> bool:
    """Whether a repair takes nothing from what the reason complains of."""
    return after.part(reason.part).score >= before.part(reason.part).score


@dataclass(frozen=True)
class TextEdit:
    """An edit of a recipe file: from its line `line` (from 1) the lines `removed` go and `added` come in their place."""

    line: int
    removed: tuple[str, ...]
    added: tuple[str, ...]


def text_edits(old: Recipe, new: Recipe) -> tuple[TextEdit, ...]:
    """The lines by which the file of `new` differs from that of `old`, in order."""
    before, after = document_of(old).text.splitlines(), recipe_text(new).splitlines()
    found = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    return tuple(TextEdit(a + 1, tuple(before[a:b]), tuple(after[c:d])) for tag, a, b, c, d in found if tag != "equal")
