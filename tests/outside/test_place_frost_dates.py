"""Frost dates against published freeze dates of stations that no figure of the project was made from.

157 stations were drawn at random from every region and left out when the reference places and their spread of minima were
made: coasts, plains, the warm south, the Mediterranean, east Asia, South America, Britain, mountain valleys. The rows of
place_frost_dates.csv name their source: freeze probabilities of NOAA 1981-2010, dates derived from the lowest minima of the
monthly CLIMAT reports, daily records of Trentino. Normals of the same station go in, its dates come out.
``python tests/outside/test_place_frost_dates.py`` prints the table by region.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from functools import lru_cache
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from mixcraft.place import Place, frost_dates, place_from_normals, reference_place, weather_years
from mixcraft.place._constants import constant
from mixcraft.place.frost import FrostDate

DATA = Path(__file__).parent / "data" / "place_frost_dates.csv"
# asked for before anything was computed: mean of absolute differences of the medians under 5.5 days, bias under 3
MIDDLE_DAYS = 5.5
BIAS_DAYS = 3.0
FEW = 8


def number(text: str) -> list[float]:
    return [float(value) for value in text.split()]


def day(text: str) -> int | None:
    """Day of a common year 1-365 of a ``MM-DD``."""
    if not text:
        return None
    text = "02-28" if text == "02-29" else text
    return int((np.datetime64(f"2001-{text}") - np.datetime64("2001-01-01")).astype(int)) + 1


def apart(ours: int, theirs: int) -> int:
    """Days that a date is later than another, the shorter way round the year."""
    return (ours - theirs + 182) % 365 - 182


@lru_cache(maxsize=1)
def stations() -> tuple[dict[str, str], ...]:
    with DATA.open(encoding="utf-8", newline="") as handle:
        return tuple(csv.DictReader(handle))


def station_place(row: dict[str, str]) -> Place:
    wet = {"wet_days": number(row["wet_days"])} if row["wet_days"] else {}
    return place_from_normals(
        row["station"], float(row["lat"]), float(row["lon"]), float(row["elev_m"]),
        tmax_c=number(row["tmax_c"]), tmin_c=number(row["tmin_c"]), rain_mm=number(row["rain_mm"]), **wet,
    )  # fmt: skip


@lru_cache(maxsize=1)
def differences() -> dict[str, dict[str, list[int]]]:
    """Days that our middle dates are later, by region, for the last and the first frost."""
    found: dict[str, dict[str, list[int]]] = defaultdict(lambda: {"last": [], "first": []})
    for row in stations():
        dates = frost_dates(station_place(row))
        for which, ours in (("last", dates.last_spring), ("first", dates.first_autumn)):
            theirs = day(row[f"{which}_p50"])
            if ours is not None and theirs is not None:
                found[row["region"]][which].append(apart(ours.median, theirs))
    return dict(found)


def table() -> str:
    lines = [f"{'region':28s}{'last: n, mean |d|, bias':>28s}{'first: n, mean |d|, bias':>28s}"]
    both = [*sorted(differences().items()), ("all", everything())]
    for region, by in both:
        cells = (f"{len(d):8d}{np.abs(d).mean():8.1f}{np.mean(d):+8.1f}" for d in (by["last"], by["first"]))
        lines.append(f"{region:28s}" + "".join(f"{cell:>28s}" for cell in cells))
    return "\n".join(lines)


def everything() -> dict[str, list[int]]:
    return {which: [d for by in differences().values() for d in by[which]] for which in ("last", "first")}


@pytest.mark.parametrize("which", ["last", "first"])
def test_middle_dates_of_stations_left_out(which: str) -> None:
    days = everything()[which]
    assert len(days) > 0.95 * len(stations())  # where we find no frost in most years, none is compared
    assert np.abs(days).mean() < MIDDLE_DAYS
    assert abs(np.mean(days)) < BIAS_DAYS / 2


KNOWN = {
    # the normals of these stations end in the 1990s and the freeze dates begin in 1981; minima rose by 0.3 C between the two,
    # worth six days where a month is as long as the slope of two degrees, and frost comes in little more than half of the years
    "US California, Nevada",
}
"""Regions that are still off by more, with the reason."""


@pytest.mark.parametrize("which", ["last", "first"])
def test_no_region_leans_one_way(which: str) -> None:
    """Bias under three days, but for what the luck of 8 or 9 stations makes of it (two standard errors)."""
    days = {region: np.array(by[which]) for region, by in differences().items() if len(by[which]) >= FEW}
    assert len(days) >= 13
    leaning = {
        region: round(float(d.mean()), 1)
        for region, d in days.items()
        if abs(d.mean()) > BIAS_DAYS + 2 * d.std(ddof=1) / np.sqrt(len(d))
    }
    assert set(leaning) <= KNOWN, leaning
    assert np.mean([abs(d.mean()) for region, d in days.items()]) < BIAS_DAYS


def width(date: FrostDate | None) -> int | None:
    return None if date is None else (date.late - date.early) % 365


def test_spread_of_dates_between_one_year_in_ten_and_nine_in_ten() -> None:
    ours, theirs = [], []
    for row in stations():
        found = width(frost_dates(station_place(row)).last_spring)
        early, late = day(row["last_p10"]), day(row["last_p90"])
        if found is not None and early is not None and late is not None:
            ours.append(found)
            theirs.append((late - early) % 365)
    assert len(ours) > 40
    # a chain of first order and years without a character of their own: a fifth either way
    assert 0.8 < np.mean(ours) / np.mean(theirs) < 1.25


YEARS = 800
CHANCE = 3.5  # standard errors of a share of years
MIXED = ("Oxford", "Champion", "Rome", "Torbole", "Minneapolis, MN", "Pergamino")


@pytest.mark.parametrize("name", MIXED)
def test_weather_years_have_their_frosts_when_the_dates_say(name: str) -> None:
    """After the late last frost one year in ten has another, before the early first frost one in ten had one; and so on."""
    place = reference_place(name)
    found = frost_dates(place)
    assert found.last_spring is not None
    assert found.first_autumn is not None
    start = np.datetime64("2023-07-01") if place.southern else np.datetime64("2023-01-01")
    frost = weather_years(place, start, 365, YEARS, seed=21).tmin_c <= 0.0
    first = int((start - np.datetime64("2023-01-01")).astype(int)) + 1
    summer = int(np.argmin(np.convolve(frost.mean(axis=0), np.ones(61), "same")[90:300])) + 90
    for label, left in (("median", 0.5), ("late", 0.1), ("early", 0.9)):
        day_at = (getattr(found.last_spring, label) - first) % 365
        assert_share(frost[:, day_at + 1 : summer], frost[:, day_at:summer], left)
    for label, left in (("median", 0.5), ("late", 0.9), ("early", 0.1)):
        day_at = (getattr(found.first_autumn, label) - first) % 365
        if day_at > summer:  # not in the next year
            assert_share(frost[:, summer:day_at], frost[:, summer : day_at + 1], left)


def assert_share(without: np.ndarray, with_the_day: np.ndarray, wanted: float) -> None:
    """The share of years with frost steps over ``wanted`` on the day itself, but for chance."""
    error = CHANCE * np.sqrt(wanted * (1 - wanted) / YEARS)
    assert without.any(axis=1).mean() <= wanted + error
    assert with_the_day.any(axis=1).mean() >= wanted - error


@pytest.mark.parametrize("name", [*MIXED, "Melbourne", "Gainesville"])
def test_exact_dates_are_those_of_many_drawn_years(name: str) -> None:
    place = reference_place(name)
    exact, drawn = frost_dates(place), frost_dates(place, years=3000, seed=5)
    assert exact.frost_share == pytest.approx(drawn.frost_share, abs=0.03)
    for ours, theirs in ((exact.last_spring, drawn.last_spring), (exact.first_autumn, drawn.first_autumn)):
        if ours is None or theirs is None:
            assert abs(exact.frost_share - 0.5) < 0.4
            continue
        for label in ("early", "median", "late"):
            assert abs(apart(getattr(ours, label), getattr(theirs, label))) <= 3, label  # days; 3000 years are good to one


# Met Office, averages of 1961-1990 for May as the actual figures of May 2008 less their anomalies
# (http://www.metoffice.com/climate/uk/2008/may/averages1.html and averages2.html): screen minimum, grass minimum [C],
# days of grass frost and of air frost
MAY = {"United Kingdom": (5.5, 3.3, 6, 2), "England": (6.1, 3.7, 5, 1), "Scotland": (4.4, 2.5, 8, 2)}


@pytest.mark.parametrize("region", MAY)
def test_ground_frosts_of_may_beside_air_frosts(region: str) -> None:
    screen, grass, ground_days, air_days = MAY[region]
    lower = constant("ground_frost_depression")
    assert lower == pytest.approx(screen - grass, abs=0.5)
    spread = 3.3  # C, of daily minima in a British May, as at Oxford and Lerwick
    days = [31 * NormalDist(screen, spread).cdf(limit) for limit in (0.0, lower)]
    assert days[0] == pytest.approx(air_days, abs=1.5)
    assert days[1] == pytest.approx(ground_days, abs=2.0)


if __name__ == "__main__":
    print(table())
