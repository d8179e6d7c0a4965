"""How each method picks: what it takes, how often, and that nothing is picked that was not grown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from alone import grow_alone
from strategies import grown, planned, planting

from mixcraft.crops import load_crop
from mixcraft.crops.development import NEVER
from mixcraft.place.places import reference_place
from mixcraft.recipe.constants import constant as recipe_constant
from mixcraft.recipe.model import AtEvent, CoverUse, HarvestUse, OnDate, OnDay, Thinning
from mixcraft.season.constants import constant
from mixcraft.season.course import unripe_share
from mixcraft.season.grow import grow
from mixcraft.season.harvest import in_rounds
from mixcraft.season.result import Season

YEARS = 3
SEEDLING_G = 0.05


def pickings(season: Season, h: int = 0, year: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Days and kilograms of the pickings of one harvest in one year."""
    kg = season.picked_kg[:, year, h]
    days = np.nonzero(kg)[0]
    return days, kg[days]


def dry_g(season: Season) -> float:
    """Dry matter [g] of all that is picked, all years."""
    total = 0.0
    for h, harvest in enumerate(season.harvests):
        total += season.picked_kg[:, :, h].sum() * 1000.0 * harvest.part.number("dry_matter")
    return total


def main_part(crop: str) -> str:
    return load_crop(crop).main_part.name


def pulled(crop: str, method: str, **more: object) -> Season:
    use = HarvestUse(main_part(crop), method, **more)  # type: ignore[arg-type]
    return grown(planting(crop, harvest=(use,)), years=YEARS)


def test_once_is_one_day_and_ends_the_crop() -> None:
    season = pulled("carrot-maincrop", "once")
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        assert len(days) == 1
        assert season.leaf_m2[days[0] :, year, 0].max() == 0.0


def test_pulling_is_even_and_ends_when_all_is_out() -> None:
    """Week by week, about the same number of plants each time; the first pulling finds smaller roots than the last."""
    season = pulled("carrot-maincrop", "pull", every_days=7.0)
    for year in range(YEARS):
        days, kg = pickings(season, year=year)
        assert len(days) >= 4
        assert set(np.diff(days)) == {7}
        assert kg.min() > 0.0
        share = season.leaf_m2[days[0], year, 0] / season.leaf_m2[days[0] - 1, year, 0]
        assert share == pytest.approx(1.0 - 1.0 / len(days), abs=0.05)
        assert season.leaf_m2[days[-1] :, year, 0].max() < season.leaf_m2[:, year, 0].max()


def test_roots_that_are_still_small_are_left_when_the_others_have_been_pulled() -> None:
    """Turnips of one sowing come to size one after the other: those that are small yet are not thrown away with the last of the
    first ones, so that years and sowings side by side give much the same (0.7 to 1.9 kg/m2 when they were)."""
    alone = grow_alone(load_crop("turnip"), reference_place("Gainesville"), "drills", ["10-01", "10-11", "10-21"], YEARS)
    assert alone.yields.min() > 0.8 * alone.yields.max()


def test_pulled_over_time_or_at_once_it_is_the_same_order_of_amount() -> None:
    """What is pulled over weeks goes on growing while it waits, so it gives more, though not many times as much."""
    once, pull = (pulled("carrot-maincrop", m).picked_kg.sum() for m in ("once", "pull"))
    assert once <= pull <= 5.0 * once


def test_picking_more_often_gives_more_pickings() -> None:
    weekly, monthly = (pulled("carrot-maincrop", "pull", every_days=d) for d in (7.0, 28.0))
    assert len(pickings(weekly)[0]) > 2 * len(pickings(monthly)[0])


def test_leaf_by_leaf_leaves_leaves_standing() -> None:
    season = pulled("chard", "leaf")
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        assert len(days) >= 3
        for day in days[:-1]:
            assert season.leaf_m2[day, year, 0] > 0.0


def test_cutting_takes_most_and_no_more_often_than_said() -> None:
    crop = load_crop("lettuce-baby-leaf")
    dense = crop["spacing.cutting_density"]
    for cuts in (1, 2):
        use = HarvestUse(main_part("lettuce-baby-leaf"), "cut", cuts=cuts)
        season = grown(planting("lettuce-baby-leaf", harvest=(use,), density_per_m2=dense), years=YEARS)
        for year in range(YEARS):
            days, _ = pickings(season, year=year)
            assert 1 <= len(days) <= cuts
            assert season.leaf_m2[days[0], year, 0] < 0.6 * season.leaf_m2[days[0] - 1, year, 0]


