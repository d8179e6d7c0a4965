"""The ground by hand: portions, densities, one spot, crowding, noon shadows, and what good practice would give of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, grown, place, planned, planting

from mixcraft.crops import load_crop
from mixcraft.files import FileFaults
from mixcraft.recipe.collisions import collisions
from mixcraft.recipe.density import densest, standing_density, usual_range
from mixcraft.recipe.model import HarvestUse, OnDate, Planting, Plate, Points, Span, Strip
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence, alike_columns
from mixcraft.scoring.measures import days_together, land_use_efficiency, must_share
from mixcraft.scoring.parts.yields import use_points, yield_points
from mixcraft.scoring.portions import kinds_of, portions_of, wanted_of
from mixcraft.scoring.reference import references
from mixcraft.scoring.shadow import noon_shadows, shadow_m
from mixcraft.words.reasons import reason_sentence

ROUNDING = 1e-9


def half(low: float) -> Strip:
    """Half of the length of a bed from a share of it."""
    return Strip(x=(Span(low, True), Span(low + 0.5, True)))


# portions


def test_lettuces_are_one_kind_and_portions_are_kilograms_over_grams() -> None:
    """Cos and loose-leaf lettuce are eaten alike: one kind; radish another.  A kilogram is 1000 g over the portion."""
    settled = planned(planting("lettuce-cos", "a"), planting("radish"), planting("lettuce-loose-leaf", "b"))
    kinds = kinds_of(settled.harvests, settled)
    assert [kind.harvests for kind in kinds] == [(0, 2), (1,)]
    portions = portions_of(np.ones((1, 1, 3)), kinds)
    a, radish, b = (1000.0 / h.part.number("portion", constants()["portion_usual_g"]) for h in settled.harvests)
    assert portions[0, 0] == pytest.approx([a + b, radish])


def test_a_herb_is_eaten_by_the_gram_and_fills_no_plate() -> None:
    settled = planned(planting("basil", establish="module", count=4), planting("radish"))
    basil, radish = kinds_of(settled.harvests, settled)
    assert (basil.herb, radish.herb) == (True, False)
    wanted = wanted_of(Plate(portions=10.0), 2.0, (basil, radish))
    assert np.asarray(wanted.most_of_one).tolist() == [constants()["most_of_herb"], constants()["most_of_one"]]
    assert np.asarray(wanted.used).tolist() == [constants()["herb_used"], 0.0]
    three = wanted_of(Plate(portions=10.0, people=3), 2.0, (basil, radish))
    assert np.asarray(three.used).tolist() == [3.0 * constants()["herb_used"], 0.0]


def test_what_a_plate_asks_for() -> None:
    """Its portions before its kilograms (1.6 kg are 20 of 80 g), and 1.5 a square metre where it says nothing."""
    assert wanted_of(Plate(portions=7.0, weekly_kg=1.6), 2.0, ()).portions == 7.0
    assert wanted_of(Plate(weekly_kg=1.6), 2.0, ()).portions == pytest.approx(20.0)
    assert wanted_of(Plate(), 2.0, ()).portions == pytest.approx(3.0)
    assert (wanted_of(Plate(kinds=5), 2.0, ()).kinds, wanted_of(Plate(), 2.0, ()).kinds) == (5, 3.0)


def test_what_is_no_food_is_no_kind() -> None:
    settled = planned(planting("phacelia"), planting("radish"))
    assert len(kinds_of(settled.harvests, settled)) == 1


# density


def test_more_than_twice_the_densest_usual_stand_is_refused_with_the_range() -> None:
    """At exactly twice it is taken, a tenth more is not; the message holds the usual range and a number that fits."""
    crop = load_crop("carrot-maincrop")
    low, high = crop.records["spacing.density"].low, crop.records["spacing.density"].high
    assert low is not None
    assert high is not None
    planned(planting("carrot-maincrop", density_per_m2=2.0 * high))
    with pytest.raises(FileFaults) as caught:
        planned(planting("carrot-maincrop", density_per_m2=2.2 * high))
    (fault,) = caught.value.faults
    assert fault.rule == "amount.too_thick"
    assert f"{low:.3g} to {high:.3g} are usual" in fault.message
    assert f"{2 * high:.3g} plants/m2" in (fault.repair or "")


def test_tomatoes_on_two_square_metres() -> None:
    """A hundred are refused; four are not."""
    planned(planting("tomato-cordon", establish="module", count=4, start=OnDate("05-25")))
    with pytest.raises(FileFaults, match="tomato"):
        planned(planting("tomato-cordon", establish="module", count=100, start=OnDate("05-25")))


def test_crops_that_are_cut_young_have_a_range_of_their_own() -> None:
    crop = load_crop("lettuce-baby-leaf")
    cutting = crop.records["spacing.cutting_density"]
    settled = planned(planting("lettuce-baby-leaf", density_per_m2=cutting.value, harvest=(HarvestUse("leaves", "cut"),)))
    assert usual_range(settled.plantings[0])[1] == max(cutting.value, cutting.high or 0.0)


def test_density_of_an_even_stand_is_plants_over_ground() -> None:
    settled = planned(planting("radish", where=half(0.0), density_per_m2=50.0))
    assert standing_density(settled.plantings[0], settled.grid) == pytest.approx(50.0)


def test_a_stand_too_thick_keeps_a_power_of_its_room() -> None:
    """Half as thick again as the densest usual: (2/3)^4 = 0.20 of the points; at the densest usual all of them."""
    crop = load_crop("carrot-maincrop")
    most = densest(planned(planting("carrot-maincrop")).plantings[0])
    assert most == crop.records["spacing.density"].high
    usual, thick = (Evidence(grown(planting("carrot-maincrop", density_per_m2=f * most))) for f in (1.0, 1.5))
    assert usual.crowded == pytest.approx([1.0])
    assert thick.crowded == pytest.approx([(1.0 / 1.5) ** constants()["crowding_power"]])


def test_a_crowd_is_not_hidden_by_sowing_it_in_parts() -> None:
    """Found by search: whole beds of one crop laid over one another, each at its usual density.  Two on the same ground are one
    stand of twice the density; side by side, or one after the other, they are two."""
    most = densest(planned(planting("carrot-maincrop")).plantings[0])
    a, b = (planting("carrot-maincrop", name, density_per_m2=most) for name in "ab")
    assert Evidence(grown(a, b)).density == pytest.approx([2.0 * most] * 2)
    assert Evidence(grown(a, b)).crowded == pytest.approx([0.5 ** constants()["crowding_power"]] * 2)
    apart = [replace(p, where=half(low)) for p, low in ((a, 0.0), (b, 0.5))]
    assert Evidence(grown(*apart)).crowded == pytest.approx([1.0, 1.0])
    early, late = (planting("radish", name, start=OnDate(day)) for name, day in (("early", "04-01"), ("late", "08-01")))
    assert Evidence(grown(early, late)).crowded == pytest.approx([1.0, 1.0])


def test_a_stand_too_thin_holds_its_part_of_the_ground_and_is_hardly_there() -> None:
    """Carrots at three eighths of the thinnest usual stand: three eighths of the ground are held, and half of three quarters of
    the plants are there, which leaves 1/16 of the points and is told; at 0.8 of it, all are there."""
    low = usual_range(planned(planting("carrot-maincrop")).plantings[0])[0]
    one = bed(plate=Plate("06-01", "09-30", portions=4.0))
    thin, nearly = (Evidence(grown(planting("carrot-maincrop", density_per_m2=f * low), one=one)) for f in (0.375, 0.8))
    assert thin.stocked == pytest.approx([0.375])
    assert thin.there == pytest.approx([0.5 ** constants()["thinness_power"]])
    assert nearly.there == pytest.approx([1.0])
    assert thin.covered.max() <= 0.375 + ROUNDING
    (told,) = [r for r in score(thin.season).part("canopy").reasons if r.cause == "too thin"]
    assert told.points == pytest.approx(100.0 * (1.0 - 1.0 / 16.0))
    assert "hardly a planting" in reason_sentence(told)


# one spot


def at(*spots: tuple[float, float]) -> Points:
    """Drawn points [m]."""
    return Points(tuple((Span(x), Span(y)) for x, y in spots))


def cabbages(name: str, start: str, *spots: tuple[float, float]) -> Planting:
    return planting("cabbage-summer", name, at(*spots), OnDate(start), establish="module")


def test_plants_on_one_spot_at_one_time() -> None:
    """Of three later cabbages one stands on an earlier one's place, one 5 cm beside and one apart: two of three collide."""
    first = cabbages("first", "05-01", (0.5, 0.5), (1.5, 0.5))
    second = cabbages("second", "05-20", (0.5, 0.5), (1.5, 0.55), (1.0, 0.5))
    settled = planned(second, first)
    (hit,) = collisions(settled)
    assert [settled.plantings[i].name for i in (hit.first, hit.second)] == ["first", "second"]
    assert hit.share == pytest.approx(2 / 3)
    assert np.array(hit.spots) == pytest.approx(np.array([[0.5, 0.5], [1.5, 0.55]]), abs=1e-6)
    assert hit.days[0] == settled.plantings[0].start


