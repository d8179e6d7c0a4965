"""What must hold for any mixture: order, twins, neighbours, balances, repetition, scale."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import bed, garden, grown, mixtures, place, planting, plantings

from mixcraft.crops import load_crop
from mixcraft.recipe.constants import constant
from mixcraft.recipe.model import Density, OnDate, Planting, Recipe, Span, Strip, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.season.grow import grow
from mixcraft.season.result import Season

ROUNDING = 1e-9
THIN_LEAVES = 0.05
"""Share of a planting's light or growth."""
MODELS = pytest.mark.parametrize("voxels", [False, True], ids=["layers", "voxels"])


def of(season: Season, name: str) -> dict[str, np.ndarray]:
    """Arrays of one planting of a season, cut to the days that every season of a comparison has."""
    i = [p.name for p in season.plan.plantings].index(name)
    harvests = [h for h, harvest in enumerate(season.harvests) if harvest.planting == i]
    return {
        "leaf": season.leaf_m2[:, :, i], "height": season.height_m[:, :, i], "absorbed": season.absorbed_mj[:, :, i],
        "alone": season.alone_mj[:, :, i], "growth": season.growth_g[:, :, i], "lone": season.lone_growth_g[:, :, i],
        "picked": season.picked_kg[:, :, harvests], "sole": season.sole_kg[:, :, harvests],
    }  # fmt: skip


def assert_same(one: dict[str, np.ndarray], other: dict[str, np.ndarray], days: int | None = None) -> None:
    for name, values in one.items():
        assert np.allclose(values[:days], other[name][:days], rtol=1e-7, atol=ROUNDING), name


@MODELS
@given(mixture=mixtures(least=2, most=4), rng=st.randoms(use_true_random=False))
@settings(max_examples=6)
def test_the_order_of_plantings_does_not_matter(mixture: tuple[Planting, ...], rng: object, voxels: bool) -> None:
    shuffled = list(mixture)
    rng.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = grown(*mixture, voxels=voxels), grown(*shuffled, voxels=voxels)
    for item in mixture:
        assert_same(of(one, item.name), of(other, item.name))


@MODELS
@given(item=plantings())
@settings(max_examples=10)
def test_a_mixture_of_one_is_its_own_lone_twin(item: Planting, voxels: bool) -> None:
    season = grown(item, voxels=voxels)
    assert np.allclose(season.growth_g, season.lone_growth_g, rtol=1e-7, atol=ROUNDING)
    assert np.allclose(season.picked_kg, season.lone_kg, rtol=1e-7, atol=ROUNDING)
    assert np.allclose(season.absorbed_mj, season.alone_mj, rtol=1e-7, atol=ROUNDING)
    assert not season.taken_mj.any()


ROOTS = ("radish", "carrot-maincrop", "beetroot", "pea-dwarf", "onion-salad")
"""Crops whose pickings wait for no stand of leaves, so that shade cannot save leaves from being picked."""


@given(item=plantings(ROOTS, name="first"), other=plantings(name="other"))
@settings(max_examples=30)
def test_a_neighbour_never_adds_light_or_growth(item: Planting, other: Planting) -> None:
    """But for what leaves that were thin in its shade catch more once it is gone."""
    alone, mixed = grown(item), grown(item, other)
    shift = int((alone.plan.start - mixed.plan.start).astype(int))
    days = min(alone.days, mixed.days - shift)
    weather = mixed.weather
    alone = grow(alone.plan, weather=_slice(weather, shift, alone.days), voxels=False)
    lone, met = of(alone, "first"), of(mixed, "first")
    for name in ("absorbed", "growth"):
        more = met[name][shift : shift + days].cumsum(axis=0) - lone[name][:days].cumsum(axis=0)
        assert (more <= THIN_LEAVES * lone[name][:days].sum(axis=0).max() + 1e-6).all(), name


def _slice(weather: object, shift: int, days: int) -> object:
    """The same weather from `shift` days later, with the days before the first sowing that a season needs."""
    window = slice(shift, shift + days + 30)
    names = ("tmean_c", "tmin_c", "tmax_c", "radiation_mj", "rain_mm", "et0_mm")
    cut = {name: getattr(weather, name)[:, window] for name in names}
    w: object = replace(
        weather,
        dates=weather.dates[window],
        daylength_h=weather.daylength_h[window],
        **cut,  # type: ignore[type-var,attr-defined]
    )
    assume(w.dates.size == days + 30)  # type: ignore[attr-defined]
    return w


