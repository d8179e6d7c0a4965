"""Improving a recipe by moves, each grown and scored, until none helps or the time is up."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, NamedTuple, overload

import numpy as np

from mixcraft.files import FileFaults
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.layout import usual_density
from mixcraft.recipe.model import (
    Amount,
    AtEvent,
    AtTrellis,
    Count,
    CoverUse,
    Density,
    Garden,
    OnDate,
    Planting,
    Recipe,
    Strip,
    Usual,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.moves import (
    AddCover,
    AddPlanting,
    DropPlanting,
    Exchange,
    Move,
    MoveError,
    Moves,
    SetAmount,
    SetStart,
    ShiftStart,
    SwapCrop,
)
from mixcraft.scoring.build import Points
from mixcraft.scoring.evidence import Evidence
from mixcraft.season.evaluator import Evaluator

from .constants import constant
from .curves import Option, alone_density, density_range
from .drawing import amount_of, planting_of, round_density
from .piece import Piece
from .practice import ANY, Practice, weight

Allowed = Callable[[Recipe], bool]
Told = Callable[[str, int, int, float], None]
"""Told of progress: what is done, how much of it, of how much, the best score so far (0 = none yet)."""


Wide = Callable[[Recipe], Iterable[Move]]
"""Further moves from a recipe."""


def nothing_more(_recipe: Recipe) -> tuple[Move, ...]:
    """No further moves."""
    return ()


def silent(_what: str, _done: int, _of: int, _best: float) -> None:
    """Tells nobody."""


SEED = 20260401
SAME = 0.02
"""Difference in what can be objected below which two recipes are as sound as one another."""
FEWER, MORE = 0.75, 1.3
"""Shares of its plants with which a planting is tried.  Common practice, no source."""


class Trial:
    """Scores recipes in a bed over a few weather years by the layered canopy, each recipe once, and says what a grower could
    object to them."""

    def __init__(self, garden: Garden, bed: str, years: int = 0, practice: Practice = ANY) -> None:
        since = almanac(garden.place).date(-120)
        self.evaluator = Evaluator(garden, bed, years or int(constant("few_years")), SEED, since=since)
        self.practice = practice
        self.known: dict[Recipe, Standing] = {}
        self.seen: dict[Recipe, float] = {}
        self._made_of = garden, bed, years, practice

    def __reduce__(self) -> tuple[Any, ...]:
        """In another process it is that process's own trial in that bed, which keeps what it knows."""
        return _kept_trial, self._made_of

    def score(self, recipe: Recipe) -> float:
        """Overall score; -1 for a recipe that does not fit."""
        return self.standing(recipe).points

    def standing(self, recipe: Recipe) -> Standing:
        """What speaks against a recipe, and its score."""
        if recipe not in self.known:
            self.known[recipe] = self._standing(recipe)
        return self.known[recipe]

    def better(self, recipe: Recipe, best: Standing) -> Standing | None:
        """How a recipe stands if it beats `best`, else None, which is found sooner than how it stands."""
        if recipe not in self.known:
            found = self._standing(recipe, best)
            if found is None:
                return None
            self.known[recipe] = found
        return self.known[recipe] if self.known[recipe].beats(best) else None

    @overload
    def _standing(self, recipe: Recipe) -> Standing: ...
    @overload
    def _standing(self, recipe: Recipe, best: Standing) -> Standing | None: ...
    def _standing(self, recipe: Recipe, best: Standing | None = None) -> Standing | None:
        """How a recipe stands; None as soon as it is known that it does not beat `best`."""
        against = self.before(recipe)
        if against == np.inf:
            return Standing(-np.inf, -1.0)
        evidence = Evidence(self.evaluator.season(recipe, voxels=False))
        against += weight(self.practice.grown(evidence, strict=True)) if self.practice != ANY else 0.0
        if best is not None:
            if -against < best.sound - SAME:
                return None
            if not Standing(-against, Points.at_most(evidence).overall).beats(best):
                return None
        return Standing(-against, Points.of(evidence).overall)

    def before(self, recipe: Recipe) -> float:
        """What can be objected to a recipe before it is grown; infinite for one that does not fit."""
        if recipe not in self.seen:
            try:
                settled = self.evaluator.plan(recipe, draw=False)
                self.seen[recipe] = weight(self.practice.planned(settled)) if self.practice != ANY else 0.0
            except FileFaults:
                self.seen[recipe] = np.inf
        return self.seen[recipe]


