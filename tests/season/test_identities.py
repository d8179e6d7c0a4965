"""What must hold whatever the numbers of a crop are: a crop mixed with itself is the crop alone, rows hold what an even stand of
as many plants holds, and neither turning a bed nor mirroring it matters.

Sources: de Wit (1960), On competition: a crop mixed with itself has a relative yield total of 1.  How a yield answers to rows of
as many plants: Mead's turnips (data set `mead.turnip`), 16 against 8 inches apart 0.72 to 1.02, mean 0.90.  Bounds set before the
run.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, planned, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import Bed, Count, OnDate, Planting, Points, Rows, Span, Strip, Where, WholeBed
from mixcraft.season.grow import grow

START = OnDate("05-15")
LENGTH_M, WIDTH_M = 3.0, 1.2
YEARS = 2
ALONE = (0.98, 1.02)
TURNS = (0.95, 1.05)
"""Rows by turns reach 28 cm to each side and stand 25 cm from the line between: where two meet lies leaf of both, which one
planting spreads evenly (0.96)."""
ROWS = (0.8, 1.05)
WHOLE = WholeBed()
CROPS = ("carrot-maincrop", "kale", "sweet-corn", "potato-maincrop", "bean-bush", "leek")
SOWN_THIN = ("carrot-maincrop", "beetroot")


def way(crop: str) -> str:
    usual = ("module",) if crop in ("kale", "leek") else ("drills", "stations", "tuber")
    return next(w for w in usual if w in load_crop(crop).establish)


def stand(crop: str, share: float, name: str, where: Where = WHOLE, **more: object) -> Planting:
    density = share * load_crop(crop)["spacing.density"]
    return planting(crop, name, where, START, establish=way(crop), density_per_m2=density, **more)


def counted(crop: str, where: Rows, plants: float) -> Planting:
    return replace(stand(crop, 1.0, f"rows {where.at[0].value}", where), amount=Count(max(1, round(plants))))


def kg(*plantings: Planting, one: Bed | None = None, voxels: bool = True) -> float:
    """Kilograms of a bed in the middle year."""
    season = grow(planned(*plantings, one=one or bed(LENGTH_M, WIDTH_M)), YEARS, 11, voxels=voxels)
    return float(np.median(season.planting_kg(), axis=0).sum())


def number(crop: str) -> float:
    return load_crop(crop)["spacing.density"] * LENGTH_M * WIDTH_M


@pytest.mark.parametrize("crop", CROPS)
@pytest.mark.parametrize("voxels", [False, True], ids=["layers", "voxels"])
def test_two_halves_of_a_crop_are_the_crop(crop: str, voxels: bool) -> None:
    halves = kg(stand(crop, 0.5, "one"), stand(crop, 0.5, "two"), voxels=voxels)
    assert ALONE[0] <= halves / kg(stand(crop, 1.0, "all"), voxels=voxels) <= ALONE[1]


@pytest.mark.slow
@pytest.mark.parametrize("crop", CROPS)
@pytest.mark.parametrize("wide_m", [0.5, 1.0, 1.5, 3.0])
def test_strips_of_a_crop_beside_itself_are_the_crop(crop: str, wide_m: float) -> None:
    one = bed(max(LENGTH_M, 2.0 * wide_m), WIDTH_M)
    strips = [
        stand(crop, 1.0, str(i), Strip(x=(Span(i * wide_m), Span((i + 1) * wide_m)))) for i in range(round(one.length_m / wide_m))
    ]
    assert ALONE[0] <= kg(*strips, one=one) / kg(stand(crop, 1.0, "all"), one=one) <= ALONE[1]


def test_rows_by_turns_of_a_crop_are_its_rows() -> None:
    at = [Span(0.25 + 0.5 * i) for i in range(6)]
    plants = number("beetroot")
    turns = kg(
        *(counted("beetroot", Rows("width", tuple(at[i::2])), plants / 2) for i in (0, 1)),
    )
    assert TURNS[0] <= turns / kg(counted("beetroot", Rows("width", tuple(at)), plants)) <= TURNS[1]


def test_drawn_points_of_two_plantings_are_those_of_one() -> None:
    points = [(Span(0.3 + 0.6 * i), Span(0.3 + 0.6 * j)) for i in range(5) for j in range(2)]
    kale = planting("kale", "all", Points(tuple(points)), START, establish="module")
    halves = [replace(kale, name=str(i), where=Points(tuple(points[i::2]))) for i in (0, 1)]
    assert ALONE[0] <= kg(*halves) / kg(kale) <= ALONE[1]


@pytest.mark.parametrize("crop", SOWN_THIN)
def test_rows_half_a_metre_apart_hold_what_an_even_stand_holds(crop: str) -> None:
    rows = counted(crop, Rows("width", tuple(Span(0.25 + 0.5 * i) for i in range(6))), number(crop))
    assert ROWS[0] <= kg(rows) / kg(stand(crop, 1.0, "all")) <= ROWS[1]


def test_maize_in_pairs_of_rows_holds_what_an_even_stand_holds() -> None:
    pairs = Rows("width", tuple(Span(i + x) for i in range(3) for x in (0.3, 0.7)))
    assert ROWS[0] <= kg(counted("sweet-corn", pairs, number("sweet-corn"))) / kg(stand("sweet-corn", 1.0, "all")) <= ROWS[1]


def test_a_mirrored_bed_gives_the_same() -> None:
    """Tall on the east or on the west: the sun's day is even about noon."""
    left, right = (Strip(x=(Span(a), Span(a + 1.5))) for a in (0.0, 1.5))
    one = bed(LENGTH_M, WIDTH_M, heading_deg=90.0)
    found = [
        kg(stand("sweet-corn", 1.0, "tall", tall), stand("beetroot", 1.0, "low", low), one=one)
        for tall, low in ((left, right), (right, left))
    ]
    assert found[0] == pytest.approx(found[1], rel=0.02)