@MODELS
@given(mixture=mixtures(least=1, most=4))
@settings(max_examples=12)
def test_light_and_mass_balances(mixture: tuple[Planting, ...], voxels: bool) -> None:
    """Nothing is negative; nobody absorbs more than alone, all together no more than falls on the bed; what is picked
    was grown; what was lost is attributed in full."""
    season = grown(*mixture, voxels=voxels)
    arrays = (
        season.leaf_m2, season.height_m, season.absorbed_mj, season.alone_mj, season.taken_mj, season.growth_g,
        season.lone_growth_g, season.picked_kg, season.lone_kg, season.sole_kg,
    )  # fmt: skip
    for values in arrays:
        assert np.isfinite(values).all()
        assert (values >= 0.0).all()
    assert (season.water >= 0.0).all()
    assert (season.water <= 1.0).all()
    assert (season.absorbed_mj <= season.alone_mj + ROUNDING).all()
    par = 0.5 * season.weather.radiation_mj[:, 30:].T
    slack = 1.02 if not voxels else 1.25  # light from the side reaches a bed that stands alone
    assert (season.absorbed_mj.sum(axis=2) <= slack * par * season.plan.bed.area_m2 + ROUNDING).all()
    kept = np.divide(season.absorbed_mj, season.alone_mj, out=np.ones_like(season.alone_mj), where=season.alone_mj > 0.0)
    lost = (np.median(1.0 - kept, axis=1) * np.median(season.alone_mj, axis=1)).sum(axis=0)  # of the middle year
    assert np.allclose(season.taken_mj.sum(axis=(0, 2)), lost, rtol=0.05, atol=0.02 * season.alone_mj.mean(axis=1).sum())
    for i, planned in enumerate(season.plan.plantings):
        grams = np.zeros(season.years)
        for h, harvest in enumerate(season.harvests):
            if harvest.planting == i:
                grams += season.picked_kg[:, :, h].sum(axis=0) * 1000.0 * harvest.part.number("dry_matter")
        seedlings = 0.05 * planned.stand.plants  # a seedling weighs far less than 50 mg dry
        assert (grams <= season.growth_g[:, :, i].sum(axis=0) + seedlings).all()


