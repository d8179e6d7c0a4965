"""Hand out the pairs of recipes and places that are not there yet, and keep what comes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from mixcraft.tasks import Scheduler

from .model import Named, Setting, Spot, Task
from .store import Pair, Store
from .worker import Row, rows_of

CHUNK = 25
"""Recipes of a task: some seconds of work, so that little is lost with a worker."""


@dataclass(frozen=True, slots=True)
class Progress:
    """Rows that are there, of so many; those of them that this run did not have to make."""

    done: int
    of: int
    there: int


@dataclass(frozen=True, slots=True)
class Swept:
    """What a sweep has come to: rows by status that this run made, rows that were there before, and tasks that were given up."""

    made: Counter[str]
    there: int
    lost: tuple[str, ...]


def sweep(
    recipes: Sequence[Named],
    spots: Sequence[Spot],
    setting: Setting,
    folder: str,
    runner: Scheduler,
    *,
    chunk: int = CHUNK,
    told: Callable[[Progress], None] = lambda progress: None,
) -> Swept:
    """Grow every recipe at every place into the Parquet files of `folder`, those that are not there yet.

    Rows are the same whatever runs them and in whichever order they come.  A pair that the engine cannot do is a row that
    says so.  Raises UsageError for a folder that holds another sweep.
    """
    store = Store(folder, setting)
    there = store.done({named.file: named.key for named in recipes})
    known, of = _known(recipes, spots, there), len(recipes) * len(spots)
    tasks: dict[int, Task] = {}

    def handed() -> Iterator[Task]:
        for number, task in enumerate(_tasks(recipes, spots, setting, there, chunk)):
            tasks[number] = task
            yield task

    made: Counter[str] = Counter()
    lost: list[str] = []
    told(Progress(known, of, known))
    for done in runner.run(rows_of, handed()):
        task = tasks.pop(done.number)
        if done.result is None:
            lost += [f"{named.file} at {task.spot.place.name}: {done.fault}" for named in task.recipes]
            continue
        rows: list[Row] = done.result
        store.add(rows)
        made.update(row["status"] for row in rows)
        told(Progress(known + made.total(), of, known))
    return Swept(made, known, tuple(lost))


def _known(recipes: Sequence[Named], spots: Sequence[Spot], there: set[Pair]) -> int:
    return sum((named.file, named.key, spot.key) in there for named in recipes for spot in spots) if there else 0


def _tasks(recipes: Sequence[Named], spots: Sequence[Spot], setting: Setting, there: set[Pair], chunk: int) -> Iterator[Task]:
    """Tasks place by place, recipes for beds of one size after the other, so that a worker keeps what it has made."""
    ordered = sorted(recipes, key=lambda named: (named.recipe.length_m, named.recipe.width_m, named.file))
    for spot in spots:
        wanted = [named for named in ordered if (named.file, named.key, spot.key) not in there]
        for start in range(0, len(wanted), chunk):
            yield Task(tuple(wanted[start : start + chunk]), spot, setting)
