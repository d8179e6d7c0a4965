"""What a bed is to hold, chosen by a constraint model: crops, starts, places and numbers under ground by week, height and sun,
families and history, portions and kinds; with the best bound that is known.

The model knows each crop alone at its usual density.  What crops do to one another is for the season to say.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.model import Crop
from mixcraft.scoring.constants import constants as scoring_constants

from .brief import SOWN_ONCE, Brief
from .constants import constant
from .curves import Option, density_range
from .ground import Ground
from .insisting import picked_soon, several_kinds
from .practice import ANY, Practice
from .solving import solve, solved, solver_for

AREA = 100
"""Ground is counted in hundredths of a square metre."""
LONG_KEEPING = 8
"""Weeks from which what is in store is not followed by its age."""
DAYS_TRIED = 2
"""Days for which a mixture that is sown once is chosen.  Common practice, no source."""
SCALE = 100
"""Portions are counted in hundredths, points in hundredths."""


@dataclass(frozen=True)
class Task:
    """What the model is given: options, ground, the wanted weeks, portions and kinds a week, and by crop the points that it loses
    for what grew in the bed before; `given` are portions by kind and wanted week (W,) that other beds give; `practice` the
    grower's rules; `spare` all starts that may be used once a choice is made."""

    brief: Brief
    options: tuple[Option, ...]
    ground: Ground
    weeks: range
    portions: float
    kinds: float
    rotation: Mapping[str, float] = field(default_factory=dict)
    given: Mapping[tuple[str, str], NDArray[np.float64]] = field(default_factory=dict)
    practice: Practice = ANY
    spare: tuple[Option, ...] = ()

    def from_elsewhere(self, week: int) -> dict[tuple[str, str], float]:
        """Portions by kind that other beds give in a week of the almanac."""
        return {kind: float(portions[week - self.weeks[0]]) for kind, portions in self.given.items()}


@dataclass(frozen=True)
class Placed:
    """An option and the pieces of ground that it has; no pieces = at the trellis.  Where all is sown once, as many pieces of a
    mixture over the whole bed."""

    option: Option
    cells: tuple[int, ...]


@dataclass(frozen=True)
class Choice:
    """What was chosen, with its points in the model, the bound on them and the gap between the two over the bound."""

    placed: tuple[Placed, ...]
    points: float
    bound: float

    @property
    def gap(self) -> float:
        """Share of the bound that is not reached."""
        return max(0.0, (self.bound - self.points) / max(abs(self.bound), 1e-9))


@dataclass(frozen=True, slots=True)
class Demand:
    """A demand of the brief by kind and, for a crop, its name; `number` what it asks for."""

    kind: str
    crop: str = ""
    number: float = 0.0


class Clash(ValueError):  # noqa: N818 -- reads as what happened
    """Demands of a brief that cannot all be met: the smallest such set that was found."""

    def __init__(self, demands: tuple[Demand, ...]) -> None:
        super().__init__(", ".join(f"{d.kind} {d.crop}".strip() for d in demands))
        self.demands = demands


