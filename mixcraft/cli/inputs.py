"""The files that a command is given."""

from __future__ import annotations

from mixcraft.files import Fault, FileFaults
from mixcraft.recipe.model import Garden, Recipe
from mixcraft.recipe.reading import load_garden, load_recipe


def read_both(recipe_file: str, garden_file: str) -> tuple[Recipe, Garden]:
    """A recipe and a garden; raises `FileFaults` with every fault of both files at once."""
    faults: list[Fault] = []
    recipe = garden = None
    try:
        recipe = load_recipe(recipe_file)
    except FileFaults as error:
        faults += error.faults
    try:
        garden = load_garden(garden_file)
    except FileFaults as error:
        faults += error.faults
    if recipe is None or garden is None:
        raise FileFaults(faults)
    return recipe, garden
