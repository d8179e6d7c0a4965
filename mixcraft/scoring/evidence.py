"""What the part scores rest on, each measure computed when first asked for and once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixcraft.graph import Edge, edges
from mixcraft.recipe.model import Plate
from mixcraft.season.overlaps import bed_overlaps
from mixcraft.season.result import Band, Season

from .constants import constants
from .fates import Fates, fates
from .measures import ater_band, bands, growth_kept, land_equivalent_ratio, middles
from .model import Gap, StripWeek
from .strip import harvest_strip, plate_of, strip_gaps, wanted_window

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Evidence:
    """A season with its measures: edges of the graph, growth kept, wanted weeks, harvest strip, land equivalent ratio."""

    season: Season

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """Edges of the interaction graph."""
        return tuple(edges(self.season, self.overlaps))

    @cached_property
    def overlaps(self) -> Floats:
        """Share of its ground that each planting has in common with each other, (P, P)."""
        return bed_overlaps(self.season.plan)

    def edge_dates(self, edge: Edge) -> tuple[np.datetime64, np.datetime64]:
        """First and last calendar day of an edge."""
        return self.season.plan.date(edge.days[0]), self.season.plan.date(edge.days[1])

    def edge_key(self, edge: Edge) -> tuple[str, str, str]:
        """An edge by the names of its plantings: from, to, kind."""
        return self.names[edge.source], self.names[edge.target], edge.kind

    @cached_property
    def fates(self) -> Fates:
        """What undoes each planting in which years."""
        return fates(self.season)

    @cached_property
    def kept(self) -> Floats:
        """Growth kept beside the same planting without the others, (Y, P)."""
        return growth_kept(self.season)

    @cached_property
    def plate(self) -> Plate:
        """What the household wants of the bed."""
        return plate_of(self.season.plan)

    @cached_property
    def window(self) -> tuple[int, int]:
        """First and last day index of the wanted weeks."""
        return wanted_window(self.season.plan, constants()["window_after_weeks"])

    @cached_property
    def weekly_kg(self) -> Floats:
        """Fresh kilograms by week of the season and harvest, (W, Y, H)."""
        return self.season.weekly_kg()

    @cached_property
    def strip(self) -> tuple[StripWeek, ...]:
        """The weeks of the season with what is picked."""
        return harvest_strip(self.season, self.window, self.weekly_kg)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Runs of wanted weeks without a picking."""
        return strip_gaps(self.strip)

    @cached_property
    def planting_kg(self) -> tuple[Floats, Floats]:
        """Fresh kilograms of the season by planting, (Y, P): in the mixture, and of the sole crops."""
        return self.season.planting_kg(), self.season.planting_kg("sole")

    @cached_property
    def growth_g(self) -> Floats:
        """Dry matter that each planting makes over the season, mean of the years, (P,)."""
        return np.asarray(self.season.growth_g.sum(axis=0).mean(axis=0))

    @cached_property
    def ler_by_year(self) -> Floats:
        """Land equivalent ratio, (Y,)."""
        return land_equivalent_ratio(*self.planting_kg)

    @cached_property
    def ler(self) -> Band:
        """Band of the land equivalent ratio."""
        return bands(self.ler_by_year[:, None])[0]

    @cached_property
    def ater(self) -> Band:
        """Band of the area-time equivalence ratio; every planting's sole twin keeps its own dates."""
        return ater_band(self.season, *self.planting_kg)

    @cached_property
    def partial_ler(self) -> Mapping[str, float]:
        """Partial land equivalent ratio of each planting, middle of the years; nan for what gives nothing alone."""
        mixture, sole = self.planting_kg
        partial = np.divide(mixture, sole, out=np.full_like(mixture, np.nan), where=sole > 1e-6)
        return dict(zip(self.names, known_middles(partial), strict=True))

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of the plantings."""
        return tuple(p.name for p in self.season.plan.plantings)


def known_middles(values: Floats) -> list[float]:
    """Middle of the years of each column of (Y, P), years without a value left out; nan where none has one."""
    whole = middles(values).tolist()
    for i in np.nonzero(np.isnan(values).any(axis=0))[0]:
        known = values[~np.isnan(values[:, i]), i]
        whole[i] = float(middles(known)) if known.size else float("nan")
    return [float(value) for value in whole]
