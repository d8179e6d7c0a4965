"""The laws of growth in mixtures, each by itself: light use, young leaf, shade, climbers, nitrogen, walls."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import AtEvent, Feeding, HarvestUse, Obstacle, OnDate, Planting, Thinning
from mixcraft.season.columns import grain_set, reached_m, sets_from, start_leaf_m2
from mixcraft.season.course import brightness, reference_use
from mixcraft.season.dilution import dilution
from mixcraft.season.grow import grow
from mixcraft.season.harvest import attained_size
from mixcraft.season.kernel_leaf import grains_over_growth, setting_in_shade
from mixcraft.season.kernel_light import use_in_layer
from mixcraft.season.kernel_nitrogen import critical_share
from mixcraft.season.nitrogen import compost_litres, nitrogen_need
from mixcraft.season.open_sky import ground_of_open_sky, kept_of_open_sky, sun_hours
from mixcraft.season.result import Season

START = OnDate("05-15")
YEARS = 2
PERCENT, ROUNDING = 0.01, 1e-9


def test_the_use_of_a_layer_is_the_integral_of_the_leaf() -> None:
    """The closed form against a fine sum over the layer; and weak light is used in full."""
    lit, depth = 1.3, 2.0
    s = (np.arange(200_000) + 0.5) / 200_000 * depth
    light = lit * np.exp(-s)
    summed = float((light / (1.0 + light)).mean() * depth / lit)
    assert use_in_layer(lit, 1.0, -np.expm1(-depth)) == pytest.approx(summed, rel=1e-6)
    assert use_in_layer(0.0, 0.7, 0.5) == pytest.approx(0.35)


def test_layers_one_below_the_other_are_one_layer() -> None:
    upper, lower = 0.6, 0.9
    both = use_in_layer(1.1, 1.0, -np.expm1(-(upper + lower)))
    parts = use_in_layer(1.1, 1.0, -np.expm1(-upper)) + use_in_layer(1.1, np.exp(-upper), -np.expm1(-lower))
    assert parts == pytest.approx(both, rel=ROUNDING)


def test_maize_uses_strong_light_better_than_lettuce() -> None:
    """C4 against C3: half saturated at 149 and 80 W of PAR to the square metre of leaf (WOFOST crop files)."""
    maize, lettuce = load_crop("popcorn"), load_crop("lettuce-loose-leaf")
    assert float(brightness(maize, 9.0, 15.0)) / maize["canopy.k"] < float(brightness(lettuce, 9.0, 15.0)) / lettuce["canopy.k"]
    assert reference_use(maize) > reference_use(lettuce)


def light_use(light: float) -> float:
    season = grow(planned(planting("lettuce-loose-leaf", start=START)), YEARS, 5, cyclic=True, light=light)
    return float(season.growth_g.sum() / season.absorbed_mj.sum())


def test_a_shaded_crop_uses_its_light_better() -> None:
    """A fifth to a half more at half the light (Sinclair & Muchow 1999; shaded forages 40 % more, Druille and others 2020)."""
    assert 1.15 < light_use(0.5) / light_use(1.0) < 1.6


def test_young_leaf_grows_by_temperature_alone() -> None:
    """Until leaf area index 0.75 (Spitters & Schapendonk 1990) half the light makes no difference to the leaf."""
    plan = planned(planting("beetroot", start=START))
    leaf = [grow(plan, YEARS, 5, cyclic=True, light=light).leaf_m2[:, :, 0] for light in (1.0, 0.5)]
    area = 2.0
    young = (leaf[0] > 0.0) & (leaf[0] / area < 0.7)
    first = np.logical_and.accumulate(young | (leaf[0] == 0.0), axis=0) & young
    assert first.any()
    assert leaf[1][first] == pytest.approx(leaf[0][first], rel=1e-6)


@pytest.mark.parametrize(("crop", "low_cm2", "high_cm2"), [("bean-bush", 5, 15), ("popcorn", 3, 10), ("beetroot", 0.5, 2.5)])
def test_the_first_leaf_is_that_of_seedlings(crop: str, low_cm2: float, high_cm2: float) -> None:
    """AquaCrop's cover of a seedling: dry bean 10, maize 6.5, sugar beet 1 cm2."""
    way = "stations" if crop == "popcorn" else "drills"
    first = start_leaf_m2(planned(planting(crop, establish=way, start=START)).plantings[0])
    assert low_cm2 <= 1e4 * first <= high_cm2


