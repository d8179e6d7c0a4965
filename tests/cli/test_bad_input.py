"""Bad input: exit status 2, one clear message, no traceback, nothing half written, what was there untouched."""

from __future__ import annotations

import errno
import io
import os
import sys
import tracemalloc
from pathlib import Path

import pytest

from .conftest import Ran, Run

FEW = ("--years", "2", "--no-repairs")
HEAD = """\
format: mixcraft-recipe/1
name: test
bed: {length: 2 m, width: 1 m}
plantings:
"""
GARDEN = """\
format: mixcraft-garden/1
name: test
place: {kind: reference, name: Oxford}
beds:
  - {name: bed, length: 2 m, width: 1 m}
"""


def recipe(**lines: str) -> str:
    """A recipe of one radish with lines changed, left out (empty) or added."""
    usual = {
        "crop": "radish", "establish": "broadcast", "density": "40 plants/m2", "place": "{kind: whole}",
        "start": "{kind: date, on: 04-15}",
    }  # fmt: skip
    usual.update(lines)
    return HEAD + "  - " + "\n    ".join(f"{key}: {value}" for key, value in usual.items() if value) + "\n"


class Desk:
    """A folder with a recipe and a garden, and the means to score them and to see that nothing else changed."""

    def __init__(self, folder: Path, run: Run) -> None:
        self.folder, self.run = folder, run
        (folder / "garden.yaml").write_text(GARDEN, "utf-8")
        (folder / "recipe.yaml").write_text(recipe(), "utf-8")

    def score(self, *more: str) -> Ran:
        return self.run("score", self.folder / "recipe.yaml", "-g", self.folder / "garden.yaml", *FEW, *more)

    def refuses(self, command: tuple[object, ...] | None = None) -> str:
        """Run, and return the message of the refusal after looking at its form."""
        before = {p: p.read_bytes() for p in self.folder.rglob("*") if p.is_file() and p.stat().st_size < 10**6}
        found = self.score() if command is None else self.run(*command)
        assert found.code == 2, found.err
        assert found.out == ""
        assert found.err.strip()
        assert {p: p.read_bytes() for p in before} == before
        assert {p for p in self.folder.rglob("*") if p.is_file() and p.stat().st_size < 10**6} == set(before)
        return found.err


@pytest.fixture
def desk(tmp_path: Path, run: Run) -> Desk:
    return Desk(tmp_path, run)


def one_fault(message: str) -> str:
    """The first line of a message that reports one fault with its place and repair."""
    lines = message.rstrip("\n").splitlines()
    assert lines[-1].startswith("1 fault")
    assert any(line.startswith("  repair: ") for line in lines), message
    return lines[0]


RECIPES = {
    "unknown crop": (recipe(crop="radsh"), ":5:11: no crop called 'radsh'"),
    "wrong unit": (recipe(density="40 cm"), ":7:14: `40 cm` is a length"),
    "no unit": (recipe(density="40"), ":7:14:"),
    "negative density": (recipe(density="-4 plants/m2"), ":7:14: `-4 plants/m2` is negative"),
    "absurd density": (recipe(density="9000000 plants/m2"), ":7:14: 9e+06 plants of radish do not fit"),
    "more plants than fit": (recipe(density="", count="5000"), "5000 plants of radish do not fit on 2.00 m2"),
    "a climber without its trellis": (
        recipe(crop="climbing bean", establish="stations", density="", count="8", place="{kind: trellis}"),
        "climbing bean climbs a trellis, but bed 'bed' has none",
    ),
    "soil that never gets so warm": (
        recipe(start="{kind: soil, at_least: 25 C}"), "the soil never stays at 25 C at Oxford",
    ),
    "a place outside the bed": (recipe(place="{kind: strip, from: 1 m, to: 3 m}"), "the bed ends at 2 m"),
    "an unknown part": (recipe(harvest="[{part: ears}]"), "radish has no edible part called 'ears'"),
    "two amounts": (recipe(count="5"), "more than one amount is given"),
    "a key that is no key": (recipe(spacings="5 cm"), ":10:5:"),
    "a tab": (recipe(note="x").replace("    note", "\tnote"), ":10:1: a tab is used to indent"),
    "a day that does not exist": (recipe(start="{kind: date, on: 02-30}"), "February has no day 30"),
    "a moment that is none": (recipe(cover="[{kind: fleece, on: start, off: later}]"), "'later' is no moment"),
    "yes where text is due": (recipe(crop="[yes]"), ":5:11:"),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(RECIPES))
