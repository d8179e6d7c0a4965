"""Moves that change who stands where, what follows what and how it is picked, beside those of `search.moves`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from mixcraft.files import FileFaults
from mixcraft.place import cover
from mixcraft.recipe.calendar import Almanac
from mixcraft.recipe.model import (
    Count,
    CoverUse,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Recipe,
    Strip,
    WholeBed,
    Zone,
)
from mixcraft.recipe.moves import (
    AddCover,
    AddPlanting,
    DropPlanting,
    Exchange,
    Move,
    Moves,
    RemoveCover,
    Resize,
    SetAmount,
    SetHarvest,
    SetPlace,
    SetStart,
    Share,
    ShiftStart,
    SwapCrop,
    free_name,
    share_of,
)
from mixcraft.recipe.plan import Plan
from mixcraft.scoring.strip import wanted_windows

from .completing import fitting
from .constants import constant
from .curves import Option
from .drawing import amount_of, planting_of
from .fill import largest_gap
from .piece import SAME_M, Piece
from .search import FEWER, MORE, Trial, scaled


@dataclass(frozen=True)
class Stood:
    """A planting on a piece of ground."""

    planting: Planting
    piece: Piece

    @property
    def month_day(self) -> str:
        """Day of its start; nothing if that depends on something."""
        start = self.planting.start
        return start.month_day if isinstance(start, OnDate) else ""

    def to(self, piece: Piece) -> Iterator[Move]:
        """The planting on another piece of ground, as dense as it was."""
        yield SetPlace(self.planting.name, piece.where)
        ratio = piece.area_m2 / self.piece.area_m2
        if isinstance(self.planting.amount, Count) and abs(ratio - 1.0) > SAME_M:
            yield SetAmount(self.planting.name, share_of(self.planting.amount, ratio))

    def others(self, options: Sequence[Option]) -> Iterator[Option]:
        """Options of other crops that could stand there."""
        return (o for o in options if o.crop.id != self.planting.crop.id and o.crop.form != "climber")


@dataclass(frozen=True)
class Wider:
    """The moves for recipes in the bed of `trial`, with `options` and covers that may be used; `once` where all is sown in one
    day over the whole bed."""

    trial: Trial
    options: Sequence[Option]
    covers: Sequence[str]
    once: bool = False

    def __call__(self, recipe: Recipe) -> Iterator[Move]:
        """Moves of a recipe; of one that is not valid in the bed none that change who stands where."""
        yield from _traded(recipe)
        if self.once:
            return
        try:
            settled = self.trial.evaluator.plan(recipe, draw=False)
        except FileFaults:
            return
        stood = [Stood(p, Piece.of(p.where, recipe)) for p in recipe.plantings if isinstance(p.where, Strip | Zone)]
        yield from _exchanged(stood)
        yield from _borders(stood)
        yield from _taken_over(stood)
        yield from self._on_other_days(stood, [p.name for p in recipe.plantings])
        yield from self._shared(stood)
        yield from self._filled(settled)
        yield from _picked_when_wanted(settled)
        yield from _covered(recipe, self.covers, settled.almanac)

    def _on_other_days(self, stood: Sequence[Stood], names: Sequence[str]) -> Iterator[Move]:
        """Another crop in the place of one, on another of the recipe's days."""
        days = {one.month_day for one in stood} - {""}
        for one in stood:
            for option in one.others(self.options) if one.month_day else ():
                if option.month_day in days and option.month_day != one.month_day:
                    name = free_name(option.crop.name, [n for n in names if n != one.planting.name])
                    amount = amount_of(option, one.piece.area_m2)
                    swap = SwapCrop(one.planting.name, option.crop, option.establish, amount, name)
                    yield Moves((swap, SetStart(name, OnDate(option.month_day))))

    def _shared(self, stood: Sequence[Stood]) -> Iterator[Move]:
        """Half of a planting's ground to another crop of the same day."""
        for one in stood:
            halves = one.piece.halves()
            if halves is None:
                continue
            moved = tuple(one.to(halves[0]))
            for option in one.others(self.options):
                if option.month_day == one.month_day:
                    yield Share((*moved, AddPlanting(_on(option, halves[1]))))

    def _filled(self, settled: Plan) -> Iterator[Move]:
        """Something on the ground that is free for longest."""
        gap = largest_gap(settled)
        if gap is None:
            return
        for option in fitting(gap, settled, self.options):
            yield AddPlanting(planting_of(option, gap.where, gap.area_m2, option.crop.name))


