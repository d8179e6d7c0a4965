"""The place of a garden file: coordinates and units as people write them, frost dates that they know."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mixcraft.files import FileFaults, parse_document
from mixcraft.place import Place, frost_dates, reference_place, weather_years
from mixcraft.recipe.reading import read_garden

HEAD = "format: mixcraft-garden/1\nname: g\nbeds:\n  - {name: b, length: 2 m, width: 1 m}\nplace:\n"
HIGH_F = "[22, 27, 40, 57, 69, 78, 82, 80, 72, 58, 41, 27]"
LOW_F = "[5, 9, 22, 35, 47, 57, 61, 59, 50, 37, 24, 11]"
INCHES = "[0.8, 0.9, 1.9, 2.7, 3.4, 4.3, 4.0, 4.3, 3.1, 2.4, 1.8, 1.2]"
MINNESOTA = (
    "  kind: normals\n  name: Home\n  latitude: 44.45 N\n  longitude: 93.16 W\n"
    f"  tmax: {HIGH_F}\n  tmin: {LOW_F}\n  rain: {INCHES}\n"
)


def place(text: str) -> Place:
    return read_garden(parse_document(HEAD + text, "g.yaml")).place


def faults(text: str) -> list[str]:
    with pytest.raises(FileFaults) as caught:
        place(text)
    return [f"{f.message}; {f.repair}" for f in caught.value.faults]


def test_a_spot_takes_the_nearest_built_in_place() -> None:
    spot = place("  kind: coordinates\n  latitude: 44.45 N\n  longitude: 93.16 W\n  elevation: 915 ft\n")
    assert spot.taken_from is not None
    assert spot.taken_from.name == "Minneapolis, MN"
    assert spot.taken_from.distance_km == pytest.approx(48, abs=1)
    assert spot.elevation_m == pytest.approx(278.9, abs=0.1)
    assert (spot.latitude_deg, spot.longitude_deg) == (44.45, -93.16)
    plain = place("  kind: coordinates\n  name: Home\n  latitude: 44.45\n  longitude: -93.16\n")
    assert plain.name == "Home"
    assert plain.taken_from is not None
    assert plain.taken_from.rise_m == 0.0


def test_fahrenheit_and_inches() -> None:
    us = place(MINNESOTA + "  units: us\n  tmin_spread: [9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9]\n")
    assert us.normals.tmax_c[:3] == pytest.approx((np.array([22, 27, 40]) - 32) / 1.8)
    assert us.normals.tmin_c[0] == pytest.approx(-15.0)
    assert us.normals.rain_mm[:2] == pytest.approx([20.32, 22.86])
    assert us.normals.tmin_sd_c is not None
    assert us.normals.tmin_sd_c[6] == pytest.approx(5.0, abs=0.1)  # July: no slope of the season to take off
    assert us.normals.tmin_sd_c[3] < 4.8
    assert us.longitude_deg == -93.16


def test_fahrenheit_without_saying_so_is_a_fault_that_helps() -> None:
    (said,) = faults(MINNESOTA)
    assert "a mean maximum of 82 C is hotter than anywhere on Earth" in said
    assert "add `units: us` to the place" in said


@pytest.mark.parametrize(
    ("latitude", "longitude", "message"),
    [
        ("12 E", "93.2 W", "gives E for a latitude"),
        ("44.9 N", "93.2 S", "gives S for a longitude"),
        ("44.9 N", "west", "cannot be read as a position"),
        ("80 N", "20 E", "no bed is reckoned at a latitude of 80"),
    ],
)
def test_coordinates_that_are_none(latitude: str, longitude: str, message: str) -> None:
    (said,) = faults(f"  kind: coordinates\n  latitude: {latitude}\n  longitude: {longitude}\n")
    assert message in said


@pytest.mark.parametrize("latitude", ["70 N", "66.5 S"])
def test_beds_are_reckoned_as_far_as_the_last_gardens(latitude: str) -> None:
    """From 66.5 S to 70 N, these too; a tenth of a degree beyond them not."""
    within = place(f"  kind: coordinates\n  latitude: {latitude}\n  longitude: 20 E\n")
    number, side = latitude.split()
    assert within.latitude_deg == (float(number) if side == "N" else -float(number))
    (said,) = faults(f"  kind: coordinates\n  latitude: {float(number) + 0.1:g} {side}\n  longitude: 20 E\n")
    assert "no bed is reckoned at a latitude of" in said


def test_south_and_west_are_where_they_say() -> None:
    lima = place("  kind: coordinates\n  latitude: 12 S\n  longitude: 77 W\n")
    assert lima.southern
    assert lima.taken_from is not None
    assert lima.taken_from.country == "Peru"


def test_without_a_longitude_the_spread_is_that_of_the_range_alone() -> None:
    text = MINNESOTA.replace("  longitude: 93.16 W\n", "") + "  units: us\n"
    nowhere = place(text)
    assert math.isnan(nowhere.longitude_deg)
    assert frost_dates(nowhere).last_spring is not None


def test_frost_dates_that_a_garden_states_are_the_weathers_too() -> None:
    home = place(
        "  kind: reference\n  name: Oxford\n  frost: {last_spring: 04-28, first_autumn: 10-25, last_spring_late: 05-20}\n"
    )
    dates = frost_dates(home)
    assert dates.last_spring is not None
    assert dates.first_autumn is not None
    assert (dates.last_spring.median, dates.last_spring.late, dates.first_autumn.median) == (118, 140, 298)
    frost = weather_years(home, "2023-01-01", 365, 600, seed=4).tmin_c <= 0
    assert frost[:, 118:200].any(axis=1).mean() == pytest.approx(0.48, abs=0.06)
    assert frost[:, 200:298].any(axis=1).mean() == pytest.approx(0.5, abs=0.06)
    assert frost_dates(reference_place("Oxford")).last_spring != dates.last_spring


def test_frost_dates_that_cannot_be() -> None:
    (said,) = faults("  kind: reference\n  name: Oxford\n  frost: {last_spring: 07-20}\n")
    assert "frost cannot fall so with these normals" in said
    assert "reckoned from the normals it is 04-" in said
    (said,) = faults("  kind: reference\n  name: Oxford\n  frost: {last_spring_late: 05-20}\n")
    assert "`last_spring_late` needs the date of the middle year too" in said
    (said,) = faults("  kind: reference\n  name: Oxford\n  frost: {first_autumn: 02-30}\n")
    assert "February has no day 30" in said


def test_a_town_that_is_not_built_in_says_what_to_do() -> None:
    (said,) = faults("  kind: reference\n  name: Oxfrod\n")
    assert "did you mean Oxford, United Kingdom?" in said
    assert "`mixcraft places --near` the nearest; or write kind: coordinates" in said
