"""Moves: small changes of a recipe, the language in which repairs, `mend` and the design engine speak.

A move has two readings.  `changed(recipe)` is the changed recipe; `edits(recipe)` is the same change of the text of its file,
which keeps the user's comments and order (for `mixcraft.files.edit_document`).  Reading the edited text gives the changed
recipe.  Plantings are named; a move that does not fit the recipe raises `MoveError`, which says what to do instead.  A changed
recipe may break rules or not fit the bed: `rules.check` and the plan say so.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace

from mixcraft.crops.clock import DORMANT
from mixcraft.crops.model import Crop
from mixcraft.files.edit import Change

from .edits import changes_between
from .layout import usual_density
from .model import (
    After,
    Again,
    Amount,
    AutumnFrost,
    Count,
    CoverUse,
    Density,
    End,
    HarvestUse,
    OnDate,
    Planting,
    Points,
    Recipe,
    SeedRate,
    SpringFrost,
    Start,
    Times,
    Usual,
    WarmSoil,
    Where,
)


class MoveError(ValueError):
    """The move does not fit the recipe; the message says why and what would."""


@dataclass(frozen=True, slots=True)
class Move:
    """A change of a recipe; each kind is a class of its own."""

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        raise NotImplementedError

    def edits(self, recipe: Recipe) -> tuple[Change, ...]:
        """The same as changes of the text that `recipe_text(recipe)` gives, in order; raises `MoveError`."""
        return changes_between(recipe, self.changed(recipe))


def planting_called(recipe: Recipe, name: str) -> Planting:
    """The planting called `name`; raises `MoveError` with the names that there are."""
    for planting in recipe.plantings:
        if planting.name == name:
            return planting
    raise MoveError(f"no planting is called {name!r}; there are {', '.join(p.name for p in recipe.plantings)}")


def _with(recipe: Recipe, name: str, change: Callable[[Planting], Planting]) -> Recipe:
    """The recipe with the planting called `name` changed."""
    planting_called(recipe, name)
    return replace(recipe, plantings=tuple(change(p) if p.name == name else p for p in recipe.plantings))


# How many and where --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SetAmount(Move):
    """Another amount of a planting; drawn points have none."""

    planting: str
    amount: Amount

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        drawn = isinstance(planting_called(recipe, self.planting).where, Points)
        if drawn and not isinstance(self.amount, Usual):
            raise MoveError(f"{self.planting} stands at drawn points; take some of them away, or move it to another place")
        return _with(recipe, self.planting, lambda p: replace(p, amount=self.amount))


@dataclass(frozen=True, slots=True)
class SetPlace(Move):
    """Another place, or another edge of a trellis; plants that were drawn one by one keep their number."""

    planting: str
    where: Where

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""

        def moved(old: Planting) -> Planting:
            amount: Amount = old.amount
            if isinstance(self.where, Points):
                amount = Usual()
            elif isinstance(old.where, Points) and isinstance(amount, Usual):
                amount = Count(len(old.where.at))
            return replace(old, where=self.where, amount=amount)

        return _with(recipe, self.planting, moved)


@dataclass(frozen=True, slots=True)
class SetEstablishment(Move):
    """Another way of establishing, with another amount if one is given."""

    planting: str
    establish: str
    amount: Amount | None = None

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        old = planting_called(recipe, self.planting)
        amount: Amount = old.amount if self.amount is None else self.amount
        if isinstance(amount, SeedRate) and self.establish in (*DORMANT, "module"):
            amount = Usual()
        return _with(recipe, self.planting, lambda p: replace(p, establish=self.establish, amount=amount))


# When ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SetStart(Move):
    """Another start rule."""

    planting: str
    start: Start

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        return _with(recipe, self.planting, lambda p: replace(p, start=self.start))


@dataclass(frozen=True, slots=True)
class ShiftStart(Move):
    """The same start rule, so many weeks later (or earlier, if negative)."""

    planting: str
    weeks: float

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        start = shifted(planting_called(recipe, self.planting), self.weeks)
        return _with(recipe, self.planting, lambda p: replace(p, start=start))


def shifted(planting: Planting, weeks: float) -> Start:
    """The start rule of a planting so many weeks later; raises `MoveError` for one that cannot be shifted."""
    rule = planting.start
    if isinstance(rule, OnDate):
        return replace(rule, month_day=shifted_month_day(rule.month_day, round(7 * weeks)))
    if isinstance(rule, SpringFrost | AutumnFrost):
        return replace(rule, weeks=rule.weeks + weeks)
    if isinstance(rule, WarmSoil):
        if rule.not_before and weeks > 0:
            return replace(rule, not_before=shifted_month_day(rule.not_before, round(7 * weeks)))
        raise MoveError(f"{planting.name} starts when the soil is warm; give it a date or weeks from a frost instead")
    if rule.wait_days + 7 * weeks < 0:
        raise MoveError(f"{planting.name} would start before {rule.planting} lets it; give it a start of its own")
    return replace(rule, wait_days=rule.wait_days + 7 * weeks)


def shifted_month_day(text: str, days: int) -> str:
    """A month-day so many days later in a year of 365 days."""
    day = datetime.date(2001, int(text[:2]), int(text[3:])) + datetime.timedelta(days)
    return f"{day:%m-%d}" if f"{day:%m-%d}" != "02-29" else "02-28"


@dataclass(frozen=True, slots=True)
class SetEnd(Move):
    """Another end rule."""

    planting: str
    end: End

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        return _with(recipe, self.planting, lambda p: replace(p, end=self.end))


# Covers and harvest --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AddCover(Move):
    """One more cover."""

    planting: str
    cover: CoverUse

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        return _with(recipe, self.planting, lambda p: replace(p, covers=(*p.covers, self.cover)))


@dataclass(frozen=True, slots=True)
class SetCover(Move):
    """Another cover in the place of cover `number` (from 0)."""

    planting: str
    number: int
    cover: CoverUse

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        covers = list(_cover(recipe, self.planting, self.number))
        covers[self.number] = self.cover
        return _with(recipe, self.planting, lambda p: replace(p, covers=tuple(covers)))


@dataclass(frozen=True, slots=True)
class RemoveCover(Move):
    """Cover `number` (from 0) left away."""

    planting: str
    number: int

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        covers = list(_cover(recipe, self.planting, self.number))
        del covers[self.number]
        return _with(recipe, self.planting, lambda p: replace(p, covers=tuple(covers)))


def _cover(recipe: Recipe, name: str, number: int) -> tuple[CoverUse, ...]:
    covers = planting_called(recipe, name).covers
    if not 0 <= number < len(covers):
        raise MoveError(f"{name} has {len(covers) or 'no'} cover{'' if len(covers) == 1 else 's'}; there is no number {number}")
    return covers


@dataclass(frozen=True, slots=True)
class SetHarvest(Move):
    """How one part is picked; parts that are picked already stay, the main one too if nothing was said."""

    planting: str
    use: HarvestUse

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        old = planting_called(recipe, self.planting)
        part = old.crop.part(self.use.part)
        if part is None:
            raise MoveError(f"{old.crop.name} has no part {self.use.part!r}; it has {', '.join(p.name for p in old.crop.parts)}")
        uses = list(old.harvest) or [HarvestUse(old.crop.main_part.name)]
        same = [n for n, use in enumerate(uses) if old.crop.part(use.part) is part]
        if same:
            uses[same[0]] = self.use
        else:
            uses.append(self.use)
        return _with(recipe, self.planting, lambda p: replace(p, harvest=tuple(uses)))


# Plantings -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SwapCrop(Move):
    """Another crop in the same place at the same time, established as usual and picked as usual unless said.

    Plantings that wait for the old one wait for the new one.
    """

    planting: str
    crop: Crop
    establish: str = ""
    amount: Amount | None = None
    name: str = ""

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        old = planting_called(recipe, self.planting)
        others = [p.name for p in recipe.plantings if p is not old]
        name = free_name(self.name or self.crop.name, others)
        way = self.establish or (old.establish if old.establish in self.crop.establish else self.crop.establish[0])
        amount = Usual() if self.amount is None or isinstance(old.where, Points) else self.amount
        new = Planting(
            name, self.crop, way, old.where, old.start, old.end, amount, covers=old.covers, support=old.support,
            support_height_m=old.support_height_m, path=old.path,
        )  # fmt: skip

        def with_new(planting: Planting) -> Planting:
            if planting is old:
                return new
            start = planting.start
            if not isinstance(start, After) or start.planting != old.name:
                return planting
            return replace(planting, start=replace(start, planting=name))

        return replace(recipe, plantings=tuple(with_new(p) for p in recipe.plantings))


def free_name(name: str, taken: list[str]) -> str:
    """A name that no planting has: `name`, else with "again", else with a number."""
    if name not in taken:
        return name
    candidates = [f"{name} again", *(f"{name} {n}" for n in range(3, len(taken) + 5))]
    return next(c for c in candidates if c not in taken)


@dataclass(frozen=True, slots=True)
class AddPlanting(Move):
    """One more planting, the last of the recipe; its name is changed if there is one of that name."""

    planting: Planting

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        name = free_name(self.planting.name, [p.name for p in recipe.plantings])
        return replace(recipe, plantings=(*recipe.plantings, replace(self.planting, name=name, path=())))


@dataclass(frozen=True, slots=True)
class DropPlanting(Move):
    """A planting left out; refused while others wait for it, and for the only one."""

    planting: str

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        old = planting_called(recipe, self.planting)
        if len(recipe.plantings) == 1:
            raise MoveError(f"{self.planting} is the only planting; a recipe has at least one")
        waiting = [p.name for p in recipe.plantings if isinstance(p.start, After) and p.start.planting == self.planting]
        if waiting:
            raise MoveError(f"{' and '.join(waiting)} wait for {self.planting}; give them a start of their own first")
        return replace(recipe, plantings=tuple(p for p in recipe.plantings if p is not old))


@dataclass(frozen=True, slots=True)
class SplitIntoSuccessions(Move):
    """The same amount in so many sowings, each so many days after the one before."""

    planting: str
    sowings: int
    every_days: float

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        old = planting_called(recipe, self.planting)
        if isinstance(old.where, Points):
            raise MoveError(f"{self.planting} stands at drawn points, which cannot be shared out; move it to another place first")
        if self.sowings < 2 or old.again is not None:
            raise MoveError(f"{self.planting} can be split once, into two sowings or more")
        amount: Amount = old.amount
        if isinstance(amount, Usual):
            amount = Density(usual_density(old.crop, old.establish))
        shared, again = share_of(amount, 1.0 / self.sowings), Again(self.every_days, Times(self.sowings))
        return _with(recipe, self.planting, lambda p: replace(p, amount=shared, again=again))


@dataclass(frozen=True, slots=True)
class SetAgain(Move):
    """Sown again and again in another rhythm, or only once."""

    planting: str
    again: Again | None

    def changed(self, recipe: Recipe) -> Recipe:
        """The changed recipe; raises `MoveError`."""
        return _with(recipe, self.planting, lambda p: replace(p, again=self.again))


def share_of(amount: Amount, share: float) -> Amount:
    """A share of an amount, at least one plant; what is not said stays so."""
    match amount:
        case Count(plants):
            return Count(max(1, round(plants * share)))
        case Density(per_m2):
            return Density(float(f"{per_m2 * share:.3g}"))
        case SeedRate(g_per_m2):
            return SeedRate(float(f"{g_per_m2 * share:.3g}"))
    return amount


@dataclass(frozen=True, slots=True)
class Moves(Move):
    """Moves one after another, as one."""

    moves: tuple[Move, ...]

    def changed(self, recipe: Recipe) -> Recipe:
        """The recipe after all moves; raises `MoveError`."""
        for move in self.moves:
            recipe = move.changed(recipe)
        return recipe

    @property
    def placed(self) -> tuple[str, ...]:
        """Names of the plantings that get another place."""
        return tuple(move.planting for move in self.moves if isinstance(move, SetPlace))


@dataclass(frozen=True, slots=True)
class Exchange(Moves):
    """Plantings that change places, and their numbers with the size of these."""


@dataclass(frozen=True, slots=True)
class Resize(Moves):
    """Neighbours of which some get more ground and some less, and their numbers with it."""


@dataclass(frozen=True, slots=True)
class Share(Moves):
    """Part of the ground of a planting to another one."""

    @property
    def added(self) -> str:
        """Name of the one that comes."""
        return next(move.planting.name for move in self.moves if isinstance(move, AddPlanting))
