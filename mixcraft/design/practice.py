"""What a grower asks of every design before looking at its score: usual months, distances in range, the tall away from the sun,
climbers on supports, rotation, something to pick soon after the first sowing, several kinds in high season.

These are rules, not points: the constraint model keeps them, and no move that breaks one is taken.  Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.frozen import FrozenMap
from mixcraft.recipe.calendar import YEAR
from mixcraft.recipe.density import usual_range
from mixcraft.recipe.model import AtTrellis, Count, WholeBed
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.strip import first_picking
from mixcraft.scoring.sunny_side import height_of, on_the_sunny_side

from .brief import SOWN_ONCE, Brief
from .constants import constant
from .curves import Option
from .rotation import rested, years_apart

Floats = NDArray[np.float64]
ROUNDING = 0.02
"""Share by which a round number of plants may lie outside of the usual range."""
SHARED = 0.05
"""Share of a planting's ground that another may have of it without being in its way.  Common practice, no source."""
QUICK = ("radish", "garden-cress")
"""Crops that are picked within a month of their sowing."""
EARLY_WEEKS = 4
"""Weeks into the wanted ones by which a first sowing still counts as an early one."""
MARGIN_DAYS, MARGIN_KINDS, MARGIN_LOST = 3.0, 0.2, -0.1
"""What is asked beyond the rule over few years, so that it holds over many; one year of four is no proof of a loss."""


@dataclass(frozen=True, slots=True)
class Objection:
    """What speaks against a recipe: a kind (month, distance, sunny side, support, rotation, lost, first picking, kinds), the
    plantings that it is about and how much it weighs."""

    kind: str
    plantings: tuple[str, ...] = ()
    size: float = 1.0


@dataclass(frozen=True)
class Practice:
    """The rules for a bed: month-days on which each crop (by id) may be started, days from the first sowing to the first picking
    at most (None = whenever) and kinds in high season at least, within `span` weeks; `once` where all is sown once."""

    starts: Mapping[str, tuple[int, ...]] = FrozenMap()
    soon_days: float | None = None
    kinds: int = 0
    once: bool = False
    span: int = 1

    @property
    def eased(self) -> Practice | None:
        """The rules with one kind fewer, then without a first picking; None where nothing is left to ease."""
        if self.kinds > 0:
            return replace(self, kinds=self.kinds - 1)
        return None if self.soon_days is None else replace(self, soon_days=None)

    def planned(self, plan: Plan) -> list[Objection]:
        """What speaks against a plan before anything grows."""
        said = [Objection("month", (p.name,)) for p in plan.plantings if not self._usual_month(p, plan)]
        said += [Objection("distance", (p.name,), size) for p in plan.plantings if (size := _out_of_range(p, self.once)) > 0.0]
        said += _twice(plan)
        said += [Objection("support", (p.name,)) for p in plan.plantings if not _held(p)]
        said += [Objection("rotation", (p.name,)) for p in plan.plantings if not rested(p.planting.crop, plan.bed)]
        if not self.once:
            wrong = on_the_sunny_side(plan, constant("near_start_days"))
            said += [*(Objection("sunny side", names) for names in wrong), *_after_its_kin(plan)]
        return said

    def grown(self, evidence: Evidence, *, strict: bool = False) -> list[Objection]:
        """What speaks against what came of a plan; `strict` with a margin."""
        said = [*self._lost(evidence, strict), *self._late(evidence, strict), *self._same_things(evidence, strict)]
        if not self.once and not (strict and few(evidence)):
            said += in_the_shadow(evidence)
        return said

    def _usual_month(self, planned: Planned, plan: Plan) -> bool:
        """Whether a start lies within a week of one that suits the crop; yes for a crop of which nothing is known here."""
        starts = self.starts.get(planned.planting.crop.id)
        if starts is None:
            return True
        day = plan.offset + planned.start
        apart = [(day - start) % YEAR for start in starts]
        return any(min(days, YEAR - days) <= constant("near_start_days") for days in apart)

    def _lost(self, evidence: Evidence, strict: bool) -> Iterator[Objection]:
        """Plantings that are killed, never up, run to seed or not ready in too many years."""
        lost, most = evidence.fates, constant("lost_most") - (MARGIN_LOST if strict and few(evidence) else 0.0)
        share = (lost.killed | lost.lost | lost.bolted | lost.unready).mean(axis=0)
        for i in np.nonzero(share > most)[0]:
            yield Objection("lost", (evidence.names[i],), 0.5 + float(share[i]))

    def _late(self, evidence: Evidence, strict: bool) -> Iterator[Objection]:
        """A first picking that comes too long after the first sowing."""
        if self.soon_days is None:
            return
        late = first_picking_days(evidence) - self.soon_days + (MARGIN_DAYS if strict else 0.0)
        if late > 0.0:
            yield Objection("first picking", (), min(0.5 + late / 14.0, 5.0))

    def _same_things(self, evidence: Evidence, strict: bool) -> Iterator[Objection]:
        """Too few kinds in high season."""
        lacking = self.kinds - kinds_in_high_season(evidence, self.span)
        lacking += MARGIN_KINDS if strict else 0.0
        if lacking > 1e-9 and self.kinds:
            yield Objection("kinds", (), 0.5 + lacking)


ANY = Practice()
"""Rules that are not looked at."""


def few(evidence: Evidence) -> bool:
    """Whether a season has the few years of a trial."""
    return evidence.season.years <= constant("few_years")


def in_the_shadow(evidence: Evidence) -> Iterator[Objection]:
    """Plantings on whose ground the noon shadow of a taller one lies for long, by the shadows of what has grown."""
    plantings, share = evidence.season.plan.plantings, evidence.shadows.share
    for low, tall in zip(*np.nonzero(share > constant("shadow_most")), strict=True):
        if height_of(plantings[tall]) > height_of(plantings[low]) + constant("taller_m"):
            yield Objection("sunny side", (evidence.names[tall], evidence.names[low]), 0.5 + float(share[low, tall]))


