"""Many recipes at many places: rows are what the score says, what is there is not done again, and nothing bad is fatal."""

from __future__ import annotations

import json
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pyarrow.parquet as pq
import pytest

import mixcraft
from mixcraft.cli.main import main
from mixcraft.files import FileFaults
from mixcraft.recipe.model import Bed, Garden
from mixcraft.sweep import read_spots

ROOT = Path(__file__).parents[2]
SMALL = """\
format: mixcraft-recipe/1
name: Small {crop}
bed: {{length: 1 m, width: 0.5 m}}
plantings:
  - crop: {crop}
    establish: drills
    place: {{kind: whole}}
    start: {{kind: date, on: 04-20, hemisphere: north}}
"""
CROPS = ("radish", "rocket", "spinach")


@pytest.fixture
def work(tmp_path, monkeypatch) -> Path:
    """A folder with three small recipes and two places; the working directory."""
    (tmp_path / "recipes").mkdir()
    for crop in CROPS:
        (tmp_path / "recipes" / f"{crop}.yaml").write_text(SMALL.format(crop=crop), "utf-8")
    (tmp_path / "places.csv").write_text("name,latitude,longitude,height\nOxford,,,\nmy hill,47.1 N,8.3 E,600 m\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


COMMAND = ("sweep", "recipes/*.yaml", "--places", "places.csv", "--years", "2", "--layers", "--workers", "1")


def sweep(folder: str, *more: str) -> int:
    return main([*COMMAND, "-o", folder, *more])


def rows(folder: Path) -> list[dict]:
    """Rows of a sweep in an order of their own."""
    found = [row for part in folder.glob("place=*/*.parquet") for row in pq.read_table(part, partitioning=None).to_pylist()]
    return sorted(found, key=lambda row: (row["file"], row["place"]))


def test_rows_are_what_growing_and_scoring_says(work):
    assert sweep("found") == 0
    found = rows(work / "found")
    assert [(row["file"], row["place"]) for row in found] == [
        (f"recipes/{crop}.yaml", place) for crop in CROPS for place in ("Oxford", "my hill")
    ]
    row = found[0]
    recipe, oxford = mixcraft.load_recipe(work / "recipes/radish.yaml"), read_spots("places.csv")[0].place
    garden = Garden("Oxford", oxford, (Bed("bed", 1.0, 0.5),))
    score = mixcraft.score(mixcraft.grow(recipe, garden, "bed", years=2, voxels=False))
    assert row["overall"] == score.overall
    assert row["kg_by_year"] == score.season.picked_kg.sum(axis=(0, 2)).tolist()
    assert row["weeks_wanted"] == sum(week.wanted for week in score.strip)
    assert {row["status"] for row in found} == {"good"}
    assert found[1]["station"] != "my hill"


def test_what_is_there_is_not_done_again_and_a_changed_recipe_takes_the_place_of_the_old(work, capsys):
    sweep("found")
    before = {part: part.stat().st_mtime_ns for part in (work / "found").rglob("*.parquet")}
    capsys.readouterr()
    assert sweep("found") == 0
    assert "6 were there already" in capsys.readouterr().out
    assert {part: part.stat().st_mtime_ns for part in (work / "found").rglob("*.parquet")} == before

    changed = work / "recipes/spinach.yaml"
    changed.write_text(changed.read_text("utf-8").replace("04-20", "08-20"), "utf-8")
    (work / "recipes/turnip.yaml").write_text(SMALL.format(crop="turnip"), "utf-8")
    assert sweep("found") == 0
    assert "4 were there already" in capsys.readouterr().out
    found = rows(work / "found")
    assert len(found) == 8
    assert {str(row["first_sowing"])[5:7] for row in found if "spinach" in row["file"]} == {"08"}


@pytest.mark.slow
def test_the_same_rows_from_one_process_from_two_and_after_a_kill(work):
    sweep("one")
    sweep("two", "--workers", "2")
    command = [sys.executable, "-c", "from mixcraft.cli import entry; entry()", *COMMAND, "-o", "killed"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    until = time.monotonic() + 300
    while not list((work / "killed").glob("place=*/*.parquet")) and process.poll() is None and time.monotonic() < until:
        time.sleep(0.01)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert list((work / "killed").glob("place=*/*.parquet"))
    sweep("killed")
    assert rows(work / "two") == rows(work / "one")
    assert rows(work / "killed") == rows(work / "one")


def test_a_bad_recipe_is_told_and_the_others_are_grown(work, capsys):
    (work / "recipes/bad.yaml").write_text(SMALL.format(crop="radisch"), "utf-8")
    assert sweep("found") == 2
    said = capsys.readouterr()
    assert "recipes/bad.yaml:5" in said.err
    assert "1 of the files left out" in said.err
    assert "6 grown" in said.out
    assert len(rows(work / "found")) == 6


def test_what_cannot_be_sown_at_a_place_is_a_row_that_says_so(work):
    (work / "recipes/warm.yaml").write_text(
        SMALL.format(crop="radish").replace("{kind: date, on: 04-20, hemisphere: north}", "{kind: soil, at_least: 38 C}"), "utf-8"
    )
    assert sweep("found") == 0
    refused = [row for row in rows(work / "found") if row["status"] == "refused"]
    assert [row["file"] for row in refused] == ["recipes/warm.yaml"] * 2
    assert all(row["said"] and row["overall"] is None for row in refused)


def test_results_of_another_setting_or_version_are_not_mixed(work, capsys):
    sweep("found")
    assert sweep("found", "--years", "3") == 2
    assert "other settings (years)" in capsys.readouterr().err
    about = work / "found/sweep.json"
    data = json.loads(about.read_text("utf-8"))
    about.write_text(json.dumps({**data, "data": "0" * 16}), "utf-8")
    assert sweep("found") == 2
    assert "another version of the data" in capsys.readouterr().err
    about.unlink()
    assert sweep("found") == 2
    part = next((work / "found").rglob("*.parquet"))
    about.write_text(json.dumps(data), "utf-8")
    part.write_bytes(part.read_bytes()[:100])
    assert sweep("found") == 2
    assert "is damaged; delete it" in capsys.readouterr().err


def test_a_bed_of_a_garden_is_set_at_every_place(work):
    shutil.copy(ROOT / "recipes_demo/kiln-lane.garden.yaml", work)
    assert sweep("found", "-g", "kiln-lane.garden.yaml", "-b", "LONG bed") == 0
    assert [round(row["area_m2"], 9) for row in rows(work / "found")] == [3.6] * 6


def test_the_question_of_the_readme_can_be_asked(work):
    readme = (ROOT / "README.md").read_text("utf-8")
    query = re.search(r"```sql\n(.*?)```", readme, re.DOTALL)
    assert query, "the README shows a query"
    sweep("results")
    answer = duckdb.sql(query[1])
    assert answer.columns[0] == "recipe"
    assert len(answer.fetchall()) == 3


BAD_PLACES = {
    "name,latitude\nOxfort,\n": (2, "did you mean Oxford"),
    "name\nOxford\noxford\n": (3, "stands there already"),
    "name,latitude,longitude\nhere,91,4\n": (2, "latitude"),
    "name,latitude,longitude,height\nhere,50 N,4 E,high\n": (2, "number of metres"),
    "name,latitude,longitude\nhere,50 N,\n": (2, "needs latitude and longitude"),
    "name,lattitude\nOxford,\n": (1, "did you mean `latitude`?"),
    "latitude,longitude\n50,4\n": (1, "the column name is missing"),
    "name\n": (0, "has no place"),
    "": (0, "has no lines"),
}


def test_faults_of_a_file_of_places_name_line_and_repair(tmp_path):
    for text, (line, word) in BAD_PLACES.items():
        (tmp_path / "p.csv").write_text(text, "utf-8")
        with pytest.raises(FileFaults) as caught:
            read_spots(str(tmp_path / "p.csv"))
        fault = caught.value.faults[0]
        assert fault.line == line, text
        assert word in f"{fault.message} {fault.repair}", text
        assert fault.repair
    with pytest.raises(FileFaults, match="not an ordinary file"):
        read_spots(str(tmp_path))
