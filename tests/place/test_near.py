"""Where a spot lies: coordinates as people write them, the nearest reference places, normals brought to its height."""

from __future__ import annotations

import numpy as np
import pytest

from mixcraft.place import (
    NoPosition,
    frost_dates,
    nearest_places,
    parse_latitude,
    parse_longitude,
    parse_position,
    place_at,
    reference_place,
)
from mixcraft.place.near import distance_km

MINNEAPOLIS = (44.9, -93.2)


@pytest.mark.parametrize(
    "text",
    [
        "44.9 N 93.2 W", "44.9,-93.2", "44.9, -93.2", "44.9 -93.2", "N 44.9 W 93.2", "N44.9 W93.2", "93.2 W 44.9 N",
        "44.9n 93.2w", "44°54'N 93°12'W", "44° 54' 0\" N, 93° 12' 0\" W", "44 54 N 93 12 W", "44.9 north, 93.2 west",
        "44,9 N 93,2 W", "44.9°; -93.2°",
    ],
)  # fmt: skip
def test_positions_as_people_write_them(text: str) -> None:
    latitude, longitude, height = parse_position(text)
    assert (latitude, longitude) == pytest.approx(MINNEAPOLIS)
    assert height is None


def test_height_may_stand_behind() -> None:
    assert parse_position("12 S 77 W 150 m") == (-12.0, -77.0, 150.0)
    assert parse_position("44.9, -93.2, 850 ft")[2] == pytest.approx(259.08)
    assert parse_position("-33.9 18.4 42 m") == (-33.9, 18.4, 42.0)


def test_one_coordinate_alone() -> None:
    assert parse_longitude("93.6 W") == -93.6
    assert parse_longitude("93,6 W") == -93.6
    assert parse_latitude("12 S") == -12.0
    assert parse_latitude(44.9) == 44.9
    assert parse_latitude("-12") == -12.0
    assert parse_latitude("46°4'N") == pytest.approx(46 + 4 / 60)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("here", "cannot be read"),
        ("", "cannot be read"),
        ("44.9 N", "cannot be read"),
        ("44.9 93.2 12", "cannot be read"),
        ("95 N 10 E", "latitude of 95, allowed is -90 to 90"),
        ("45 N 190 E", "longitude of 190"),
        ("44 75 N 93 W", "minutes or seconds outside"),
        ("-44.9 N 93.2 W", "both a sign and a letter"),
    ],
)
def test_no_position_says_how_to_write_one(text: str, message: str) -> None:
    with pytest.raises(NoPosition, match=message):
        parse_position(text)


def test_a_longitude_is_no_latitude() -> None:
    with pytest.raises(NoPosition, match="E for a latitude, which is N or S"):
        parse_latitude("12 E")
    with pytest.raises(NoPosition, match="N for a longitude, which is E or W"):
        parse_longitude("93.6 N")


def test_distance_is_that_of_the_great_circle() -> None:
    # Earth of mean radius 6371 km: a degree of latitude is 111.19 km, a quarter of a meridian 10 008 km
    there = distance_km(0.0, 0.0, np.array([1.0, 90.0, 0.0, 0.0]), np.array([0.0, 0.0, 179.0, -1.0]))
    assert there == pytest.approx([111.19, 10007.5, 19903.9, 111.19], abs=0.1)
    over = distance_km(10.0, 179.5, np.array([10.0]), np.array([-179.5]))  # over the date line
    assert over[0] == pytest.approx(109.5, abs=0.2)


def test_minnesota_is_not_in_china() -> None:
    near = nearest_places(*MINNEAPOLIS, count=3)
    assert near[0].name == "Minneapolis, MN"
    assert near[0].country == "United States"
    assert near[0].distance_km < 10
    assert [n.distance_km for n in near] == sorted(n.distance_km for n in near)


def test_height_counts_where_it_is_known() -> None:
    low, high = nearest_places(46.3, 11.2, 250.0)[0], nearest_places(46.3, 11.2, 1500.0)[0]
    assert abs(low.rise_m) < 300
    assert abs(high.rise_m) < 600
    assert low.key != high.key


def test_a_spot_takes_the_nearest_normals_at_its_own_height() -> None:
    base = reference_place("Minneapolis, MN")
    spot = place_at(44.9, -93.2, base.elevation_m + 100, name="Hill")
    assert spot.name == "Hill"
    assert spot.normals.tmin_c == pytest.approx(base.normals.tmin_c - 0.56)  # Rolland 2003: 0.54 to 0.58 C per 100 m
    assert spot.normals.tmax_c == pytest.approx(base.normals.tmax_c - 0.56)
    assert np.array_equal(spot.normals.rain_mm, base.normals.rain_mm)
    assert spot.taken_from is not None
    assert (spot.taken_from.name, spot.taken_from.country) == ("Minneapolis, MN", "United States")
    assert spot.taken_from.distance_km == pytest.approx(2.7, abs=0.1)
    assert (spot.taken_from.rise_m, spot.taken_from.cooler_c) == pytest.approx((100.0, 0.56))
    same = place_at(44.9, -93.2)
    assert same.elevation_m == base.elevation_m
    assert same.taken_from is not None
    assert same.taken_from.cooler_c == 0.0
    assert frost_dates(spot).last_spring.median > frost_dates(same).last_spring.median  # type: ignore[union-attr]


def test_a_spot_outside_the_globe_is_refused() -> None:
    with pytest.raises(ValueError, match=r"latitude lies between -90 and 90, found 93\.2"):
        place_at(93.2, 44.9)
