"""Places: reference data complete and sourced, look-up that helps, checked normals."""

from __future__ import annotations

import re
from dataclasses import FrozenInstanceError
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from mixcraft.place import Normals, UnknownPlace, place_from_normals, reference_place, reference_places
from mixcraft.place.climate import monthly_radiation
from mixcraft.place.monthly import monthly_means
from mixcraft.place.sun import extraterrestrial_radiation

PACKAGE = Path(__file__).parents[2] / "mixcraft" / "place"
QUALITIES = {"published", "derived", "memory"}
MONTHS = 12


def records() -> dict[str, dict[str, object]]:
    loaded: dict[str, dict[str, object]] = yaml.safe_load((PACKAGE / "data" / "places.yaml").read_text("utf-8"))
    return loaded


def test_there_are_thirty_places_on_both_hemispheres_and_in_all_climates() -> None:
    places = [reference_place(name) for name in reference_places()]
    assert len(places) >= 30
    assert len({place.name for place in places}) == len(places)
    assert sum(place.southern for place in places) >= 6
    letters = {re.findall(r"\(([A-D])", place.climate)[0] for place in places}
    assert letters == {"A", "B", "C", "D"}


@pytest.mark.parametrize("key", sorted(records()))
def test_every_series_has_source_period_and_quality(key: str) -> None:
    series = records()[key]["series"]
    assert isinstance(series, dict)
    for name, entry in series.items():
        assert len(entry["values"]) == MONTHS, name
        assert entry["quality"] in QUALITIES, name
        for field in ("source", "at", "period", "unit"):
            assert str(entry[field]).strip(), (name, field)
        if entry["source"] == "memory":
            assert entry["quality"] == "memory"


@pytest.mark.parametrize("name", reference_places())
def test_normals_hold_together(name: str) -> None:
    place = reference_place(name)
    normals = place.normals
    warm, cold = int(normals.tmean_c.argmax()), int(normals.tmean_c.argmin())
    if abs(place.latitude_deg) > 30:  # beyond the tropics the warm half of the year is the hemisphere's
        summer = {11, 0, 1} if place.southern else {5, 6, 7, 8}
        assert warm in summer
        assert cold not in summer
    assert (normals.tmax_c - normals.tmin_c > 1).all()
    radiation, _ = monthly_radiation(place)
    above = monthly_means(extraterrestrial_radiation(place.latitude_deg, np.arange(1, 366)))
    assert ((radiation > 0.2 * above) & (radiation < 0.8 * above)).all()
    assert len(normals.sources) >= 3


def test_look_up_is_free_of_case_and_knows_other_names() -> None:
    assert reference_place("OXFORD") is reference_place(" oxford ")
    assert reference_place("uccle").name == "Brussels"
    assert reference_place("Oxford, United Kingdom").name == "Oxford"


def test_near_miss_names_the_place_meant() -> None:
    with pytest.raises(UnknownPlace, match=r"'Wageninen'.*did you mean Wageningen\?"):
        reference_place("Wageninen")


def test_a_name_like_nothing_lists_all() -> None:
    with pytest.raises(UnknownPlace, match="known are Lerwick"):
        reference_place("zzzzqqq")


FLAT: dict[str, Any] = {"tmax_c": [12.0] * 12, "tmin_c": [6.0] * 12, "rain_mm": [50.0] * 12}


def test_own_normals_make_a_place() -> None:
    place = place_from_normals("Home", 50.0, 8.0, 120.0, **FLAT, sunshine_h_per_day=[4.0] * 12, sources=("own",))
    assert place.normals.tmean_c == pytest.approx(np.full(12, 9.0))
    assert monthly_radiation(place)[1].startswith("sunshine")
    with pytest.raises(FrozenInstanceError):
        place.name = "Away"  # type: ignore[misc]
    with pytest.raises(ValueError, match="read-only"):
        place.normals.tmax_c[0] = 1.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"tmax_c": [12.0] * 11}, "tmax_c must have 12 monthly values, January to December, found 11"),
        ({"tmax_c": ["warm"] * 12}, "tmax_c must be 12 numbers"),
        ({"rain_mm": [50.0] * 11 + [-1.0]}, "rain_mm of Dec is -1, allowed is 0 to 4000"),
        ({"tmin_c": [6.0] * 11 + [13.0]}, r"tmax_c of Dec \(12\) is below tmin_c \(13\); swap"),
        ({"wet_days": [32.0] + [5.0] * 11}, "wet_days of Jan is 32"),
        ({"tmax_c": [float("nan")] * 12}, "tmax_c of Jan is nan"),
    ],
)
def test_bad_normals_say_series_month_and_limit(change: dict[str, list[float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Normals(**{**FLAT, **change})


def test_bad_coordinates_are_refused() -> None:
    with pytest.raises(ValueError, match="latitude_deg of Nowhere is 91"):
        place_from_normals("Nowhere", 91.0, 0.0, 0.0, **FLAT)


def test_unknown_series_is_refused() -> None:
    with pytest.raises(TypeError, match="snow_cm"):
        place_from_normals("Home", 50.0, 0.0, 0.0, **FLAT, snow_cm=[1.0] * 12)