def test_plants_on_the_spots_of_others_give_no_portions() -> None:
    """Courgettes set on the very spots of tomatoes: of what they would give a fifth comes to the table and counts as food."""
    spots = at((0.5, 0.5), (1.5, 0.5))
    tomato = planting("tomato-bush", "tomatoes", spots, OnDate("05-25"), establish="module")
    evidence = Evidence(grown(tomato, planting("courgette", "courgettes", spots, OnDate("05-28"), establish="module")))
    left = 1.0 - constants()["collision_loss"]
    assert evidence.unspoilt == pytest.approx([1.0, left])
    kg, whole = evidence.season.picked_kg.sum(axis=0), portions_of(evidence.weekly_kg, evidence.kinds)
    tomatoes, courgettes = ([kind.name for kind in evidence.kinds].index(name) for name in ("bush tomato", "courgette"))
    assert evidence.portions[:, :, courgettes] == pytest.approx(left * whole[:, :, courgettes])
    assert evidence.portions[:, :, tomatoes] == pytest.approx(whole[:, :, tomatoes])
    assert 0.0 < evidence.food_kg[0, 1] <= left * kg[0, [h.planting for h in evidence.season.harvests].index(1)] + ROUNDING


def test_what_follows_on_the_same_spot_is_no_collision() -> None:
    spots = at((0.5, 0.5), (1.5, 0.5))
    one = planting("lettuce-cos", "lettuce", spots, OnDate("04-10"), establish="module")
    settled = planned(one, planting("kale", "kale", spots, OnDate("08-25"), establish="module"))
    assert collisions(settled) == ()
    assert Evidence(grown(one)).unspoilt == pytest.approx([1.0])


