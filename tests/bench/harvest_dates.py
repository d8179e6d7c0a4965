"""Dates of published trials, against the engine's: flower, ripeness, first and last picking after the trial's planting.

Usage: python tests/bench/harvest_dates.py TRIALS STATIONS [--crop C] [--years N]; TRIALS is a table of trials (crop, lat, lon,
elev_m, planting_method, planting_date, days_to_anthesis, days_to_maturity, days_to_first_harvest, days_to_last_harvest),
STATIONS one of monthly normals by station.  The weather is not that of the trial's year but some years of the nearest station of
like height, so that a week or so is beyond it.  A trial that was cleared on one chosen day says only that the crop was fit to
harvest then, and the last picking of one that was picked for long, which is the day on which it was given up, that there was
still something to pick: what counts is how far that day lies outside the days on which it could be picked.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from alone import Alone, alone_of, planting, rows, way

from mixcraft.crops import load_crop
from mixcraft.crops.development import NEVER
from mixcraft.crops.windows import part_window
from mixcraft.place import Place
from mixcraft.place.places import place_from_normals

CROPS = {
    "BellPepper": "pepper-sweet", "GreenBean": "bean-bush", "Tomato": "tomato-bush", "SweetCorn": "sweet-corn",
    "Potato": "potato-maincrop", "Drybean": "bean-bush", "Strawberry": "strawberry", "Fababean": "broad-bean",
}  # fmt: skip
"""Crop of the library that stands for a trial's; a cabbage is the summer or the winter kind by its cultivar."""
STORED = {"Kalorama"}
KM_PER_DEG, KM_PER_M = 111.2, 0.3
Row = Mapping[str, str]


def crop_of(row: Row) -> str:
    """Id of the crop of the library that a trial grew, empty if there is none."""
    if row["crop"] == "Cabbage":
        return "cabbage-winter" if row["cultivar"].split()[0] in STORED else "cabbage-summer"
    return CROPS.get(row["crop"], "")


def station_of(row: Row, stations: list[dict[str, str]]) -> dict[str, str]:
    """The station nearest to a trial, a metre of height counted as 0.3 km."""
    lat, lon = float(row["lat"]), float(row["lon"])
    height = float(row["elev_m"]) if row["elev_m"] and float(row["elev_m"]) > -50 else None

    def far(station: Row) -> float:
        north = float(station["lat"]) - lat
        east = (float(station["lon"]) - lon) * math.cos(math.radians(lat))
        up = 0.0 if height is None or not station["elev_m"] else float(station["elev_m"]) - height
        return KM_PER_DEG * math.hypot(north, east) + KM_PER_M * abs(up)

    return min((s for s in stations if all(s[f"{name}_{m}"] for name in ("tmax", "tmin", "rain") for m in range(1, 13))), key=far)


def place_at(station: Row) -> Place:
    """The place of a station."""
    tmax, tmin, rain = ([float(station[f"{name}_{m}"]) for m in range(1, 13)] for name in ("tmax", "tmin", "rain"))
    return place_from_normals(
        station["place"], float(station["lat"]), float(station["lon"]), float(station["elev_m"] or 0.0), tmax_c=tmax, tmin_c=tmin,
        rain_mm=rain, coastal=False,
    )  # fmt: skip


def grown(row: Row, place: Place, years: int) -> Alone:
    """The trial's crop grown alone at a place from its day of planting."""
    crop = load_crop(crop_of(row))
    sown = "set" if row["crop"] == "Potato" else "seed"
    how = way(crop, sown if row["planting_method"] == "dry seed" else row["planting_method"])
    one = planting(crop, how, row["planting_date"][5:], "trial")
    return alone_of(crop, place, (one,), years, 7)


def middle(days: np.ndarray, start: int = 0) -> float:
    """Median of the days that come, after a start; nan if most do not."""
    come = days[days < NEVER] - start
    return float(np.median(come)) if 2 * len(come) > len(days) else float("nan")


def said(row: Row, one: Alone) -> dict[str, tuple[float, float]]:
    """By what was observed: the observed days and the engine's."""
    clock, start = one.clocks[0], int(one.starts[0])
    found = {}
    if row["days_to_anthesis"]:
        found["flower"] = float(row["days_to_anthesis"]), middle(clock.flower, start)
    if row["days_to_maturity"] and row["crop"] in ("Drybean", "Fababean"):
        found["ripe"] = float(row["days_to_maturity"]), middle(clock.end, start)
    first, last = row["days_to_first_harvest"], row["days_to_last_harvest"]
    if first and first != last:
        found["first"] = float(first), float(np.nanmedian(one.first()[:, 0]))
        days = (float(np.nanmedian(of()[:, 0])) for of in (one.first, one.last))
        found["last"] = float(last), float(np.clip(float(last), *days))
    elif first:
        opens, closes = part_window(one.crop, one.crop.main_part, clock)
        found["fit"] = float(first), float(np.clip(float(first), middle(opens, start), middle(closes, start)))
    return found


def line(title: str, pairs: list[tuple[float, float]]) -> str:
    """Errors of some pairs of observed and the engine's days."""
    off = np.array([b - a for a, b in pairs])
    share = np.abs(off) / np.array([a for a, _ in pairs])
    come = np.isfinite(off)
    errors = f"median error {100 * np.median(share[come]):4.0f} %  bias {off[come].mean():+5.1f} d" if come.any() else "nothing"
    return f"{title:28} {len(pairs):3d}  {errors}{'' if come.all() else f'  never {int((~come).sum())}'}"


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser()
    asked.add_argument("trials", type=Path)
    asked.add_argument("stations", type=Path)
    asked.add_argument("--crop", default="")
    asked.add_argument("--years", type=int, default=5)
    args = asked.parse_args()
    stations = rows(args.stations)
    by: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in rows(args.trials):
        if not crop_of(row) or args.crop not in ("", row["crop"]):
            continue
        station = station_of(row, stations)
        for what, pair in said(row, grown(row, place_at(station), args.years)).items():
            by[f"{row['crop']} {what}"].append(pair)
            by["all"].append(pair)
            named = f"{row['crop']:10} {row['cultivar'][:16]:16} {row['planting_date']} at {station['place'][:24]:24}"
            print(f"{named} {what:6} {pair[0]:4.0f} {pair[1]:4.0f}")
    for title, pairs in sorted(by.items()):
        print(line(title, pairs))


if __name__ == "__main__":
    main()
