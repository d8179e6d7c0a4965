"""Moves that change who stands where, what follows what and how it is picked, beside those of `search.moves`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from mixcraft.files import FileFaults
from mixcraft.recipe.calendar import Almanac
from mixcraft.recipe.model import (
    Count,
    CoverUse,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Recipe,
    Span,
    Strip,
    Where,
    Zone,
)
from mixcraft.recipe.moves import (
    AddCover,
    AddPlanting,
    DropPlanting,
    Move,
    Moves,
    RemoveCover,
    SetAmount,
    SetHarvest,
    SetPlace,
    SetStart,
    SwapCrop,
    share_of,
)
from mixcraft.scoring.strip import wanted_windows

from .completing import fitting
from .constants import constant
from .curves import Option
from .drawing import amount_of, planting_of
from .fill import largest_gap
from .search import Trial, area_of

Piece = Strip | Zone


@dataclass(frozen=True)
class Wider:
    """The moves for recipes in the bed of `trial`, with `options` and covers that may be used."""

    trial: Trial
    options: Sequence[Option]
    covers: Sequence[str]

    def __call__(self, recipe: Recipe) -> Iterator[Move]:
        """Moves of a recipe that is valid in the bed."""
        try:
            settled = self.trial.evaluator.plan(recipe, draw=False)
        except FileFaults:
            return
        pieces = [p for p in recipe.plantings if isinstance(p.where, Strip | Zone)]
        yield from _exchanged(pieces, recipe)
        yield from _borders(pieces, recipe)
        yield from _taken_over(pieces, recipe)
        yield from self._other_days(pieces, recipe)
        yield from self._shared(pieces, recipe)
        gap = largest_gap(settled)
        if gap is not None:
            for option in fitting(gap, settled, self.options):
                yield AddPlanting(planting_of(option, gap.where, gap.area_m2, option.crop.name))
        windows = [w for w in wanted_windows(settled) if w[1] > 0]
        if windows:
            yield from _picked_when_wanted(recipe, str(settled.date(max(windows[0][0], 0)))[5:10])
        yield from _covered(recipe, self.covers, settled.almanac)

    def _other_days(self, pieces: Sequence[Planting], recipe: Recipe) -> Iterator[Move]:
        """Another crop in the place of one, on another of the recipe's days."""
        days = {p.start.month_day for p in recipe.plantings if isinstance(p.start, OnDate)}
        for planting in pieces:
            if not isinstance(planting.start, OnDate):
                continue
            for option in self.options:
                climber, now = option.crop.form == "climber", planting.start
                if option.month_day in days - {now.month_day} and option.crop.id != planting.crop.id and not climber:
                    amount = amount_of(option, area_of(planting, recipe) or 0.0)
                    swap = SwapCrop(planting.name, option.crop, option.establish, amount, name=planting.name)
                    yield Moves((swap, SetStart(planting.name, replace(now, month_day=option.month_day))))

    def _shared(self, pieces: Sequence[Planting], recipe: Recipe) -> Iterator[Move]:
        """Half of a planting's ground to another crop of the same day."""
        for planting in pieces:
            halves = _halves(planting.where, recipe)
            if halves is None or not isinstance(planting.start, OnDate):
                continue
            one, other = halves
            for option in self.options:
                another = option.crop.id != planting.crop.id and option.crop.form != "climber"
                if another and option.month_day == planting.start.month_day:
                    new = planting_of(option, other, area_in(other, recipe), option.crop.name)
                    yield Moves((*_moved(planting, one, recipe), AddPlanting(new)))


def area_in(where: Piece, recipe: Recipe) -> float:
    """Ground of a strip or a zone [m2]."""
    (a, b), (c, d) = _ends(where, recipe)
    return (b - a) * (d - c)


def _ends(where: Piece, recipe: Recipe) -> tuple[tuple[float, float], tuple[float, float]]:
    """From and to along the length and across the width [m]."""
    x = where.x[0].metres(recipe.length_m), where.x[1].metres(recipe.length_m)
    if isinstance(where, Strip):
        return x, (0.0, recipe.width_m)
    return x, (where.y[0].metres(recipe.width_m), where.y[1].metres(recipe.width_m))


