"""The constraint model: its optimum is the true one where all choices can be counted, and clashing demands are told."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.design.brief import Brief, Effort
from mixcraft.design.choice import Choice, Clash, Model, Task, choose
from mixcraft.design.curves import WEEKS, Option
from mixcraft.design.greedy import greedy, greedy_mixed
from mixcraft.design.ground import ground_of
from mixcraft.place import Place
from mixcraft.recipe.model import Bed, Garden, Trellis

WORK = 3.0


def option(crop: str, week: int, last: int, kg: float = 1.0) -> Option:
    """A crop that gives `kg` to the square metre in its last three weeks."""
    curve = np.zeros(WEEKS)
    curve[last - 2 : last + 1] = kg / 3.0
    day = str(np.datetime64("2001-01-01") + 7 * week)[5:10]
    return Option(load_crop(crop), load_crop(crop).establish[0], day, week, last, curve)


def task(place: Place, *options: Option, length_m: float = 0.9, **said: object) -> Task:
    """A task on a small bed that runs north and south, eight wanted weeks."""
    bed = Bed("small", length_m, 1.0)
    garden = Garden("test", place, (bed,))
    return Task(Brief(garden, "small", **said), options, ground_of(bed, 52.0), range(18, 26), 2.0, 2.0)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def three(oxford: Place) -> Task:
    return task(oxford, option("radish", 12, 20), option("spinach", 13, 22), option("kohlrabi", 14, 25, 2.0))


def test_optimum_is_the_best_of_all_choices(three: Task) -> None:
    """Every number of pieces for every option is tried, by fixing it in the model and asking what it is worth."""
    made = Model(three)
    best = -np.inf
    for pieces in product(range(made.most + 1), repeat=len(three.options)):
        fixed = Model(three)
        for variable, number in zip(fixed.pieces, pieces, strict=True):
            fixed.model.add(variable == number)
        solver = fixed.cp.CpSolver()
        solver.parameters.num_workers = 1
        if solver.solve(fixed.model) == fixed.cp.OPTIMAL:
            best = max(best, solver.objective_value / 10_000)
    found = choose(three, 1, WORK)
    assert best > 0.0
    assert found.points == pytest.approx(best, rel=0.02 + 1e-9)  # the model stops at a gap of 2 %
    assert found.bound >= best - 1e-6


def test_the_same_seed_gives_the_same_choice(three: Task) -> None:
    first, second = choose(three, 7, WORK), choose(three, 7, WORK)
    assert [(p.option.key, p.cells) for p in first.placed] == [(p.option.key, p.cells) for p in second.placed]


def test_nothing_stands_on_anothers_ground(three: Task) -> None:
    for choice in (choose(three, 1, WORK).placed, greedy(three)):
        for i, one in enumerate(choice):
            for other in choice[i + 1 :]:
                together = set(one.option.weeks) & set(other.option.weeks)
                assert not (together and set(one.cells) & set(other.cells))


def test_tall_plants_stand_away_from_the_sun(oxford: Place) -> None:
    """In the north the noon sun stands in the south, at the foot of this bed."""
    found = choose(task(oxford, option("sunflower", 12, 25, 3.0), option("lettuce-cos", 12, 25, 3.0), length_m=1.8), 1, WORK)
    cells = {p.option.crop.id: p.cells for p in found.placed}
    assert set(cells) == {"sunflower", "lettuce-cos"}
    assert min(cells["sunflower"]) > max(cells["lettuce-cos"])


def test_the_smallest_set_of_clashing_demands_is_told(oxford: Place, three: Task) -> None:
    musts = (load_crop("radish"), load_crop("spinach"))
    with pytest.raises(Clash) as clash:
        choose(replace(three, brief=replace(three.brief, musts=musts, most_crops=1)), 1, WORK)
    assert {d.kind for d in clash.value.demands} == {"must", "most crops"}
    assert len(clash.value.demands) == 3
    with pytest.raises(Clash) as alone:
        choose(replace(three, brief=replace(three.brief, musts=(*musts, load_crop("okra")), effort=Effort(1))), 1, WORK)
    assert [(d.kind, d.crop) for d in alone.value.demands] in (
        [("must", "okra")], [("must", "radish"), ("must", "spinach"), ("sowing days", "")]
    )  # fmt: skip


def test_a_choice_knows_its_gap() -> None:
    assert Choice((), 90.0, 100.0).gap == pytest.approx(0.1)


@pytest.mark.parametrize(("latitude", "heading", "edge"), [(52.0, 0.0, "north"), (-34.0, 0.0, "south"), (52.0, 180.0, "north")])
def test_ground_is_ordered_from_the_sun(latitude: float, heading: float, edge: str) -> None:
    trellises = (Trellis("north", 2.0), Trellis("south", 2.0))
    ground = ground_of(Bed("bed", 3.0, 1.2, heading, trellises), latitude)
    assert ground.trellis == edge
    front, behind = ground.beyond[0]
    away_is_head = (edge == "north") == (heading == 0.0)
    assert (behind > front) == away_is_head


def test_between_the_tropics_the_noon_sun_changes_sides() -> None:
    """At Nairobi the noon sun stands in the north in June and in the south in December (NOAA, solar equations); in a year as
    long in one as in the other."""
    days = [np.datetime64(day) for day in ("2001-05-15", "2001-08-01", "2001-11-15", "2002-01-25", "2002-11-15")]
    ground = ground_of(Bed("bed", 1.2, 1.0, 90.0), -1.3)
    lanes = [{(front // ground.cells, back // ground.cells) for front, back in ground.shaded(*days[n : n + 2])} for n in (0, 2)]
    assert sorted(map(len, lanes)) == [1, 1]
    assert lanes[0] == {pair[::-1] for pair in lanes[1]}
    assert len(ground.shaded(days[2], days[4])) == 2 * len(ground.beyond)
    temperate = ground_of(Bed("bed", 1.2, 1.0, 90.0), -34.0)
    assert temperate.shaded(*days[2:4]) == temperate.shaded(*days[:2]) == temperate.beyond


def test_what_other_beds_give_is_not_chosen_again(three: Task) -> None:
    """Two kinds are wanted; where another bed gives more radish than is eaten, radish is worth its ground no more."""
    alone = {p.option.crop.id for p in choose(three, 1, WORK).placed}
    radish = load_crop("radish")
    given = {(radish.botanical, radish.main_part.pool): np.full(len(three.weeks), 5.0)}
    beside = choose(replace(three, given=given), 1, WORK)
    assert beside.points > 0.0
    assert "kohlrabi" in alone
    portions = sum(len(p.cells) for p in beside.placed if p.option.crop.id == "radish")
    assert portions <= sum(len(p.cells) for p in choose(three, 1, WORK).placed if p.option.crop.id == "radish")


def test_a_mixture_sown_once_never_fills_more_than_there_is(three: Task) -> None:
    once = replace(three, brief=replace(three.brief, style="sown once"), options=tuple(
        replace(o, month_day="04-01", week=13) for o in three.options
    ))  # fmt: skip
    for chosen in (choose(once, 1, WORK).placed, greedy_mixed(once)):
        assert chosen
        for week in range(10, 40):
            assert sum(p.option.fills(week) * len(p.cells) for p in chosen) <= 12.0 + 1e-9
