"""What a score says: part scores with reasons, repairs, the harvest strip and expected amounts.  Frozen facts, no sentences:
`mixcraft.words` puts them into words."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.recipe.model import Bed, Recipe
from mixcraft.recipe.notes import Note
from mixcraft.season.result import Band, Season


@dataclass(frozen=True)
class Repair:
    """A change to the recipe that was tried: its kind and the facts of it, the changed recipe, and the overall score without and
    with it, both over the same years and in the same light.

    `kind` names the change, such as thin or shift; `plantings` are those it touches.  `mixcraft.save_recipe` writes the recipe
    into the user's file, comments kept.  A repair of the garden, which waters or feeds the bed otherwise, leaves the recipe as it
    is: `bed` is the bed that it was tried in, else None.
    """

    kind: str
    plantings: tuple[str, ...]
    numbers: Numbers
    names: Names
    recipe: Recipe
    overall_before: float
    overall_after: float
    bed: Bed | None = None

    @property
    def gain(self) -> float:
        """Points of the overall score that the repair gains."""
        return self.overall_after - self.overall_before


@dataclass(frozen=True)
class Reason:
    """Why points were lost, as facts.

    `part` of the score and `cause`, which tells what happened; `points` (0-100) of the part lost; `plantings` concerned, the one
    that loses first; `weeks` the first and last calendar day concerned, or None for the whole season; `numbers` and `names` what
    the cause needs to be understood, such as the share of years; `edge` the graph edge (from, to, kind) behind it, if one is.
    """

    part: str
    cause: str
    points: float
    plantings: tuple[str, ...] = ()
    weeks: tuple[np.datetime64, np.datetime64] | None = None
    numbers: Numbers = field(default_factory=Facts)
    names: Names = field(default_factory=Facts)
    edge: tuple[str, str, str] | None = None
    repair: Repair | None = None


@dataclass(frozen=True)
class PartScore:
    """One part score 0-100 with its weight, the facts of its summary and the reasons for lost points, worst first."""

    name: str
    score: float
    weight: float
    numbers: Numbers
    names: Names
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class StripWeek:
    """A week of the harvest strip: its first day, fresh kilograms (band over years), the share of years with a picking,
    the plantings picked (most first), whether the week lies in the wanted window and, where the household names an amount,
    the share of it that the week gives (mean over years)."""

    start: np.datetime64
    kg: Band
    chance: float
    plantings: tuple[str, ...]
    wanted: bool
    served: float | None = None

    @property
    def picked(self) -> bool:
        """Whether something is picked in at least half of the years."""
        return self.chance >= 0.5


@dataclass(frozen=True)
class Gap:
    """Neighbouring weeks of the wanted window without a picking: first day, last day, number of weeks."""

    start: np.datetime64
    end: np.datetime64
    weeks: int


@dataclass(frozen=True)
class CropYield:
    """What one part of a planting gives: fresh kilograms (band), first and last picking day (middle), or None if never.

    `first_band` and `last_band` are the days before which the first (last) picking falls in one and in nine of ten of the years
    that pick.
    """

    planting: str
    part: str
    method: str
    kg: Band
    first: np.datetime64 | None
    last: np.datetime64 | None
    first_band: tuple[np.datetime64, np.datetime64] | None = None
    last_band: tuple[np.datetime64, np.datetime64] | None = None


@dataclass(frozen=True)
class Chance:
    """The chance that weather undoes a planting: killed by frost before its harvest, or lost in cold soil."""

    planting: str
    frost: float
    cold_soil: float


@dataclass(frozen=True)
class Score:
    """The score of a season.

    `overall` rests on the weighted geometric mean of the part scores (`measures.overall_points`), `overall_band` its spread
    when canopy, continuity and yield are taken from each weather year by itself; `ler` and `ater` are bands of the land
    equivalent ratio and area-time equivalence ratio; `partial_ler` by planting (middle); `kept` growth of each planting beside
    the same planting alone in the bed (middle).
    """

    season: Season
    overall: float
    overall_band: Band
    parts: tuple[PartScore, ...]
    reasons: tuple[Reason, ...]
    strip: tuple[StripWeek, ...]
    gaps: tuple[Gap, ...]
    yields: tuple[CropYield, ...]
    ler: Band
    ater: Band
    partial_ler: dict[str, float]
    kept: dict[str, float]
    chances: tuple[Chance, ...]
    cautions: tuple[str, ...]
    notes: tuple[Note, ...] = field(default=())

    def part(self, name: str) -> PartScore:
        """The part score called `name`."""
        return next(p for p in self.parts if p.name == name)
