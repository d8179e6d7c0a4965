"""What the part scores rest on, each measure computed when first asked for and once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixcraft.graph import KINDS, Edge, edges_of
from mixcraft.graph.traits import growing
from mixcraft.recipe.collisions import Collision, collisions
from mixcraft.recipe.density import densest, standing_density, usual_range
from mixcraft.recipe.model import Plate
from mixcraft.recipe.plan import Planned
from mixcraft.season.overlaps import bed_overlaps
from mixcraft.season.result import Band, Season
from mixcraft.season.stand import unheld

from .constants import constants
from .cutting import cut_as_wanted
from .fates import Fates, fates
from .lifting import lifted
from .losses import growth_losses
from .measures import (
    ater_band,
    bands,
    days_together,
    ground_claimed,
    ground_shared,
    growth_kept,
    land_equivalent_ratio,
    land_use_efficiency,
    middles,
    must_share,
    picking_kept,
    planting_weights,
)
from .model import Gap, StripWeek
from .outlook import outlook
from .plate import Eaten, Wanted, eat, good_until
from .portions import Kind, kinds_of, portions_of, wanted_of
from .reference import Reference, references
from .shadow import Shadows, noon_shadows
from .strip import Weeks, harvest_strip, judged_weeks, plate_of, strip_gaps, wanted_windows

Floats = NDArray[np.float64]
VINES = ("Cucurbitaceae",)
"""Families whose climbers bear on the ground too.  Common practice, no source."""
AT_ONCE = 1 << 14
"""About so many cells by years and weeks are looked at in one go: what a processor has at hand."""


@dataclass(frozen=True)
class Evidence:
    """A season with its measures: edges of the graph, growth kept, wanted weeks, harvest strip, land equivalent ratio."""

    season: Season

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Edges of the interaction graph."""
        return tuple(edge for kind in KINDS for edge in self.edges_of(kind))

    def edges_of(self, kind: str) -> tuple[Edge, ...]:
        """Edges of the interaction graph of one kind, found when first asked for."""
        if kind not in self._edges:
            self._edges[kind] = tuple(edges_of(kind, self.season, self.overlaps, self.alive))
        return self._edges[kind]

    @cached_property
    def _edges(self) -> dict[str, tuple[Edge, ...]]:
        return {}

    @cached_property
    def alive(self) -> NDArray[np.bool_]:
        """Whether each planting has leaves in at least half of the years, (D, P)."""
        return growing(self.season)

    @cached_property
    def overlaps(self) -> Floats:
        """Share of its ground that each planting has in common with each other, (P, P)."""
        return bed_overlaps(self.season.plan)

    def edge_dates(self, edge: Edge) -> tuple[np.datetime64, np.datetime64]:
        """First and last calendar day of an edge."""
        return self.season.plan.date(edge.days[0]), self.season.plan.date(edge.days[1])

    def edge_key(self, edge: Edge) -> tuple[str, str, str]:
        """An edge by the names of its plantings: from, to, kind."""
        return self.names[edge.source], self.names[edge.target], edge.kind

    @cached_property
    def fates(self) -> Fates:
        """What undoes each planting in which years: many of them where the weather is drawn, else those of the season."""
        return outlook(self.season.plan) if self.season.weather.drawn else fates(self.season)

    @cached_property
    def known_fates(self) -> Fates:
        """`fates`, plantings of which nothing is known yet in the many years taken to be safe."""
        return outlook(self.season.plan, known=True) if self.season.weather.drawn else self.fates

    @cached_property
    def kept(self) -> Floats:
        """Growth kept beside the same planting without the others, (Y, P)."""
        return growth_kept(self.season)

    @cached_property
    def picking_kept(self) -> Floats:
        """What is picked beside the same planting without the others, (Y, P); nan where that gives no picking."""
        return picking_kept(self.season)

    @cached_property
    def fares(self) -> Floats:
        """How each planting fares among the others, (Y, P): what it keeps of its growth, or of its picking where that is less.
        Leaf must have grown before there is something to pick, and in the shade little sets, so that a planting that keeps most
        of its growth may lose half of what is picked."""
        return np.fmin(self.kept, self.picking_kept)

    @cached_property
    def growth_losses(self) -> Floats:
        """Share of its growth alone that each planting loses among the others to light, water, nutrients and room, (P, 4)."""
        return growth_losses(self.season, middles(self.kept))

    @cached_property
    def plate(self) -> Plate:
        """What the household wants of the bed."""
        return plate_of(self.season.plan)

    @cached_property
    def wanted(self) -> Wanted:
        """Portions and kinds that the household wants a week, and how much of it one kind may be."""
        return wanted_of(self.plate, self.season.plan.bed.area_m2, self.kinds)

    @cached_property
    def kinds(self) -> tuple[Kind, ...]:
        """The different things to eat that the plan gives."""
        return kinds_of(self.season.harvests, self.season.plan)

    @cached_property
    def portions(self) -> Floats:
        """Portions by week of the season and kind, (S, Y, K); plants that are set on the spots of others give none."""
        cut = self.cut_kg
        if not self.collisions:
            return portions_of(cut, self.kinds)
        return portions_of(cut * self.unspoilt[[h.planting for h in self.season.harvests]], self.kinds)

    @cached_property
    def portion_g(self) -> Floats:
        """Weight of a portion of each kind [g], (K,), the mean of its parts."""
        return np.array([float(np.mean(kind.portion_g)) for kind in self.kinds])

    @cached_property
    def weeks(self) -> Weeks:
        """The weeks that are judged: of the years in which the household may eat from the bed, that which gives it most."""
        plan, count = self.season.plan, len(self.portions)
        choices = [judged_weeks(count, window) for window in wanted_windows(plan)]
        return max(choices, key=lambda w: float(np.minimum(w.spread(self._weekly), self.wanted.portions)[w.wanted].sum()))

    @cached_property
    def _weekly(self) -> Floats:
        """Portions by week, mean of the years, (S,)."""
        return np.asarray(self.portions.sum(axis=2).mean(axis=1))

    @cached_property
    def eaten(self) -> Eaten:
        """What the household eats in the judged weeks."""
        keeps = np.array([kind.keeps_weeks for kind in self.kinds], dtype=np.int64)
        until = good_until(keeps, self.weekly_c, np.array([kind.cool for kind in self.kinds], dtype=bool))
        return eat(self.weeks.spread(self.portions), keeps, self.wanted, self.weeks.wanted, until)

    @cached_property
    def weekly_c(self) -> Floats:
        """Mean air temperature of the judged weeks [C], (W,), mean of the years; outside the season that of its ends."""
        daily = self.season.weather.tmean_c.mean(axis=0)[self.season.before :]
        weekly = daily[: len(daily) // 7 * 7].reshape(-1, 7).mean(axis=1)
        return np.asarray(weekly[np.clip(np.arange(self.weeks.total) - self.weeks.before, 0, len(weekly) - 1)])

    @cached_property
    def weekly_kg(self) -> Floats:
        """Fresh kilograms by week of the season and harvest, (W, Y, H)."""
        return self.season.weekly_kg()

    @cached_property
    def cut_kg(self) -> Floats:
        """`weekly_kg`, heads in the weeks in which they are cut as they are wanted (`cutting`)."""
        return cut_as_wanted(self.season, self.overlaps, self.weekly_kg)

    @cached_property
    def strip(self) -> tuple[StripWeek, ...]:
        """The weeks of the season with what is picked."""
        return harvest_strip(self.season, self.weeks, self.weekly_kg, self.eaten.served)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Runs of wanted weeks in which most years put next to nothing on the plate."""
        empty = np.median(self.eaten.served, axis=1) < constants()["gap_served"]
        return strip_gaps(self.season.plan, self.weeks, empty)

    @cached_property
    def planting_kg(self) -> tuple[Floats, Floats]:
        """Fresh kilograms of the season by planting, (Y, P): in the mixture, and of the sole crops."""
        return self.season.planting_kg(), self.season.planting_kg("sole")

    @cached_property
    def growth_g(self) -> Floats:
        """Dry matter that each planting makes over the season, mean of the years, (P,)."""
        return np.asarray(self.season.growth_g.sum(axis=0).mean(axis=0))

    @cached_property
    def ler_by_year(self) -> Floats:
        """Land equivalent ratio, (Y,)."""
        return land_equivalent_ratio(*self.planting_kg)

    @cached_property
    def ler(self) -> Band:
        """Band of the land equivalent ratio."""
        return bands(self.ler_by_year[:, None])[0]

    @cached_property
    def ater(self) -> Band:
        """Band of the area-time equivalence ratio; every planting's sole twin keeps its own dates."""
        return ater_band(self.season, *self.planting_kg)

    @cached_property
    def partial_ler(self) -> Mapping[str, float]:
        """Partial land equivalent ratio of each planting, middle of the years; nan for what gives nothing alone."""
        mixture, sole = self.planting_kg
        partial = np.divide(mixture, sole, out=np.full_like(mixture, np.nan), where=sole > 1e-6)
        return dict(zip(self.names, known_middles(partial), strict=True))

    @cached_property
    def references(self) -> Mapping[str, Reference]:
        """What good practice gives of each crop at the place, by crop id."""
        plan = self.season.plan
        return references((p.planting.crop for p in plan.plantings), plan.place)

    @cached_property
    def land_use(self) -> tuple[Floats, Floats]:
        """Share of what good practice gives on the whole bed, by planting, (Y, P), and the efficiency of the use of land, (Y,).

        Parts other than the main one count by their fresh mass.  The efficiency is the mean of the land equivalent ratio and the
        area-time equivalence ratio, as Balasubramanian & Sekayange (1990) propose, since the first counts time for
        nothing and the second all of it; the sole crops of both are those of good practice (`reference`).
        """
        plan = self.season.plan
        known = [self.references[p.planting.crop.id] for p in plan.plantings]
        alone = np.array([r.kg_m2 for r in known]) * plan.bed.area_m2
        share = self.food_kg / np.maximum(alone, 1e-9)
        first = min(p.start for p in plan.plantings)
        whole = np.maximum((np.array([p.start for p in plan.plantings]) + self.season.field_days()).max(axis=1) - first, 1.0)
        days = np.array([r.days for r in known])
        return share, land_use_efficiency(share, days, whole)

    @cached_property
    def due_given(self) -> Floats:
        """What each planting gives of what is due from its part of the ground, (Y, P), 0..1: `poor_row` of what good practice
        gives on the ground that is left to it where it must share it.  Nothing is due from what is no food or is too young."""
        plan, c = self.season.plan, constants()
        ground = np.array([min(p.stand.area_m2 / plan.bed.area_m2, 1.0) for p in plan.plantings])
        shared, must = ground_shared(plan, self.overlaps), must_share(plan, self.overlaps)
        forced = np.divide(must, shared, out=np.zeros_like(must), where=shared > 0.0)
        due = c["poor_row"] * ground / (1.0 + forced * ground_claimed(plan, self.overlaps))
        given = np.minimum(self.land_use[0] / due, 1.0)
        given[:, [not _due(p) for p in plan.plantings]] = 1.0
        return np.asarray(given)

    @cached_property
    def food_kg(self) -> Floats:
        """Fresh kilograms of food by planting, (Y, P); what is no food does not count, what is given
        away less, a glut for little, and what the fork of a neighbour disturbs, or is set on the spot of another, not."""
        result = np.zeros((self.season.years, len(self.names)))
        counts, picked, harvests = self.counts, self.weekly_kg.sum(axis=0), self.season.harvests
        for k, kind in enumerate(self.kinds):
            for h in kind.harvests:
                result[:, harvests[h].planting] += counts[:, k] * picked[:, h]
        return result * self.undisturbed * self.unspoilt

    @cached_property
    def covered(self) -> Floats:
        """Share of the bed that food crops hold in the wanted weeks, (Y,): their leaves cover 1 - exp(-k L) of a cell (Monsi
        & Saeki 1953), and hold it from `holds_from` on, plants that stand too thin only their part of it (`stocked`); what they
        do not hold grows weeds."""
        season, plan = self.season, self.season.plan
        food = np.array([any(h.part.food for h in p.harvests) for p in plan.plantings])
        each = np.array([p.planting.crop["canopy.k"] / p.stand.area_m2 for p in plan.plantings]) * food
        cells, alike = alike_columns(np.stack([p.stand.cells for p in plan.plantings]).reshape(len(each), -1))
        first = np.arange(0, season.days, 7) + np.minimum(3, season.days - 1 - np.arange(0, season.days, 7))
        on, weekly, most = self.weeks.wanted, np.zeros((len(first), season.years)), constants()["holds_from"]
        thin = bool((self.stocked < 1.0).any())
        weeks = np.nonzero(on[self.weeks.before :][: len(first)])[0]
        for some in np.array_split(weeks, 1 + weeks.size * weekly.shape[1] * cells.shape[1] // AT_ONCE):
            leaf = season.leaf_m2[first[some]]
            held = np.minimum((1.0 - np.exp(-(leaf * each) @ cells)) / most, 1.0)
            if thin:
                held *= np.minimum(((leaf > 0.0) * food * self.stocked) @ cells, 1.0)
            weekly[some] = held @ alike
        return np.asarray(self.weeks.spread(weekly)[on].mean(axis=0)) if on.any() else np.ones(season.years)

    @cached_property
    def stocked(self) -> Floats:
        """Plants of each planting over those of the thinnest usual stand on its ground, (P,), at most 1."""
        thinnest = np.array([usual_range(p)[0] for p in self.season.plan.plantings])
        return np.asarray(np.minimum(self.density / thinnest, 1.0))

    @cached_property
    def there(self) -> Floats:
        """What is left of plantings too thin to make use of their ground, (P,): 1 from `thin_apart` of the thinnest usual stand
        up where they have it to themselves, from `hardly_there` up where others make use of all of it, who do so as far as they
        are `stocked` themselves; below that a power of their plants, as of the room in a stand too thick."""
        c, stocked = constants(), self.stocked
        if (stocked >= c["thin_apart"]).all():
            return np.ones(len(stocked))
        used = np.minimum(ground_claimed(self.season.plan, self.overlaps * stocked), 1.0)
        least = c["thin_apart"] - (c["thin_apart"] - c["hardly_there"]) * used
        return np.asarray(np.minimum(stocked / least, 1.0) ** c["thinness_power"])

    @cached_property
    def held(self) -> Floats:
        """What is left of climbers that nothing holds, (P,): no support of their own and no sturdy neighbour; low ones hold one
        another, and vines run over the ground as well."""
        plan, c = self.season.plan, constants()
        lies = [p.planting.crop["canopy.height"] <= c["tall_m"] or p.planting.crop.family in VINES for p in plan.plantings]
        return np.where(unheld(plan, self.overlaps) & ~np.array(lies), 1.0 - c["unheld_loss"], 1.0)

    @cached_property
    def given(self) -> Floats:
        """Portions that the household does not eat in time and gives away in the week of their picking, (W, Y, K)."""
        spoiled = self.eaten.spoiled
        total = spoiled.sum(axis=2, keepdims=True)
        given = np.minimum(total, constants()["given_share"] * self.wanted.portions)
        return np.asarray(spoiled * np.divide(given, total, out=np.zeros_like(total), where=total > 1e-9))

    @cached_property
    def wasted(self) -> Floats:
        """Portions that nobody eats in time and that are more than can be given away in the week of their picking, (W, Y, K)."""
        return self.eaten.spoiled - self.given

    @cached_property
    def counts(self) -> Floats:
        """What a portion of each kind counts, mean of all that is picked of it, (Y, K): 1 if the household eats it."""
        c, picked = constants(), self.portions.sum(axis=0)
        lost = (1.0 - c["wasted_counts"]) * self.wasted.sum(axis=0) + (1.0 - c["given_counts"]) * self.given.sum(axis=0)
        return np.asarray(1.0 - np.divide(lost, picked, out=np.zeros_like(picked), where=picked > 1e-9))

    @cached_property
    def collisions(self) -> tuple[Collision, ...]:
        """Plants on one spot at one time."""
        return collisions(self.season.plan)

    @cached_property
    def unspoilt(self) -> Floats:
        """Share of its plants that each planting keeps where some stand on another's spot, (P,)."""
        left = np.ones(len(self.names))
        for hit in self.collisions:
            left[hit.second] *= 1.0 - hit.share * constants()["collision_loss"]
        return left

    @cached_property
    def lifted(self) -> Floats:
        """Part of each planting that is lost as each other one is lifted among it, (P, P)."""
        return lifted(self.season, self.overlaps)

    @cached_property
    def undisturbed(self) -> Floats:
        """Share of each planting that is left when others have been lifted among it, (P,)."""
        return np.asarray((1.0 - self.lifted).prod(axis=1))

    @cached_property
    def crowded(self) -> Floats:
        """Share of its good size that a plant keeps in a stand of its own density, (P,): 1 up to the densest that is usual."""
        plantings = self.season.plan.plantings
        most = np.array([densest(p) for p in plantings])
        at_most = self._as_stands(np.array([p.density_per_m2 for p in plantings]))
        if (at_most <= most).all():
            return np.ones(len(most))
        return np.minimum(1.0, most / self.density) ** constants()["crowding_power"]

    @cached_property
    def shadows(self) -> Shadows:
        """Noon shadows of tall plantings on low ones beside them."""
        return noon_shadows(self.season, self.overlaps)

    @cached_property
    def placing(self) -> float:
        """What tall plantings on the sunny side of low ones leave of the canopy's points, 0..1: by the mean of the plantings, of
        which the one that is shaded most counts more, as in the rest of the canopy, from the shade that is minded."""
        c, each = constants(), np.minimum(self.shadows.share.sum(axis=1), 1.0)
        worst = max(float(each.max()) - c["sunny_side_tolerated"], 0.0)
        shaded = (1.0 - c["canopy_worst_share"]) * float(self.weight @ each) + c["canopy_worst_share"] * worst
        return 1.0 - min(c["sunny_side_times"] * shaded, c["sunny_side_most"])

    @cached_property
    def weight(self) -> Floats:
        """What each planting weighs, (P,)."""
        return planting_weights(self.season.plan)

    @cached_property
    def density(self) -> Floats:
        """Plants of its crop per square metre of the ground that each planting can reach, (P,).

        Plantings of one crop that stand on the same ground at the same time are one stand: each counts for the others by the
        share of their ground and of their days that they have in common, so that a crowd is not hidden by sowing it in parts.
        """
        return self._as_stands(np.array([standing_density(p, self.season.plan.grid) for p in self.season.plan.plantings]))

    def _as_stands(self, own: Floats) -> Floats:
        """Densities of plantings `own`, (P,), with those of the same crop that they stand among."""
        plantings = self.season.plan.plantings
        crops = np.array([p.planting.crop.id for p in plantings])
        same = (crops[:, None] == crops) & ~np.eye(len(own), dtype=bool)
        return np.asarray(own + (same * self.overlaps * days_together(self.season.plan)) @ own)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of the plantings."""
        return tuple(p.name for p in self.season.plan.plantings)


def _due(planned: Planned) -> bool:
    """Whether food is due from a planting in the season that is judged."""
    return any(h.part.food and not planned.planting.too_young(h.part) for h in planned.harvests)


def alike_columns(values: Floats) -> tuple[Floats, Floats]:
    """Columns of (P, C), those that are alike told once, (P, U), and the share of all that each stands for, (U,).

    Columns are put in order by one number each, which tells those that differ apart but for rounding, so that those alike come
    together.
    """
    order = np.argsort(np.exp(np.arange(len(values)) / len(values)) @ values, kind="stable")
    ordered = values[:, order]
    new = np.concatenate([[True], (ordered[:, 1:] != ordered[:, :-1]).any(axis=0)])
    first = np.nonzero(new)[0]
    return ordered[:, first], np.diff(first, append=len(order)) / len(order)


def known_middles(values: Floats) -> list[float]:
    """Middle of the years of each column of (Y, P), years without a value left out; nan where none has one."""
    whole = middles(values).tolist()
    for i in np.nonzero(np.isnan(values).any(axis=0))[0]:
        known = values[~np.isnan(values[:, i]), i]
        whole[i] = float(middles(known)) if known.size else float("nan")
    return [float(value) for value in whole]
