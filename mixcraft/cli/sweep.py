"""`mixcraft sweep`: many recipes at many places."""

from __future__ import annotations

import glob
import sys
from argparse import Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from mixcraft.files import Fault, FileFaults, UsageError

from .streams import below

if TYPE_CHECKING:
    from mixcraft.recipe.model import Garden
    from mixcraft.sweep import Named, Progress, Setting, Swept

SHOWN_LOST = 10


def sweep(args: Namespace) -> int:
    """Grow recipes at places; bad recipes are reported and left out, and then the exit status is 2."""
    from mixcraft.sweep import read_spots
    from mixcraft.sweep import sweep as run
    from mixcraft.tasks import scheduler

    spots, setting = read_spots(args.places), _setting(args)
    recipes, faults = _recipes(args.recipes)
    if not recipes:
        raise faults or UsageError("there is no recipe to sweep")
    runner = scheduler(args.workers, args.scheduler)
    with _bar() as told:
        found = run(recipes, spots, setting, args.output, runner, told=told)
    print(_text(found, len(recipes), len(spots), args.output))
    if faults is not None:
        files = {fault.file for fault in faults.faults}
        print(f"{len(files)} of the files left out, as no recipe could be read from them:", file=sys.stderr)
        raise faults
    return 0


def _setting(args: Namespace) -> Setting:
    from mixcraft.season.grow import SEED
    from mixcraft.sweep import Setting

    seed = SEED if args.seed is None else args.seed
    if args.garden is None:
        if args.bed is not None:
            raise UsageError("--bed names a bed of a garden: add --garden FILE")
        return Setting(args.years, seed, not args.layers)
    from mixcraft.recipe.reading import load_garden

    from .inputs import bed_name

    garden: Garden = load_garden(args.garden)
    return Setting(args.years, seed, not args.layers, garden, bed_name(args, garden))


def _recipes(patterns: list[str]) -> tuple[list[Named], FileFaults | None]:
    """The recipes of all files that the patterns name, and the faults of those that cannot be read."""
    from mixcraft.recipe.reading import load_recipe
    from mixcraft.sweep import Named

    files = dict.fromkeys(file for pattern in patterns for file in _files(pattern))
    found: list[Named] = []
    faults: list[Fault] = []
    for file in files:
        try:
            found.append(Named(file, load_recipe(file)))
        except FileFaults as error:
            faults += error.faults
    return found, FileFaults(faults) if faults else None


def _files(pattern: str) -> list[str]:
    """The files of a pattern; a name without a star stands for itself, so that one that is missing is said."""
    if not glob.has_magic(pattern):
        return [pattern]
    found = sorted(glob.glob(pattern, recursive=True))
    if not found:
        raise UsageError(f"no file is like {pattern!r}")
    return found


@contextmanager
def _bar() -> Iterator[Callable[[Progress], None]]:
    """A bar with the time left on the error stream, where that is a terminal."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TimeElapsedColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    console = Console(file=below(sys.stderr))
    columns = (BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TimeRemainingColumn())
    with Bar(*columns, console=console, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=None)

        def told(progress: Progress) -> None:
            bar.update(task, total=progress.of - progress.there, completed=progress.done - progress.there)

        yield told


def _text(found: Swept, recipes: int, places: int, folder: str) -> str:
    """What the sweep has come to."""
    from mixcraft.words.plain import counted

    lines = [f"{folder}: {counted(recipes, 'recipe')} at {counted(places, 'place')}"]
    if found.there:
        lines.append(f"  {found.there:,} were there already")
    words = {"good": "grown", "refused": "cannot be sown there (column said)", "failed": "could not be computed (column said)"}
    lines += [f"  {found.made[status]:,} {said}" for status, said in words.items() if found.made[status]]
    if found.lost:
        lines.append(f"  {len(found.lost):,} given up; the same command tries them again")
        lines += [f"    {lost}" for lost in found.lost[:SHOWN_LOST]]
    return "\n".join(lines)