class Standing(NamedTuple):
    """How a recipe stands: less the weight of what can be objected to it, then its score; the greater the better."""

    sound: float
    points: float

    def beats(self, other: Standing) -> bool:
        """Whether it is better by more than what is not worth a change."""
        if abs(self.sound - other.sound) > SAME:
            return self.sound > other.sound
        return self.points > other.points + constant("gain_least")


@lru_cache(maxsize=1)
def _kept_trial(garden: Garden, bed: str, years: int, practice: Practice) -> Trial:
    """The trial of the last bed that was asked for here."""
    return Trial(garden, bed, years, practice)


@dataclass
class Budget:
    """So many recipes may be tried, until a time of the clock (None = whenever)."""

    trials: int
    until: float | None = None
    used: int = 0
    out_of_time: bool = False

    def take(self) -> bool:
        """Whether one more may be tried."""
        if self.until is not None and time.monotonic() > self.until:
            self.out_of_time = True
        if self.out_of_time or self.used >= self.trials:
            return False
        self.used += 1
        return True


@dataclass(frozen=True)
class Step:
    """A move with the scores before and after it, over few years."""

    move: Move
    before: float
    after: float

    @property
    def gain(self) -> float:
        """Points gained."""
        return self.after - self.before


@dataclass
class Climb:
    """Hill climbing from a recipe: the first move that helps is taken, in an order drawn from `rng`; where none helps it goes on
    from the best so far after `kicks` moves by lot (0 = it has ended).

    `recipe` is the best so far and `steps` the moves that led to it, at any time; `here` where it stands (None = at the best) and
    `way` the moves that led there; `wider` gives moves beside the usual ones; `luck` is how many moves of a kind were tried and
    helped; `tried` what this climb has tried, whatever others that share its `trial` have; `waiting` the moves from a recipe that
    are still to be tried, in their order, so that it goes on where its budget ended; `in_vain` how many were tried since one
    helped.
    """

    recipe: Recipe
    trial: Trial
    options: Sequence[Option]
    covers: Sequence[str]
    allowed: Allowed
    rng: np.random.Generator
    wider: Wide = nothing_more
    kicks: int = 0
    steps: list[Step] = field(default_factory=list)
    here: Recipe | None = None
    way: list[Step] = field(default_factory=list)
    luck: dict[str, tuple[int, int]] = field(default_factory=dict)
    tried: set[Recipe] = field(default_factory=set)
    waiting: tuple[Recipe, list[Move]] | None = None
    in_vain: int = 0

    @property
    def ended(self) -> bool:
        """Whether no move is left to be tried."""
        return not self.kicks and self.waiting is not None and self.waiting[0] == self.at and not self.waiting[1]

    @property
    def at(self) -> Recipe:
        """Where it stands."""
        return self.recipe if self.here is None else self.here

    @property
    def best(self) -> float:
        """Score of the best so far."""
        return self.trial.score(self.recipe)

    @property
    def standing(self) -> Standing:
        """How the best so far stands."""
        return self.trial.standing(self.recipe)

    def run(self, budget: Budget, told: Told) -> float:
        """Climb until no move helps or the budget is spent; the score of the best.

        A move is taken if less can be objected to what comes of it, or no more and its score is higher.
        """
        while self._to_the_top(budget, told) and self._kicked(budget):
            pass
        return self.best

    def _to_the_top(self, budget: Budget, told: Told) -> bool:
        """Climb from where it stands until no move helps, or none of many if it goes on from its top; False if the budget is
        spent."""
        best = self.trial.standing(self.at)
        while True:
            if self.waiting is None or self.waiting[0] != self.at:
                self.waiting = self.at, self._ordered()
            untried = self.waiting[1]
            while untried and self.waiting[0] == self.at:
                changed = attempt(untried[0], self.at, self.allowed)
                if changed is not None and changed not in self.tried and self.trial.before(changed) <= SAME - best.sound:
                    if not budget.take():
                        return False
                    told("improving", budget.used, budget.trials, self.best)
                    best = self._try(untried[0], changed, best)
                del untried[0]
                if self.kicks and self.in_vain >= constant("kick_after"):
                    return True
            if self.waiting[0] == self.at:
                return True

    def _moves(self) -> tuple[list[Move], list[Move]]:
        """The usual moves from where it stands, and the wider ones."""
        return list(moves(self.at, self.options, self.covers)), list(self.wider(self.at))

    def _try(self, move: Move, changed: Recipe, best: Standing) -> Standing:
        """See how stands what a move gives, and go on from there if it helps; the best standing."""
        self.tried.add(changed)
        after = self.trial.better(changed, best)
        self._learn(move, after is not None)
        self.in_vain += 1
        if after is None:
            return best
        self.in_vain = 0
        self._go(move, changed, best.points, after.points)
        if self.here is None or after.beats(self.standing):
            self.recipe, self.steps, self.here = self.at, list(self.way), None
        return after

    def _go(self, move: Move, changed: Recipe, before: float, after: float) -> None:
        """Go to what a move gives."""
        self.way = [*(self.steps if self.here is None else self.way), Step(move, before, after)]
        self.here = changed

    def _kicked(self, budget: Budget) -> bool:
        """Whether it could leave the best so far by some moves by lot."""
        self.here, points, self.in_vain = None, self.best, 0
        for _ in range(self.kicks):
            found = [move for kind in self._moves() for move in kind]
            for n in self.rng.permutation(len(found)):
                changed = attempt(found[n], self.at, self.allowed)
                if changed is None or self.trial.before(changed) == np.inf:
                    continue
                if not budget.take():
                    return False
                after = self.trial.score(changed)
                self._go(found[n], changed, points, after)
                points = after
                break
            else:
                self.kicks = 0
                return False
        return self.kicks > 0

    def _ordered(self) -> list[Move]:
        """The moves from where it stands in an order drawn by lot, in which kinds of moves that have helped before come sooner,
        and wider ones later as long as little has been tried."""
        usual, wider = self._moves()
        found = [*usual, *wider]
        chance = np.array([self._promise(move) for move in found])
        chance[len(usual) :] *= min(1.0, (1.0 + len(self.tried)) / constant("usual_first"))
        return [found[i] for i in np.argsort(self.rng.exponential(size=len(found)) / chance)]

    def _promise(self, move: Move) -> float:
        tried, helped = self.luck.get(kind_of(move), (0, 0))
        return (helped + 1.0) / (tried + 10.0)

    def _learn(self, move: Move, helped: bool) -> None:
        before = self.luck.get(kind_of(move), (0, 0))
        self.luck[kind_of(move)] = before[0] + 1, before[1] + helped


