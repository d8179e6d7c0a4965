"""The same tasks on Dask clusters of this machine: identical rows, and a worker that is killed loses nothing."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from mixcraft.cli.main import main
from mixcraft.design.brief import load_brief
from mixcraft.design.compose import compose
from mixcraft.files import resource
from mixcraft.words.design_file import designed_text

RECIPE = """\
format: mixcraft-recipe/1
name: {crop} from {day}
bed: {{length: 1 m, width: 0.5 m}}
plantings:
  - {{crop: {crop}, establish: drills, place: {{kind: whole}}, start: {{kind: date, on: "{day}", hemisphere: north}}}}
"""


@pytest.fixture
def work(tmp_path) -> Path:
    (tmp_path / "recipes").mkdir()
    for crop in ("radish", "rocket"):
        for day in ("04-10", "05-05"):
            (tmp_path / "recipes" / f"{crop}{day}.yaml").write_text(RECIPE.format(crop=crop, day=day), "utf-8")
    (tmp_path / "places.csv").write_text("name\nOxford\nRome\nChicago\nMelbourne\n", "utf-8")
    return tmp_path


BRIEF = """\
format: mixcraft-brief/1
garden: g.garden.yaml
bed: long bed
at_hand: [radish, lettuce, spinach, beetroot, carrot]
"""


@pytest.fixture
def demo_copy(tmp_path, monkeypatch) -> Path:
    """A folder with the demonstration garden and a small brief; the working directory."""
    (tmp_path / "g.garden.yaml").write_bytes(resource("recipes_demo", "kiln-lane.garden.yaml").read_bytes())
    (tmp_path / "b.brief.yaml").write_text(BRIEF, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def rows(folder: Path) -> list[dict]:
    found = [row for part in folder.glob("place=*/*.parquet") for row in pq.read_table(part, partitioning=None).to_pylist()]
    return sorted(found, key=lambda row: (row["file"], row["place"]))


@pytest.mark.slow
def test_clusters_give_the_rows_that_one_process_gives(work, monkeypatch):
    monkeypatch.chdir(work)
    command = ["sweep", "recipes/*.yaml", "--places", "places.csv", "--years", "2", "--layers", "--workers", "1", "-o", "here"]
    assert main(command) == 0
    expected = rows(work / "here")
    assert len(expected) == 16
    for arguments in (["3", "kill"],):
        script = Path(__file__).with_name("on_a_cluster.py")
        ran = subprocess.run([sys.executable, str(script), str(work), *arguments], capture_output=True, text=True, timeout=500)
        assert ran.returncode == 0, ran.stderr
        assert rows(work / "-".join(arguments)) == expected


@pytest.mark.slow
def test_a_design_is_the_same_on_a_cluster(demo_copy):
    script = Path(__file__).with_name("on_a_cluster.py")
    ran = subprocess.run(
        [sys.executable, str(script), str(demo_copy), "2", "design"], capture_output=True, text=True, timeout=500
    )
    assert ran.returncode == 0, ran.stderr
    brief = load_brief("b.brief.yaml")
    made = compose(brief, seconds=1.0, years=2, patience=math.inf)[0]
    assert (demo_copy / "there.yaml").read_text("utf-8") == designed_text(made, brief)


def test_a_scheduler_that_does_not_answer_is_one_clear_error(work, monkeypatch, capsys):
    monkeypatch.chdir(work)
    assert main(["sweep", "recipes/*.yaml", "--places", "places.csv", "-o", "there", "--scheduler", "tcp//nowhere"]) == 2
    assert "no Dask scheduler answers at tcp//nowhere" in capsys.readouterr().err