@MODELS
@given(mixture=mixtures(least=1, most=3), seed=st.integers(0, 10_000))
@settings(max_examples=3)
def test_the_same_seed_gives_the_same_season(mixture: tuple[Planting, ...], seed: int, voxels: bool) -> None:
    one, other = grown(*mixture, seed=seed, voxels=voxels), grown(*mixture, seed=seed, voxels=voxels)
    for name in ("leaf_m2", "absorbed_mj", "growth_g", "picked_kg", "taken_mj", "emergence", "opens"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name
    another = grown(*mixture, seed=seed + 1, voxels=voxels)
    assert not np.array_equal(one.weather.tmean_c, another.weather.tmean_c)


@given(item=plantings(where=Strip(x=(Span(0.0, True), Span(0.5, True))), name="here"), other=plantings(name="there"))
@settings(max_examples=20)
def test_ground_of_its_own_means_no_neighbours(item: Planting, other: Planting) -> None:
    """In the layered model a planting on ground of its own is the planting without the others."""
    other = replace(other, where=Strip(x=(Span(0.5, True), Span(1.0, True))))
    season = grown(item, other)
    for i in range(2):
        assert np.allclose(season.growth_g[:, :, i], season.lone_growth_g[:, :, i], rtol=1e-9)
    assert np.allclose(season.picked_kg, season.lone_kg, rtol=1e-9)
    assert season.taken_mj.sum() == pytest.approx(0.0, abs=ROUNDING)


@given(item=plantings(ROOTS, where=WholeBed(), name="one"), factor=st.floats(1.2, 3.0))
@settings(max_examples=25)
def test_more_plants_never_more_light_for_each(item: Planting, factor: float) -> None:
    assert isinstance(item.amount, Density)
    usual = item.crop.records["spacing.density"]
    most = constant("densest_refused") * max(usual.value, usual.high or 0.0)
    dense = replace(item, amount=Density(max(min(item.amount.per_m2 * factor, most), item.amount.per_m2)))
    thin_season, dense_season = grown(item), grown(dense)
    each = [
        s.absorbed_mj[:, :, 0].cumsum(axis=0) / s.plan.plantings[0].stand.plants for s in (thin_season, dense_season)
    ]  # fmt: skip
    days = min(len(e) for e in each)
    assert (each[1][:days] <= each[0][:days] * (1.0 + 1e-6) + ROUNDING).all()


COUNTED = st.lists(
    st.tuples(st.sampled_from(["radish", "lettuce-cos", "beetroot", "carrot-maincrop"]), st.integers(4, 40), st.floats(0.0, 0.5)),
    min_size=1, max_size=3,
)  # fmt: skip


@given(COUNTED, st.sampled_from([2, 3]))
@settings(max_examples=12)
def test_a_larger_bed_gives_as_much_to_the_square_metre(items: list[tuple[str, int, float]], times: int) -> None:
    """Both sides longer by the same factor, counts fitted to the area: kilograms per square metre stay (layers)."""
    own = tuple(
        planting(
            crop, name=f"{n} {crop}", count=count, establish="broadcast",
            where=Strip(x=(Span(low, True), Span(low + 0.5, True))),
        )
        for n, (crop, count, low) in enumerate(items)
    )  # fmt: skip
    drawn = Recipe("drawn", 2.0, 1.0, own)
    small = plan(drawn, garden(bed(2.0, 1.0)), "bed")
    large = plan(drawn, garden(bed(2.0 * times, 1.0 * times)), "bed")
    for a, b in zip(small.plantings, large.plantings, strict=True):
        assert b.stand.plants == pytest.approx(a.stand.plants * times**2)
        assert b.stand.area_m2 == pytest.approx(a.stand.area_m2 * times**2)
    one, other = (grow(p, 2, 5, voxels=False) for p in (small, large))
    per_area = [s.picked_kg / s.plan.bed.area_m2 for s in (one, other)]
    assert np.allclose(per_area[0], per_area[1], rtol=1e-6, atol=ROUNDING)


def test_light_models_agree_on_an_even_mixture() -> None:
    """Two models of the same light: over a whole wide bed the voxels stay within a fifth of the layers."""
    mixture = (planting("radish"), planting("spinach"), planting("beetroot"))
    one = bed(4.0, 4.0)
    layers, voxels = (grown(*mixture, one=one, voxels=v) for v in (False, True))
    assert (layers.light_model, voxels.light_model) == ("layers", "voxels")
    a, b = (s.absorbed_mj.sum(axis=(0, 1, 2)) for s in (layers, voxels))
    assert b == pytest.approx(a, rel=0.2)


def test_a_hotter_place_is_earlier() -> None:
    """The same radishes sown on 15 April come up and are pulled sooner at Rome than at Oslo."""
    rome, oslo = (grown(planting("radish", start=OnDate("04-25")), where=name, years=3) for name in ("Rome", "Oslo"))
    assert place("Rome").latitude_deg < place("Oslo").latitude_deg
    assert (rome.emergence[:, 0].mean()) < oslo.emergence[:, 0].mean()
    assert np.median(rome.first_picking()) < np.median(oslo.first_picking())


def test_frost_kills_the_tender() -> None:
    """Beans set out in February at Oxford die of frost, or never get away in the cold; broad beans sown the same day live."""
    early = OnDate("02-20")
    season = grown(
        planting("bean-bush", establish="module", start=early, count=10),
        planting("broad-bean", establish="drills", start=early, density_per_m2=12.0), years=8,
    )  # fmt: skip
    killed = ((season.death < 10**6) | (season.emergence >= 10**6)).mean(axis=0)
    assert killed[0] > 0.9
    assert killed[1] < 0.5
    assert season.picked_kg[:, :, 0].sum() == 0.0


def test_a_crop_without_light_to_spare_grows_less() -> None:
    """Radishes under a stand of full-grown spinach grow less than radishes on their own."""
    season = grown(
        planting("spinach", start=OnDate("03-20"), density_per_m2=60.0),
        planting("radish", start=OnDate("05-10")), years=3,
    )  # fmt: skip
    mixed, alone = season.growth_g[:, :, 1].sum(), season.lone_growth_g[:, :, 1].sum()
    assert mixed < 0.95 * alone
    assert season.taken_mj[:, 1, 0].sum() > 0.0
    assert load_crop("spinach")["canopy.height"] >= load_crop("radish")["canopy.height"]
