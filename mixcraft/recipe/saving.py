"""Saving a recipe: its text, checked, written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from mixcraft.files import write_atomically

from .edits import recipe_text
from .model import Recipe
from .rules import check


def save_recipe(recipe: Recipe, path: str | Path) -> None:
    """Write `recipe` to the file at `path` so that reading it gives an equal recipe.

    A recipe that was read from a file keeps that file's comments, order and way of writing; only what changed is written anew.
    Raises `FileFaults` for a recipe that breaks a rule, `UsageError` for a path that cannot be written (a folder, a missing
    folder, no permission); whatever stood there is then as it was.
    """
    check(recipe)
    write_atomically(path, recipe_text(recipe))