# noon shadows


@pytest.mark.parametrize(
    ("latitude", "date", "reach"),
    [(51.75, "2001-06-21", 1.08), (51.75, "2001-12-21", 7.50), (-36.85, "2001-06-21", -3.52)],
)
def test_a_noon_shadow_is_as_long_as_plain_geometry_says(latitude: float, date: str, reach: float) -> None:
    """2 m x tan(latitude - declination), 23.44 degrees at the solstices: northward at Oxford, southward at Auckland."""
    assert shadow_m(2.0, latitude, np.datetime64(date)) == pytest.approx(reach, rel=0.01)


def test_the_tall_at_the_sunny_end_shade_the_low() -> None:
    """A bed that runs north: corn in the south half shades lettuce in the north half, and not the other way round."""
    corn = planting("sweet-corn", "corn", half(0.0), OnDate("05-05"), establish="stations", density_per_m2=6.0)
    lettuce = planting("lettuce-cos", "lettuce", half(0.5), OnDate("07-01"), establish="module", count=8)
    good = (
        planting("sweet-corn", "corn", half(0.5), OnDate("05-05"), establish="stations", density_per_m2=6.0),
        planting("lettuce-cos", "lettuce", half(0.0), OnDate("07-01"), establish="module", count=8),
    )
    bad = Evidence(grown(corn, lettuce, one=bed(heading_deg=0.0)))
    share = bad.shadows.share
    assert share[1, 0] > 0.1 > share[0, 1] == 0.0
    assert Evidence(grown(*good, one=bed(heading_deg=0.0))).shadows.share[1, 0] == 0.0
    assert bad.placing < 1.0
    turned = noon_shadows(grown(*good, one=bed(heading_deg=180.0)), bad.overlaps)
    assert turned.share == pytest.approx(share)


# what good practice would give


def test_good_practice_gives_what_tables_say_and_is_kept() -> None:
    """Between the share of the least published yield that no yardstick falls under, and half more than the highest."""
    crop = load_crop("carrot-maincrop")
    record = crop.records["harvest.yield_sole"]
    found = references([crop, crop], place())
    (reference,) = found.values()
    least, most = record.low or record.value, record.high or record.value
    assert constants()["reference_least_share"] * least - ROUNDING <= reference.kg_m2 <= 1.5 * most
    assert 60.0 < reference.days < 365.0  # it may stand in the ground until the winter that it is lifted in
    assert references([crop], place())[crop.id] is reference


def test_land_use_is_the_mean_of_both_ratios() -> None:
    """Balasubramanian & Sekayange 1990: with the shares 0.8 and 0.5 of crops that hold their ground for 60 and 120 days in a bed
    used for 120 days, LER = 1.3, ATER = (0.8 x 60 + 0.5 x 120) / 120 = 0.9, their mean 1.1."""
    assert land_use_efficiency(np.array([[0.8, 0.5]]), np.array([60.0, 120.0]), np.array([120.0])) == pytest.approx([1.1])
    assert land_use_efficiency(np.array([[1.0]]), np.array([90.0]), np.array([90.0])) == pytest.approx([1.0])
    assert yield_points(0.5 * constants()["land_use_full"]) == pytest.approx(50.0)
    assert yield_points(9.0) == pytest.approx(100.0)


