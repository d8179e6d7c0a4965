"""A greedy choice: piece after piece, whatever fills the emptiest weeks most for the time it takes.  The constraint model begins
with it, and the design is measured against it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from mixcraft.scoring.constants import constants as scoring_constants
from mixcraft.scoring.sunny_side import stands_before

from .choice import Placed, Task, least_pieces, meet
from .constants import constant

Floats = NDArray[np.float64]


def greedy(task: Task) -> tuple[Placed, ...]:
    """Options on one piece each, added while they put something on the plate; each option once, musts before others."""
    placed: list[Placed] = []
    refused: set[tuple[int, int]] = set()
    served, kinds = np.zeros(len(task.weeks)), np.zeros(len(task.weeks))
    musts = {crop.id for crop in task.brief.musts}
    while True:
        wanting = musts - {p.option.crop.id for p in placed}
        found = [
            (worth / (option.last - option.week + 1), -n, cell)
            for n, cell in _free(task, placed, refused)
            for option in [task.options[n]]
            for worth in [_worth(task, n, cell, served, kinds)]
            if worth > 0.0 and (not wanting or option.crop.id in wanting)
        ]
        if not found and not wanting:
            return tuple(placed)
        if not found:
            return ()
        _, n, cell = max(found)
        option = task.options[-n]
        portions = _portions(task, -n, cell)
        served += portions
        kinds += np.minimum(portions, 1.0)
        placed.append(Placed(option, (cell,)))


def greedy_mixed(task: Task) -> tuple[Placed, ...]:
    """Where all is sown once: on the day that serves most, piece after piece of one mixture, while there is room."""
    days = sorted({o.month_day for o in task.options})
    return max((_on_day(task, day) for day in days), key=lambda pair: pair[0], default=(0.0, ()))[1]


def greedy_days(task: Task, days: Sequence[str]) -> list[str]:
    """Days by what a greedy mixture of each serves, the best first."""
    return sorted(days, key=lambda day: -_on_day(task, day)[0])


def _on_day(task: Task, day: str) -> tuple[float, tuple[Placed, ...]]:
    return _mixed_on(task, [n for n, o in enumerate(task.options) if o.month_day == day])


def _mixed_on(task: Task, members: list[int]) -> tuple[float, tuple[Placed, ...]]:
    """What the options of one day serve, and their pieces; musts first."""
    count, brief = int(constant("most_cells")), task.brief
    unit = task.ground.bed.area_m2 / count
    pieces = dict.fromkeys(members, 0)
    musts, tall = {c.id for c in brief.musts}, brief.height_limit_m
    while True:
        there = {task.options[n].crop.id for n in members if pieces[n]}
        wanting, served, kinds = musts - there, np.zeros(len(task.weeks)), np.zeros(len(task.weeks))
        for n in members:
            portions = _on_area(task, n, pieces[n] * unit)
            served, kinds = served + portions, kinds + np.minimum(portions, 1.0)
        best = max(
            (
                (_more(task, _on_area(task, n, unit), served, kinds), -n) for n in members
                if pieces[n] < max(1, int(constant("most_share") * count)) and _room_for(task, n, pieces, count)
                and (task.options[n].crop.id in there or len(there) < brief.most_crops)
                and (not wanting or task.options[n].crop.id in wanting) and (tall is None or task.options[n].height_m <= tall)
            ),
            default=(0.0, 0),
        )  # fmt: skip
        if best[0] <= constant("greedy_least"):
            total = float(np.minimum(served, task.portions).sum() / task.portions + 0.3 * np.minimum(kinds, task.kinds).sum())
            chosen = tuple(Placed(task.options[n], tuple(range(k))) for n, k in pieces.items() if k)
            return (total if not wanting else -1.0), chosen
        pieces[-best[1]] += 1


def _room_for(task: Task, n: int, pieces: dict[int, int], count: int) -> bool:
    """Whether one more piece of an option finds room in all of its weeks."""
    option, others = task.options[n], [(task.options[m], k) for m, k in pieces.items() if k]
    return all(sum(o.fills(week) * k for o, k in others) + option.fills(week) <= count for week in option.weeks)


def _portions(task: Task, n: int, cell: int) -> Floats:
    """Portions by wanted week of an option on a piece, of one kind no more than a household eats."""
    return _on_area(task, n, task.ground.area_m2(cell))


def _on_area(task: Task, n: int, area_m2: float) -> Floats:
    """Portions by wanted week of an option on so much ground, of one kind no more than a household eats."""
    option, c = task.options[n], scoring_constants()
    grams = option.crop.main_part.number("portion", c["portion_usual_g"])
    most = c["most_of_herb" if grams <= c["herb_portion_g"] else "most_of_one"]
    portions = option.kg_m2[list(task.weeks)] * area_m2 * 1000.0 / grams
    return np.asarray(np.minimum(portions, most * task.portions))


def _worth(task: Task, n: int, cell: int, served: Floats, kinds: Floats) -> float:
    """Portions that are wanted yet, and kinds that are."""
    return _more(task, _portions(task, n, cell), served, kinds)


def _more(task: Task, portions: Floats, served: Floats, kinds: Floats) -> float:
    """Portions that are wanted yet, and kinds that are, of what comes to what is served."""
    filled = np.minimum(np.maximum(task.portions - served, 0.0), portions).sum() / task.portions
    more = np.minimum(np.maximum(task.kinds - kinds, 0.0), np.minimum(portions, 1.0)).sum() / task.kinds
    return float(filled + 0.3 * more)


def _free(task: Task, placed: list[Placed], refused: set[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Options that are not used, with the pieces on which they have room, sun and the grower's leave.

    What is `refused` beside one that is placed stays so, whatever comes after it: each is asked about the last one only.
    """
    last = placed[-1] if placed else None
    used = {p.option.key for p in placed}
    days, crops = {p.option.month_day for p in placed}, {p.option.crop.id for p in placed}
    brief, ground = task.brief, task.ground
    for n, option in enumerate(task.options):
        late = option.month_day not in days and len(days) >= brief.sowing_days
        more = option.crop.id not in crops and len(crops) >= brief.most_crops
        tall = brief.height_limit_m is not None and option.height_m > brief.height_limit_m
        if option.key in used or late or more or tall or (brief.effort.transplants is not None and option.establish == "module"):
            continue
        for cell in range(ground.count):
            if (n, cell) in refused or least_pieces(option.crop, ground.area_m2(cell)) != 1:
                continue
            if last is None or _beside(task, last, n, cell):
                yield n, cell
            else:
                refused.add((n, cell))


def _beside(task: Task, other: Placed, n: int, cell: int) -> bool:
    """Whether an option may stand on a piece beside what is placed."""
    option, turnover = task.options[n], int(constant("turnover_weeks"))
    mine, theirs = (range(o.week, o.last + 1 + turnover) for o in (option, other.option))
    if other.cells[0] == cell:
        kin = option.crop.family == other.option.crop.family
        return not kin and not meet(mine, theirs)
    for front, behind, tall, low in (
        (cell, other.cells[0], option, other.option), (other.cells[0], cell, other.option, option),
    ):  # fmt: skip
        if not meet(tall.tall_weeks, low.weeks):
            continue
        taller, apart = tall.height_m - low.height_m, task.ground.apart_m(front, behind)
        together = tall.date(max(tall.tall_weeks[0], low.week)), tall.date(min(tall.last, low.last))
        if (front, behind) in task.ground.shaded(*together) and stands_before(
            taller, tall.height_m, apart, later=low.week > tall.week + 1
        ):
            return False
    return True