def beans(support: bool, *others: Planting) -> Season:
    kind = {"support": "trellis", "support_height_m": 2.0} if support else {}
    climbing = planting("bean-climbing", "beans", start=START, establish="stations", **kind)
    return grown(climbing, *others, years=YEARS, where="Rome")


def test_climbers_sprawl_where_nothing_holds_them() -> None:
    free, held = beans(False), beans(True)
    assert free.height_m.max() <= 0.4 + ROUNDING
    assert held.height_m.max() > 1.5
    assert free.planting_kg().mean() < 0.97 * held.planting_kg().mean()


def test_corn_is_a_pole_for_beans() -> None:
    corn = planting("sweet-corn", "corn", start=OnDate("05-01"), establish="stations")
    season = beans(False, corn)
    tall = season.height_m[:, :, 0] > 1.0
    assert tall.any()
    assert (season.height_m[:, :, 0] <= np.maximum(season.height_m[:, :, 1].max(), 0.4) + ROUNDING).all()


def test_seedlings_among_taller_plants_are_slowed_as_far_as_they_are_shaded() -> None:
    """Radishes sown between cabbages whose leaves already meet: in the open a seedling's leaf grows by warmth alone, in three
    quarters of the light or less more slowly, and not by a tenth of that.  Relative growth rate falls less than in proportion to
    light, as leaf gets thinner (Poorter and others 2019, New Phytol. 223:1073, from memory)."""
    cabbages = planting("cabbage-summer", "cabbages", start=OnDate("05-01"), establish="module")
    radishes = planting("radish", "radishes", start=OnDate("06-05"), establish="drills", density_per_m2=30.0)
    season = grown(cabbages, radishes, years=YEARS)
    mixed, alone = season.leaf_m2[:, :, 1], grown(radishes, years=YEARS).leaf_m2[:, :, 0]
    for year in range(YEARS):
        up, free = (int(np.flatnonzero(leaf[:, year])[0]) for leaf in (mixed, alone))
        rates = [np.log(leaf[day + 10, year] / leaf[day, year]) for leaf, day in ((mixed, up), (alone, free))]
        assert 0.4 < rates[0] / rates[1] < 0.95


def test_what_is_set_out_is_low_and_grows_up() -> None:
    """Celery is ten weeks old as it is planted out, with leaf for its cell (75 cm2): a hand high, not as tall as it will be.
    Height goes with the square root of the leaf (SWAT, Neitsch and others 2011)."""
    for crop in ("celery", "basil", "leek"):
        height = grown(planting(crop, start=START, establish="module"), years=YEARS).height_m[:, 0, 0]
        up = np.flatnonzero(height)
        assert height[up[0]] < 0.3 * height.max(), crop
        assert height.max() > 0.9 * load_crop(crop)["canopy.height"], crop


@pytest.mark.parametrize("crop", ["turnip", "beetroot", "radish", "fenugreek", "pea-dwarf", "soybean", "bean-bush"])
def test_a_seedling_is_as_low_as_its_leaf_is_small(crop: str) -> None:
    """With a twentieth of its leaf a plant is between a tenth and three tenths of its height: the square root of a twentieth is
    0.22 (SWAT, Neitsch and others 2011)."""
    way = next(w for w in ("drills", "stations") if w in load_crop(crop).establish)
    season = grown(planting(crop, start=OnDate("05-20"), establish=way), years=YEARS, where="Rome")
    share = season.leaf_m2[:, 0, 0] / (2.0 * load_crop(crop)["canopy.lai_max"])
    day = int(np.argmax(share >= 0.05))
    assert 0.1 < season.height_m[day, 0, 0] / load_crop(crop)["canopy.height"] < 0.3


def test_a_lower_plant_goes_on_under_closed_leaf() -> None:
    """With the leaf above at its limit, what stands below still grows by the light that it gets."""
    corn = planting("sweet-corn", "corn", start=OnDate("05-01"), establish="stations")
    below = planting("spinach", "below", start=OnDate("06-20"), establish="drills")
    season = grown(corn, below, years=YEARS)
    leaf = season.leaf_m2[:, 0, 1]
    up = np.nonzero(leaf > 0.0)[0]
    assert leaf[up[0] : up[0] + 30].max() > 2.0 * leaf[up[0]]


