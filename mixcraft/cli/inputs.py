"""The files that a command is given."""

from __future__ import annotations

from argparse import Namespace

from mixcraft.files import Fault, FileFaults, UsageError, did_you_mean
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


def recipe_in_bed(args: Namespace) -> tuple[Recipe, Garden, str]:
    """Recipe, garden and bed that the arguments name; every fault of both files at once."""
    recipe, garden = read_both(args.recipe, args.garden)
    return recipe, garden, bed_name(args, garden)


def bed_name(args: Namespace, garden: Garden) -> str:
    """The bed that the arguments name, as the garden writes it; the only one where they name none."""
    names = [bed.name for bed in garden.beds]
    bed = args.bed if args.bed is not None else (names[0] if len(names) == 1 else None)
    if bed is None:
        raise UsageError(f"{args.garden} has several beds: add --bed with one of {', '.join(map(repr, names))}")
    same = [name for name in names if name.casefold() == bed.casefold()]
    if not same:
        near = did_you_mean(bed, names)
        hint = f"did you mean {near[0]!r}?" if near else f"it has {', '.join(map(repr, names))}"
        raise UsageError(f"{args.garden} has no bed called {bed!r}: {hint}")
    return same[0]