def kind_of(move: Move) -> str:
    """The kind of a move; of several at once the kinds of all."""
    if isinstance(move, Moves) and not isinstance(move, Exchange):
        return " ".join(sorted({type(one).__name__ for one in move.moves}))
    return type(move).__name__


def attempt(move: Move, recipe: Recipe, allowed: Allowed) -> Recipe | None:
    """The recipe after a move; None if the move does not fit it or what comes of it is not allowed."""
    try:
        changed = move.changed(recipe)
    except MoveError:
        return None
    return changed if changed != recipe and allowed(changed) else None


def moves(recipe: Recipe, options: Sequence[Option], covers: Sequence[str]) -> Iterator[Move]:
    """Moves that may help a recipe."""
    days = sorted({p.start.month_day for p in recipe.plantings if isinstance(p.start, OnDate)})
    if len(days) == 1 and len(recipe.plantings) > 1:
        for weeks in (-2.0, 2.0):
            yield Moves(tuple(ShiftStart(p.name, weeks) for p in recipe.plantings))
    for planting in recipe.plantings:
        yield from _starts(planting, days, options)
        yield from _amounts(planting)
        yield from _swaps(planting, recipe, options)
        yield DropPlanting(planting.name)
        if not planting.covers:
            for kind in covers:
                yield AddCover(planting.name, CoverUse(kind, AtEvent("start"), AtEvent("start", 42.0)))
        yield from _among(planting, recipe, options)