def test_a_plate_more_can_be_given_away() -> None:
    """One portion a week is wanted: of a week's spoiled portions one more is given away, shared out over the kinds."""
    evidence = Evidence(grown(planting("radish"), planting("turnip"), one=bed(plate=Plate("05-01", "10-31", portions=1.0))))
    spoiled = evidence.eaten.spoiled.sum(axis=2)
    assert spoiled.max() > 2.0
    assert evidence.wasted.sum(axis=2) == pytest.approx(np.maximum(spoiled - constants()["given_share"], 0.0))


def test_ground_under_leaves_by_hand() -> None:
    """The mean over the wanted weeks of 1 - exp(-k L), held from two fifths on, over the bed; half a bed of radish holds less
    than half of it, and a crop that is no food nothing."""
    one = bed(plate=Plate("05-01", "05-31", portions=4.0))
    radish, phacelia = (planting(crop, where=half(0.0)) for crop in ("radish", "phacelia"))
    evidence = Evidence(grown(radish, one=one))
    season, k = evidence.season, load_crop("radish")["canopy.k"]
    lai = season.leaf_m2[:, :, 0] / season.plan.plantings[0].stand.area_m2
    cover = np.array([1.0 - np.exp(-k * lai[min(day + 3, season.days - 1)]) for day in range(0, season.days, 7)])
    weekly = 0.5 * np.minimum(cover / 0.4, 1.0)
    expected = evidence.weeks.spread(weekly)[evidence.weeks.wanted].mean(axis=0)
    assert 0.05 < expected.mean() < 0.5
    assert evidence.covered == pytest.approx(expected)
    assert Evidence(grown(phacelia, one=one)).covered == pytest.approx(np.zeros(season.years))


def test_a_glut_counts_for_little() -> None:
    """Food is what is picked, less half of what is given away and most of what is neither eaten in time nor given away."""
    evidence = Evidence(grown(planting("radish"), one=bed(plate=Plate("05-01", "10-31", portions=1.0))))
    picked = evidence.season.picked_kg.sum(axis=0)
    c, all_of_it = constants(), evidence.portions.sum(axis=0)
    wasted, given = (part.sum(axis=0) / all_of_it for part in (evidence.wasted, evidence.given))
    counts = 1.0 - (1.0 - c["wasted_counts"]) * wasted - (1.0 - c["given_counts"]) * given
    assert wasted.min() > 0.2
    assert given.min() > 0.0
    assert evidence.food_kg == pytest.approx(picked * counts)


def test_columns_that_are_alike_are_told_once() -> None:
    """Three different columns among six; any sum over all is that over the few by what each stands for."""
    columns = np.array([[0.0, 1.0, 0.0, 0.5, 1.0, 1.0], [1.0, 0.0, 1.0, 0.5, 0.0, 0.0]])
    few, share = alike_columns(columns)
    told = {tuple(column): part for column, part in zip(few.T.tolist(), share.tolist(), strict=True)}
    assert told == {(0.0, 1.0): 2 / 6, (1.0, 0.0): 3 / 6, (0.5, 0.5): 1 / 6}
    many = np.random.default_rng(2).integers(0, 3, (5, 400)) / 2.0
    few, share = alike_columns(many)
    assert len({tuple(column) for column in many.T.tolist()}) <= few.shape[1] < 400
    assert np.exp(few).sum(axis=0) @ share == pytest.approx(np.exp(many).sum(axis=0).mean(), rel=ROUNDING)


# the one that fares worst


