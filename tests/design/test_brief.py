"""Briefs: three lines are enough, and every fault is told with file, line and repair."""

from __future__ import annotations

from pathlib import Path

import pytest

from mixcraft.cli import main
from mixcraft.design.brief import load_brief
from mixcraft.files import FileFaults, resource

GARDEN = resource("recipes_demo", "kiln-lane.garden.yaml")
THREE = "format: mixcraft-brief/1\ngarden: my.garden.yaml\nbed: long bed\n"


@pytest.fixture
def write(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Writes a brief beside its garden."""
    (tmp_path / "my.garden.yaml").write_text(GARDEN.read_text("utf-8"), "utf-8")

    def made(text: str) -> Path:
        path = tmp_path / "my.brief.yaml"
        path.write_text(text, "utf-8")
        return path

    return made


def test_three_lines_are_enough(write) -> None:  # type: ignore[no-untyped-def]
    brief = load_brief(write(THREE))
    assert (brief.bed, brief.style, brief.musts, brief.effort.sowing_days) == ("long bed", "mixed", (), 12)
    assert brief.asked()[0] is brief.garden


def test_the_plate_of_the_brief_goes_before_the_gardens(write) -> None:  # type: ignore[no-untyped-def]
    brief = load_brief(write(THREE + "kinds: 6\nportions: 9\nwindow: {from: 06-01, until: 09-30}\n"))
    plate = brief.asked()[1].plate
    assert plate is not None
    assert (plate.start, plate.until, plate.portions, plate.kinds, plate.weekly_kg) == ("06-01", "09-30", 9.0, 6, 0.0)


@pytest.mark.parametrize(
    ("more", "line", "said"),
    [
        ("musts: [raddish]\n", 4, "radish"),
        ("musts: [carrot]\nnevers: [carrot]\n", 4, "nevers"),
        ("at_hand: [radish]\nmusts: [carrot]\n", 5, "at_hand"),
        ("kinds: 0\n", 4, "kinds"),
        ("window: {from: 05-15}\n", 4, "until"),
        ("height_limit: 2 kg\n", 4, "length"),
        ("start_from: none.yaml\n", 4, "mixcraft new recipe"),
        ("style: sown twice\n", 4, "sown once"),
        ("wish: [basil]\n", 4, "wishes"),
    ],
)
def test_a_fault_is_told_with_its_line_and_repair(write, more: str, line: int, said: str) -> None:  # type: ignore[no-untyped-def]
    path = write(THREE + more)
    with pytest.raises(FileFaults) as error:
        load_brief(path)
    assert error.value.faults[0].line == line
    assert said in str(error.value)


def test_the_garden_and_the_bed_are_looked_for(write) -> None:  # type: ignore[no-untyped-def]
    for text, said in ((THREE.replace("my.", "mine."), "my.garden.yaml"), (THREE.replace("long", "lon"), "long bed")):
        with pytest.raises(FileFaults, match=said):
            load_brief(write(text))


def test_a_faulty_brief_ends_with_2_and_writes_nothing(write, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    assert main(["design", str(write(THREE + "musts: [raddish]\n")), "-o", str(tmp_path / "out.yaml")]) == 2
    assert main(["design", str(write(THREE)), "-o", str(tmp_path / "my.garden.yaml")]) == 2
    assert not (tmp_path / "out.yaml").exists()
    assert (tmp_path / "my.garden.yaml").read_text("utf-8") == GARDEN.read_text("utf-8")


def test_a_new_brief_is_valid_beside_a_new_garden(tmp_path: Path) -> None:
    assert main(["new", "garden", "-o", str(tmp_path / "my.garden.yaml")]) == 0
    assert main(["new", "brief", "-o", str(tmp_path / "my.brief.yaml")]) == 0
    assert load_brief(tmp_path / "my.brief.yaml").bed == "first bed"
    assert main(["check", str(tmp_path / "my.brief.yaml")]) == 0