def _starts(planting: Planting, days: Sequence[str], options: Sequence[Option]) -> Iterator[Move]:
    """Two weeks sooner or later, the sowing days on either side that the recipe has, and the starts that suit the crop."""
    for weeks in (-2.0, 2.0):
        yield ShiftStart(planting.name, weeks)
    if isinstance(planting.start, OnDate):
        now = planting.start.month_day
        near = [*[d for d in days if d < now][-1:], *[d for d in days if d > now][:1]]
        suited = [o.month_day for o in options if o.crop.id == planting.crop.id and o.establish == planting.establish]
        for day in dict.fromkeys(day for day in (*near, *suited) if day != now):
            yield SetStart(planting.name, replace(planting.start, month_day=day))


def _amounts(planting: Planting) -> Iterator[Move]:
    """Fewer and more plants, between the thinnest and the densest that are usual."""
    for share in (FEWER, MORE):
        amount = scaled(planting, share)
        if amount is not None:
            yield SetAmount(planting.name, amount)


def scaled(planting: Planting, share: float) -> Amount | None:
    """Another amount of a planting in whole or round numbers; None where there is none."""
    amount = planting.amount
    if isinstance(amount, Usual):
        amount = Density(usual_density(planting.crop, planting.establish))
    if isinstance(amount, Count):
        count = max(1, round(amount.plants * share))
        return Count(count) if count != amount.plants else None
    if isinstance(amount, Density):
        record = planting.crop.records["spacing.density"]
        most = max(record.high or record.value, planting.crop.number("spacing.cutting_density", 0.0))
        density = round_density(min(amount.per_m2 * share, most))
        return Density(density) if density != amount.per_m2 else None
    return None


def _swaps(planting: Planting, recipe: Recipe, options: Sequence[Option]) -> Iterator[Move]:
    """Other crops that suit the same start and the same kind of place."""
    area = area_of(planting, recipe)
    if not isinstance(planting.start, OnDate) or area is None:
        return
    for option in options:
        if option.month_day == planting.start.month_day and option.crop.id != planting.crop.id:
            trellis = isinstance(planting.where, AtTrellis)
            if trellis != (option.support == "trellis") or (option.crop.form == "climber") != trellis:
                continue
            amount = None if trellis else amount_of(option, area, _share(planting))
            yield SwapCrop(planting.name, option.crop, option.establish, amount)


def _among(planting: Planting, recipe: Recipe, options: Sequence[Option]) -> Iterator[Move]:
    """A quick crop sown on the same day among a slow one."""
    area, crops = area_of(planting, recipe), {p.crop.id for p in recipe.plantings}
    if area is None or not isinstance(planting.start, OnDate):
        return
    for option in options:
        if isinstance(planting.where, WholeBed) and option.crop.id in crops:
            continue
        quick = 7 * (option.last - option.week) <= constant("intercrop_days") and option.crop.form != "climber"
        same_day = option.month_day == planting.start.month_day and option.crop.id != planting.crop.id
        if same_day and (quick or isinstance(planting.where, WholeBed)):
            share = among_share(option, planting.where)
            yield AddPlanting(planting_of(option, planting.where, area, option.crop.name, share=share))


def among_share(option: Option, where: Where) -> float:
    """Share of its own density at which a crop is sown among another: on a piece of ground as thin as is usual at the thinnest,
    in a mixture over the whole bed as few as there is room for."""
    if isinstance(where, WholeBed):
        return constant("intercrop_share")
    return max(constant("intercrop_share"), min(1.0, 1.05 * density_range(option.crop)[0] / option.density))


def area_of(planting: Planting, recipe: Recipe) -> float | None:
    """Ground of a strip, a zone or the whole bed [m2]; None for other places."""
    where = planting.where
    if isinstance(where, Strip | Zone):
        return Piece.of(where, recipe).area_m2
    if isinstance(where, WholeBed):
        return recipe.length_m * recipe.width_m
    return None if not isinstance(where, AtTrellis) else 1.0


def _share(planting: Planting) -> float:
    """Share of its usual density at which a planting stands in a mixture over the whole bed; 1 on ground of its own."""
    if not isinstance(planting.where, WholeBed) or not isinstance(planting.amount, Density):
        return 1.0
    return min(1.0, planting.amount.per_m2 / alone_density(planting.crop))
