"""What the search against the score once found and a grower laughed at, each a test of its own (common practice, no source)."""

from __future__ import annotations

from functools import cache

import pytest
from searching import SCENES
from strategies import planting

from mixcraft.crops import load_crop
from mixcraft.files import FileFaults
from mixcraft.recipe.model import HarvestUse, OnDate, Planting, Recipe, Span, Strip
from mixcraft.scoring import score
from mixcraft.scoring.model import Score
from mixcraft.season.evaluator import Evaluator

YEARS = 12
AHEAD = 5.0


@cache
def evaluator(name: str) -> Evaluator:
    """Grows recipes in a scene's bed."""
    return Evaluator(SCENES[name], "bed", YEARS, 99)


def scored(scene: str, *plantings: Planting) -> Score:
    """Plantings in a scene's bed, by layered light."""
    one = SCENES[scene].bed("bed")
    return score(evaluator(scene).season(Recipe("slip", one.length_m, one.width_m, plantings), voxels=False))


def strip(low: float, high: float) -> Strip:
    """A share of the bed's length."""
    return Strip(x=(Span(low, True), Span(high, True)))


KALE = planting("kale", "kale", start=OnDate("05-08"), establish="module", density_per_m2=4.0)
"""Kale on the whole bed, picked by the leaf."""


def test_one_kind_for_all_weeks_is_no_good_bed() -> None:
    """Kale alone at Winnipeg is picked in nearly every wanted week; with lettuce, carrots and beans in its place on most of the
    ground the bed leads by far."""
    alone = scored("Winnipeg", KALE)
    assert alone.part("continuity").numbers["longest"] <= 4.0
    mixed = scored(
        "Winnipeg", planting("kale", "kale", strip(0.0, 0.25), OnDate("05-08"), establish="module", density_per_m2=4.0),
        planting("lettuce-loose-leaf", "lettuce", strip(0.25, 0.5), OnDate("05-15"), establish="module", density_per_m2=10.0),
        planting("carrot-maincrop", "carrot", strip(0.5, 0.75), OnDate("05-10"), establish="drills",
                 harvest=(HarvestUse("root", "pull"),)),
        planting("bean-bush", "beans", strip(0.75, 1.0), OnDate("06-01"), establish="stations", density_per_m2=16.0),
    )  # fmt: skip
    assert alone.overall < 70.0
    assert mixed.overall > alone.overall + AHEAD


def test_three_kinds_are_fewer_than_six() -> None:
    """The same weekly plate of three kinds all season earns less of the kinds' points than one that changes."""
    three = ("kale", "beetroot", "carrot-maincrop")
    plantings = [
        planting(crop, crop, strip(i / 3.0, (i + 1) / 3.0), OnDate("05-10"), establish="module" if crop == "kale" else "drills")
        for i, crop in enumerate(three)
    ]
    few = [r for r in scored("Winnipeg", *plantings).part("continuity").reasons if r.cause == "few kinds"]
    assert [r.numbers["season"] for r in few] == [pytest.approx(3.0)]
    assert few[0].numbers["season_wanted"] == 6.0


def test_potatoes_do_not_lie_in_cold_soil_from_january() -> None:
    january, march = (
        scored("Oxford", planting("potato-early", "potatoes", start=OnDate(day), establish="tuber", density_per_m2=4.5))
        for day in ("01-08", "03-28")
    )
    assert {"cold soil", "no roots"} <= {r.cause for r in january.part("timing").reasons}
    assert march.part("timing").score - january.part("timing").score > 2.0 * AHEAD


def test_beans_before_the_last_frost_are_a_gamble_that_shows() -> None:
    """At Winnipeg the last frost comes at the end of May in most years."""
    kale = planting("kale", "kale", strip(0.0, 0.5), OnDate("05-15"), establish="module", density_per_m2=4.0)
    early, june = (
        scored("Winnipeg", kale, planting("bean-bush", "beans", strip(0.5, 1.0), OnDate(day), establish="stations"))
        for day in ("05-01", "06-03")
    )
    assert june.overall > early.overall + AHEAD


def test_a_stand_half_again_too_thick_loses_in_the_whole() -> None:
    most = load_crop("carrot-maincrop").records["spacing.density"].high or 0.0
    usual, thick = (
        scored("Rome", planting("carrot-maincrop", "carrots", start=OnDate("03-10"), establish="drills", density_per_m2=f * most))
        for f in (0.7, 1.5)
    )
    assert usual.overall > thick.overall + AHEAD


def test_all_in_one_week_of_august_serves_nobody() -> None:
    """The first find: beans and mizuna as thick as they may stand, all set in August, for a plate from mid-May."""
    august = scored(
        "Oxford", planting("bean-bush", "beans", start=OnDate("08-01"), establish="stations", density_per_m2=30.0),
        planting("mizuna", "mizuna", start=OnDate("08-08"), establish="drills"),
    )  # fmt: skip
    assert august.overall < 50.0


def test_kale_is_not_set_out_in_december() -> None:
    """It stands still for all of the days in which it has to take hold; in May it grows."""
    beans = planting("bean-bush", "beans", strip(0.5, 1.0), OnDate("05-20"), establish="stations")
    winter, may = (
        scored("Oxford", beans, planting("kale", "kale", strip(0.0, 0.5), OnDate(day), establish="module", density_per_m2=4.0))
        for day in ("12-08", "05-08")
    )
    assert [r.plantings for r in winter.part("timing").reasons if r.cause == "short days"] == [("kale",)]
    assert may.part("timing").score > winter.part("timing").score + 4.0 * AHEAD


