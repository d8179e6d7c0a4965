"""One bed, many recipes: what does not depend on the mixture is kept, so that a changed recipe costs its own canopy only."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from mixcraft.files.shelf import Shelf
from mixcraft.place import Weather, weather_years
from mixcraft.recipe.model import Garden, Recipe
from mixcraft.recipe.plan import Plan, plan

from .grow import SEED, YEARS, grow
from .result import Season
from .setting import BEFORE_DAYS, HORIZON_DAYS
from .sharing import Corrections

KEPT_BYTES = 300e6
"""About so much is kept of the lives of plantings."""
KEPT_LEAST = 64
"""So many things are kept at least."""
BYTES_A_DAY = 200
"""About so much a planting's life takes for each day and year."""
RECEIVED = 2
"""So many evaluators that were sent to a process are kept there, the last ones."""
DAYS_MORE = 120
"""Weather is drawn for a multiple of so many days, and for more where a plan is longer: it begins with the same days."""
FIRST_DAYS = 4
"""First days of seasons of which weather is kept."""


class Under(NamedTuple):
    """Weather, with what was made from it."""

    weather: Weather
    keep: Shelf


class Evaluator:
    """Grows recipes in one bed of a garden, over the same weather years.

    It keeps weather, soil temperatures by depth and cover, clocks by crop, way, start, cover and depth, what the voxel model
    needs to know of places, and twins.  ``evaluator.season(recipe)`` is what `mixcraft.grow` gives with the same years and seed.

    Stochastic years begin with a season's first day, so that a recipe whose first sowing moves is grown in other weather.  With
    `since`, a day before any first sowing, the weather is drawn once from that day on: then recipes are compared in the same
    weather whenever they begin.  Two threads may use one.  It is sent to another process without what it keeps; there it is one
    and the same however often it is sent, so that what it keeps there serves the next task.
    """

    def __init__(
        self, garden: Garden, bed: str, years: int = YEARS, seed: int = SEED, *, since: np.datetime64 | None = None
    ) -> None:
        self.garden, self.bed, self.years, self.seed, self.since = garden, garden.bed(bed), years, seed, since
        self._plans, self._normal = Shelf(), Shelf(FIRST_DAYS)
        self._weather = Shelf(FIRST_DAYS)

    def __reduce__(self) -> tuple[Callable[[bytes], Evaluator], tuple[bytes]]:
        """What it is made of."""
        return _received, (pickle.dumps((self.garden, self.bed.name, self.years, self.seed, self.since)),)

    def plan(self, recipe: Recipe, *, draw: bool = True, spread: bool = True) -> Plan:
        """The recipe settled in the bed, as `mixcraft.recipe.plan.plan` does it and with what it raises."""
        return plan(recipe, self.garden, self.bed.name, draw=draw, spread=spread, keep=self._plans)

    def season(self, recipe: Recipe, *, voxels: bool = True, corrections: Corrections | None = None) -> Season:
        """The season of a recipe, by voxels or by the layered canopy alone.

        `corrections` of a neighbouring recipe's season (``season.corrections``) are used where they still hold, which saves
        asking the voxel model; the light is then the neighbour's, good to the change at which the model would be asked anew.
        """
        return self.grow(self.plan(recipe, draw=voxels), voxels=voxels, corrections=corrections)

    def grow(self, settled: Plan, *, voxels: bool = True, corrections: Corrections | None = None) -> Season:
        """The season of a plan of this evaluator."""
        under = self._under(settled)
        normal: Shelf = self._normal(settled.start, lambda: Shelf(self._most(1)))
        return grow(settled, weather=under.weather, voxels=voxels, corrections=corrections, keep=under.keep, normal=normal)

    def weather(self, settled: Plan) -> Weather:
        """The weather years that a plan is grown in."""
        return self._under(settled).weather

    def _most(self, years: int) -> int:
        return max(KEPT_LEAST, int(KEPT_BYTES / (BYTES_A_DAY * HORIZON_DAYS * years)))

    def _under(self, settled: Plan) -> Under:
        start = settled.date(-BEFORE_DAYS) if self.since is None else self.since
        days = -(-(settled.days - settled.day(start)) // DAYS_MORE) * DAYS_MORE

        def made() -> Under:
            drawn = weather_years(self.garden.place, start, days, self.years, self.seed)
            return Under(drawn, Shelf(self._most(self.years)))

        found: Under = self._weather(start, made)
        if found.weather.days < days:
            found = made()
            self._weather.put(start, found)
        return found


_sent = Shelf(RECEIVED)


def _received(made_of: bytes) -> Evaluator:
    garden, bed, years, seed, since = pickle.loads(made_of)
    found: Evaluator = _sent(made_of, lambda: Evaluator(garden, bed, years, seed, since=since))
    return found
