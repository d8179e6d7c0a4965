"""The score: its parts, their reasons, the harvest strip and the words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import bed, garden, grown, mixtures, planned, planting, recipe, trellis_bed

from mixcraft.crops.cautions import cautions
from mixcraft.graph import KINDS
from mixcraft.recipe.model import (
    PARTS,
    After,
    AtEvent,
    AtTrellis,
    CoverUse,
    Garden,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Plate,
    Span,
    Strip,
    Watering,
)
from mixcraft.recipe.plan import plan
from mixcraft.scoring import score
from mixcraft.scoring.build import DIGITS
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import geometric, growth_kept, overall_points
from mixcraft.scoring.model import Reason, Score
from mixcraft.scoring.parts.canopy import canopy_points, kept_full
from mixcraft.scoring.parts.continuity import SHARES, points_of
from mixcraft.scoring.strip import Weeks, strip_gaps
from mixcraft.season.grow import grow
from mixcraft.words import part_summary, reason_sentence
from mixcraft.words.notes import note_sentence
from mixcraft.words.plain import cover_words, date_words, grams, listed, percent, span_words, weeks_words

YEARS = 3
ROUNDING = 1e-9
DAY = np.timedelta64(1, "D")


def scored(*plantings: Planting, where: Garden | None = None, **more: object) -> Score:
    if where is not None:
        settled = plan(recipe(*plantings), where, where.beds[0].name)
        return score(grow(settled, YEARS, 11, voxels=False))
    return score(grown(*plantings, years=YEARS, **more))  # type: ignore[arg-type]


def said(result: Score, part: str) -> list[Reason]:
    return list(result.part(part).reasons)


# the whole


@given(st.lists(st.tuples(st.floats(1.0, 100.0), st.floats(0.1, 3.0)), min_size=1, max_size=6))
@settings(max_examples=60)
def test_geometric_mean(parts: list[tuple[float, float]]) -> None:
    """By a second formula: the product of the points to the power of their share of the weight."""
    points, weights = [p for p, _ in parts], [w for _, w in parts]
    expected = 1.0
    for p, w in parts:
        expected *= p ** (w / sum(weights))
    found = geometric(points, weights)
    assert found == pytest.approx(expected)
    assert min(points) - 1e-9 <= found <= max(points) + 1e-9


def test_one_failing_part_cannot_hide() -> None:
    assert geometric([100.0] * 5 + [1.0]) < 50.0
    assert geometric([100.0, 0.0]) == pytest.approx(np.sqrt(100.0 * constants()["floor"]))


def stretched(mean: float) -> float:
    """The scale by hand: a line from 0 at 30 towards 100 at 95; below 60 the parabola from nothing that meets it there, from
    88.5, where it is at 90, a line to 100 at 100."""
    if mean > 88.5:
        return 90.0 + 10.0 * (mean - 88.5) / 11.5
    return (mean - 30.0) / 0.65 if mean >= 60.0 else mean**2 / 120.0 / 0.65


def test_the_scale_of_the_overall_score() -> None:
    """Halfway between 30 and 95 are 50 points; at 60 line and parabola have one value and one slope; no order is lost."""
    means = np.arange(1.0, 101.0)
    points = overall_points(means[:, None], [1.0])
    assert points == pytest.approx([stretched(mean) for mean in means])
    assert overall_points(np.array([[62.5], [60.0], [88.5], [100.0]]), [1.0]) == pytest.approx([50.0, 30.0 / 0.65, 90.0, 100.0])
    step = np.diff(points)
    assert (step > 0.0).all()
    assert np.abs(np.diff(step[means[:-1] < 88.0])).max() < 0.03


def test_the_scale_begins_where_a_faultless_bed_gives_a_tenth() -> None:
    c = constants()
    weights = [c[f"weight_{name}"] for name in PARTS]
    tenth = geometric([10.0 if name in ("continuity", "yield") else 100.0 for name in PARTS], weights)
    assert tenth == pytest.approx(c["overall_nothing"], abs=2.0)


@given(mixtures(least=1, most=4))
@settings(max_examples=10)
def test_scores_of_any_mixture(mixture: tuple[Planting, ...]) -> None:
    result = scored(*mixture)
    season = result.season
    names = {p.name for p in season.plan.plantings}
    assert [p.name for p in result.parts] == list(PARTS)
    assert 0.0 <= result.overall <= 100.0 + ROUNDING
    mean = geometric([p.score for p in result.parts], [p.weight for p in result.parts])
    assert result.overall == pytest.approx(stretched(mean))
    first, last = season.plan.start, season.plan.date(season.days + 6)
    for part in result.parts:
        assert 0.0 <= part.score <= 100.0 + ROUNDING
        assert part_summary(part)
        points = [round(r.points, DIGITS) for r in part.reasons]
        assert points == sorted(points, reverse=True)
    for reason in result.reasons:
        assert reason.part in PARTS
        assert reason_sentence(reason).endswith(".")
        opening = reason_sentence(reason)[0]
        assert opening.isupper() or opening.isdigit() or reason_sentence(reason).startswith(tuple(names))
        assert "nan" not in reason_sentence(reason)
        assert set(reason.plantings) <= names
        assert reason.points >= 0.0
        if reason.weeks is not None:
            # what is missing on the plate may be missing before the first sowing and after the season
            low, high = (reason.weeks[0], reason.weeks[1]) if reason.part == "continuity" else (first, last)
            assert low <= reason.weeks[0] <= reason.weeks[1] <= high
        if reason.edge is not None:
            assert {reason.edge[0], reason.edge[1]} <= names
            assert reason.edge[2] in KINDS
    assert set(result.kept) == set(result.partial_ler) == names
    band = result.overall_band
    assert 0.0 <= band.low <= band.middle <= band.high <= 100.0 + ROUNDING
    assert [c.planting for c in result.chances] == [p.name for p in season.plan.plantings]
    assert all(0.0 <= c.frost <= 1.0 and 0.0 <= c.cold_soil <= 1.0 for c in result.chances)
    for item in result.yields:
        assert item.planting in names
        assert item.kg.low <= item.kg.middle <= item.kg.high
        assert (item.first is None) == (item.last is None)
        if item.first is not None and item.last is not None:
            assert item.first <= item.last
            assert item.first_band is not None
            assert item.last_band is not None
            assert item.first_band[0] <= item.first <= item.first_band[1]
            assert item.last_band[0] <= item.last <= item.last_band[1]
    for week, after in zip(result.strip, result.strip[1:], strict=False):
        assert after.start - week.start == 7 * DAY


def test_reasons_come_worst_first_by_weight() -> None:
    result = scored(planting("radish", name="a"), planting("rocket", name="b"), planting("kale", name="c"))
    weight = {p.name: p.weight for p in result.parts}
    cost = [r.points * weight[r.part] for r in result.reasons]
    assert cost == sorted(cost, reverse=True)


def test_a_garden_sets_its_own_weights() -> None:
    own = replace(garden(), weights={"continuity": 0.0, "yield": 5.0})
    result = scored(planting("radish"), where=own)
    weights = {p.name: p.weight for p in result.parts}
    assert (weights["continuity"], weights["yield"]) == (0.0, 5.0)
    assert weights["canopy"] == constants()["weight_canopy"]
    assert not any(r.part == "continuity" for r in result.reasons)


# canopy


def test_canopy_is_full_without_neighbours_and_names_who_takes_the_light() -> None:
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=16, start=OnDate("07-20"))
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=12.0, start=OnDate("05-05"))
    alone, mixed = scored(lettuce), scored(corn, lettuce)
    assert alone.part("canopy").score == pytest.approx(100.0)
    assert said(alone, "canopy") == []
    assert mixed.kept["lettuce"] < 0.6
    assert mixed.part("canopy").score < 100.0
    reason = next(r for r in said(mixed, "canopy") if r.plantings[0] == "lettuce")
    assert reason.edge == ("corn", "lettuce", "takes light")
    assert "% to shade (corn)" in reason_sentence(reason)


def test_more_is_asked_of_plantings_that_have_their_ground_to_themselves() -> None:
    """Side by side in strips full points ask for `kept_apart`, on the same ground for `kept_full`; half shared, half way;
    one after the other, apart."""
    c = constants()
    halves = [Strip(x=(Span(low, True), Span(low + 0.5, True))) for low in (0.0, 0.5)]
    apart = planned(*(planting("radish", name=n, where=w) for n, w in zip("ab", halves, strict=True)))
    whole = planned(planting("radish", name="a"), planting("radish", name="b"))
    part = planned(planting("radish", name="a"), planting("radish", name="b", where=halves[0]))
    assert kept_full(apart) == pytest.approx(c["kept_apart"])
    assert kept_full(whole) == pytest.approx(c["kept_full"])
    assert kept_full(part) == pytest.approx([(c["kept_apart"] + c["kept_full"]) / 2.0, c["kept_full"]])
    later = planned(planting("radish", name="a"), planting("radish", name="b", start=OnDate("08-20")))
    assert kept_full(later) == pytest.approx(c["kept_apart"])
    assert canopy_points(np.array([0.45, 1.0]), np.array([0.9, 0.65])) == pytest.approx([50.0, 100.0])


def test_growth_kept_is_growth_over_growth_alone() -> None:
    season = grown(planting("spinach"), planting("radish"), years=YEARS)
    expected = season.growth_g.sum(axis=0) / season.lone_growth_g.sum(axis=0)
    assert growth_kept(season) == pytest.approx(expected)


# continuity


def test_gaps_by_hand() -> None:
    """Picked, none, none, picked, none (not wanted), none: gaps of two weeks and of one; weeks before the first sowing count."""
    settled = planned(planting("radish"))
    weeks = Weeks(2, 6, np.array([True, True, True, True, False, True]))
    gaps = strip_gaps(settled, weeks, np.array([False, True, True, False, True, True]))
    assert [(g.start - settled.start, g.end - settled.start, g.weeks) for g in gaps] == [
        (-7 * DAY, 6 * DAY, 2), (21 * DAY, 27 * DAY, 1),
    ]  # fmt: skip


def test_continuity_by_hand() -> None:
    """All served, three kinds of three, no gap, nothing wasted: 100.  Half served, three weeks of four with something, two kinds
    of three, a gap that leaves half, half wasted: 0.5^0.4 x 0.75^0.1 x (2/3)^0.25 x 0.5^0.1 x 0.5^0.15 = 0.560."""
    c, one = constants(), np.array([1.0])
    assert sum(c[power] for power in SHARES.values()) == pytest.approx(1.0)
    assert points_of(one, one, one, one, one) == pytest.approx(100.0)
    assert points_of(one / 2, one * 3 / 4, one * 2 / 3, one / 2, one / 2) == pytest.approx(55.95, abs=0.01)
    assert points_of(0 * one, 0 * one, 0 * one, 0 * one, one) == pytest.approx(0.0)


def test_continuity_says_what_is_served() -> None:
    """One crop, from May until October: weeks before and after it are gaps, few kinds are named, and the summary counts them."""
    plate = Plate("05-01", "10-31", portions=4.0, people=2)
    result = scored(planting("lettuce-loose-leaf", establish="drills"), one=bed(plate=plate))
    part = result.part("continuity")
    causes = {reason.cause for reason in part.reasons}
    assert {"gap", "few kinds"} <= causes
    assert part.numbers["wanted"] in (26.0, 27.0)
    assert part_summary(part).startswith(f"{int(part.numbers['enough'])} of {int(part.numbers['wanted'])} wanted weeks")
    assert "4 portions for 2" in part_summary(part)
    gap = next(reason for reason in part.reasons if reason.cause == "gap")
    assert reason_sentence(gap).startswith("Nothing can be picked for ")
    assert sum(reason.points for reason in part.reasons) == pytest.approx(100.0 - part.score, abs=1.0)


def test_a_glut_is_named_with_its_week() -> None:
    """Forty cos lettuces cut in one week on 2 m2 for a plate of four portions."""
    lettuce = planting("lettuce-cos", "lettuce", establish="module", count=40, start=OnDate("04-25"),
                       harvest=(HarvestUse("head", "once"),))  # fmt: skip
    part = scored(lettuce, one=bed(plate=Plate("05-01", "10-31", portions=4.0))).part("continuity")
    (glut,) = [reason for reason in part.reasons if reason.cause == "glut"]
    assert glut.plantings == ("lettuce",)
    assert glut.numbers["portions"] > 4.0
    assert reason_sentence(glut).startswith("Lettuce: ")


def test_the_strip_says_how_much_of_the_plate_it_serves() -> None:
    season = grow(planned(planting("radish"), one=bed(plate=Plate(portions=4.0))), YEARS, voxels=False)
    evidence = Evidence(season)
    served = evidence.eaten.served.mean(axis=1)[evidence.weeks.before :]
    assert [item.served for item in evidence.strip] == pytest.approx(served[: len(evidence.strip)])


def test_the_strip_adds_up() -> None:
    season = grown(planting("radish"), planting("spinach"), years=YEARS)
    evidence = Evidence(season)
    strip, by_week = evidence.strip, season.weekly_kg().sum(axis=2)
    assert len(strip) == -(-season.days // 7)
    for number, item in enumerate(strip):
        assert item.kg.middle == pytest.approx(float(np.median(by_week[number])))
        assert item.wanted == bool(evidence.weeks.wanted[evidence.weeks.before + number])
    assert by_week.sum() == pytest.approx(season.picked_kg.sum())


# roots, families


def test_more_families_are_better() -> None:
    one = scored(planting("radish", name="a"), planting("rocket", name="b"), planting("kale", name="c"))
    many = scored(planting("radish", name="a"), planting("carrot-maincrop", name="b"), planting("pea-dwarf", name="c"))
    assert many.part("families").score > one.part("families").score
    assert any("it is Brassicaceae" in reason_sentence(r) for r in said(one, "families"))
    assert part_summary(one.part("families")) == "1 family"


def test_rotation() -> None:
    kale = planting("kale", name="kale", establish="module", count=4)

    def after(*history: tuple[int, tuple[str, ...]]) -> tuple[float, list[str]]:
        result = scored(kale, planting("pea-dwarf", name="peas"), where=garden(bed(history=history)))
        return result.part("families").score, [
            reason_sentence(r) for r in said(result, "families") if r.cause in ("rotation", "family again")
        ]  # fmt: skip

    clean, nothing = after()
    last, told = after((1, ("cabbage-winter",)))
    long_ago, _ = after((6, ("cabbage-winter",)))
    assert nothing == []
    assert "grew here last year" in told[0]
    assert last < long_ago <= clean
    far, none = after((20, ("cabbage-winter",)))
    assert (far, none) == (clean, [])


def test_dry_beds_lose_points_for_roots_and_say_so() -> None:
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=16, start=OnDate("06-01"))
    wet = scored(lettuce, where=garden(bed(soil="sand")))
    dry = scored(lettuce, where=garden(bed(soil="sand", watering=Watering("rain"))))
    assert dry.part("roots").score < wet.part("roots").score
    assert any("wants watering" in reason_sentence(r) for r in said(dry, "roots"))


# timing


def test_frost() -> None:
    early = OnDate("03-20")
    result = scored(planting("tomato-cordon", name="tomatoes", establish="module", count=4, start=early))
    assert result.part("timing").score < 40.0
    assert any(reason_sentence(r).startswith("tomatoes: frost kills before the harvest") for r in said(result, "timing"))


def test_heat_is_no_frost() -> None:
    """Peas sown in July at Seville die of heat in August, the hottest month of a town without frost from May to October."""
    peas = planting("pea-sugar-snap", name="peas", start=OnDate("07-01"))
    result = scored(peas, where=garden(bed(), "Seville"))
    found = [r for r in said(result, "timing") if r.cause in ("frost", "late frost", "heat")]
    assert [reason_sentence(r).split(" in ")[0] for r in found] == ["peas: heat ends it before the harvest"]
    assert result.chances[0].frost == 0.0


def test_cold_soil() -> None:
    beans = planting("bean-bush", name="beans", establish="drills", start=OnDate("03-01"))
    assert any("into soil too cold" in reason_sentence(r) for r in said(scored(beans), "timing"))


def test_too_late() -> None:
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=5.0, start=OnDate("08-01"))
    reasons = said(scored(corn), "timing")
    assert any("too few warm days left" in reason_sentence(r) or "frost kills" in reason_sentence(r) for r in reasons)


def test_autumn_chill_is_said_as_one_and_is_no_frost() -> None:
    """A grown plant that chill finds unripe is no seedling, and to start it later is no repair."""
    late = OnDate("06-25")
    pepper = planting("aubergine", name="aubergine", establish="module", count=2, start=late)
    result = scored(pepper)
    reasons = [r for r in said(result, "timing") if r.cause in ("frost", "late frost", "chill")]
    assert [r.cause for r in reasons] == ["chill"]
    assert reason_sentence(reasons[0]).startswith("aubergine: chill ends it before the harvest in ")
    assert "the fruit is not ready yet or only just (it suffers below " in reason_sentence(reasons[0])
    assert reasons[0].weeks is not None
    assert "09-01" < str(reasons[0].weeks[0])[5:] < "11-30"


def test_autumn_frost_is_said_as_one() -> None:
    """Cauliflower set out in August at Winnipeg dies of the frosts of autumn before there is a head."""
    curds = planting("cauliflower", name="cauliflower", establish="module", count=4, start=OnDate("08-20"))
    result = scored(curds, where=garden(bed(), "Winnipeg"))
    reasons = [r for r in said(result, "timing") if "frost kills" in reason_sentence(r)]
    assert len(reasons) == 1
    assert "not ready yet or only just (it dies at " in reason_sentence(reasons[0])
    assert "young plant" not in reason_sentence(reasons[0])


def test_squash_cut_before_the_cold_is_not_killed_by_it() -> None:
    """Butternuts of late May at Oxford are brought in unripe in most years: what chill ends by then is a plant that has given."""
    squash = planting("butternut", name="squash", establish="module", count=2, start=OnDate("05-28"))
    found = scored(squash)
    assert found.season.planting_kg()[:, 0].min() > 0.3
    assert not [r for r in said(found, "timing") if r.cause in ("frost", "late frost", "chill")]


def test_what_stands_beyond_the_reckoning_is_said() -> None:
    """Garlic set so long after the first sowing that the days that are reckoned end before it is ripe; set in the first autumn it
    is ripe in time."""
    radish = planting("radish", name="radish", start=OnDate("03-20"))
    garlic = planting("garlic", name="garlic", establish="clove", count=10, start=OnDate("10-25"))
    assert scored(radish, garlic).season.planting_kg()[:, 1].min() > 0.1
    between = planting("radish", name="between", start=After(planting="radish", event="start", wait_days=250.0))
    garlic = replace(garlic, start=After(planting="between", event="start", wait_days=250.0))
    reasons = [r for r in said(scored(radish, between, garlic), "timing") if r.plantings == ("garlic",)]
    assert [r.cause for r in reasons] == ["cut off"]
    assert "a recipe of its own" in reason_sentence(reasons[0])


def test_pieces_planted_in_autumn_are_not_lost_when_they_rest_until_spring() -> None:
    mint = planting("mint", name="mint", establish="division", count=3, start=OnDate("10-01"))
    assert not any("too cold" in reason_sentence(r) for r in said(scored(mint), "timing"))


def test_a_good_date_has_nothing_to_say() -> None:
    result = scored(planting("carrot-maincrop", start=OnDate("05-01")))
    assert said(result, "timing") == []
    assert result.part("timing").score == pytest.approx(100.0)
    assert part_summary(result.part("timing")) == "no planting at risk"


def test_fleece_over_flowers() -> None:
    fleece = CoverUse("fleece", AtEvent("start"), OnDay("08-31"))
    courgette = planting("courgette", name="courgette", establish="module", count=2, start=OnDate("06-08"), covers=(fleece,))
    bare = replace(courgette, covers=())
    assert any("keeps pollinating insects off" in reason_sentence(r) for r in said(scored(courgette), "timing"))
    assert not any("pollinating" in reason_sentence(r) for r in said(scored(bare), "timing"))
    assert scored(courgette).part("timing").score < scored(bare).part("timing").score


def test_a_cover_too_low() -> None:
    cloche = CoverUse("low-tunnel", AtEvent("start"), OnDay("09-30"))
    start = OnDate("05-05")
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=5.0, start=start, covers=(cloche,))
    assert any("corn: grows to" in reason_sentence(r) for r in said(scored(corn), "timing"))


# yield


def test_a_crop_that_earns_nothing_is_named() -> None:
    corn = planting("sweet-corn", name="corn", establish="drills", density_per_m2=3.0, start=OnDate("09-01"))
    result = scored(corn, planting("radish", name="radish"))
    assert any(reason_sentence(r).startswith("corn: no harvest in most years") for r in said(result, "yield"))
    few = planting("radish", name="few", density_per_m2=1.0)
    result = scored(few, planting("carrot-maincrop", name="carrot"))
    assert [r.plantings for r in said(result, "yield") if r.cause == "little"] == [("few",)]


def test_one_crop_at_its_best_density_is_its_own_sole_crop() -> None:
    """Alone over the whole bed at the density that counts as best, the land equivalent ratio is one."""
    result = scored(planting("carrot-maincrop"))
    assert result.ler.middle == pytest.approx(1.0, abs=1e-6)
    assert result.partial_ler["maincrop carrot"] == pytest.approx(1.0, abs=1e-6)
    assert growth_kept(result.season) == pytest.approx(1.0)


# cautions and notes


def test_cautions() -> None:
    beans = planting("bean-climbing", name="beans", where=AtTrellis(), establish="stations", count=6)
    result = scored(beans, one=trellis_bed())
    assert "trellis-load" in result.cautions
    assert set(result.cautions) <= set(cautions())
    assert len(result.cautions) == len(set(result.cautions))
    plain = scored(planting("radish"))
    assert "trellis-load" not in plain.cautions
    tops = scored(planting("carrot-maincrop", harvest=(HarvestUse("root"), HarvestUse("carrot tops"))))
    assert set(plain.cautions) < set(tops.cautions) | set(plain.cautions)
    assert len(tops.cautions) > len(scored(planting("carrot-maincrop")).cautions)


def test_notes_are_those_of_the_plan() -> None:
    drawn = recipe(planting("radish"))
    result = score(grow(plan(drawn, garden(bed(3.0, 1.0)), "bed"), 1, 1, voxels=False))
    assert result.notes == result.season.plan.notes
    assert any("fitted to 3 m × 1 m" in note_sentence(note) for note in result.notes)


# words


@pytest.mark.parametrize(
    ("date", "words"),
    [("2001-06-01", "early June"), ("2001-06-10", "early June"), ("2001-06-11", "mid-June"), ("2001-06-21", "late June"),
     ("2001-12-31", "late December")],
)  # fmt: skip
def test_dates(date: str, words: str) -> None:
    assert date_words(np.datetime64(date)) == words


def test_other_words() -> None:
    june, august = np.datetime64("2001-06-25"), np.datetime64("2001-08-02")
    assert span_words(june, august) == "from late June to early August"
    assert span_words(june, june + 2) == "in late June"
    assert percent(0.256) == "26 %"
    assert (weeks_words(1), weeks_words(3)) == ("1 week", "3 weeks")
    assert [cover_words(kind) for kind in ("fleece", "fleece-light", "fleece-heavy", "low-tunnel", "mesh")] == [
        "fleece", "light fleece", "heavy fleece", "low tunnel", "insect mesh",
    ]  # fmt: skip
    assert [grams(kg) for kg in (0.045, 0.3549, 1.0, 2.34, 12.4, 126.0, 1e6)] == [
        "45 g", "350 g", "1 kg", "2.3 kg", "12 kg", "130 kg", "1000000 kg",
    ]  # fmt: skip
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b"]) == "a and b"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_a_strip_of_the_bed_can_be_scored() -> None:
    where = Strip(x=(Span(0.0, True), Span(0.3, True)))
    assert 0.0 < scored(planting("radish", where=where)).overall < 100.0