def test_recipes(desk: Desk, name: str) -> None:
    text, said = RECIPES[name]
    (desk.folder / "recipe.yaml").write_text(text, "utf-8")
    assert said in one_fault(desk.refuses())


GARDENS = {
    "an unknown place": (GARDEN.replace("Oxford", "Atlantis"), ":3:"),
    "a bed without a length": (GARDEN.replace("length: 2 m, ", ""), ":5:"),
    "a bed of a hundred metres": (GARDEN.replace("2 m", "100 m"), "a bed 100 m long cannot be laid out"),
    "a bed of a millimetre": (GARDEN.replace("2 m", "1 mm"), "a bed 0.001 m long cannot be laid out"),
    "two beds of one name": (GARDEN + "  - {name: bed, length: 2 m, width: 1 m}\n", "two beds are called 'bed'"),
    "no beds": (GARDEN.split("beds:")[0] + "beds: []\n", ":4:"),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(GARDENS))
def test_gardens(desk: Desk, name: str) -> None:
    text, said = GARDENS[name]
    (desk.folder / "garden.yaml").write_text(text, "utf-8")
    assert said in one_fault(desk.refuses())


def test_soil_of_lerwick(desk: Desk) -> None:
    """A soil temperature that Lerwick never has; what the repair says works when it is typed in."""
    (desk.folder / "garden.yaml").write_text(GARDEN.replace("Oxford", "Lerwick"), "utf-8")
    (desk.folder / "recipe.yaml").write_text(recipe(start="{kind: soil, at_least: 15 C}"), "utf-8")
    message = desk.refuses()
    assert "the soil never stays at 15 C at Lerwick" in one_fault(message)
    most = message.split("ask for at most ")[1].split(" C")[0]
    (desk.folder / "recipe.yaml").write_text(recipe(start=f"{{kind: soil, at_least: {most} C}}"), "utf-8")
    assert desk.score().code == 0


BYTES = {
    "empty": (b"", "empty"),
    "only blanks": (b"   \n\n", "empty"),
    "binary": (bytes(range(256)) * 20, ""),
    "a picture": (b"\x89PNG\r\n\x1a\n" + b"\x00" * 100, ""),
    "half a character": (recipe(note="").encode() + b"    note: caf\xc3", ""),
    "sixteen bits": (recipe().encode("utf-16"), ""),
    "an open bracket": (HEAD.encode() + b"  - {crop: radish\n", ""),
    "a list": (b"- a\n- b\n", ""),
    "a word": (b"radish\n", ""),
}


@pytest.mark.parametrize("which", ["recipe.yaml", "garden.yaml"])
@pytest.mark.parametrize("name", sorted(BYTES))
def test_files_that_are_none(desk: Desk, name: str, which: str) -> None:
    content, said = BYTES[name]
    (desk.folder / which).write_bytes(content)
    message = desk.refuses()
    assert which in one_fault(message)
    assert said in message


def measured(desk: Desk) -> tuple[str, float]:
    """The message of a refusal, and the most memory that Python took for it [MB], which bounds the work; modules come before."""
    desk.refuses()
    tracemalloc.start()
    try:
        return desk.refuses(), tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


def test_a_hundred_megabytes_are_refused_at_once(desk: Desk) -> None:
    with (desk.folder / "recipe.yaml").open("wb") as handle:
        handle.truncate(100 * 10**6)
    message, most_mb = measured(desk)
    assert most_mb < 10.0
    assert "recipe.yaml" in message
    assert "MB" in message or "large" in message