class Model:
    """The constraint model of a task; with `blame` the demands are assumptions, so that those that clash can be told."""

    def __init__(self, task: Task, *, blame: bool = False) -> None:
        from ortools.sat.python import cp_model

        self.cp: Any = cp_model
        self.blame = blame
        self.task, self.model = task, cp_model.CpModel()
        self.once = task.brief.style == SOWN_ONCE
        self.count = int(constant("most_cells")) if self.once else task.ground.count
        self.unit_m2 = sum(task.ground.area_m2(c) for c in range(task.ground.count)) / self.count
        self.most = max(1, math.floor(constant("most_share") * self.count))
        self.pieces = [self.model.new_int_var(0, self.count, f"pieces_{o}") for o in range(len(task.options))]
        self.used = [self.model.new_bool_var(f"used_{o}") for o in range(len(task.options))]
        self.area = [self.model.new_int_var(0, 100 * AREA, f"area_{o}") for o in range(len(task.options))]
        self.climbs = [self._climbs(o) for o in range(len(task.options))]
        self.demands: dict[Any, Demand] = {}
        self.points: list[tuple[Any, int]] = []
        self._places()
        self._room()
        self._plate()
        self._land()
        self._families()
        self._effort()
        self._asked()
        self._practice()
        self.total = sum(weight * var for var, weight in self.points)
        self.model.maximize(self.total)

    # places --------------------------------------------------------------------------------------

    def _climbs(self, o: int) -> Any:
        """Whether an option stands at the trellis; None if it cannot."""
        if self.task.options[o].support == "trellis" and self.task.ground.trellis:
            return self.model.new_bool_var(f"climbs_{o}")
        return None

    def _places(self) -> None:
        """Every planting has pieces of ground, enough for its fewest plants, or the trellis; one that is not used has none."""
        for o, option in enumerate(self.task.options):
            least = least_pieces(option.crop, self.unit_m2) if not self.once else 1
            most = max(self.most, least) if least <= constant("big_share") * self.count else 0
            on_bed, climbing = self.used[o], 0
            if self.climbs[o] is not None:
                on_bed, climbing = self.used[o] - self.climbs[o], round(AREA * self._trellis_m2(o)) * self.climbs[o]
            self.model.add(self.pieces[o] >= least * on_bed)
            self.model.add(self.pieces[o] <= most * on_bed)
            if self.climbs[o] is not None:
                self.model.add(self.climbs[o] <= self.used[o])
            self.model.add(self.area[o] == round(AREA * self.unit_m2) * self.pieces[o] + climbing)

    def _room(self) -> None:
        """In no week more pieces of ground than there are; the next planting comes a while after the last.

        Spans of weeks that fit a number of pieces at every time can always be laid out on them (interval graphs are perfect).
        """
        if self.once:
            self._room_mixed()
            return
        by_family: dict[str, list[Any]] = defaultdict(list)
        for option, pieces in zip(self.task.options, self.pieces, strict=True):
            by_family[option.crop.family].append(pieces)
        for kin in by_family.values():  # none on the ground of another
            self.model.add(sum(kin) <= self.task.ground.count)
        turnover = int(constant("turnover_weeks"))
        by_week: dict[int, list[int]] = defaultdict(list)
        for o, option in enumerate(self.task.options):
            for week in range(option.week, option.last + 1 + turnover):
                by_week[week].append(o)
        seen: set[tuple[int, ...]] = set()
        for _week, together in sorted(by_week.items()):
            if tuple(together) in seen:
                continue
            seen.add(tuple(together))
            self.model.add(sum(self.pieces[o] for o in together) <= self.task.ground.count)
            self.model.add_at_most_one(self.climbs[o] for o in together if self.climbs[o] is not None)

    def _room_mixed(self) -> None:
        """All mixed over the bed: in no week more filled than there is; who is small takes little, who is picked makes room."""
        for week in range(min(o.week for o in self.task.options), max(o.last for o in self.task.options) + 1):
            filled = [round(100 * o.fills(week)) * pieces for o, pieces in zip(self.task.options, self.pieces, strict=True)]
            self.model.add(sum(filled) <= 100 * self.count)

    # points --------------------------------------------------------------------------------------

    def _plate(self) -> None:
        """Portions served and kinds on the plate, week by week; what keeps may be eaten later."""
        task, c = self.task, scoring_constants()
        kinds: dict[tuple[str, str], list[int]] = defaultdict(list)
        for o, option in enumerate(task.options):
            kinds[option.kind].append(o)
        target, weeks = round(SCALE * task.portions), len(task.weeks)
        eaten: dict[int, list[Any]] = defaultdict(list)
        on_plate: dict[int, dict[tuple[str, str], Any]] = defaultdict(dict)
        for kind, members in kinds.items():
            for week, amount in self._eaten(members, target).items():
                eaten[week].append(amount)
                already = min(round(SCALE * task.from_elsewhere(week).get(kind, 0.0)), SCALE)
                one = self.model.new_int_var(0, SCALE - already, "")
                self.model.add(one <= amount)
                on_plate[week][kind] = one
        weight = c["weight_continuity"] * 100.0 * SCALE
        for week in task.weeks:
            served, several = self.model.new_int_var(0, target, ""), self.model.new_int_var(0, round(SCALE * task.kinds), "")
            filled = self.model.new_bool_var("")
            others = task.from_elsewhere(week)
            more = sum(round(SCALE * p) for p in others.values())
            kinds_more = sum(round(SCALE * min(p, 1.0)) for p in others.values())
            self.model.add(served <= sum(eaten[week]) + more)
            self.model.add(sum(eaten[week]) <= target)
            self.model.add(several <= sum(on_plate[week].values()) + kinds_more)
            self.model.add(sum(eaten[week]) + more >= round(c["gap_served"] * target) * filled)
            self.points.append((served, round(weight * (c["share_of_weeks"] + c["used"]) / weeks / target * SCALE)))
            self.points.append((several, round(weight * c["share_of_kinds"] / weeks / task.kinds)))
            self.points.append((filled, round(weight * (c["filled_weeks"] + c["longest_gap"]) / weeks * SCALE)))
        self.on_plate = on_plate

    def _eaten(self, members: Sequence[int], target: int) -> dict[int, Any]:
        """Portions eaten of a kind by wanted week, no more than are picked in time."""
        task, c = self.task, scoring_constants()
        part = task.options[members[0]].crop.main_part
        grams = part.number("portion", c["portion_usual_g"])
        keeps = int(min(part.number("keeps", c["keeps_usual_days"]), c["keeps_most_days"]) // 7)
        most = c["most_of_herb"] if grams <= c["herb_portion_g"] else c["most_of_one"]
        picked: dict[int, Any] = {}
        for week in range(task.weeks[0] - keeps, task.weeks[-1] + 1):
            terms = [round(task.options[o].kg_m2[week] * 1000.0 / grams * SCALE * SCALE / AREA) * self.area[o]
                     for o in members if task.options[o].kg_m2[week] > 1e-4]  # fmt: skip
            if terms:
                picked[week] = sum(terms)
        if not picked:
            return {}
        return self._from_store(picked, keeps, max(round(most * target), 1))

    def _from_store(self, picked: Mapping[int, Any], keeps: int, most: int) -> dict[int, Any]:
        """What is eaten by wanted week of what was picked in it and what keeps from before."""
        result: dict[int, Any] = {}
        store: Any = 0
        for week in range(min(picked), self.task.weeks[-1] + 1):
            at_hand = store + picked.get(week, 0)
            eaten: Any = 0
            if week in self.task.weeks:
                eaten = result[week] = self.model.new_int_var(0, most, "")
                self.model.add(SCALE * eaten <= at_hand)
            if keeps == 0:
                continue
            store = self.model.new_int_var(0, 40 * SCALE * most, "")
            self.model.add(store <= at_hand - SCALE * eaten)
            if keeps <= LONG_KEEPING:
                self.model.add(store <= sum(picked.get(w, 0) for w in range(week - keeps + 1, week + 1)))
        return result

    def _trellis_m2(self, o: int) -> float:
        return trellis_m2(self.task.options[o], self.task.ground)

    def _land(self) -> None:
        """What the ground gives beside the best that each crop gives alone."""
        task, c = self.task, scoring_constants()
        best: dict[str, float] = defaultdict(float)
        for option in task.options:
            best[option.crop.id] = max(best[option.crop.id], option.total_kg_m2)
        whole = max(o.last for o in task.options) - min(o.week for o in task.options) + 1
        bed = sum(task.ground.area_m2(i) for i in range(task.ground.count))
        for o, option in enumerate(task.options):
            share = option.total_kg_m2 / best[option.crop.id] * (0.5 + 0.5 * (option.last - option.week + 1) / whole)
            worth = c["weight_yield"] * 100.0 * share / c["land_use_full"] * SCALE * SCALE / bed
            self.points.append((self.area[o], round(worth / AREA)))

    def _families(self) -> None:
        """Several families, and none too soon after itself; few plantings and few days are preferred."""
        families: dict[str, list[Any]] = defaultdict(list)
        for o, option in enumerate(self.task.options):
            families[option.crop.family].append(self.used[o])
            lost = self.task.rotation.get(option.crop.id, 0.0) * scoring_constants()["weight_families"]
            self.points.append((self.used[o], -round((lost + constant("crop_points")) * SCALE * SCALE)))
        by_family: dict[str, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
        for o, option in enumerate(self.task.options):
            by_family[option.crop.family][option.crop.id].append(self.used[o])
        for crops in by_family.values():
            if len(crops) > 1:
                alike = self.model.new_int_var(0, len(crops), "")
                self.model.add(alike >= sum(self._any(members) for members in crops.values()) - 1)
                loss = scoring_constants()["shared_pests_loss"] * scoring_constants()["weight_families"]
                self.points.append((alike, -round(loss * SCALE * SCALE)))
        there = [self._any(members) for members in families.values()]
        counted = self.model.new_int_var(0, 5, "families")
        self.model.add(counted <= sum(there))
        self.points.append((counted, round(constant("family_points") * SCALE * SCALE)))

    def _any(self, members: Sequence[Any]) -> Any:
        found = self.model.new_bool_var("")
        self.model.add_max_equality(found, list(members))
        return found

    # demands -------------------------------------------------------------------------------------

    def _effort(self) -> None:
        """No more sowing days, transplants and crops than the grower is ready for."""
        task, effort = self.task, self.task.brief.effort
        days: dict[str, list[Any]] = defaultdict(list)
        crops: dict[str, list[Any]] = defaultdict(list)
        for o, option in enumerate(task.options):
            days[option.month_day].append(self.used[o])
            crops[option.crop.id].append(self.used[o])
        on = {day: self._any(members) for day, members in days.items()}
        for sown in on.values():
            self.points.append((sown, -round(constant("day_points") * SCALE * SCALE)))
        days_most = task.brief.sowing_days
        self._demand(Demand("sowing days", number=days_most), sum(on.values()) <= days_most)
        self.crops = {crop: self._any(members) for crop, members in crops.items()}
        most = task.brief.most_crops
        self._demand(Demand("most crops", number=most), sum(self.crops.values()) <= most)
        if effort.transplants is not None:
            raised = [
                round(SCALE * option.density) * self.area[o]
                for o, option in enumerate(task.options)
                if option.establish == "module"
            ]
            self._demand(Demand("transplants", number=effort.transplants), sum(raised) <= SCALE * AREA * effort.transplants)

    def _asked(self) -> None:
        """Musts and the height limit; wishes count points."""
        brief = self.task.brief
        for crop in brief.musts:
            there = self.crops.get(crop.id)
            literal = self._literal(Demand("must", crop.name))
            self.model.add_bool_or([~literal] if there is None else [~literal, there])
        limit = brief.height_limit_m
        if limit is not None:
            tall = [self.used[o] for o, option in enumerate(self.task.options) if option.height_m > limit]
            self._demand(Demand("height limit", number=limit), sum(tall) == 0)
        for crop in brief.wishes:
            if crop.id in self.crops:
                self.points.append((self.crops[crop.id], round(constant("wish") * SCALE * SCALE)))

    def _practice(self) -> None:
        """The grower's rules that can be seen before it is known who stands where."""
        task, practice = self.task, self.task.practice
        if practice.soon_days is not None:
            picked_soon(self.model, task.options, self.used, practice.soon_days)
        if practice.kinds:
            several_kinds(self.model, self.on_plate, task.weeks, practice.kinds, SCALE, practice.span)

    def _literal(self, demand: Demand) -> Any:
        literal = self.model.new_bool_var(f"demand_{len(self.demands)}")
        self.demands[literal.index] = demand
        if self.blame:
            self.model.add_assumption(literal)
        else:
            self.model.add(literal == 1)
        return literal

    def _demand(self, demand: Demand, rule: Any) -> None:
        """A rule that can be blamed."""
        if rule is True:
            return
        self.model.add(rule).only_enforce_if(self._literal(demand))


def trellis_m2(option: Option, ground: Ground) -> float:
    """Ground that a row of an option at the trellis is reckoned to use [m2]; 0 where there is no trellis."""
    if not ground.trellis:
        return 0.0
    from mixcraft.recipe.layout import TRELLIS_DEPTH_M, WIDEST_TRELLIS_ROW_M, side_of_edge

    bed = ground.bed
    along = bed.width_m if side_of_edge(ground.trellis, bed.heading_deg) in ("head", "foot") else bed.length_m
    return along * min(max(option.crop["spacing.between_rows"] / 100.0, TRELLIS_DEPTH_M), WIDEST_TRELLIS_ROW_M)


def meet(a: range, b: range) -> bool:
    """Whether two ranges have a week in common."""
    return a.start < b.stop and b.start < a.stop


def choose(task: Task, seed: int, work: float, *, apart_from: Sequence[Choice] = ()) -> Choice:
    """The best choice that is found with so much `work` (the solver's own measure, a few seconds of a processor each).

    `apart_from`: at least three crops differ from each of these.  Raises `Clash` with the demands that cannot all be met.
    """
    if not task.options:
        raise Clash(tuple(Demand("must", crop.name) for crop in task.brief.musts) or (Demand("nothing grows"),))
    days = sorted({o.month_day for o in task.options})
    if task.brief.style == SOWN_ONCE and len(days) > 1:
        return _best_day(task, days, seed, work, apart_from)
    made, solver, status, bound = _solved(task, seed, work, apart_from)
    if status == made.cp.INFEASIBLE:
        raise Clash(_smallest(Model(made.task, blame=True), seed))
    if status not in (made.cp.OPTIMAL, made.cp.FEASIBLE):
        raise TimeoutError("the constraint model found nothing in the time given")
    from .placing import placed

    taken = _taken(made, solver)
    mixed = tuple(Placed(option, tuple(range(pieces))) for option, pieces in taken)
    return Choice(
        mixed if made.once else placed(taken, task.ground, seed),
        solver.objective_value / SCALE / SCALE,
        bound / SCALE / SCALE,
    )


def _solved(task: Task, seed: int, work: float, apart_from: Sequence[Choice]) -> tuple[Model, Any, Any, float]:
    """The model of a task, its solver, status and bound; with the grower's rules eased one by one where they cannot be met."""
    while True:
        made = Model(task)
        for other in apart_from:
            crops = {p.option.crop.id for p in other.placed}
            same = [made.crops[crop] for crop in crops if crop in made.crops]
            made.model.add(sum(same) <= max(len(crops) - 3, 0))
        _hint(made)
        solver, status, bound = solved(made, seed, work)
        eased = task.practice.eased
        if status in (made.cp.OPTIMAL, made.cp.FEASIBLE) or eased is None:
            return made, solver, status, bound
        task = replace(task, practice=eased)


def _best_day(task: Task, days: Sequence[str], seed: int, work: float, apart_from: Sequence[Choice]) -> Choice:
    """The better of the choices for the two days on which a greedy mixture serves most; the bound is that of its day, since a
    model in which the day is open has no bound of use."""
    from .greedy import greedy_days

    found: list[Choice] = []
    clash: Clash | None = None
    for day in greedy_days(task, days)[:DAYS_TRIED]:
        part = replace(task, options=tuple(o for o in task.options if o.month_day == day))
        try:
            found.append(choose(part, seed, work / DAYS_TRIED, apart_from=apart_from))
        except Clash as error:
            clash = error
        except TimeoutError:
            continue
    if not found:
        raise clash or TimeoutError("the constraint model found nothing in the time given")
    return max(found, key=lambda choice: choice.points)


def _hint(made: Model) -> None:
    """Begin with the greedy choice."""
    from .greedy import greedy, greedy_mixed

    begin = {p.option.key: len(p.cells) for p in (greedy_mixed if made.once else greedy)(made.task)}
    for o, option in enumerate(made.task.options):
        made.model.add_hint(made.used[o], option.key in begin)
        made.model.add_hint(made.pieces[o], begin.get(option.key, 0))
        if made.climbs[o] is not None:
            made.model.add_hint(made.climbs[o], False)


def _taken(made: Model, solver: Any) -> tuple[tuple[Option, int], ...]:
    """Options of the solution with their pieces, 0 for those at the trellis; in the order of starts."""
    found = [(option, solver.value(made.pieces[o])) for o, option in enumerate(made.task.options) if solver.value(made.used[o])]
    return tuple(sorted(found, key=lambda pair: (pair[0].week, pair[0].crop.id)))


def _smallest(made: Model, seed: int) -> tuple[Demand, ...]:
    """A smallest set of demands that clash: each is left out in turn, and kept only if the rest can then be met."""
    made.model.proto.clear_objective()
    solver = solver_for(made, seed, 20.0)
    solve(solver, made.model)
    core = [i for i in solver.sufficient_assumptions_for_infeasibility() if i in made.demands] or list(made.demands)
    for literal in list(core):
        rest = [i for i in core if i != literal]
        made.model.clear_assumptions()
        for i in rest:
            made.model.add_assumption(made.model.get_bool_var_from_proto_index(i))
        if solve(solver_for(made, seed, 5.0), made.model) == made.cp.INFEASIBLE:
            core = rest
    return tuple(made.demands[i] for i in core)


def least_pieces(crop: Crop, piece_m2: float) -> int:
    """Fewest pieces of ground on which the fewest plants of a crop do not stand too near."""
    return max(1, math.ceil(least_plants(crop) / density_range(crop)[1] / piece_m2 - 0.02))


def least_plants(crop: Crop) -> int:
    """Fewest plants of a crop that make sense: a block of those that the wind pollinates, one of others."""
    return int(constant("block_plants")) if crop.pollination == "wind" else 1
