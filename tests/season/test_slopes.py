"""Beds on slopes: the light and the shadows of the place to which their surface is level."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, grown, planting

from mixcraft.place.sky import sky_directions
from mixcraft.place.solar_position import sun_position
from mixcraft.recipe.model import Obstacle, OnDate, Slope
from mixcraft.season.daylight import light_by_month
from mixcraft.season.directions import COMPASS, day_directions, lit_slope, on_slope
from mixcraft.season.open_sky import sun_hours
from mixcraft.season.result import Season

TENTH_OF_A_DEGREE = 0.1
FEW_PERCENT = 0.03
OXFORD_DEG = 51.75
MIDSUMMER, EQUINOX, MIDWINTER = 172, 80, 355


def lettuce(slope: Slope | None, start: str = "04-10", voxels: bool = False, obstacles: tuple[Obstacle, ...] = ()) -> Season:
    one = replace(bed(2.0, 1.2), slope=slope, obstacles=obstacles)
    return grown(planting("lettuce-butterhead", establish="module", start=OnDate(start)), one=one, years=2, voxels=voxels)


@pytest.mark.parametrize("angle", [5.0, 15.0, 30.0])
@pytest.mark.parametrize("day", [MIDSUMMER, EQUINOX, MIDWINTER])
def test_a_slope_to_the_south_sees_the_sun_of_a_place_further_south(angle: float, day: int) -> None:
    """The plane at latitude phi that falls south by beta is parallel to the level at phi - beta (Duffie & Beckman, Solar
    Engineering of Thermal Processes, section 1.6: cos(theta) = cos(phi - beta) cos(delta) cos(omega) + sin(phi - beta)
    sin(delta); from memory): the sun stands there as it does here, at the same solar time."""
    for hour in (7.5, 9.0, 12.0, 14.0, 16.25):
        here, there = (sun_position(latitude, day, hour) for latitude in (OXFORD_DEG, OXFORD_DEG - angle))
        azimuth, elevation = on_slope(np.asarray(here[0]), np.asarray(here[1]), Slope("south", angle))
        assert float(elevation) == pytest.approx(float(there[1]), abs=TENTH_OF_A_DEGREE)
        assert float(azimuth) == pytest.approx(float(there[0]), abs=TENTH_OF_A_DEGREE)


@pytest.mark.parametrize("falls", COMPASS)
def test_the_sky_on_a_slope(falls: str) -> None:
    """Of an even sky a slope sees (1 + cos(beta)) / 2 (Liu & Jordan 1963, from memory), whichever way it falls."""
    seen = lit_slope(*sky_directions(12, 24, "uniform"), Slope(falls, 30.0))[2].sum()
    assert seen == pytest.approx(0.5 * (1.0 + np.cos(np.radians(30.0))), abs=FEW_PERCENT)


def test_weights_of_a_slope_sum_to_one_and_a_slope_of_nothing_is_level() -> None:
    level, flat = bed(2.0, 1.2), replace(bed(2.0, 1.2), slope=Slope("east", 0.0))
    for day in (EQUINOX, MIDWINTER):
        a, b = (day_directions(OXFORD_DEG, day, 0.5, one) for one in (level, flat))
        assert np.allclose([a.ux, a.uy, a.tan, a.weight], [b.ux, b.uy, b.tan, b.weight], atol=1e-9)
        steep = day_directions(OXFORD_DEG, day, 0.5, replace(level, slope=Slope("north", 35.0)))
        assert steep.weight.sum() == pytest.approx(1.0)


def test_what_a_grower_knows_of_slopes() -> None:
    """A south slope at Oxford gives more in autumn and a north slope less, east and west alike; in May and June it matters
    little."""
    points = ("north", "east", "south", "west")
    autumn, spring = (
        {p: float(np.median(lettuce(Slope(p, 15.0), start).planting_kg() / lettuce(None, start).planting_kg())) for p in points}
        for start in ("08-20", "05-01")
    )
    assert autumn["south"] > 1.03
    assert autumn["north"] < 0.92
    assert autumn["east"] == pytest.approx(autumn["west"], rel=FEW_PERCENT)
    assert all(0.95 < kept < 1.02 for kept in spring.values())
    mol = [light_by_month(lettuce(slope, "09-01", voxels=True))[0].open_mol for slope in (Slope("south", 15.0), None)]
    assert 1.08 < mol[0] / mol[1] < 1.4


def test_hours_of_sun_on_a_slope() -> None:
    """Winter sun, 15 degrees high at noon at Oxford, does not reach a steep north slope; a south slope has all of it."""
    winter = [lettuce(slope, "04-10").plan for slope in (None, Slope("north", 20.0), Slope("south", 20.0))]
    day = int((np.datetime64(f"{str(winter[0].start)[:4]}-12-21") - winter[0].start).astype(int))
    level, north, south = (float(sun_hours(plan, day).mean()) for plan in winter)
    assert 7.0 < level < 9.0
    assert north < 0.1
    assert south == pytest.approx(level, abs=0.3)


def test_a_wall_on_the_sunny_side_throws_a_longer_shadow_on_a_slope_away_from_the_sun() -> None:
    wall = (Obstacle("south", 1.0, 1.5),)
    kept = {}
    for name, slope in (("level", None), ("north", Slope("north", 15.0)), ("south", Slope("south", 15.0))):
        plan = lettuce(slope, obstacles=wall).plan
        kept[name] = float(sun_hours(plan, 0).mean())
    assert kept["north"] < kept["level"] < kept["south"]