def test_nobody_must_share_while_there_is_room_beside() -> None:
    """Lettuce on 2/5 of a bed among corn on its half: all fits side by side, so nothing need be shared.  With radish on the other
    half, places for 1.4 beds stand on one: of the lettuce's ground all is shared and needs to be, of the corn's 2/5 of a half."""
    corn = planting("sweet-corn", "corn", half(0.0), OnDate("05-05"), establish="stations", density_per_m2=6.0)
    lettuce = planting("lettuce-cos", "lettuce", Strip(x=(Span(0.0, True), Span(0.4, True))), OnDate("05-05"), establish="drills")
    radish = planting("radish", "radish", half(0.5), OnDate("05-05"))
    every = np.ones((2, 2))
    assert must_share(planned(corn, lettuce), every) == pytest.approx([0.0, 0.0], abs=0.05)
    three = planned(corn, lettuce, radish)
    overlap = np.array([[1.0, 0.8, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    corn_days, lettuce_days = days_together(three)[0], days_together(three)[1]
    ground = np.array([p.stand.area_m2 / three.bed.area_m2 for p in three.plantings])
    assert must_share(three, overlap)[0] == pytest.approx(
        min(0.8 * corn_days[1], max(float(corn_days @ ground) - 1.0, 0.0) / ground[0])
    )
    assert must_share(three, overlap)[1] == pytest.approx(
        min(lettuce_days[0], max(float(lettuce_days @ ground) - 1.0, 0.0) / ground[1])
    )
    assert must_share(three, overlap)[1] > 0.0


def test_a_planting_fares_as_its_growth_or_its_picking_whichever_is_less() -> None:
    """Lettuces in the shade of grown corn: leaf must have grown before there is something to pick, so that of the picking less is
    left than of the growth; the canopy says both."""
    corn = planting("sweet-corn", "corn", start=OnDate("05-05"), establish="stations", density_per_m2=10.0)
    lettuce = planting("lettuce-loose-leaf", "lettuce", start=OnDate("07-01"), establish="module", count=12)
    season = grown(corn, lettuce)
    evidence = Evidence(season)
    mixed, alone = season.planting_kg()[:, 1], season.planting_kg("lone")[:, 1]
    assert evidence.fares[:, 1] == pytest.approx(np.minimum(mixed / alone, evidence.kept[:, 1]))
    assert np.median(evidence.fares[:, 1]) < np.median(evidence.kept[:, 1]) - constants()["picked_told"]
    (told,) = [r for r in score(season).part("canopy").reasons if r.plantings[0] == "lettuce" and r.cause == "light"]
    assert told.numbers["picked"] == pytest.approx(float(np.median(evidence.fares[:, 1])))
    assert "of the picking" in reason_sentence(told)
    phacelia = Evidence(grown(corn, planting("phacelia", "phacelia", start=OnDate("05-05"))))
    assert phacelia.fares[:, 1] == pytest.approx(phacelia.kept[:, 1])


def test_what_a_sunny_side_leaves_by_hand() -> None:
    """Six times the shaded share: seven tenths the mean by weight, three tenths what the worst has beyond a twentieth."""
    corn = planting("sweet-corn", "corn", half(0.0), OnDate("05-05"), establish="stations", density_per_m2=6.0)
    lettuce = planting("lettuce-cos", "lettuce", half(0.5), OnDate("05-20"), establish="module", count=8)
    evidence = Evidence(grown(corn, lettuce, one=bed(heading_deg=0.0)))
    shade = float(evidence.shadows.share[1, 0])
    lost = 6.0 * (0.7 * evidence.weight[1] * shade + 0.3 * (shade - 0.05))
    assert shade > 0.05
    assert evidence.shadows.share.sum() == pytest.approx(shade)
    assert evidence.placing == pytest.approx(1.0 - min(lost, constants()["sunny_side_most"]))


def test_a_row_that_fails_is_not_hidden_by_what_the_others_give() -> None:
    """Half of a bed is due from each of two halves by half of good practice: what gives a quarter of it leaves a half of what is
    due, and the yield the fifth root of that; what is no food owes nothing."""
    beans, roots = (
        planting("bean-bush", "beans", half(0.0), OnDate("08-01"), establish="stations"),
        planting("beetroot", where=half(0.5)),
    )
    evidence = Evidence(grown(beans, roots))
    share, c = evidence.land_use[0], constants()
    ground = np.array([p.stand.area_m2 / evidence.season.plan.bed.area_m2 for p in evidence.season.plan.plantings])
    assert evidence.due_given == pytest.approx(np.minimum(share / (c["poor_row"] * ground), 1.0))
    least = np.maximum(evidence.due_given.min(axis=1), c["yield_worst_least"])
    assert least.max() < 1.0
    whole = yield_points(evidence.land_use[1]) ** 0.7 * (100.0 * np.minimum(evidence.covered / c["covered_full"], 1.0)) ** 0.3
    assert use_points(evidence) == pytest.approx(whole * least**0.2)
    part = score(evidence.season).part("yield")
    assert "beans" in [r.plantings[0] for r in part.reasons if r.cause in ("little", "nothing")]
    assert sum(r.points for r in part.reasons) == pytest.approx(100.0 - part.score, abs=2.0)
    green = Evidence(grown(planting("phacelia", where=half(0.0)), planting("beetroot", where=half(0.5))))
    assert green.due_given[:, 0] == pytest.approx(1.0)
