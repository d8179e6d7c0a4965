"""Places: reference data complete and sourced, look-up that helps, checked normals."""

from __future__ import annotations

import re
import shutil
from dataclasses import FrozenInstanceError
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mixcraft.place import (
    Normals,
    Place,
    UnknownPlace,
    library,
    nearest_places,
    place_from_normals,
    reference_place,
    reference_places,
)
from mixcraft.place.climate import monthly_radiation
from mixcraft.place.library import INDEX, RECORDS, build_index, file_sizes, read_files
from mixcraft.place.monthly import monthly_means
from mixcraft.place.sun import extraterrestrial_radiation

QUALITIES = {"published", "derived", "memory"}
MONTHS = 12


@lru_cache(maxsize=1)
def records() -> dict[str, dict[str, Any]]:
    return read_files()


def test_there_are_hundreds_of_places_on_both_hemispheres_and_in_all_climates() -> None:
    places = [reference_place(name) for name in reference_places()]
    assert len(places) >= 600
    assert len({place.name for place in places}) == len(places)
    assert sum(place.southern for place in places) >= 100
    letters = {re.findall(r"\(([A-E])", place.climate)[0] for place in places}
    assert letters == {"A", "B", "C", "D", "E"}


# where askers live and a bed lies at most so far from a reference place [km]
CITIES = {
    "Boston": (42.36, -71.06), "New York": (40.71, -74.01), "Buffalo": (42.89, -78.88), "Chicago": (41.88, -87.63),
    "Minneapolis": (44.98, -93.27), "Atlanta": (33.75, -84.39), "Raleigh": (35.78, -78.64), "Portland, Oregon": (45.52, -122.68),
    "Toronto": (43.65, -79.38), "Trento": (46.07, 11.12), "Zurich": (47.37, 8.54), "Manchester": (53.48, -2.24),
    "Lyon": (45.76, 4.84), "Warsaw": (52.23, 21.01), "Istanbul": (41.01, 28.98), "Seoul": (37.57, 126.98),
    "Perth": (-31.95, 115.86),
    "Sydney": (-33.87, 151.21), "Auckland": (-36.85, 174.76), "Santiago": (-33.45, -70.67), "Durban": (-29.86, 31.02),
    "Nairobi": (-1.29, 36.82), "Quito": (-0.18, -78.47), "Bogota": (4.71, -74.07),
}  # fmt: skip
FARTHEST_KM = 160.0


def test_cities_of_all_continents_lie_near_a_reference_place() -> None:
    far = {name: round(nearest_places(*where, count=1)[0].distance_km) for name, where in CITIES.items()}
    assert {name: km for name, km in far.items() if km > FARTHEST_KM} == {}


def faults_of(name: str, entry: dict[str, Any]) -> list[str]:
    """What a series lacks: months, source, place in it, period, unit, quality."""
    lacks = [field for field in ("source", "at", "period", "unit") if not str(entry[field]).strip()]
    lacks += ["values"] if len(entry["values"]) != MONTHS else []
    lacks += ["quality"] if entry["quality"] not in QUALITIES else []
    lacks += ["quality"] if entry["source"] == "memory" and entry["quality"] != "memory" else []
    return [f"{name}: {field}" for field in lacks]


def test_every_series_has_source_period_and_quality() -> None:
    wrong = {key: [f for name, e in record["series"].items() for f in faults_of(name, e)] for key, record in records().items()}
    assert {key: found for key, found in wrong.items() if found} == {}
    ratios = [record["spread_ratio"] for record in records().values() if "spread_ratio" in record]
    assert len(ratios) > 400
    assert all(len(r["values"]) == MONTHS and r["source"] and r["quality"] == "derived" for r in ratios)


