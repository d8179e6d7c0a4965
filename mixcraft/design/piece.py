"""A rectangle of a bed, in metres: its area, its halves, the same from other ends."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixcraft.recipe.model import Recipe, Span, Strip, Zone

from .constants import constant

Interval = tuple[float, float]
SAME_M = 1e-6
"""Length below which two places are one [m]."""


@dataclass(frozen=True)
class Piece:
    """A strip or a zone: from and to along the length and across the width [m]."""

    where: Strip | Zone
    x: Interval
    y: Interval

    @classmethod
    def of(cls, where: Strip | Zone, recipe: Recipe) -> Piece:
        """The piece of ground of a place."""
        x = where.x[0].metres(recipe.length_m), where.x[1].metres(recipe.length_m)
        if isinstance(where, Strip):
            return cls(where, x, (0.0, recipe.width_m))
        return cls(where, x, (where.y[0].metres(recipe.width_m), where.y[1].metres(recipe.width_m)))

    @property
    def area_m2(self) -> float:
        """Its ground."""
        return (self.x[1] - self.x[0]) * (self.y[1] - self.y[0])

    def along(self, first: float, last: float) -> Piece:
        """The same from another place along the length to another [m]."""
        first, last = round(first, 3), round(last, 3)
        return Piece(replace(self.where, x=(Span(first), Span(last))), (first, last), self.y)

    def meets(self, other: Piece) -> bool:
        """Whether two lie end to end."""
        ends = abs(self.x[1] - other.x[0]), abs(self.x[0] - other.x[1])
        return self.y == other.y and min(ends) < SAME_M

    def halves(self) -> tuple[Piece, Piece] | None:
        """Both halves along the bed in round distances; None where it is too short for that."""
        unit = constant("round_m")
        middle = round((self.x[0] + self.x[1]) / 2.0 / unit) * unit
        if min(middle - self.x[0], self.x[1] - middle) < constant("cell_least_m") - SAME_M:
            return None
        return self.along(self.x[0], middle), self.along(middle, self.x[1])
