"""The grower's rules: each is broken on purpose, and the constraint model keeps those that it can see."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mixcraft.crops import load_crop
from mixcraft.design.brief import Brief
from mixcraft.design.choice import Task, choose
from mixcraft.design.curves import WEEKS, Option, options
from mixcraft.design.ground import ground_of
from mixcraft.design.mend import gathered
from mixcraft.design.practice import Practice, first_picking_days, kinds_in_high_season, soon_days
from mixcraft.design.search import Standing, Step, Trial
from mixcraft.design.usual import usual_start
from mixcraft.place import Place, reference_place
from mixcraft.recipe.calendar import almanac
from mixcraft.recipe.model import Bed, Count, Density, Garden, OnDate, Planting, Recipe, Span, Strip
from mixcraft.recipe.moves import DropPlanting, SetAmount, SetStart
from mixcraft.recipe.plan import plan
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.strip import crop_yields

LENGTH_M = 3.0


def strip(crop: str, way: str, start: str, x: tuple[float, float], amount: Count | Density, **said: object) -> Planting:
    """A planting across a bed."""
    found = load_crop(crop)
    where = Strip((Span(x[0]), Span(x[1])))
    return Planting(f"{crop} {x[0]:g} {start}", found, way, where, OnDate(start), amount=amount, **said)  # type: ignore[arg-type]


def kinds_of_objection(place: Place, *plantings: Planting, practice: Practice | None = None, **bed: object) -> set[str]:
    """Kinds of what is objected to a plan on a bed that runs north from its foot."""
    garden = Garden("test", place, (Bed("bed", LENGTH_M, 1.2, 0.0, **bed),))  # type: ignore[arg-type]
    settled = plan(Recipe("test", LENGTH_M, 1.2, plantings), garden, "bed", draw=False)
    return {o.kind for o in (practice or Practice()).planned(settled)}


LETTUCE = strip("lettuce-cos", "module", "05-07", (0.0, 1.0), Count(18))
SOUND = (LETTUCE, strip("sweet-corn", "stations", "05-21", (2.0, 3.0), Count(8)))


def test_nothing_is_said_against_what_a_grower_does(oxford: Place) -> None:
    assert kinds_of_objection(oxford, *SOUND) == set()


@pytest.mark.parametrize(("latitude", "said"), [("Oxford", {"sunny side"}), ("Melbourne", set())])
def test_the_tall_stand_away_from_the_sun(latitude: str, said: set[str]) -> None:
    """At the foot, in the south of the bed, sweet corn stands before the chard where the sun is in the south."""
    days = ("05-21", "05-07") if latitude == "Oxford" else ("11-20", "11-07")
    corn = strip("sweet-corn", "stations", days[0], (0.0, 1.0), Count(8))
    low = strip("chard", "drills", days[1], (2.0, 3.0), Count(12))
    assert kinds_of_objection(reference_place(latitude), corn, low) == said


def test_each_rule_is_seen_broken(oxford: Place) -> None:
    thick = strip("lettuce-cos", "module", "05-07", (0.0, 1.0), Count(40))
    thin = strip("beetroot", "drills", "05-07", (0.0, 1.0), Density(12.0))
    free = strip("bean-climbing", "stations", "05-21", (2.0, 3.0), Count(8))
    kin = strip("lettuce-loose-leaf", "module", "09-03", (0.0, 1.0), Count(18))
    among, together = (strip("endive-escarole", "module", on, (0.0, 1.0), Count(12)) for on in ("06-20", "05-07"))
    assert kinds_of_objection(oxford, thick) == kinds_of_objection(oxford, thin) == {"distance"}
    assert kinds_of_objection(oxford, replace(free, support="canes", support_height_m=1.8)) == set()
    assert kinds_of_objection(oxford, LETTUCE, kin) == {"rotation"}
    assert kinds_of_objection(oxford, LETTUCE, among) == {"rotation"}
    assert kinds_of_objection(oxford, LETTUCE, together) == set()
    assert kinds_of_objection(oxford, LETTUCE, history=((1, ("lettuce-cos",)),)) == {"rotation"}
    day = almanac(oxford).month_day("08-13")
    assert kinds_of_objection(oxford, LETTUCE, practice=Practice({"lettuce-cos": (day,)})) == {"month"}
    assert kinds_of_objection(oxford, LETTUCE, practice=Practice({"lettuce-cos": (day - 95,)})) == set()


def test_a_single_large_plant_is_at_its_distance(oxford: Place) -> None:
    """0.9 to 1.6 courgettes to the square metre: one on 0.72 m2 is one, two on it are too many."""
    one, two = (strip("courgette", "module", "05-28", (0.0, 0.6), Count(n)) for n in (1, 2))
    assert kinds_of_objection(oxford, one) == set()
    assert kinds_of_objection(oxford, two) == {"distance"}


def test_what_grows_is_looked_at(oxford: Place) -> None:
    """One planting of maincrop carrots: one kind, and no picking for months."""
    garden = Garden("test", oxford, (Bed("bed", LENGTH_M, 1.2),))
    carrots = strip("carrot-maincrop", "drills", "04-15", (0.0, 3.0), Density(100.0))
    trial = Trial(garden, "bed", 2, Practice(soon_days=28.0, kinds=5))
    evidence = Evidence(trial.evaluator.season(Recipe("test", LENGTH_M, 1.2, (carrots,)), voxels=False))
    assert {o.kind for o in trial.practice.grown(evidence)} == {"first picking", "kinds"}
    firsts = [found.first for found in crop_yields(evidence.season) if found.first is not None]
    assert first_picking_days(evidence) == (min(firsts) - evidence.season.plan.start).astype(int) > 60
    assert kinds_in_high_season(evidence) == 1.0


def test_less_to_object_to_comes_before_a_higher_score() -> None:
    assert Standing(0.0, 70.0).beats(Standing(-1.0, 90.0))
    assert Standing(-1.0, 90.2).beats(Standing(-1.0, 90.0))
    assert not Standing(-1.0, 99.0).beats(Standing(0.0, 70.0))
    assert not Standing(0.0, 70.05).beats(Standing(0.0, 70.0))


def option(crop: str, week: int, first: int, last: int, kg: float = 2.0) -> Option:
    """A crop that gives `kg` to the square metre evenly from week `first` to `last`."""
    curve = np.zeros(WEEKS)
    curve[first : last + 1] = kg / (last + 1 - first)
    day = str(np.datetime64("2001-01-01") + 7 * week)[5:10]
    return Option(load_crop(crop), load_crop(crop).establish[0], day, week, last, curve)


def task(place: Place, found: tuple[Option, ...], practice: Practice) -> Task:
    """Twelve wanted weeks of a bed of 1.2 m2."""
    bed = Bed("small", 1.2, 1.0)
    brief = Brief(Garden("test", place, (bed,)), "small")
    return Task(brief, found, ground_of(bed, 52.0), range(18, 30), 2.0, 2.0, practice=practice)


def test_the_model_has_something_quick_beside_what_it_sows_first(oxford: Place) -> None:
    """Parsnips are sown where radishes that are sown with them are picked in time, and not where those come seven weeks later;
    where no radish may grow there is no rule."""
    parsnip, soon, late = option("parsnip", 12, 20, 29, 8.0), option("radish", 12, 14, 15), option("radish", 16, 19, 20)
    for found, most, crops in (
        ((parsnip, soon), 28.0, {"parsnip", "radish"}), ((parsnip, late), 28.0, {"radish"}),
        ((parsnip, late), None, {"parsnip", "radish"}),
    ):  # fmt: skip
        chosen = choose(task(oxford, found, Practice(soon_days=most)), 1, 2.0)
        assert {p.option.crop.id for p in chosen.placed} == crops
    assert soon_days((parsnip, soon), range(18, 30)) == 28.0
    assert soon_days((parsnip,), range(18, 30)) is None


def test_the_model_has_several_kinds_in_high_season(oxford: Place) -> None:
    names = ("parsnip", "beetroot", "kohlrabi", "spinach")
    found = tuple(option(crop, 12, 20, 27, 9.0 if crop == "parsnip" else 1.5) for crop in names)
    for least in (0, 4):
        chosen = choose(task(oxford, found, Practice(kinds=least)), 1, 2.0).placed
        assert len({p.option.kind for p in chosen}) >= least


def test_a_rule_that_cannot_be_kept_is_eased(oxford: Place) -> None:
    """Two kinds are all that there is."""
    found = tuple(option(crop, 12, 20, 27) for crop in ("parsnip", "beetroot"))
    assert choose(task(oxford, found, Practice(kinds=5, soon_days=7.0)), 1, 2.0).placed


def test_usual_months_where_there_are_seasons(oxford: Place) -> None:
    sky, nairobi = almanac(oxford), almanac(reference_place("Nairobi"))
    broad_bean, corn_salad = load_crop("broad-bean"), load_crop("corn-salad")
    assert [usual_start(broad_bean, sky.month_day(day), sky) for day in ("03-12", "07-16")] == [True, False]
    assert [usual_start(corn_salad, sky.month_day(day), sky) for day in ("06-04", "08-27")] == [False, True]
    assert usual_start(broad_bean, nairobi.month_day("07-16"), nairobi)
    garden = Garden("test", oxford, (Bed("bed", 1.0, 1.0),))
    days = {o.month_day for o in options(broad_bean, garden, (120, 330), trellis=False, every=True)}
    assert days
    assert max(days) < "06-01"


def test_crops_of_hot_summers_are_started_where_summers_are_hot(oxford: Place) -> None:
    okra, june = load_crop("okra"), "06-04"
    assert {name: usual_start(okra, sky.month_day(june), sky)
            for name, sky in ((n, almanac(reference_place(n))) for n in ("Oxford", "Chicago", "Rome", "New Orleans"))
            } == {"Oxford": False, "Chicago": True, "Rome": True, "New Orleans": True}  # fmt: skip


def test_steps_of_a_planting_that_is_left_out_are_not_told() -> None:
    steps = [
        Step(SetStart("a", OnDate("05-01")), 10.0, 12.0), Step(SetAmount("b", Count(3)), 12.0, 13.0),
        Step(SetStart("a", OnDate("05-15")), 13.0, 14.0), Step(DropPlanting("a"), 14.0, 20.0),
    ]  # fmt: skip
    assert [(s.move, s.gain) for s in gathered(steps)] == [(SetAmount("b", Count(3)), 1.0), (DropPlanting("a"), 9.0)]
    assert [s.move for s in gathered(steps[:3])] == [SetStart("a", OnDate("05-15")), SetAmount("b", Count(3))]


def test_the_shadow_that_has_grown_is_looked_at_over_many_years(oxford: Place) -> None:
    """Sunflowers at the foot, where the noon sun comes from, shade the lettuces behind them; behind the lettuces they do not."""
    garden = Garden("test", oxford, (Bed("bed", LENGTH_M, 1.2),))
    for tall_m, low_m, kinds in (((0.0, 1.0), (1.0, 2.0), {"sunny side"}), ((2.0, 3.0), (1.0, 2.0), set())):
        tall = strip("sunflower", "stations", "04-20", tall_m, Count(6))
        low = strip("lettuce-cos", "module", "07-01", low_m, Count(12))
        recipe = Recipe("test", LENGTH_M, 1.2, (tall, low))
        for years, strict in ((6, True), (6, False), (2, False)):
            evidence = Evidence(Trial(garden, "bed", years).evaluator.season(recipe, voxels=False))
            assert {o.kind for o in Practice().grown(evidence, strict=strict) if o.kind == "sunny side"} == kinds
        few_years = Evidence(Trial(garden, "bed", 2).evaluator.season(recipe, voxels=False))
        assert not [o for o in Practice().grown(few_years, strict=True) if o.kind == "sunny side"]