def test_critical_nitrogen_is_that_of_the_papers() -> None:
    """Maize 3.40 W^-0.37 (Plenet & Lemaire 2000): 1.45 % at 10 t/ha; C3 crops 4.8 W^-0.34: 2.19 % (Lemaire & Gastal 1997)."""
    assert critical_share(1000.0, *dilution(load_crop("popcorn"))) == pytest.approx(0.0145, abs=0.0001)
    assert critical_share(1000.0, *dilution(load_crop("okra"))) == pytest.approx(0.0219, abs=0.0001)
    assert critical_share(50.0, 4.8, 0.34, 0.0) == pytest.approx(0.048)


@pytest.mark.parametrize(
    ("crop", "stand_t_ha", "percent"),
    [("brussels-sprouts", 13.3, 2.8), ("leek", 11.8, 2.4), ("onion", 9.4, 1.6), ("swede", 16.0, 1.4), ("cabbage-red", 10.8, 2.7)],
)
def test_critical_nitrogen_is_that_of_the_handbook(crop: str, stand_t_ha: float, percent: float) -> None:
    """RB209 (2021) section 6, Table 6.27, as it is printed there, to its one decimal."""
    assert 100.0 * critical_share(100.0 * stand_t_ha, *dilution(load_crop(crop))) == pytest.approx(percent, abs=0.051)


def fed(crop: str, feeding: Feeding, soil: str = "sand", start: str = "05-01") -> Season:
    one = bed(soil=soil, feeding=feeding)
    return grown(planting(crop, start=OnDate(start), establish=load_crop(crop).establish[0]), one=one, years=YEARS)


def test_a_hungry_bed_gives_less_and_asks_for_compost() -> None:
    poor, rich = (fed("celery", Feeding(kind)) for kind in ("none", "usual"))
    assert poor.planting_kg().mean() < 0.9 * rich.planting_kg().mean()
    need = nitrogen_need(poor)
    assert need.lacked > 0.5
    assert need.compost_l_m2 > 5.0
    assert need.compost_l_m2 == pytest.approx(compost_litres(need.wanted - need.fixed - need.soil))


def test_legumes_feed_themselves() -> None:
    poor, rich = (fed("bean-bush", Feeding(kind), start="06-01") for kind in ("none", "usual"))
    assert poor.planting_kg().mean() > 0.95 * rich.planting_kg().mean()
    assert poor.nitrogen[:, 0, 1].min() > 1.0


def test_no_nitrogen_is_made() -> None:
    """What plantings take together is no more than soil and feeding bring."""
    one = bed(soil="sand", feeding=Feeding("none"))
    names = ("beetroot", "kale", "celery")
    season = grown(*(planting(n, n, start=START, establish=load_crop(n).establish[0]) for n in names), one=one, years=YEARS)
    area = np.array([p.stand.area_m2 for p in season.plan.plantings])
    taken = (season.nitrogen[:, :, 0] @ area) / one.area_m2
    assert (taken <= nitrogen_need(season).soil * (1.0 + PERCENT)).all()


def test_behind_a_wall_the_share_is_that_of_the_open_sky() -> None:
    """A wall of 5 m, 1 m to the south: about a third of the light, and no sun about noon in spring."""
    item = planting("lettuce-loose-leaf", start=OnDate("04-15"))
    open_bed = bed(3.0, 1.2, heading_deg=90.0)
    walled = replace(open_bed, obstacles=(Obstacle("south", 1.0, 5.0),))
    free, behind = (planned(item, one=one) for one in (open_bed, walled))
    leaf, height = np.array([3.0]), np.array([0.25])
    assert ground_of_open_sky(free, 0, 0.5) == pytest.approx(1.0)
    assert 0.2 < kept_of_open_sky(behind, 0, 0.5, leaf, height)[0] < 0.5
    assert kept_of_open_sky(free, 0, 0.5, leaf, height)[0] == 1.0
    assert sun_hours(free, 0).mean() == pytest.approx(13.7, abs=0.2)
    assert 1.0 < sun_hours(behind, 0).mean() < 7.0


def test_stems_that_are_held_up_stand_higher() -> None:
    """A staked bush tomato stands about a metre high, squash as high as its trellis; a pepper is no higher for its stake."""
    for crop, low, high in (("tomato-bush", 0.8, 1.2), ("winter-squash", 1.8, 1.8), ("pepper-sweet", 0.7, 0.7)):
        staked = planned(planting(crop, start=START, support="stake", support_height_m=1.8)).plantings[0]
        assert low <= reached_m(staked) <= high, crop
        assert reached_m(planned(planting(crop, start=START)).plantings[0]) == load_crop(crop)["canopy.height"]


