"""Rotation: how long a crop must not follow another on the same ground, and which crops each bed may have in which year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.recipe.model import Bed
from mixcraft.scoring.constants import constants as scoring_constants

from .constants import constant
from .solving import solve

AWAY = 100
"""What a group loses in a bed in which it gives nothing, as much as it gains there at the most."""
FEW = 4
"""Crops of which a bed can be made up.  Common practice, no source."""
LONGEST = 20
"""Years beyond which nobody looks back."""


def years_apart(earlier: Crop, crop: Crop) -> int:
    """Years after `earlier` in which `crop` must not grow on its ground: those advised for a soil-borne disease of both, and
    those between crops of one family.  0 = it may follow next year."""
    least = int(scoring_constants()["rotation_family_years"]) - 1 if earlier.family == crop.family else 0
    mine = {d.name: d for d in crop.diseases if d.soil_borne}
    for disease in earlier.diseases:
        if disease.name in mine:
            years = max(mine[disease.name].years or 0.0, disease.years or 0.0)
            least = max(least, int(-(-years // 1)) - 1)
    return least


def rested(crop: Crop, bed: Bed) -> bool:
    """Whether the bed has rested long enough from the crop's family and from its soil-borne diseases."""
    return all(years_apart(load_crop(name), crop) < ago for ago, names in bed.history for name in names)


@lru_cache(maxsize=8)
def _groups(ids: tuple[str, ...]) -> tuple[tuple[tuple[str, ...], ...], dict[tuple[int, int], int]]:
    """Crops that rotate alike, and the years that one group keeps after another."""
    crops = [load_crop(key) for key in ids]
    sign = {c.id: tuple((years_apart(a, c), years_apart(c, a)) for a in crops) for c in crops}
    groups: dict[Any, list[str]] = {}
    for crop in crops:
        groups.setdefault((crop.family, sign[crop.id]), []).append(crop.id)
    found = tuple(tuple(members) for members in groups.values())
    apart = {(i, j): years_apart(load_crop(a[0]), load_crop(b[0])) for i, a in enumerate(found) for j, b in enumerate(found)}
    return found, apart


def shared_out(
    crops: Sequence[Crop],
    beds: Sequence[Bed],
    years: int,
    worth: Mapping[str, float],
    at_home: Sequence[Mapping[str, float]] = (),
) -> list[list[set[str]]]:
    """Crops by id that each bed may have in each year, [year][bed], so that whatever is chosen among them keeps the rotation.

    Every group of crops that rotate alike is to have a bed every year, the more `worth` (by id) the sooner, and a second one if
    it can; every bed is to have one group at least, and no more than `rotation_groups`.  `at_home` says by bed what each crop
    gives in it of what it gives in the best of them, as under a roof and the open sky: a group goes where it gives most in the
    mean, and not where none of it gives anything; without it all beds are alike.
    """
    from ortools.sat.python import cp_model

    groups, apart = _groups(tuple(c.id for c in crops))
    model: Any = cp_model.CpModel()
    may = {(y, b, g): model.new_bool_var("") for y in range(years) for b in range(len(beds)) for g in range(len(groups))}
    for (y, b, g), here in may.items():
        crop = load_crop(groups[g][0])
        if any(years_apart(load_crop(name), crop) >= ago + y for ago, names in beds[b].history for name in names):
            model.add(here == 0)
        for later in range(y + 1, years):
            for h in range(len(groups)):
                if apart[g, h] >= later - y:
                    model.add_at_most_one([here, may[later, b, h]])
    goal = _away(model, may, groups, at_home)
    for y in range(years):
        for b in range(len(beds)):
            mine = [may[y, b, g] for g in range(len(groups))]
            model.add(sum(mine) <= int(constant("rotation_groups")))
            goal += [weight * _more(model, mine, n) for n, weight in ((1, 1000), (2, 60), (3, 20))]
        for g, members in enumerate(groups):
            weight = max(1, round(100.0 * max(worth.get(key, 0.0) for key in members)))
            there = sum(may[y, b, g] for b in range(len(beds)))
            first, second = model.new_bool_var(""), model.new_bool_var("")
            model.add(first + second <= there)
            goal += [weight * first, weight // 3 * second]
    model.maximize(sum(goal))
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed, solver.parameters.max_deterministic_time = 1, 1, 10.0
    solve(solver, model)
    found = [
        [{key for g, members in enumerate(groups) if solver.value(may[y, b, g]) for key in members} for b in range(len(beds))]
        for y in range(years)
    ]
    return [_homes(year, at_home) for year in found] if at_home else found


def _away(
    model: Any, may: Mapping[tuple[int, int, int], Any], groups: Sequence[Sequence[str]], at_home: Sequence[Mapping[str, float]]
) -> list[Any]:
    """What is lost by groups in beds in which they give less than elsewhere; where none of a group gives anything, it is not."""
    goal = []
    for (_, b, g), here in may.items() if at_home else ():
        gives = [at_home[b].get(key, 0.0) for key in groups[g]]
        goal.append(-round(AWAY * (1.0 - sum(gives) / len(gives))) * here)
        if not any(gives):
            model.add(here == 0)
    return goal


def _homes(year: Sequence[set[str]], at_home: Sequence[Mapping[str, float]]) -> list[set[str]]:
    """The crops of each bed of a year without those that another bed may have in which they give more, by a good deal; a bed
    that would be left with few keeps all."""
    most: dict[str, float] = {}
    for mine, gives in zip(year, at_home, strict=True):
        for key in mine:
            most[key] = max(most.get(key, 0.0), gives.get(key, 0.0))
    kept = [
        {key for key in mine if gives.get(key, 0.0) >= constant("home_share") * most[key]}
        for mine, gives in zip(year, at_home, strict=True)
    ]
    return [some if len(some) >= FEW else mine for some, mine in zip(kept, year, strict=True)]


def _more(model: Any, mine: Sequence[Any], most: int) -> Any:
    """How many of some choices are made, up to a number."""
    count = model.new_int_var(0, most, "")
    model.add(count <= sum(mine))
    return count
