"""What a sweep is made of: recipes by their file, spots, how they are grown, and the tasks that they are cut into."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from typing import Any

from mixcraft.place import Place
from mixcraft.recipe.constants import constant
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.model import EDGES, AtTrellis, Bed, Garden, Recipe, Trellis

FORMAT = "mixcraft-sweep/1"
DIGEST = 16
"""Hexadecimal digits of a digest: 64 bits."""


def digest(text: str) -> str:
    """A short digest of a text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:DIGEST]


@dataclass(frozen=True)
class Named:
    """A recipe with the file that it came from."""

    file: str
    recipe: Recipe

    @cached_property
    def key(self) -> str:
        """Digest of what the recipe says."""
        return digest(recipe_text(self.recipe))


@dataclass(frozen=True)
class Spot:
    """A place with a key that is fit for a file name."""

    key: str
    place: Place


@dataclass(frozen=True)
class Setting:
    """How every recipe is grown at every place.

    `bed` is the bed of a garden, set at each place with the garden's plate and weights; without it a recipe gets a bed of its own
    size on loam, watered, lying north and south, with the trellises that it needs.
    """

    years: int
    seed: int
    voxels: bool
    garden: Garden | None = None
    bed: str = ""

    def described(self) -> Mapping[str, Any]:
        """The setting as plain data; results of another setting are other results."""
        light = "voxels" if self.voxels else "layers"
        found: dict[str, Any] = {"years": self.years, "seed": self.seed, "light": light}
        if self.garden is not None:
            bed, plate = self.garden.bed(self.bed), self.garden.plate
            found |= {"bed": repr(asdict(bed)), "plate": repr(asdict(plate)), "weights": repr(dict(self.garden.weights))}
        return found

    def garden_at(self, spot: Spot, recipe: Recipe) -> tuple[Garden, str]:
        """The garden at a spot, and the name of the bed for a recipe."""
        if self.garden is not None:
            given = self.garden
            return Garden(given.name, spot.place, (given.bed(self.bed),), given.plate, given.weights, given.about), self.bed
        bed = Bed("bed", recipe.length_m, recipe.width_m, trellises=_trellises(recipe, spot.place))
        return Garden(spot.place.name, spot.place, (bed,)), bed.name


def _trellises(recipe: Recipe, place: Place) -> tuple[Trellis, ...]:
    """A trellis on each edge that the recipe names; where it takes any, at the end away from the sun."""
    shady = "north" if place.latitude_deg >= 0.0 else "south"
    edges = {p.where.edge for p in recipe.plantings if isinstance(p.where, AtTrellis)}
    named = edges - {"any"} or ({shady} if edges else set())
    return tuple(Trellis(edge, constant("support_height")) for edge in EDGES if edge in named)


@dataclass(frozen=True)
class Task:
    """Recipes at one place."""

    recipes: tuple[Named, ...]
    spot: Spot
    setting: Setting