def first_picking_days(evidence: Evidence) -> float:
    """Days from the first sowing or planting to the first picking as a card prints it, the middle of the years of the soonest
    harvest; a year if none comes."""
    settled, first = evidence.season.plan, first_picking(evidence.season)
    sown = settled.date(min(p.start for p in settled.plantings))
    return float(YEAR) if first is None else float((first - sown).astype(int))


def kinds_in_high_season(evidence: Evidence, span: int = 1) -> float:
    """Kinds on the plate within `span` weeks, mean of the years, in the best third of the wanted weeks."""
    eaten = evidence.eaten.portions[evidence.weeks.wanted].mean(axis=1)
    if len(eaten) < span:
        return 0.0
    within = np.lib.stride_tricks.sliding_window_view(eaten, span, axis=0).sum(axis=-1)
    on = (within >= constant("kind_portions")).sum(axis=1)
    return float(np.sort(on)[-high_weeks(len(eaten)) :].mean())


def high_weeks(wanted: int) -> int:
    """Weeks of high season among so many wanted ones."""
    return max(1, wanted // 3)


def weight(objections: Sequence[Objection]) -> float:
    """How much objections weigh together."""
    return sum(o.size for o in objections)


def practice_of(
    brief: Brief, found: Sequence[Option], starts: Mapping[str, tuple[int, ...]], area_m2: float, weeks: range
) -> Practice:
    """The rules for a bed of `area_m2`, `weeks` of the almanac wanted, with the options that there are and the days of the
    almanac on which each crop may be started.  A small bed, and one that is sown once, has its kinds within a month."""
    once = brief.style == SOWN_ONCE
    span = 4 if once or area_m2 < constant("kinds_from_m2") else 1
    return Practice(FrozenMap(starts), soon_days(found, weeks), most_kinds(found, weeks, span), once, span)


def soon_days(found: Sequence[Option], weeks: range) -> float | None:
    """Days after the first sowing by which something is to be picked: four weeks, or as soon as anything can be here; None where
    neither radish nor cress may grow."""
    waits = [o.wait_days for o in found if o.week < weeks[0] + EARLY_WEEKS]
    if not waits or not any(o.crop.id in QUICK for o in found):
        return None
    return max(constant("soon_days"), min(waits))


def most_kinds(found: Sequence[Option], weeks: range, span: int) -> int:
    """Kinds that a design has in high season at the least: the usual number, or as many as there are."""
    count = np.zeros(len(weeks), dtype=np.int64)
    for kind in {o.kind for o in found}:
        count += np.array([any(o.kg_m2[w : w + span].max() > 1e-3 for o in found if o.kind == kind) for w in weeks])
    there = int(np.sort(count)[-high_weeks(len(weeks))]) if len(weeks) else 0
    return min(int(constant("kinds_aimed")), there)


def _out_of_range(planned: Planned, once: bool) -> float:
    """How far a stand is from its usual distances, 0 in range.  In a mixture over the whole bed only too many are too many; a
    whole number of plants is in range if no other is."""
    low, high = _range(planned)
    density, area = planned.density_per_m2, planned.stand.area_m2
    if density > high * (1.0 + ROUNDING):
        counted = isinstance(planned.planting.amount, Count)
        return 0.0 if counted and planned.stand.plants <= 1.0 and area * high >= 0.8 else 0.5 + density / high - 1.0
    among = once or isinstance(planned.planting.where, WholeBed)
    if among or density >= low * (1.0 - ROUNDING):
        return 0.0
    nearest = planned.stand.plants + 1.0
    return 0.0 if isinstance(planned.planting.amount, Count) and nearest / area > high else 0.5 + 1.0 - density / low


def _range(planned: Planned) -> tuple[float, float]:
    """Usual densities [1/m2] of a stand, least and greatest, and some more where but one is known."""
    low, high = usual_range(planned)
    more = constant("range_unknown") if high <= low else 0.0
    return low * (1.0 - more), high * (1.0 + more)


def _twice(plan: Plan) -> Iterator[Objection]:
    """Plantings of a crop that go into ground on which it stands already, where both are too many together or went in on one
    day, as one planting would."""
    for before, after in combinations(sorted(plan.plantings, key=lambda p: p.start), 2):
        if before.planting.crop.id != after.planting.crop.id or before.end <= after.start:
            continue
        shared = float(np.minimum(before.stand.cells, after.stand.cells).sum() / after.stand.cells.sum())
        over = (after.density_per_m2 + shared * before.density_per_m2) / _range(after)[1]
        if shared > SHARED and (over > 1.0 + ROUNDING or before.start == after.start):
            yield Objection("distance", (after.name,), 0.5 + max(0.0, over - 1.0))


def _held(planned: Planned) -> bool:
    """Whether a climber has something to climb."""
    planting = planned.planting
    return planting.crop.form != "climber" or bool(planting.support) or isinstance(planting.where, AtTrellis)


def _after_its_kin(plan: Plan) -> Iterator[Objection]:
    """Plantings that go into the ground of their own family in the same year, or of a host of the same soil-borne disease, be it
    cleared or still there; what is sown together is one mixture."""
    for before in plan.plantings:
        for after in plan.plantings:
            if after is before or after.start <= before.start or not years_apart(before.planting.crop, after.planting.crop):
                continue
            a, b = before.stand.cells, after.stand.cells
            if float(np.minimum(a, b).sum()) > SHARED * float(min(a.sum(), b.sum())):
                yield Objection("rotation", (after.name, before.name))