def test_plants_in_shade_grow_taller() -> None:
    """A bush bean under half the light is about a quarter taller; a lettuce a tenth; a bean on a trellis no taller than that."""

    def tallest(crop: str, light: float) -> float:
        kind = {"support": "trellis", "support_height_m": 1.5} if load_crop(crop).form == "climber" else {}
        season = grow(planned(planting(crop, start=START, **kind)), YEARS, 5, cyclic=True, light=light, voxels=False)
        return float(season.height_m.max())

    assert 1.15 < tallest("bean-bush", 0.5) / tallest("bean-bush", 1.0) < 1.4
    assert 1.05 < tallest("lettuce-butterhead", 0.5) / tallest("lettuce-butterhead", 1.0) < 1.2
    assert tallest("bean-climbing", 0.5) == pytest.approx(tallest("bean-climbing", 1.0))


@pytest.mark.parametrize(
    "crop", ["kale", "beetroot", "bean-bush", "cabbage-summer", "carrot-maincrop", "sweet-corn", "tomato-bush"]
)
def test_dominance_without_another_niche_gains_nothing(crop: str) -> None:
    """A crop half and half with a kind of itself that is two and a half times as tall: the tall takes from the low, and together
    they are little more than the crop alone (de Wit 1960), since they want the same light at the same time, or less, where what
    the low loses is more than the tall can use (beetroot 0.91)."""
    found = load_crop(crop)
    ways = (w for w in ("module", "drills", "stations") if w in found.establish)
    low = planting(crop, "low", start=START, establish=next(ways), density_per_m2=0.5 * found["spacing.density"])
    tall = replace(low, name="tall", crop=found.with_values({"canopy.height": 2.5 * found["canopy.height"]}, "recipe"))
    kept = np.nanmedian(grown(low, tall, years=YEARS).partial_ler(), axis=0)
    assert kept[1] > kept[0]
    assert 0.85 <= kept.sum() <= 1.1


def test_nothing_sets_in_deep_shade() -> None:
    """Half of the light sets all (tomato, Masabni and others 2016), under 73 % shade tubers are almost gone (Roberts-Nkrumah and
    others 1986)."""
    usual, pods = (sets_from(load_crop(crop)) for crop in ("tomato-bush", "soybean"))
    assert setting_in_shade(-np.log(0.5), usual) == pytest.approx(1.0)
    assert 0.1 < setting_in_shade(-np.log(0.27), usual) < 0.3
    assert setting_in_shade(-np.log(0.15), usual) == 0.0
    assert setting_in_shade(-np.log(0.15), pods) == 1.0
    full, dim = (light_share_of_organ(light) for light in (1.0, 0.25))
    assert dim < 0.6 * full


def light_share_of_organ(light: float) -> float:
    """Picked over grown of potatoes under a share of the light."""
    season = grow(planned(planting("potato-maincrop", establish="tuber", start=START)), YEARS, 5, cyclic=True, light=light)
    return float(season.planting_kg().mean() / season.growth_g.sum())


def test_kernels_of_a_maize_plant() -> None:
    """Andrade and others 2002 (Fig. 4a): kernels over those of the control are (PGR - 1.17) / (1 + 0.67 (PGR - 1.17)), PGR the
    growth of a plant about its silking [g/d]; the rounding of their figures is that of a hundredth."""
    numbers = grain_set(load_crop("popcorn"))
    assert numbers == grain_set(load_crop("sweet-corn"))
    assert grain_set(load_crop("soybean")) == (0.0, 0.0, 0.0)
    for growth in (1.3, 1.5, 5.0, 8.0, 12.0):
        kernels = (growth - 1.17) / (1.0 + 0.67 * (growth - 1.17))
        assert grains_over_growth(growth, *numbers) * growth / 4.2 == pytest.approx(kernels, rel=PERCENT)
    assert grains_over_growth(1.1, *numbers) == grains_over_growth(0.0, *numbers) == 0.0
    assert grains_over_growth(3.0, *numbers) == grains_over_growth(4.2, *numbers) == 1.0


@pytest.mark.parametrize("crop", ["popcorn", "sweet-corn"])
def test_a_maize_plant_that_stands_free_cannot_fill_what_it_grows(crop: str) -> None:
    """At a third of the usual density its harvest index is less, at the usual density it is that of the crop."""
    usual, thin = (index_at(crop, share) for share in (1.0, 0.33))
    assert thin < 0.9 * usual


