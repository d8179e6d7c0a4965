"""Names of the plantings of a design: those of one crop are counted in the order in which they go in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mixcraft.recipe.model import After, Planting, Recipe
from mixcraft.recipe.moves import free_name


def named_in_order(recipe: Recipe, starts: Sequence[int], kept: Sequence[str] = ()) -> Recipe:
    """The recipe with its plantings named after their crops, those of one crop in the order of their `starts` (P,), days in one
    count; names that are `kept`, as a user gave them, stay as they are."""
    names: dict[str, str] = {name: name for name in kept}
    for _, planting in sorted(zip(starts, recipe.plantings, strict=True), key=lambda pair: pair[0]):
        if planting.name not in names:
            names[planting.name] = free_name(planting.crop.name, list(names.values()))

    def named(planting: Planting) -> Planting:
        start = planting.start
        if isinstance(start, After):
            start = replace(start, planting=names[start.planting])
        return replace(planting, name=names[planting.name], start=start)

    return replace(recipe, plantings=tuple(named(planting) for planting in recipe.plantings))
