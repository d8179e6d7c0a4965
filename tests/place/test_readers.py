"""Weather files: what is read, what is derived, and faults told all at once with their lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from mixcraft.files.faults import FileFaults
from mixcraft.place.et0 import et0_penman_monteith
from mixcraft.place.sun import extraterrestrial_radiation
from mixcraft.place.weather import epw_station, weather_from_csv, weather_from_epw


def write(folder: Path, text: str, name: str = "station.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def faults(path: Path, **options: object) -> list[tuple[int, str]]:
    with pytest.raises(FileFaults) as caught:
        weather_from_csv(path, 52.0, **options)  # type: ignore[arg-type]
    return [(fault.line, fault.rule) for fault in caught.value.faults]


GOOD = "date,tmin_c,tmax_c,rain_mm,radiation_mj\n2024-03-01,2,9,0,8.5\n2024-03-02,1,11,3.2,7\n"


def test_columns_are_read_and_the_rest_derived(tmp_path: Path) -> None:
    weather = weather_from_csv(write(tmp_path, GOOD), 52.0, 40.0)
    assert weather.tmax_c.tolist() == [[9.0, 11.0]]
    assert weather.tmean_c.tolist() == [[5.5, 6.0]]
    assert weather.rain_mm.tolist() == [[0.0, 3.2]]
    ra = extraterrestrial_radiation(52.0, np.array([61, 62]))
    assert weather.et0_mm[0] == pytest.approx(et0_penman_monteith([9, 11], [2, 1], [8.5, 7], ra, 40.0))
    assert weather.notes == ("evapotranspiration: FAO-56 Penman-Monteith",)
    assert weather.source == "station.csv, 2024-03-01 to 2024-03-02"
    assert weather.daylength_h == pytest.approx([11.0, 11.06], abs=0.2)


def test_other_delimiters_order_comments_and_byte_order_mark(tmp_path: Path) -> None:
    text = "\ufeff# my station\nTmax_c;rain_mm;DATE;tmin_c;sunshine_h\n\n9;0;2024-03-01;2;4\n# rest\n"
    text += "11;3.2;2024-03-02;1;5\n"
    weather = weather_from_csv(write(tmp_path, text), 52.0)
    assert weather.tmin_c.tolist() == [[2.0, 1.0]]
    assert "radiation: from sunshine, FAO-56 Eq. 35" in weather.notes
    tabs = GOOD.replace(",", "\t")
    assert weather_from_csv(write(tmp_path, tabs), 52.0).radiation_mj.tolist() == [[8.5, 7.0]]


def test_without_radiation_or_sunshine_the_temperature_range_serves(tmp_path: Path) -> None:
    text = "date,tmin_c,tmax_c,rain_mm,et0_mm\n2024-06-01,10,21,0,4\n"
    weather = weather_from_csv(write(tmp_path, text), 52.0)
    assert weather.notes == ("radiation: from the temperature range, FAO-56 Eq. 50",)
    assert 15 < weather.radiation_mj[0, 0] < 25
    assert weather.et0_mm.tolist() == [[4.0]]


def test_seasons_are_cut_from_a_long_series(tmp_path: Path) -> None:
    dates = np.datetime64("2020-01-01") + np.arange(3 * 366)
    rows = [f"{day},{k % 7},{k % 7 + 10},0,9" for k, day in enumerate(dates)]
    path = write(tmp_path, "date,tmin_c,tmax_c,rain_mm,radiation_mj\n" + "\n".join(rows))
    weather = weather_from_csv(path, 52.0, start="2026-11-15", n_days=90)
    assert weather.tmin_c.shape == (2, 90)  # the winters of 2020 and 2021; that of 2022 is not complete
    assert str(weather.dates[0]) == "2026-11-15"
    first = int((np.datetime64("2021-11-15") - dates[0]).astype(int))
    assert weather.tmin_c[1].tolist() == [float((first + k) % 7) for k in range(90)]
    assert faults(path, start="2026-01-01", n_days=2000) == [(0, "too-short")]


def test_all_faults_at_once_with_their_lines(tmp_path: Path) -> None:
    text = (
        "date,tmin_c,tmax_c,rain_mm,tmean_c\n"
        "2024-03-01,2,9,0,5\n"
        "2024-03-02,12,9,0,10\n"
        "2024-03-03,2,hot,-1,5\n"
        "2024-03-05,2,9,0,5\n"
        "2024-03-05,2,9,0,5\n"
        "03/06/2024,2,9,0,5\n"
        "2024-03-06,2,9,0\n"
        "2024-03-06,2,9,0,20\n"
    )
    assert faults(write(tmp_path, text)) == [
        (3, "order"),
        (4, "value"),
        (4, "value"),
        (5, "gap"),
        (6, "order"),
        (7, "date"),
        (8, "cells"),
        (9, "order"),
    ]


def test_fault_text_shows_line_caret_and_repair(tmp_path: Path) -> None:
    path = write(tmp_path, "date,tmin_c,tmax_c,rain_mm\n2024-03-01,2,hot,0\n")
    with pytest.raises(FileFaults) as caught:
        weather_from_csv(path, 52.0)
    said = str(caught.value)
    assert ":2:14: tmax_c is no number" in said
    assert "2024-03-01,2,hot,0" in said
    assert "allowed: -90 to 60" in said


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("", "empty"),
        ("# only words\n", "empty"),
        ("date,tmin_c,tmax_c,rain_mm\n", "empty"),
        ("date,tmin_c,tmax_c\n2024-03-01,1,2\n", "column"),
        ("date,tmin_c,tmax_c,rain_mm,snow\n2024-03-01,1,2,0,0\n", "column"),
        ("date,tmin_c,tmin_c,tmax_c,rain_mm\n2024-03-01,1,1,2,0\n", "column"),
    ],
)
def test_broken_files_have_one_clear_rule(tmp_path: Path, text: str, rule: str) -> None:
    assert {found for _, found in faults(write(tmp_path, text))} == {rule}


def test_missing_and_binary_files(tmp_path: Path) -> None:
    assert faults(tmp_path / "none.csv") == [(0, "unreadable")]
    (tmp_path / "bytes.csv").write_bytes(b"date\xff\xfe")
    assert faults(tmp_path / "bytes.csv") == [(0, "encoding")]


def test_season_needs_both_start_and_days(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="both start and n_days"):
        weather_from_csv(write(tmp_path, GOOD), 52.0, start="2024-03-01")


def epw_text(days: int = 365, rain: float | None = None, **wrong: str) -> str:
    """An invented year in the EPW layout: 35 fields, temperature 10 + 5 sin(hour), 200 Wh/m2 for ten hours."""
    lines = [wrong.get("location", "LOCATION,Testfield,-,XXX,invented,000000,51.5,-1.0,0.0,80.0")]
    lines += [f"HEADER {k}" for k in range(7)]
    first = np.datetime64("2024-01-01" if days == 366 else "2023-01-01")
    for day in range(days):
        year, month, dom = str(first + day).split("-")
        for hour in range(24):
            cells = ["0"] * 35
            cells[0:5] = [year, str(int(month)), str(int(dom)), str(hour + 1), "60"]
            cells[5] = "flags"
            cells[6] = f"{10 + 5 * np.sin((hour - 9) / 24 * 2 * np.pi):.3f}"
            cells[7], cells[8] = "6.0", "75"
            cells[13] = "200" if 7 <= hour < 17 else "0"
            cells[21] = "4.0"
            cells[33] = "999" if rain is None else f"{rain}"
            lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def test_epw_year(tmp_path: Path) -> None:
    path = write(tmp_path, epw_text(rain=0.1), "year.epw")
    weather = weather_from_epw(path)
    assert weather.tmax_c.shape == (1, 365)
    assert weather.tmax_c == pytest.approx(np.full((1, 365), 15.0), abs=0.01)
    assert weather.tmin_c == pytest.approx(np.full((1, 365), 5.0), abs=0.01)
    assert weather.tmean_c == pytest.approx(np.full((1, 365), 10.0), abs=0.01)
    assert weather.radiation_mj == pytest.approx(np.full((1, 365), 7.2))  # 2000 Wh
    assert weather.rain_mm == pytest.approx(np.full((1, 365), 2.4))
    assert weather.notes == ()
    station = epw_station(path)
    assert (station.name, station.latitude_deg, station.longitude_deg, station.elevation_m) == (
        "Testfield",
        51.5,
        -1,
        80,
    )


def test_epw_season_may_run_over_new_year_and_29_february(tmp_path: Path) -> None:
    path = write(tmp_path, epw_text(), "year.epw")
    weather = weather_from_epw(path, start="2023-11-01", n_days=150)
    assert weather.days == 150
    assert str(weather.dates[-1]) == "2024-03-29"
    assert weather.notes == ("rain: none in the file, taken as 0",)
    assert (weather.rain_mm == 0).all()
    assert weather_from_epw(write(tmp_path, epw_text(366), "leap.epw")).days == 366


def test_epw_faults(tmp_path: Path) -> None:
    good = epw_text()
    for text, rule in (
        ("date,tmin\n", "epw-header"),
        (epw_text(location="LOCATION,Testfield,-,XXX,invented,000000,north,-1.0,0.0,80.0"), "epw-header"),
        (good[: len(good) // 2], "epw-hours"),
        (good.replace(",6.0,75,", ",99.9,75,", 2), "epw-value"),
    ):
        with pytest.raises(FileFaults) as caught:
            weather_from_epw(write(tmp_path, text, "bad.epw"))
        assert {fault.rule for fault in caught.value.faults} == {rule}
    assert len(caught.value.faults) == 2
    assert caught.value.faults[0].line == 9