def _on(option: Option, piece: Piece) -> Planting:
    return planting_of(option, piece.where, piece.area_m2, option.crop.name)


def _traded(recipe: Recipe) -> Iterator[Move]:
    """In a mixture over the whole bed more of one for less of another, or for none of it; all a week sooner or later."""
    mixed = [p for p in recipe.plantings if isinstance(p.where, WholeBed)]
    for planting in mixed:
        more = scaled(planting, MORE)
        if more is None:
            continue
        for other in mixed:
            if other is planting:
                continue
            less = scaled(other, FEWER)
            if less is not None:
                yield Moves((SetAmount(planting.name, more), SetAmount(other.name, less)))
            yield Moves((DropPlanting(other.name), SetAmount(planting.name, more)))
    if len(mixed) == len(recipe.plantings):
        for weeks in (-1.0, 1.0):
            yield Moves(tuple(ShiftStart(p.name, weeks) for p in mixed))


def _exchanged(stood: Sequence[Stood]) -> Iterator[Move]:
    """All that stands in one place in turn with all of another place, then two plantings alone."""
    tracks: dict[Strip | Zone, list[Stood]] = {}
    for one in stood:
        tracks.setdefault(one.piece.where, []).append(one)
    for mine, theirs in combinations(tracks.values(), 2):
        here, there = mine[0].piece, theirs[0].piece
        yield Exchange((*(m for one in mine for m in one.to(there)), *(m for one in theirs for m in one.to(here))))
        if len(mine) + len(theirs) > 2:
            for a in mine:
                for b in theirs:
                    yield Exchange((*a.to(there), *b.to(here)))


def _borders(stood: Sequence[Stood]) -> Iterator[Move]:
    """A border between places some way along the bed, for all that ends or begins there."""
    step, least = 2.0 * constant("round_m"), constant("cell_least_m") - SAME_M
    firsts, lasts = ({round(one.piece.x[n], 3) for one in stood} for n in (0, 1))
    for mark in sorted(firsts & lasts):
        for to in (mark - step, mark + step):
            moved = [(one, one.piece.along(*(to if abs(end - mark) < SAME_M else end for end in one.piece.x))) for one in stood]
            moved = [(one, piece) for one, piece in moved if piece.x != one.piece.x]
            if all(piece.x[1] - piece.x[0] >= least for _, piece in moved):
                yield Resize(tuple(move for one, piece in moved for move in one.to(piece)))


def _taken_over(stood: Sequence[Stood]) -> Iterator[Move]:
    """The ground of a planting to a neighbour along the bed."""
    for one in stood:
        for other in stood:
            if one.piece.meets(other.piece):
                wide = one.piece.along(min(one.piece.x[0], other.piece.x[0]), max(one.piece.x[1], other.piece.x[1]))
                yield Moves((DropPlanting(other.planting.name), *one.to(wide)))


def _picked_when_wanted(settled: Plan) -> Iterator[Move]:
    """What would be picked before the household wants it left standing until then."""
    windows = [window for window in wanted_windows(settled) if window[1] > 0]
    if not windows or windows[0][0] <= 0:
        return
    wanted = OnDay(str(settled.date(windows[0][0]))[5:10])
    for planned in settled.plantings:
        planting, part = planned.planting, planned.planting.crop.main_part
        use = next((use for use in planting.harvest if planting.crop.part(use.part) is part), HarvestUse(part.name))
        if use.start is None and planned.first_harvest < windows[0][0] < planned.end:
            yield SetHarvest(planned.name, replace(use, start=wanted))


def _covered(recipe: Recipe, kinds: Sequence[str], sky: Almanac) -> Iterator[Move]:
    """Covers away, and one over the winter, or another within a closed one."""
    sheets = [CoverUse(kind, *(OnDay(sky.dated(day)) for day in sky.winter)) for kind in kinds] if sky.winter else []
    for planting in recipe.plantings:
        for n in range(len(planting.covers)):
            yield RemoveCover(planting.name, n)
        over = {use.kind for use in planting.covers}
        if not over or (len(over) == 1 and cover(*over).closed):
            yield from (AddCover(planting.name, sheet) for sheet in sheets if sheet.kind not in over)