def _along(where: Piece, first: float, last: float) -> Piece:
    """The same from another place along the length to another [m]."""
    return replace(where, x=(Span(round(first, 3)), Span(round(last, 3))))


def _moved(planting: Planting, where: Piece, recipe: Recipe) -> Iterator[Move]:
    """A planting in another piece of ground; as dense as it was."""
    assert isinstance(planting.where, Strip | Zone)
    yield SetPlace(planting.name, where)
    ratio = area_in(where, recipe) / area_in(planting.where, recipe)
    if isinstance(planting.amount, Count) and abs(ratio - 1.0) > 1e-6:
        yield SetAmount(planting.name, share_of(planting.amount, ratio))


def _exchanged(pieces: Sequence[Planting], recipe: Recipe) -> Iterator[Move]:
    """All that stands in one place in turn with all of another place, then two plantings alone."""
    tracks: dict[Where, list[Planting]] = {}
    for planting in pieces:
        tracks.setdefault(planting.where, []).append(planting)
    for (one, mine), (other, theirs) in combinations(tracks.items(), 2):
        yield Moves((*(m for p in mine for m in _moved(p, other, recipe)), *(m for p in theirs for m in _moved(p, one, recipe))))
        if len(mine) + len(theirs) > 2:
            for a in mine:
                for b in theirs:
                    yield Moves((*_moved(a, other, recipe), *_moved(b, one, recipe)))


def _borders(pieces: Sequence[Planting], recipe: Recipe) -> Iterator[Move]:
    """A border between places some way along the bed, for all that ends or begins there."""
    ends = {p.name: _ends(p.where, recipe)[0] for p in pieces}
    step, least = 2.0 * constant("round_m"), constant("cell_least_m")
    firsts, lasts = ({round(both[n], 3) for both in ends.values()} for n in (0, 1))
    for mark in sorted(firsts & lasts):
        for to in (mark - step, mark + step):
            found: list[Move] = []
            for planting in pieces:
                first, last = (to if abs(end - mark) < 1e-6 else end for end in ends[planting.name])
                if (first, last) != ends[planting.name] and last - first >= least - 1e-6:
                    found += _moved(planting, _along(planting.where, first, last), recipe)
            yield Moves(tuple(found))


def _taken_over(pieces: Sequence[Planting], recipe: Recipe) -> Iterator[Move]:
    """The ground of a planting to a neighbour along the bed."""
    for planting in pieces:
        for other in pieces:
            (a, b), across = _ends(planting.where, recipe)
            (c, d), theirs = _ends(other.where, recipe)
            if across == theirs and (abs(b - c) < 1e-6 or abs(a - d) < 1e-6):
                wide = _along(planting.where, min(a, c), max(b, d))
                yield Moves((DropPlanting(other.name), *_moved(planting, wide, recipe)))


def _halves(where: Where, recipe: Recipe) -> tuple[Piece, Piece] | None:
    """A piece of ground in two along the bed; None where it is too short."""
    (first, last), _ = _ends(where, recipe)
    unit = constant("round_m")
    middle = round((first + last) / 2.0 / unit) * unit
    if min(middle - first, last - middle) < constant("cell_least_m") - 1e-6:
        return None
    return _along(where, first, middle), _along(where, middle, last)


def _picked_when_wanted(recipe: Recipe, month_day: str) -> Iterator[Move]:
    """What would be picked before the household wants it left standing until then."""
    for planting in recipe.plantings:
        part = planting.crop.main_part
        use = next((use for use in planting.harvest if planting.crop.part(use.part) is part), HarvestUse(part.name))
        if use.start is None:
            yield SetHarvest(planting.name, replace(use, start=OnDay(month_day)))


def _covered(recipe: Recipe, kinds: Sequence[str], sky: Almanac) -> Iterator[Move]:
    """Covers away, and one over the winter."""
    frosts = sky.first_autumn_frost, sky.last_spring_frost
    for planting in recipe.plantings:
        for n in range(len(planting.covers)):
            yield RemoveCover(planting.name, n)
        for kind in kinds if not planting.covers and None not in frosts else ():
            on, off = (OnDay(str(sky.date(day))[5:10]) for day in frosts if day is not None)
            yield AddCover(planting.name, CoverUse(kind, on, off))