def unsound(place: Place) -> list[str]:
    """What cannot be in a place's normals: seasons of the other hemisphere, no range of the day, light beyond the sun's."""
    normals, found = place.normals, []
    warm, cold = int(normals.tmean_c.argmax()), int(normals.tmean_c.argmin())
    summer = {11, 0, 1, 2} if place.southern else {5, 6, 7, 8}
    if abs(place.latitude_deg) > 30 and (warm not in summer or cold in summer):
        found.append(f"warmest month {warm}, coldest {cold}")
    if (normals.tmax_c - normals.tmin_c <= 1).any():
        found.append("range of the day under 1 C")
    radiation, _ = monthly_radiation(place)
    above = monthly_means(extraterrestrial_radiation(place.latitude_deg, np.arange(1, 366)))
    lit = above > 0.5  # MJ/(m2 d): not the polar night
    if not ((radiation > 0.18 * above) & (radiation < 0.82 * above))[lit].all():
        found.append("radiation")
    return found


def test_normals_hold_together() -> None:
    wrong = {name: unsound(reference_place(name)) for name in reference_places()}
    assert {name: found for name, found in wrong.items() if found} == {}


def test_index_is_that_of_the_files() -> None:
    """`python -m mixcraft.place` rebuilds it; a stale index hides new places."""
    index, lines = build_index(read_files(), file_sizes())
    assert INDEX.read_text("utf-8") == index
    assert RECORDS.read_text("utf-8") == lines


@pytest.mark.slow
def test_a_stale_index_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the files have changed since, or the records are not those of the index, the files themselves are read."""
    shutil.copytree(library.DATA, tmp_path / "places")
    for name, path in (("DATA", ""), ("INDEX", "index.json"), ("RECORDS", "records.jsonl")):
        monkeypatch.setattr(library, name, tmp_path / "places" / path)
    library.RECORDS.write_text("{}\n", "utf-8")
    library._loaded.cache_clear()
    try:
        assert library.record("oxford")["name"] == "Oxford"
        with (library.DATA / "europe.yaml").open("a", encoding="utf-8") as handle:
            handle.write(NEW_PLACE)
        library._loaded.cache_clear()
        assert library.record("atlantis")["elevation_m"] == 7
    finally:
        library._loaded.cache_clear()


NEW_PLACE = """atlantis:
  name: Atlantis
  country: Nowhere
  latitude_deg: 40
  longitude_deg: -30
  elevation_m: 7
  climate: "temperate maritime (Cfb)"
  series: {}
"""


def test_look_up_is_free_of_case_and_knows_other_names() -> None:
    assert reference_place("OXFORD") is reference_place(" oxford ")
    assert reference_place("uccle").name == "Brussels"
    assert reference_place("Oxford, United Kingdom").name == "Oxford"


def test_near_miss_names_the_place_meant() -> None:
    with pytest.raises(UnknownPlace, match=r"'Wageninen'.*did you mean Wageningen, Netherlands\?"):
        reference_place("Wageninen")


def test_a_name_like_nothing_says_where_to_look() -> None:
    with pytest.raises(UnknownPlace, match="`mixcraft places` lists them"):
        reference_place("zzzzqqq")


def test_a_name_of_two_places_asks_which() -> None:
    with pytest.raises(UnknownPlace, match="2 reference places are called 'la paz'; write La Paz, Mexico or La Paz, Bolivia"):
        reference_place("la paz")
    assert reference_place("La Paz, Bolivia").southern
    assert not reference_place("La Paz, Mexico").southern


def test_a_town_of_many_states_is_not_taken_for_the_only_one_known() -> None:
    with pytest.raises(UnknownPlace, match=r"did you mean Portland, ME, United States\?"):
        reference_place("Portland")
    for name in ("Guadalajara", "Victoria", "San Jose", "Richmond", "Leon"):
        with pytest.raises(UnknownPlace, match="did you mean"):
            reference_place(name)
    assert reference_place("Portland, ME").name == "Portland, ME"
    assert reference_place("Chicago").name == "Chicago, IL"
    assert reference_place("MÜNCHEN").name == reference_place("Munich").name == "Munich"


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