def test_garlic_roots_before_the_ground_freezes() -> None:
    """At Winnipeg it goes in by the first days of October; late in the month it lies in freezing ground."""
    kale = planting("kale", "kale", strip(0.0, 0.5), OnDate("05-15"), establish="module", density_per_m2=4.0)
    late, september = (
        scored("Winnipeg", kale, planting("garlic", "garlic", strip(0.5, 1.0), OnDate(day), establish="clove"))
        for day in ("10-25", "09-25")
    )
    assert [r.plantings for r in late.part("timing").reasons if r.cause == "no roots"] == [("garlic",)]
    assert september.part("timing").score > late.part("timing").score + 2.0 * AHEAD


def test_one_stand_too_thick_does_not_hide_among_seven() -> None:
    """Parsley at 84 to the square metre, where 62 is the most, on an eighth of a bed of eight good plantings."""
    crops = ("kale", "beetroot", "carrot-maincrop", "bean-bush", "lettuce-loose-leaf", "chard", "onion-salad")
    ways = {"kale": ("module", "05-15"), "bean-bush": ("stations", "06-01"), "chard": ("module", "05-10")}
    most = load_crop("parsley").records["spacing.density"].high or 0.0

    def bed_with(parsley: float) -> Score:
        rest = [
            planting(crop, crop, strip(n / 8.0, (n + 1) / 8.0), OnDate(ways.get(crop, ("", "05-10"))[1]),
                     establish=ways.get(crop, ("drills", ""))[0])
            for n, crop in enumerate(crops)
        ]  # fmt: skip
        herb = planting("parsley", "parsley", strip(7.0 / 8.0, 1.0), OnDate("05-10"), establish="drills", density_per_m2=parsley)
        return scored("Winnipeg", *rest, herb)

    usual, thick = bed_with(0.8 * most), bed_with(1.36 * most)
    assert usual.overall > thick.overall + AHEAD


def test_a_chance_is_that_of_the_place_and_not_of_the_years_grown() -> None:
    """Tomatoes set out bare on the first of May: over three years or twelve, and with another seed, the chance is the same."""
    tomato = planting("tomato-bush", "tomato", strip(0.0, 0.5), OnDate("05-01"), establish="module", count=2)
    kale = planting("kale", "kale", strip(0.5, 1.0), OnDate("04-20"), establish="module", density_per_m2=4.0)
    one, found = SCENES["Oxford"].bed("bed"), set()
    for years, seed in ((3, 1), (3, 2), (12, 3)):
        grower = Evaluator(SCENES["Oxford"], "bed", years, seed)
        season = grower.season(Recipe("slip", one.length_m, one.width_m, (tomato, kale)), voxels=False)
        found.add(round(score(season).part("timing").score, 9))
    assert len(found) == 1
    assert found.pop() < 100.0


def test_nobody_plants_out_hundreds_to_the_square_metre() -> None:
    """Found at Rome: 860 modules of mizuna on less than two square metres, as thick as it is sown for cutting."""
    one = SCENES["Rome"].bed("bed")
    mizuna = planting("mizuna", "mizuna", strip(0.0, 0.5), OnDate("02-15"), establish="module", density_per_m2=478.0)
    with pytest.raises(FileFaults, match="478 plants to the square metre"):
        evaluator("Rome").season(Recipe("slip", one.length_m, one.width_m, (mizuna,)), voxels=False)


@pytest.mark.parametrize("crop", ["parsley", "lettuce-loose-leaf"])
def test_a_stand_far_too_thin_does_not_hide_among_five(crop: str) -> None:
    """On a sixth of a bed that it has to itself, a planting at two fifths of the thinnest usual stand loses to one as thick as is
    usual.  (What was found at Winnipeg, four lettuces among carrots and radishes that fill the ground, keeps its points.)"""
    ways = {"kale": ("module", "05-15"), "bean-bush": ("stations", "06-01"), "chard": ("module", "05-10")}
    low = load_crop(crop).records["spacing.density"].span[0]

    def bed_with(share: float) -> Score:
        rest = [
            planting(other, other, strip(n / 6.0, (n + 1) / 6.0), OnDate(ways.get(other, ("", "05-10"))[1]),
                     establish=ways.get(other, ("drills", ""))[0])
            for n, other in enumerate(("kale", "beetroot", "carrot-maincrop", "bean-bush", "chard"))
        ]  # fmt: skip
        last = planting(crop, crop, strip(5.0 / 6.0, 1.0), OnDate("05-10"), establish="drills", density_per_m2=share * low)
        return scored("Winnipeg", *rest, last)

    usual, thin = bed_with(1.2), bed_with(0.4)
    assert usual.overall > thin.overall + AHEAD


def test_a_plate_that_cannot_change_is_left_behind() -> None:
    """Found at Winnipeg: three kinds for a household that wants three a week.  With beans on a quarter of the ground there is a
    change, and the bed leads clearly.  The two that were found had 81 and 78 points and have 78 and 75."""
    ways = {"kale": ("module", "05-10"), "bean-bush": ("stations", "06-01")}

    def bed_of(*crops: str) -> Score:
        return scored("Winnipeg", *[
            planting(crop, crop, strip(n / len(crops), (n + 1) / len(crops)), OnDate(ways.get(crop, ("", "05-10"))[1]),
                     establish=ways.get(crop, ("drills", ""))[0])
            for n, crop in enumerate(crops)
        ])  # fmt: skip

    three, four = bed_of("kale", "beetroot", "carrot-maincrop"), bed_of("kale", "beetroot", "carrot-maincrop", "bean-bush")
    assert three.overall < 78.0
    assert four.overall > three.overall + AHEAD