def index_at(crop: str, share: float) -> float:
    """Picked [kg] over grown [g] of a crop alone in a field at a share of its best density."""
    density = share * load_crop(crop)["spacing.density"]
    item = planting(crop, start=START, establish="stations", density_per_m2=density)
    season = grow(planned(item, where="Rome"), YEARS, 5, cyclic=True)
    return float(season.planting_kg().mean() / season.growth_g.sum(axis=0).mean())


def test_maize_and_head_lettuce_fill_little_more_than_their_place() -> None:
    """Half as many plants to the square metre: maize has at most 1.17 times the leaf a plant (Allison 1969), a lettuce once."""
    for crop, times in (("sweet-corn", 1.17), ("lettuce-butterhead", 1.0)):
        found = load_crop(crop)
        way = found.establish[0]
        thin = planting(crop, start=START, establish=way, density_per_m2=0.5 * found["spacing.density"])
        season = grow(planned(thin), YEARS, 5, voxels=False)
        most = times * found["canopy.lai_max"] / found["spacing.density"]
        assert season.leaf_m2.max() <= most * season.plan.plantings[0].stand.plants * (1.0 + ROUNDING)


def test_seedlings_that_do_not_meet_do_not_slow_one_another() -> None:
    """A bed of five crops, each at a tenth of its usual number: for five weeks every one has the leaf that it has alone at
    that density, so that nothing is picked later for the others' sake."""
    names = ("garden-cress", "rocket", "lettuce-loose-leaf", "beetroot", "carrot-maincrop")
    thin = [
        planting(n, establish="drills", start=OnDate("04-15"), density_per_m2=0.1 * load_crop(n)["spacing.density"])
        for n in names
    ]
    mixed = grown(*thin, years=YEARS)
    for i, one in enumerate(thin):
        alone = grown(one, years=YEARS).leaf_m2[:35, :, 0]
        assert mixed.leaf_m2[:35, :, i] == pytest.approx(alone, rel=PERCENT, abs=ROUNDING), names[i]


def test_thinnings_are_whole_seedlings() -> None:
    """A Brassica seedling of a week weighs some 80 mg at 80 mm2 of leaf, and 200 mg at two weeks (Chinese cabbage, table 2 of
    PMC4756405; fresh mass of all of it): more than its leaf alone."""
    crop = load_crop("rocket")
    uses = (HarvestUse("thinnings", "thin"), HarvestUse("leaves", "cut"))
    cut = Thinning(400.0, AtEvent("emergence", 10.0))
    item = planting("rocket", start=OnDate("05-01"), density_per_m2=100.0, thin=cut, harvest=uses)
    season = grown(item, years=YEARS)
    day = int(season.picked_kg[:, 0, 0].argmax())
    grams = 1e3 * season.picked_kg[day, 0, 0] / attained_size()
    leaf = season.leaf_m2[day - 1, 0, 0] * 0.75 / (crop["canopy.sla"] / 1e3) / 0.082
    assert grams > 1.1 * leaf


def test_leaf_that_is_picked_long_is_no_more_than_stands() -> None:
    """Kale picked leaf by leaf: what stands is leaf of the usual thickness, so that a year's picking is a few kilograms."""
    one = bed()
    season = grown(planting("kale", start=OnDate("05-15"), establish="module"), one=one, years=YEARS)
    assert 1.0 < season.planting_kg().mean() / one.area_m2 < 4.3


def halves_ratio(crops: tuple[str, str], feeding: str) -> float:
    """Land equivalent ratio of half and half on sand."""
    one = bed(soil="sand", feeding=Feeding(feeding))
    stands = [
        planting(
            n, n, start=START, establish=load_crop(n).establish[0], density_per_m2=0.5 * load_crop(n)["spacing.density"]
        )
        for n in crops
    ]  # fmt: skip
    return float(np.nanmedian(grown(*stands, one=one, years=YEARS).partial_ler(), axis=0).sum())


def test_legumes_are_worth_more_on_a_poor_soil() -> None:
    """A legume spares what the other wants, and two that both want it gain nothing there (Jensen 1996, pea and barley, from
    memory)."""
    poor, rich = (halves_ratio(("beetroot", "bean-bush"), kind) for kind in ("none", "usual"))
    assert poor > rich + 0.05
    assert poor > 1.1
    assert halves_ratio(("beetroot", "celery"), "none") < poor
