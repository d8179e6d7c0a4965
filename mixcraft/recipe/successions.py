"""Successions: one planting of a recipe that is sown or planted again and again, as the sowings of a place.

Each sowing has the planting's amount, place and way; its start is so long after the first one's.  The first keeps the name
and the place in the recipe's order; the later ones, "lettuce 2", "lettuce 3", follow after all other plantings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from mixcraft.files import FileFaults

from .calendar import Almanac
from .limits import limits
from .model import After, AutumnFrost, OnDate, Planting, Recipe, Times
from .rules import Breach, fault_at

MOST_ROUNDS = 5
"""A succession that waits for the end of another settles in a round each."""


def with_sowings(recipe: Recipe, sky: Almanac, starts_of: Callable[[Recipe], Sequence[int]]) -> Recipe:
    """The recipe with a planting for each sowing, in a place with this almanac; the recipe itself if nothing is sown again.

    `starts_of` gives the start days of a recipe's plantings.  Raises `FileFaults` for more sowings than can be followed.
    """
    if not any(p.again for p in recipe.plantings):
        return recipe
    expanded, numbers = recipe, [1] * len(recipe.plantings)
    for _ in range(MOST_ROUNDS):
        starts = starts_of(expanded)
        found = [_number(p, starts[i], sky) for i, p in enumerate(recipe.plantings)]
        if found == numbers:
            break
        numbers = found
        _check_number(recipe, numbers)
        expanded = _expanded(recipe, numbers)
    return expanded


def _number(planting: Planting, start: int, sky: Almanac) -> int:
    """How often a planting is sown, the first time counted."""
    again = planting.again
    if again is None:
        return 1
    match again.until:
        case Times(sowings):
            return sowings
        case OnDate(month_day, hemisphere):
            last = sky.month_day(month_day, not_before=start, hemisphere=hemisphere)
        case AutumnFrost(weeks):
            frost = start + 365 if sky.first_autumn_frost is None else sky.first_autumn_frost_after(start)
            last = frost + round(7 * weeks)
    return 1 + max(0, int((last - start) / again.every_days + 1e-9))


def _check_number(recipe: Recipe, numbers: Sequence[int]) -> None:
    most = limits("plantings").most
    if most is not None and sum(numbers) > most:
        i = max(range(len(numbers)), key=lambda n: numbers[n])
        breach = Breach(
            ("plantings", i, "again"), "again.many", f"the recipe comes to {sum(numbers)} sowings", str(sum(numbers)),
            f"up to {most}", "sow less often, or stop earlier",
        )  # fmt: skip
        raise FileFaults(fault_at(recipe, breach))


def _expanded(recipe: Recipe, numbers: Sequence[int]) -> Recipe:
    names = [p.name for p in recipe.plantings]
    last = dict(zip(names, names, strict=True))
    later: list[Planting] = []
    for i, (planting, number) in enumerate(zip(recipe.plantings, numbers, strict=True)):
        for n in range(1, number):
            assert planting.again is not None
            name = _free(planting.name, n + 1, names)
            names.append(name)
            last[planting.name] = name
            start = After(planting.name, "start", n * planting.again.every_days)
            path = planting.path or (() if recipe.document else ("plantings", i))
            later.append(replace(planting, name=name, start=start, again=None, path=path))
    return replace(recipe, plantings=(*(_waits_for_last(p, last) for p in recipe.plantings), *later))


def _waits_for_last(planting: Planting, last: dict[str, str]) -> Planting:
    """Who waits for the last harvest or the end of a succession waits for its last sowing."""
    start = planting.start
    if not isinstance(start, After) or start.event not in ("last-harvest", "end"):
        return planting
    return replace(planting, start=replace(start, planting=last[start.planting]))


def _free(name: str, number: int, taken: Sequence[str]) -> str:
    while f"{name} {number}" in taken:
        number += 1
    return f"{name} {number}"