def test_fruit_is_picked_again_and_again() -> None:
    season = grown(planting("courgette", establish="module", count=2, start=OnDate("05-25")), years=YEARS)
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        assert len(days) >= 5
        interval = int(max(1, load_crop("courgette").main_part.number("interval", 7.0)))
        assert np.diff(days).min() >= interval


def test_windows_of_the_recipe_are_kept() -> None:
    use = HarvestUse("root", "pull", start=OnDay("08-15"), until=OnDay("09-15"))
    season = grown(planting("carrot-maincrop", harvest=(use,)), years=YEARS)
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        dates = [str(season.plan.date(d))[5:10] for d in days]
        assert dates[0] >= "08-15"
        assert dates[-1] <= "09-15"


def test_nothing_is_picked_outside_its_window() -> None:
    season = grown(planting("radish"), planting("spinach"), planting("pea-dwarf"), years=YEARS)
    for h in range(len(season.harvests)):
        for year in range(YEARS):
            days, _ = pickings(season, h, year)
            if days.size:
                assert season.opens[year, h] <= days[0]
                assert days[-1] <= season.closes[year, h]
            if season.opens[year, h] >= NEVER:
                assert days.size == 0


def test_tops_come_with_the_roots() -> None:
    """Carrot tops are picked on days when carrots are pulled, and on no other."""
    uses = (HarvestUse("root", "pull"), HarvestUse("carrot tops"))
    season = grown(planting("carrot-maincrop", harvest=uses), years=YEARS)
    for year in range(YEARS):
        roots, tops = set(pickings(season, 0, year)[0]), set(pickings(season, 1, year)[0])
        assert tops
        assert tops <= roots