def test_an_alias_bomb_is_refused_at_once(desk: Desk) -> None:
    """Ten lines of nine aliases each would be nine to the power of ten items."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 11)]
    (desk.folder / "recipe.yaml").write_text("\n".join(lines) + "\n", "utf-8")
    message, most_mb = measured(desk)
    assert most_mb < 10.0
    assert "recipe.yaml:" in message


def test_a_thousand_brackets(desk: Desk) -> None:
    (desk.folder / "recipe.yaml").write_text("a: " + "[" * 5000 + "]" * 5000, "utf-8")
    assert "recipe.yaml:" in desk.refuses()


def test_python_in_yaml_is_not_run(desk: Desk) -> None:
    target = desk.folder / "was_here"
    text = f'format: !!python/object/apply:os.system ["touch {target}"]\n'
    (desk.folder / "recipe.yaml").write_text(text, "utf-8")
    desk.refuses()
    assert not target.exists()


def test_missing_files(desk: Desk) -> None:
    here = desk.folder
    message = desk.refuses(("score", here / "none.yaml", "-g", here / "gone.yaml", *FEW))
    assert "none.yaml" in message
    assert "gone.yaml" in message
    assert "2 faults" in message
    assert str(here) in desk.refuses(("score", here, "-g", here / "garden.yaml", *FEW))


def test_faults_of_both_files_at_once(desk: Desk) -> None:
    (desk.folder / "recipe.yaml").write_text(recipe(crop="radsh"), "utf-8")
    (desk.folder / "garden.yaml").write_text(GARDEN.replace("Oxford", "Atlantis"), "utf-8")
    message = desk.refuses()
    assert "radsh" in message
    assert "Atlantis" in message
    assert "2 faults" in message


def test_a_garden_given_as_recipe_and_the_reverse(desk: Desk) -> None:
    here = desk.folder
    message = desk.refuses(("score", here / "garden.yaml", "-g", here / "recipe.yaml", *FEW))
    assert "this is a garden file, a recipe is needed here" in message
    assert "this is a recipe file, a garden is needed here" in message


def test_a_bed_that_is_not_there(desk: Desk) -> None:
    here = desk.folder
    args = ("score", here / "recipe.yaml", "-g", here / "garden.yaml", *FEW)
    assert "no bed called 'beds': did you mean 'bed'?" in desk.refuses((*args, "--bed", "beds"))
    two = GARDEN + "  - {name: other, length: 2 m, width: 1 m}\n"
    (here / "garden.yaml").write_text(two, "utf-8")
    assert "several beds: add --bed with one of 'bed', 'other'" in desk.refuses(args)
    assert desk.score("--bed", "OTHER").code == 0


@pytest.mark.parametrize("years", ["0", "-3", "1001", "many", "2.5"])
def test_years(desk: Desk, years: str) -> None:
    here = desk.folder
    assert "years" in desk.refuses(("score", here / "recipe.yaml", "-g", here / "garden.yaml", "--years", years))


@pytest.mark.parametrize(("option", "value"), [
    ("--seed", "-5"), ("--seed", "many"), ("--seed", "1.5"), ("--fail-under", "nan"), ("--fail-under", "good"),
    ("--fail-under", "inf"),
])  # fmt: skip
def test_numbers_of_the_command_line(desk: Desk, option: str, value: str) -> None:
    """A seed below zero ended in a traceback once, and no score is under "nan"."""
    here = desk.folder
    said = desk.refuses(("score", here / "recipe.yaml", "-g", here / "garden.yaml", f"{option}={value}"))
    assert f"{option}: {value}: give a " in said
    assert "_" not in said.splitlines()[-1]


@pytest.mark.parametrize(("command", "ending"), [("graph", ".json or .graphml"), ("light", ".svg"), ("card", ".pdf")])
def test_files_of_another_kind(desk: Desk, command: str, ending: str) -> None:
    """The name is looked at before the season is grown."""
    assert f"write a file ending in {ending}" in desk.refuses(writing(desk, command, desk.folder / "out.txt"))


def test_a_demonstration_where_no_folder_can_be(desk: Desk) -> None:
    assert "recipe.yaml" in desk.refuses(("demo", "-o", desk.folder / "recipe.yaml" / "cards"))


def test_an_output_that_takes_nothing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk behind the standard output is no low score (1) but a fault (2), said in one line."""

    class Full(io.StringIO):
        def flush(self) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(sys, "stdout", Full())
    found = run("crops")
    assert found.code == 2
    assert found.err == "mixcraft: cannot write the output: no space left on device\n"


def test_words_that_are_no_command(desk: Desk) -> None:
    assert "invalid choice" in desk.refuses(("scor", "recipe.yaml"))
    assert "required" in desk.refuses(("score", desk.folder / "recipe.yaml"))
    assert "unrecognized" in desk.refuses(("places", "--nonsense"))


OUTPUTS = [("graph", "graph.json"), ("graph", "graph.graphml"), ("new", "new.yaml")]


