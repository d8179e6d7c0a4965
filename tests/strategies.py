"""Shared Hypothesis strategies and small builders: recipes, beds and gardens made straight from the data classes.

Beds are small and years are few, so that one example grows in a few hundredths of a second.
"""

from __future__ import annotations

from functools import lru_cache

from hypothesis import strategies as st

from mixcraft.crops import load_crop
from mixcraft.place import Place, reference_place
from mixcraft.recipe.model import (
    Bed,
    Count,
    Density,
    Garden,
    OnDate,
    Planting,
    Points,
    Recipe,
    SeedRate,
    Span,
    SpringFrost,
    Start,
    Strip,
    Trellis,
    WarmSoil,
    Where,
    WholeBed,
    Zone,
)
from mixcraft.recipe.plan import Plan, plan
from mixcraft.season.grow import grow
from mixcraft.season.result import Season

SOWN = ("radish", "rocket", "lettuce-loose-leaf", "carrot-maincrop", "spinach", "beetroot", "onion-salad", "pea-dwarf")
"""Crops sown outdoors in spring that differ in height, roots, family and way of picking."""
YEARS = 2
SEED = 11


@lru_cache(maxsize=8)
def place(name: str = "Oxford") -> Place:
    """A reference place, the same object each time, so that its almanac is computed once."""
    return reference_place(name)


def bed(length_m: float = 2.0, width_m: float = 1.0, **more: object) -> Bed:
    """A bed called ``bed``."""
    return Bed("bed", length_m, width_m, **more)  # type: ignore[arg-type]


def garden(one: Bed | None = None, where: str = "Oxford") -> Garden:
    """A garden with one bed."""
    return Garden("garden", place(where), (one or bed(),))


def planting(
    crop: str = "radish", name: str = "", where: Where | None = None, start: Start | None = None, **more: object
) -> Planting:
    """A planting; sown broadcast over the whole bed on 15 April at the crop's own density if nothing else is said."""
    found = load_crop(crop)
    values: dict[str, object] = {"establish": "broadcast"}
    if not isinstance(where, Points):
        values["amount"] = Density(found["spacing.density"])
    for key, kind in (("count", Count), ("density_per_m2", Density), ("seed_rate_g_m2", SeedRate)):
        if key in more:
            values["amount"] = kind(more.pop(key))  # type: ignore[arg-type]
    values.update(more)
    return Planting(
        name=name or found.name, crop=found, where=where or WholeBed(),
        start=start or OnDate("04-15"), **values,  # type: ignore[arg-type]
    )  # fmt: skip


def recipe(*plantings: Planting, length_m: float = 2.0, width_m: float = 1.0) -> Recipe:
    """A recipe for a bed of the usual test size."""
    return Recipe("recipe", length_m, width_m, plantings)


def planned(*plantings: Planting, one: Bed | None = None, where: str = "Oxford") -> Plan:
    """Plantings settled in a bed."""
    one = one or bed()
    return plan(recipe(*plantings, length_m=one.length_m, width_m=one.width_m), garden(one, where), one.name)


def grown(
    *plantings: Planting, one: Bed | None = None, years: int = YEARS, seed: int = SEED, voxels: bool = False,
    where: str = "Oxford",
) -> Season:  # fmt: skip
    """Plantings grown in a bed; with the layered light model, which is fast and exact for even mixtures, unless told."""
    return grow(planned(*plantings, one=one, where=where), years, seed, voxels=voxels)


def shares(low: float, high: float) -> st.SearchStrategy[Where]:
    """Strips between two shares of the length that keep at least a fifth of it."""
    return st.tuples(st.floats(low, high - 0.2), st.floats(0.2, high - low)).map(
        lambda pair: Strip(x=(Span(pair[0], True), Span(min(high, pair[0] + pair[1]), True)))
    )


def places_in_bed() -> st.SearchStrategy[Where]:
    """Whole beds, strips and zones."""
    zone = st.tuples(st.floats(0.0, 0.5), st.floats(0.0, 0.5)).map(
        lambda at: Zone(x=(Span(at[0], True), Span(at[0] + 0.5, True)), y=(Span(at[1], True), Span(at[1] + 0.5, True)))
    )
    return st.one_of(st.just(WholeBed()), shares(0.0, 1.0), zone)


def starts() -> st.SearchStrategy[Start]:
    """Start rules that need no other planting and that Oxford can meet."""
    return st.one_of(
        st.tuples(st.sampled_from([3, 4, 5, 6]), st.integers(1, 28)).map(lambda d: OnDate(f"{d[0]:02d}-{d[1]:02d}")),
        st.floats(6.0, 14.0).map(lambda c: WarmSoil(c)),
        st.integers(-4, 6).map(lambda w: SpringFrost(float(w))),
    )


@st.composite
def plantings(draw: st.DrawFn, crops: tuple[str, ...] = SOWN, where: Where | None = None, name: str = "") -> Planting:
    """One sown planting: crop, place, start and a density between a quarter of the usual one and one and a half."""
    crop = draw(st.sampled_from(crops))
    share = draw(st.floats(0.25, 1.5))
    return planting(
        crop, name=name, where=where or draw(places_in_bed()), start=draw(starts()),
        establish=draw(st.sampled_from(["broadcast", "drills"])),
        density_per_m2=share * load_crop(crop)["spacing.density"],
    )  # fmt: skip


@st.composite
def mixtures(draw: st.DrawFn, least: int = 1, most: int = 4) -> tuple[Planting, ...]:
    """Several plantings with names of their own."""
    count = draw(st.integers(least, most))
    return tuple(draw(plantings(name=f"planting {i}")) for i in range(count))


def trellis_bed(heading_deg: float = 0.0, edge: str = "north", length_m: float = 2.0, width_m: float = 1.0) -> Bed:
    """A bed with one trellis of 2 m."""
    return bed(length_m, width_m, heading_deg=heading_deg, trellises=(Trellis(edge, 2.0),))