WAYS = [
    ("radish", "root", "pull"), ("carrot-maincrop", "root", "once"), ("carrot-maincrop", "baby carrots", "thin"),
    ("chard", main_part("chard"), "leaf"), ("rocket", "leaves", "cut"), ("pea-dwarf", main_part("pea-dwarf"), "pick"),
    ("spinach", "leaves", "leaf"), ("kohlrabi", main_part("kohlrabi"), "once"), ("leek", main_part("leek"), "pull"),
]  # fmt: skip
UNUSUAL = [
    ("lettuce-loose-leaf", "thinnings", "thin"), ("chard", "thinnings", "thin"), ("leek", "baby leeks", "thin"),
    ("kale", main_part("kale"), "pick"), ("chives", main_part("chives"), "pick"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("crop", "part", "method"),
    [*WAYS, *UNUSUAL],
)
def test_what_is_picked_was_grown(crop: str, part: str, method: str) -> None:
    """Dry matter picked is no more than dry matter made, of the mixture and of its twins."""
    found = load_crop(crop)
    season = grown(planting(crop, establish=found.establish[0], harvest=(HarvestUse(part, method),)), years=YEARS)
    assert season.picked_kg.sum() > 0.0
    seedlings = SEEDLING_G * season.plan.plantings[0].stand.plants * YEARS
    assert dry_g(season) <= season.growth_g.sum() + seedlings


def test_side_shoots_come_after_the_head() -> None:
    """Broccoli whose side shoots are wanted stays when its head is cut, once, and gives no more head for it."""
    start = OnDate("05-01")
    head, shoots = HarvestUse("head", "once"), HarvestUse("side shoots", "pick")
    both, alone = (
        grown(planting("broccoli", establish="module", harvest=uses, start=start), years=YEARS)
        for uses in ((head, shoots), (head,))
    )  # fmt: skip
    days = min(both.days, alone.days)
    assert both.picked_kg[:days, :, 0] == pytest.approx(alone.picked_kg[:days, :, 0])
    for year in range(YEARS):
        cut, later = pickings(both, 0, year)[0], pickings(both, 1, year)[0]
        assert len(cut) == 1
        assert len(later) >= 2
        assert later.min() > cut[0]
        assert both.leaf_m2[cut[0] + 1, year, 0] > 0.0


def test_growth_that_goes_into_flowers_makes_no_leaf() -> None:
    """Cosmos that put all their growth into flowers once they begin to come: their leaf area rises no more."""
    found = load_crop("cosmos")
    share = replace(found.main_part.records["share"], value=1.0)
    part = replace(found.main_part, records={**found.main_part.records, "share": share})
    crop = replace(found, parts=tuple(part if p.name == part.name else p for p in found.parts))
    season = grown(replace(planting("cosmos", start=OnDate("05-15")), crop=crop), years=YEARS)
    for year in range(YEARS):
        begun = int(season.opens[year, 0] - constant("side_lead"))
        leaf = season.leaf_m2[:, year, 0]
        assert (np.diff(leaf[begun - 10 : begun]) > 0.0).all()
        assert (np.diff(leaf[begun - 1 :]) <= 0.0).all()


@pytest.mark.parametrize(("crop", "uses"), [
    ("broccoli", (("head", "once"), ("leaves", "leaf"))), ("beetroot", (("root", "pull"), ("leaves", "leaf"))),
    ("celery", (("stalks", "once"), ("leaves", "leaf"))),
])  # fmt: skip
def test_the_order_in_which_harvests_are_written_does_not_matter(crop: str, uses: tuple[tuple[str, str], ...]) -> None:
    """Leaves that are due on the day on which the plants are pulled are picked before."""

    def by_part(order: tuple[tuple[str, str], ...]) -> dict[str, float]:
        way = "module" if crop == "celery" else "drills"
        item = planting(crop, establish=way, harvest=tuple(HarvestUse(*use) for use in order), start=OnDate("05-01"))
        season = grown(item, years=YEARS)
        return {h.part.name: float(season.picked_kg[:, :, i].sum()) for i, h in enumerate(season.harvests)}

    written, turned = by_part(uses), by_part(uses[::-1])
    assert written == pytest.approx(turned)
    assert min(written.values()) > 0.0


def test_taking_out_plants_does_not_lower_those_that_stay() -> None:
    """Half the seedlings of a kale whose leaves are picked are thinned when it is well grown: the others stay as high."""
    thin = Thinning(2.0 * load_crop("kale")["spacing.density"], AtEvent("start", 75.0))
    season = grown(planting("kale", thin=thin, harvest=(HarvestUse("leaves", "leaf"),)), years=YEARS)
    day = season.plan.plantings[0].thin_day
    assert day is not None
    leaf, height = season.leaf_m2[:, :, 0], season.height_m[:, :, 0]
    assert (leaf[day] < 0.7 * leaf[day - 1]).all()
    assert (height[day + 1] >= height[day]).all()


def test_thinning_takes_plants() -> None:
    """Every second plant goes, a sixth of all in each of three rounds: leaf grows a tenth less than the day before at least."""
    uses = (HarvestUse("baby carrots", "thin"), HarvestUse("root", "pull"))
    season = grown(planting("carrot-maincrop", harvest=uses), years=1)
    days = pickings(season, 0)[0]
    assert np.diff(days).tolist() == [7, 7]
    leaf = season.leaf_m2[:, 0, 0]
    before, last = leaf[[day - 2 for day in days]], leaf[[day - 1 for day in days]]
    assert (leaf[days] / last < 0.9 * last / before).all()


def test_a_day_of_thinning_that_the_recipe_gives_is_kept() -> None:
    uses = (HarvestUse("baby carrots", "thin"), HarvestUse("root", "pull"))
    thin = Thinning(200.0, AtEvent("emergence", 35.0))
    season = grown(planting("carrot-maincrop", density_per_m2=80.0, thin=thin, harvest=uses), years=1)
    assert len(pickings(season, 0)[0]) == 1


def test_thinned_without_a_day_in_rounds_where_thinnings_are_eaten_and_else_at_three_weeks() -> None:
    uses = (HarvestUse("baby carrots", "thin"), HarvestUse("root", "pull"))
    eaten, left = (
        grown(planting("carrot-maincrop", density_per_m2=80.0, thin=Thinning(200.0), harvest=picked), years=1)
        for picked in (uses, uses[1:])
    )
    days = pickings(eaten, 0)[0]
    assert np.diff(days).tolist() == [7, 7]
    assert eaten.plan.plantings[0].thin_day is None
    clock = left.plan.plantings[0].clock
    assert left.plan.plantings[0].thin_day == clock.emergence[0] + recipe_constant("thinned_after")


def test_what_is_sown_thick_is_cut_before_it_is_full_grown() -> None:
    """Rocket broadcast in late August at Oxford: full-grown after seven weeks, its leaves meet and are cut a week before or more;
    where it stands thin, so that no leaf meets another, it is not."""
    uses = (HarvestUse("leaves", "cut"),)
    for density, sooner in ((500.0, True), (8.0, False)):
        rocket = planting("rocket", establish="broadcast", density_per_m2=density, start=OnDate("08-20"), harvest=uses)
        season = grown(rocket, years=4)
        first = np.array([pickings(season, 0, year)[0][0] for year in range(4)])
        assert (first <= season.clocks[0].ready - 7).all() if sooner else (first >= season.clocks[0].ready).all()


def test_a_cover_over_a_tender_crop_saves_it() -> None:
    """Beans planted out in late March at Oxford: glass keeps more of them alive than the open bed."""
    start = OnDate("03-25")
    glass = CoverUse("glasshouse", AtEvent("start"), AtEvent("start", 60.0))
    alive = []
    for covers in ((), (glass,)):
        season = grown(planting("bean-bush", establish="module", count=8, start=start, covers=covers), years=12)
        alive.append(float((season.death > 60).mean()))
    assert alive[1] > alive[0]


def test_dry_beds_give_less() -> None:
    """Rain alone on sand gives less than watering, and is never more than watering."""
    from strategies import bed

    from mixcraft.recipe.model import Watering

    wet = grown(planting("lettuce-cos", establish="module", count=16), years=YEARS)
    dry = grown(
        planting("lettuce-cos", establish="module", count=16), years=YEARS,
        one=bed(soil="sand", watering=Watering("rain")),
    )  # fmt: skip
    assert (wet.water == 1.0).all()
    assert (dry.water <= 1.0).all()
    assert dry.water.min() < 1.0
    assert dry.growth_g.sum() < wet.growth_g.sum()


def resprouting(limit_c: float | None, start: str = "10-01") -> Season:
    """Mint set out in Berlin, its rootstock hardy down to `limit_c`; its tops die at -8 C."""
    found = load_crop("mint")
    records = {k: v for k, v in found.records.items() if k != "frost.crown"}
    if limit_c is not None:
        records["frost.crown"] = replace(found.records["frost.grown"], value=limit_c, low=None, high=None)
    item = planting("mint", establish="plant", density_per_m2=6.0, start=OnDate(start))
    return grown(replace(item, crop=replace(found, records=records)), years=YEARS, where="Berlin")


def test_a_hardy_rootstock_sprouts_again_after_the_frost() -> None:
    """With -25 C the mint of October is picked next summer; with no rootstock it dies of the first frost below -8 C."""
    lives, dies = resprouting(-25.0), resprouting(None)
    assert (dies.death[:, 0] < NEVER).all()
    assert dies.planting_kg().max() < 0.15
    assert (lives.death[:, 0] >= NEVER).all()
    for year in range(YEARS):
        days, _ = pickings(lives, year=year)
        first = (lives.clocks[0].dieback[year] > 0.0).argmax()
        assert lives.clocks[0].dieback[year, first] > 0.0
        assert lives.leaf_m2[first, year, 0] < lives.leaf_m2[first - 1, year, 0]
        again = days[days >= first]
        assert again.min() > first + 30
        assert lives.leaf_m2[again[0] - 1, year, 0] > 3.0 * lives.leaf_m2[first : again[0], year, 0].min()


def test_fruit_ripens_one_by_one() -> None:
    """The first picking finds few ripe fruit, not all that has set: less than a later one, and under a tenth of all."""
    item = planting("tomato-cordon", establish="module", count=4, support="stake", start=OnDate("05-15"))
    season = grown(item, years=YEARS, where="Rome")
    for year in range(YEARS):
        _, kg = pickings(season, year=year)
        assert kg[0] < kg.max()
        assert kg[0] < 0.1 * kg.sum()


def test_fruit_that_sets_in_heat_ripens_none_the_later() -> None:
    """Where heat lets a fifth of the flowers set, fruit is fewer, and as far on its way."""
    crop, thermal = load_crop("tomato-cordon"), np.arange(200.0)[None, :] * 20.0
    days = np.array([10])
    clock = grown(planting("tomato-cordon", establish="module", count=1), years=1).clocks[0]
    mild, hot = (
        replace(clock, thermal=thermal, organ=days, setting=np.full_like(thermal, share)) for share in (1.0, 0.2)
    )  # fmt: skip
    ripe = [1.0 - unripe_share(crop, one)[0] for one in (mild, hot)]
    assert ripe[0] == pytest.approx(ripe[1])
    assert (ripe[0] > 0.0).argmax() == (ripe[1] > 0.0).argmax()


def test_fruit_sets_once_the_cover_is_off() -> None:
    """Courgettes under a tunnel until late July set nothing there; uncovered they bear, later and less than without a cover."""
    tunnel = CoverUse("low-tunnel", AtEvent("start"), OnDay("07-25"))
    item = planting("courgette", establish="module", count=2, start=OnDate("06-01"))
    bare, covered = (grown(replace(item, covers=covers), years=YEARS) for covers in ((), (tunnel,)))
    assert (covered.planting_kg() > 0.2 * bare.planting_kg()).all()
    assert (covered.planting_kg() < bare.planting_kg()).all()
    assert (covered.first_picking() > bare.first_picking()).all()
    off = int((np.datetime64("2001-07-25") - covered.plan.start.astype("datetime64[D]")).astype(int))
    assert (covered.first_picking() > off).all()


def test_leaves_due_every_twelve_days_are_picked_in_weekly_rounds() -> None:
    """Half of the plants or so a week: no week without a picking while it grows; the harvest of the plan keeps its
    own interval."""
    use = HarvestUse(main_part("chard"), "leaf", every_days=12.0)
    season = grown(planting("chard", establish="drills", start=OnDate("05-01"), harvest=(use,)), years=YEARS)
    assert season.harvests[0].interval_days == 12.0
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        assert len(days) > 12
        assert set(np.diff(days)[:10]) == {7}
    one = season.harvests[0]
    assert (1.0 - in_rounds(one).take) ** (12.0 / 7.0) == pytest.approx(1.0 - one.take)
    weekly = replace(one, interval_days=7.0)
    assert in_rounds(weekly) == weekly
    cut = replace(one, method="cut")
    assert in_rounds(cut) == cut


def test_bulbs_are_lifted_as_their_tops_fall_and_do_not_grow_after_that() -> None:
    use = HarvestUse(main_part("onion"), "once")
    season = grown(planting("onion", establish="set", start=OnDate("04-01"), harvest=(use,)), years=YEARS)
    ready = season.clocks[0].ready
    for year in range(YEARS):
        days, _ = pickings(season, year=year)
        assert days.tolist() == [ready[year]]


def test_picking_of_fruit_begins_as_soon_as_there_is_enough_and_not_a_round_later() -> None:
    """The longer the rounds, the no later the first: fruit is looked at every day until some of it is worth picking."""
    part, firsts = main_part("pepper-sweet"), []
    for every in (3.0, 14.0):
        use = HarvestUse(part, "pick", every_days=every)
        peppers = planting("pepper-sweet", establish="module", start=OnDate("05-20"), harvest=(use,))
        season = grown(peppers, years=YEARS, where="Rome")
        firsts.append([pickings(season, year=year)[0][0] for year in range(YEARS)])
    assert firsts[0] == firsts[1]
    assert all(0 <= first - ready <= 5 for first, ready in zip(firsts[0], season.clocks[0].ready, strict=True))


@pytest.mark.parametrize("crop", ["winter-squash", "pumpkin", "butternut"])
def test_fruit_cut_in_one_go_is_cut_when_it_is_ripe_whether_it_is_large_or_small(crop: str) -> None:
    """Shade makes less fruit, not later: days of warmth ripen it."""
    stand = planting(crop, crop, start=OnDate("05-10"), establish="stations", harvest=(HarvestUse("fruit", "once"),))
    open_sky, shade = (grow(planned(stand, where="Rome"), 1, 11, cyclic=True, light=light) for light in (1.0, 0.6))
    (day, kg), (later, less) = pickings(open_sky), pickings(shade)
    assert len(day) == len(later) == 1
    assert day[0] == later[0] == open_sky.opens[0, 0] + constant("wait_for_usual")
    assert 0.2 * kg[0] < less[0] < 0.9 * kg[0]


def test_cuts_are_numbered_in_the_warm_months_and_not_through_a_winter() -> None:
    """Rocket of September is cut as often as it grows again until it runs to seed, unless the recipe says how often; that of May
    so often as its sources have it."""
    usual = int(load_crop("rocket").main_part.number("cuts"))

    def cuts(start: str, **more: object) -> list[int]:
        use = HarvestUse(main_part("rocket"), "cut", **more)  # type: ignore[arg-type]
        season = grown(planting("rocket", start=OnDate(start), harvest=(use,)), years=YEARS)
        return [len(pickings(season, year=year)[0]) for year in range(YEARS)]

    assert max(cuts("09-05")) > usual
    assert max(cuts("09-05", cuts=2)) == 2
    assert max(cuts("05-01")) <= usual