def writing(desk: Desk, command: str, target: Path) -> tuple[object, ...]:
    if command == "new":
        return ("new", "recipe", "-o", target)
    here = desk.folder
    return (command, here / "recipe.yaml", "-g", here / "garden.yaml", "--years", "2", "-o", target)


@pytest.mark.parametrize(("command", "name"), OUTPUTS)
def test_output_where_nothing_can_be_written(desk: Desk, command: str, name: str) -> None:
    assert "there is no folder" in desk.refuses(writing(desk, command, desk.folder / "none" / name))
    (desk.folder / "folder.json").mkdir(exist_ok=True)
    if command == "graph":
        assert "it is a folder" in desk.refuses(writing(desk, command, desk.folder / "folder.json"))
    assert "cannot write" in desk.refuses(writing(desk, command, Path("/proc/self") / name))


def test_a_graph_of_an_unknown_kind(desk: Desk) -> None:
    assert "ending in .json or .graphml" in desk.refuses(writing(desk, "graph", desk.folder / "graph.png"))


def test_a_full_disk_leaves_the_old_file(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    target = desk.folder / "graph.json"
    target.write_text("what was there", "utf-8")

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert "no space left on device" in desk.refuses(writing(desk, "graph", target))
    assert target.read_text("utf-8") == "what was there"


CRASHES = {
    "thinning a part that is none": recipe(harvest="[{part: nonsense, method: thin}]"),
    "a recipe for a bed of no length": recipe().replace("length: 2 m", "length: 0 m"),
    "no seeds in a gram": recipe(overrides="{seed.per_gram: 0}"),
    "seed that never germinates": recipe(overrides="{seed.germination: 0}"),
    "leaves of no area": recipe(overrides="{canopy.sla: 0}"),
    "ripe at once": recipe(overrides="{development.ready: 0}"),
    "no room between rows": recipe(establish="drills", overrides="{spacing.between_rows: 0 cm}"),
}
ACCEPTED = {
    "no plants": recipe(density="0 plants/m2"),
    "sown thirty metres deep": recipe(depth="30 m"),
    "picked every no days": recipe(harvest="[{part: root, every: 0 days}]"),
    "picked every minus three days": recipe(harvest="[{part: root, every: -3 days}]"),
    "cleared before it is sown": recipe(end="{kind: age, time: -5 days}"),
    "a recipe for a bed that reaches the stars": recipe().replace("length: 2 m", "length: 1e300 m"),
    "radish from crowns": recipe(establish="crown"),
}


@pytest.mark.parametrize("name", sorted(CRASHES))
def test_recipes_that_crashed_once(desk: Desk, name: str) -> None:
    (desk.folder / "recipe.yaml").write_text(CRASHES[name], "utf-8")
    one_fault(desk.refuses())


@pytest.mark.parametrize("name", sorted(ACCEPTED))
def test_recipes_that_make_no_sense(desk: Desk, name: str) -> None:
    (desk.folder / "recipe.yaml").write_text(ACCEPTED[name], "utf-8")
    one_fault(desk.refuses())


def test_a_garden_below_the_sea(desk: Desk) -> None:
    """Half of the Netherlands lies below the level of the sea."""
    months = "[8, 8, 8, 8, 18, 18, 18, 18, 18, 8, 8, 8]"
    low = "[2, 2, 2, 2, 9, 9, 9, 9, 9, 2, 2, 2]"
    place = f"place: {{kind: normals, name: Polder, latitude: 52, elevation: -5 m, tmax: {months}, tmin: {low}, rain: {months}}}"
    text = GARDEN.replace("place: {kind: reference, name: Oxford}", place)
    (desk.folder / "garden.yaml").write_text(text, "utf-8")
    assert desk.score().code == 0


def test_a_minimum_above_the_maximum(desk: Desk) -> None:
    months = "[8, 8, 8, 8, 18, 18, 18, 18, 18, 8, 8, 8]"
    low = "[9, 2, 2, 2, 9, 9, 9, 9, 9, 2, 2, 2]"
    place = f"place: {{kind: normals, name: x, latitude: 52, tmax: {months}, tmin: {low}, rain: {months}}}"
    text = GARDEN.replace("place: {kind: reference, name: Oxford}", place)
    (desk.folder / "garden.yaml").write_text(text, "utf-8")
    assert "the mean minimum 9 C is above the mean maximum 8 C" in one_fault(desk.refuses())
